"""A station told again: a form that nobody touched says what stood there before, and one word changes one thing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.record import Block, Card, Here, Part, dropped
from planner.core.retold import Stay, Stayed, TookPart, stayed_in, told_again
from shared.core.contact import RUNGS, Kind, Level

ONE = 1  # the key of a player


def block_of(parts: Sequence[Part]) -> Block:
    return Block("s", 0, 0, Card("Live"), tuple(parts))


def empty(parts: Sequence[Part]) -> list[Part]:
    """As the form reads them: how long and at which rung, nobody in them yet."""
    return [replace(part, here={}) for part in parts]


def part_at(rung: str, minutes: int = 6, **here: bool) -> Part:
    return Part(minutes, rung, 0 if rung == "C0" else 25, "C4", {ONE: Here(minutes, 0, here.get("aside", False))})


def untouched(parts: Sequence[Part], levels: dict[int, Level]) -> tuple[Part, ...]:
    told = {player: stayed_in(parts, player, level) for player, level in levels.items()}
    return told_again(empty(parts), told, levels, block_of(parts))


@st.composite
def stations(draw: st.DrawFn) -> tuple[tuple[Part, ...], dict[int, Level]]:
    """Up to four parts; each player there without a break or not at all, and aside in any of the parts."""
    rows = st.tuples(st.integers(1, 20), st.sampled_from(sorted(RUNGS)), st.integers(1, 100))
    bare = [
        Part(minutes, rung, 0 if rung == "C0" else share, "C4")
        for minutes, rung, share in draw(st.lists(rows, min_size=1, max_size=4))
    ]
    length = sum(part.minutes for part in bare)
    levels = {player: draw(st.sampled_from(Level)) for player in range(draw(st.integers(0, 4)))}
    here: list[dict[int, Here]] = [{} for _part in bare]
    for player in levels:
        came, left = sorted(draw(st.tuples(st.integers(0, length), st.integers(0, length))))
        starts = 0
        for n, part in enumerate(bare):
            first, last = max(came - starts, 0), min(left - starts, part.minutes)
            if last > first:
                here[n][player] = Here(last - first, first, draw(st.booleans()))
            starts += part.minutes
    return tuple(replace(part, here=each) for part, each in zip(bare, here, strict=True)), levels


@given(stations())
def test_a_form_that_nobody_touched_says_exactly_what_stood_there(station):
    parts, levels = station
    assert untouched(parts, levels) == parts


@given(stations(), st.sampled_from([TookPart.ALL, TookPart.NONE]))
def test_a_word_about_contact_that_is_new_holds_for_every_part_of_it(station, word):
    parts, levels = station
    told = {player: stayed_in(parts, player, level) for player, level in levels.items()}
    new = {player for player, each in told.items() if each.stay is not Stay.NOT and each.took_part is not word}
    told |= {player: replace(told[player], took_part=word) for player in new}
    for part in told_again(empty(parts), told, levels, block_of(parts)):
        if part.kind is not Kind.NONE:
            assert {here.aside for player, here in part.here.items() if player in new} <= {word is TookPart.NONE}


def test_whoever_stood_aside_until_the_rung_was_dropped_is_not_said_to_have_taken_part_in_all_of_it():
    levels = {ONE: Level.FULL}
    parts = dropped([part_at("C4", 12, aside=True)], 8, "C2", levels)
    assert [(part.rung, part.here[ONE].aside) for part in parts] == [("C4", True), ("C2", False)]
    assert stayed_in(parts, ONE, Level.FULL) == Stayed()
    assert untouched(parts, levels) == parts


def test_other_minutes_leave_him_aside_where_he_was():
    before = [part_at("C4", 8, aside=True), part_at("C2", 4)]
    longer = [replace(part, minutes=part.minutes + 3) for part in empty(before)]
    parts = told_again(longer, {ONE: Stayed()}, {ONE: Level.FULL}, block_of(before))
    assert [part.here[ONE] for part in parts] == [Here(11, 0, True), Here(7, 0, False)]


def test_a_part_of_another_kind_is_told_by_his_status():
    before = [part_at("C4", 8, aside=True), part_at("C2", 4)]
    other = [part_at("C3", 8), part_at("SP3", 4), part_at("C4", 2)]
    parts = told_again(empty(other), {ONE: Stayed()}, {ONE: Level.CONTROLLED}, block_of(before))
    assert [part.here[ONE].aside for part in parts] == [False, True, True]


@pytest.mark.parametrize(
    ("level", "asides", "word"),
    [
        (Level.FULL, (False, False), TookPart.AS_ALLOWED),
        (Level.FULL, (True, True), TookPart.NONE),
        (Level.FULL, (True, False), TookPart.AS_ALLOWED),
        (Level.CONTROLLED, (True, False), TookPart.AS_ALLOWED),
        (Level.CONTROLLED, (False, False), TookPart.ALL),
        (Level.CONTROLLED, (True, True), TookPart.NONE),
        (Level.NONE, (True, True), TookPart.AS_ALLOWED),
        (Level.NONE, (False, False), TookPart.ALL),
    ],
)
def test_one_word_tells_of_live_play_and_bags(level, asides, word):
    parts = [part_at(rung, aside=aside) for rung, aside in zip(("C4", "C2"), asides, strict=True)]
    assert stayed_in(parts, ONE, level).took_part is word
