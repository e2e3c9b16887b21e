"""Positions as clubs write them."""

import re

import pytest

from shared.core.positions import POSITION_NAMES
from squads.positions import read_positions

# 4 and 5 share one name, so that name gives both.
NAMED = {number: [4, 5] if name == "Lock" else [number] for number, name in POSITION_NAMES.items()}


@pytest.mark.parametrize("number", POSITION_NAMES)
def test_our_own_names_are_read_back(number):
    assert read_positions(POSITION_NAMES[number]) == NAMED[number]
    assert read_positions(f"{number} {POSITION_NAMES[number]}") == [number]


@pytest.mark.parametrize(
    ("written", "numbers"),
    [
        ("12/13", [12, 13]),
        ("12-13", [12, 13]),
        ("12 13", [12, 13]),
        ("13, 12, 13", [13, 12]),
        ("9 & 10", [9, 10]),
        ("No. 8", [8]),
        ("#7", [7]),
        ("number eight", [8]),
        ("prop", [1, 3]),
        ("Tight-head", [3]),
        ("LOOSE HEAD PROP / hooker", [1, 2]),
        ("second row", [4, 5]),
        ("Locks", [4, 5]),
        ("flanker and number 8", [6, 7, 8]),
        ("Half-back", [9]),
        ("Scrum-half; fly half", [9, 10]),
        ("first five-eighth", [10]),
        ("wing", [11, 14]),
        ("Center", [12, 13]),
        ("Fullback", [15]),
        ("", []),
    ],
)
def test_positions_go_by_many_names(written, numbers):
    assert read_positions(written) == numbers


@pytest.mark.parametrize(
    ("group", "number"), [("Front row", 1), ("back row", 6), ("Half-backs", 9), ("Back three", 11), ("B3", 11)]
)
def test_a_group_stands_for_its_first_shirt_alone(group, number):
    assert read_positions(group) == [number]


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("0", "there is no position 0. Positions go from 1 to 15."),
        ("12/16", "there is no position 16. Positions go from 1 to 15."),
        ("backs", "“backs” is too broad. Write the shirt number, such as 7."),
        ("keeper", "“keeper” is no position known here. Write the shirt number, such as 7, or 12/13 for two."),
    ],
)
def test_what_is_no_position_is_refused_with_a_way_out(written, reason):
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}$"):
        read_positions(written)
