"""Nights on which numbers and coaches are not what was planned, with the figures that a coach works out by hand.

The figures of the two nights named first are worked examples of our own; the others are of the same kind.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.core.groups import Job, Person
from planner.core.parts import Ceiling, Contact
from planner.core.rotation import Card, Means, Mend, Rotation, Trouble, change_overs, mends, rotate

SHIRTS = ("FR", "FR", "FR", "SR", "SR", "BR", "BR", "BR", "HB", "HB", "CE", "CE", "B3", "B3", "B3")

FIT = Card("Two Steps and Fit", (4, 32), (10, 14), Contact.CONTROLLED, 0.45, kit={"balls": 3})
POSTS = Card("Gateposts", (6, 24), (8, 12), Contact.NONE, 0, kit={"bags": 2})
GUN = Card("Starter's Gun", (6, 30), (8, 12), Contact.NONE, 0.20, kit={"balls": 1})
BEFORE_AND_AFTER = {"brief": 2, "warm-up": 10, "water": 2, "team": 14, "water again": 1, "shape": 6, "close": 4}


def squad(full: int, controlled: int = 0, none: int = 0) -> list[Person]:
    ceilings = [Ceiling.FULL] * full + [Ceiling.CONTROLLED] * controlled + [Ceiling.NONE] * none
    return [
        Person(f"p{n:02}", SHIRTS[n % 15], size=n % 3, seasons=n % 7, ceiling=each) for n, each in enumerate(ceilings)
    ]


def three_stations(people: list[Person], adults: int = 3, **means: object) -> Rotation:
    have = Means(adults=adults, stations=3, area=3400, minutes=75, kit={"balls": 20, "bags": 4})
    return rotate(
        (FIT, POSTS, GUN),
        people,
        replace(have, **means),  # type: ignore[arg-type]
        minutes=11,
        change=1.5,
        fixed=sum(BEFORE_AND_AFTER.values()),
    )


# --- 34 in the squad, 4 out and 2 without contact, three coaches, 75 minutes --------------------------------


def test_thirty_of_thirty_four_rotate_over_three_stations_in_seventy_five_minutes() -> None:
    night = three_stations(squad(28, none=2))
    assert night.works
    assert [len(group.workers) for group in night.groups] == [10, 9, 9]
    assert [len(group.others) for group in night.groups] == [0, 1, 1]
    assert sum(BEFORE_AND_AFTER.values()) + 3 * 11 + 2 * 1.5 == night.length == 75
    assert change_overs(3, 1.5) == (2, 1)


def test_each_of_them_has_the_same_minutes_and_who_may_do_no_contact_has_none() -> None:
    people = squad(28, none=2)
    night = three_stations(people)
    team_block = 14 * 0.25  # full contact, for all 28 at once
    for person in people[:28]:
        spent = night.contact(person.id)
        assert spent[Contact.CONTROLLED] == pytest.approx(4.95)
        assert spent[Contact.FULL] + team_block == pytest.approx(3.5)
        assert spent[Contact.NONE] == pytest.approx(2.2)  # touch, which no limit counts
    for person in people[28:]:
        assert set(night.contact(person.id).values()) == {0.0}


def test_those_without_contact_feed_the_ball_and_call_and_stand_in_the_walk_through() -> None:
    night = three_stations(squad(28, none=2))
    for stand in (stand for one in night.rounds for stand in one):
        helping = {person.id for person, _job in stand.helpers if person.is_non_contact}
        there = {person.id for n in stand.groups for person in night.groups[n].others}
        assert helping == (set() if stand.card is POSTS else there)
        assert [job for _person, job in stand.helpers] == list(Job)[: len(stand.helpers)]


@pytest.mark.parametrize(
    ("full", "none", "adults", "sizes", "extra"),
    [
        (28, 2, 3, [10, 9, 9], [0, 1, 1]),
        (27, 0, 3, [9, 9, 9], [0, 0, 0]),
        (25, 3, 3, [9, 8, 8], [1, 1, 1]),
        (20, 4, 3, [7, 7, 6], [1, 1, 2]),
        (18, 1, 3, [6, 6, 6], [1, 0, 0]),
    ],
)
def test_other_squads_are_dealt_as_evenly(
    full: int, none: int, adults: int, sizes: list[int], extra: list[int]
) -> None:
    night = three_stations(squad(full, none=none), adults)
    assert [len(group.workers) for group in night.groups] == sizes
    assert [len(group.others) for group in night.groups] == extra
    assert night.works


def test_an_odd_number_against_each_other_leaves_one_with_a_job() -> None:
    night = three_stations(squad(28, none=2))
    at_fit = [stand for one in night.rounds for stand in one if stand.card is FIT]
    for stand in at_fit:
        assert len(stand.pairs) == len(stand.workers) // 2
        spare = [person for person, _job in stand.helpers if person in stand.workers]
        assert len(spare) == len(stand.workers) % 2


def test_three_stations_with_two_coaches_are_a_swap_and_one_for_all() -> None:
    night = three_stations(squad(22, none=2), adults=2)
    assert [len(wave) for wave in night.waves] == [2, 1]
    assert [[stand.groups for stand in one] for one in night.rounds] == [[(0,), (1,)], [(1,), (0,)], [(0, 1)]]
    assert night.works


def test_three_stations_with_one_coach_run_one_after_the_other() -> None:
    night = three_stations(squad(24), adults=1)
    assert [len(one) for one in night.rounds] == [1, 1, 1]
    assert night.works


def test_without_an_adult_no_station_runs_and_the_reason_is_that() -> None:
    night = three_stations(squad(24), adults=0)
    assert {trouble.what for trouble in night.troubles} == {"no_adult"}
    assert mends(night) == ()


# --- an under-16 squad of 32, four stations of 15 minutes, coaches fall from four to two --------------------


def four_cards(most: int = 16, shields: int = 4) -> tuple[Card, ...]:
    return tuple(
        Card(f"card {n}", (6, most), (10, 16), Contact.CONTROLLED, 0.3, kit={"shields": shields}) for n in range(1, 5)
    )


def under_16s(people: int = 32, adults: int = 2, minutes: int = 15, **given: int) -> Rotation:
    shields = given.pop("there", 8)
    have = Means(adults=adults, stations=4, area=4000, minutes=75, kit={"shields": shields})
    return rotate(four_cards(**given), squad(people), have, minutes=minutes, change=1.5, fixed=10)


def test_two_groups_of_sixteen_swap_at_two_stations_and_then_at_the_other_two() -> None:
    night = under_16s()
    assert night.works
    assert [len(group) for group in night.groups] == [16, 16]
    table = [[(stand.card.id, stand.groups) for stand in one] for one in night.rounds]
    assert table == [
        [("card 1", (0,)), ("card 2", (1,))],
        [("card 1", (1,)), ("card 2", (0,))],
        [("card 3", (0,)), ("card 4", (1,))],
        [("card 3", (1,)), ("card 4", (0,))],
    ]
    assert 4 * 15 + 3 * 1.5 + 10 == night.length == 74.5
    assert all(sum(stand.card.adults for stand in one) <= 2 for one in night.rounds)


@pytest.mark.parametrize(
    ("given", "trouble"),
    [
        ({"most": 15}, Trouble("players", "card 1", 15, 16)),
        ({"there": 7}, Trouble("kit", None, 8, 7, "shields")),
        ({"people": 10}, Trouble("players", "card 1", 6, 5)),
        ({"minutes": 16}, Trouble("time", None, 78.5, 75)),
        ({"adults": 0}, Trouble("no_adult", "card 1", 1, 0)),
    ],
)
def test_a_card_that_does_not_take_a_group_kit_that_does_not_double_and_time_are_refused_with_the_reason(
    given: dict[str, int], trouble: Trouble
) -> None:
    night = under_16s(**given)
    assert not night.works
    assert trouble in night.troubles


def test_too_long_rounds_are_shortened_as_far_as_the_cards_allow() -> None:
    assert mends(under_16s(minutes=16)) == (Mend(minutes=15),)


def test_a_skill_is_carried_over_where_the_third_card_takes_everybody() -> None:
    night = under_16s(minutes=16, most=32)
    assert mends(night) == (Mend(minutes=15), *(Mend(card=f"card {n}") for n in range(1, 5)))


@pytest.mark.parametrize(
    ("people", "adults", "sizes", "rounds"),
    [
        (32, 4, [8, 8, 8, 8], 4),
        (31, 2, [16, 15], 4),
        (24, 3, [8, 8, 8], 4),
        (16, 1, [16], 4),
    ],
)
def test_other_numbers_of_players_and_coaches(people: int, adults: int, sizes: list[int], rounds: int) -> None:
    night = under_16s(people, adults)
    assert [len(group) for group in night.groups] == sizes
    assert len(night.rounds) == rounds
    assert all(sum(stand.card.adults for stand in one) <= adults for one in night.rounds)
