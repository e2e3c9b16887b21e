"""Groups are even and mixed, pairs alike, and nobody works above what he may do; rotations miss nobody out."""

from __future__ import annotations

from collections import Counter
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.groups import Job, Person, deal, jobs, joined, pairs, unlike
from planner.core.parts import Ceiling, Contact
from planner.core.rotation import Card, Means, change_overs, mends, rotate

POSITIONS = ("FR", "SR", "BR", "HB", "CE", "B3")
CEILINGS = (Ceiling.FULL, Ceiling.FULL, Ceiling.FULL, Ceiling.CONTROLLED, Ceiling.NONE)


@st.composite
def squads(draw: st.DrawFn, least: int = 0, most: int = 36) -> list[Person]:
    one = st.tuples(st.sampled_from(POSITIONS), st.integers(0, 2), st.integers(0, 25), st.sampled_from(CEILINGS))
    return [Person(f"p{n}", *row) for n, row in enumerate(draw(st.lists(one, min_size=least, max_size=most)))]


@st.composite
def cards(draw: st.DrawFn) -> list[Card]:
    return [
        Card(
            f"c{n}",
            players=(draw(st.integers(1, 6)), draw(st.integers(6, 40))),
            minutes=(8, 16),
            kind=draw(st.sampled_from(Contact)),
            share=draw(st.sampled_from([0, 0.2, 0.45])),
            coaches=draw(st.integers(0, 2)),
            kit={"shields": draw(st.integers(0, 8))},
        )
        for n in range(draw(st.integers(1, 5)))
    ]


MEANS = st.builds(
    Means,
    adults=st.integers(0, 5),
    stations=st.integers(1, 4),
    area=st.just(5000.0),
    minutes=st.integers(40, 100),
    kit=st.one_of(st.none(), st.just({"shields": 8})),
)


@given(squads(), st.integers(1, 6))
def test_groups_hold_everybody_once_and_differ_by_one_at_most(people: list[Person], count: int) -> None:
    groups = deal(people, count)
    assert Counter(p.id for group in groups for p in group.people) == Counter(p.id for p in people)
    for sizes in ([len(group.workers) for group in groups], [len(group) for group in groups]):
        assert max(sizes) - min(sizes) <= 1
    assert len(groups) == count


@given(squads(), st.integers(1, 6))
def test_every_position_is_spread_over_the_groups(people: list[Person], count: int) -> None:
    for position in POSITIONS:
        mix = [sum(p.position == position for p in group.workers) for group in deal(people, count)]
        assert max(mix) - min(mix) <= 1


def test_no_group_is_asked_for() -> None:
    with pytest.raises(ValueError, match="at least one"):
        deal([], 0)


@settings(deadline=None)
@given(squads(most=7))
def test_pairs_are_as_alike_as_any_pairing_where_size_alone_tells_players_apart(people: list[Person]) -> None:
    """By force over all orders; with one figure to compare, pairing neighbours is best."""
    alike = [Person(p.id, p.position, p.size) for p in people]
    found, spare = pairs(alike)
    in_pairs = len(alike) // 2 * 2
    every = (sum(unlike(order[n], order[n + 1]) for n in range(0, in_pairs, 2)) for order in permutations(alike))
    assert sum(unlike(*pair) for pair in found) == min(every)
    assert (spare is None) == (len(alike) % 2 == 0)
    assert sorted(p.id for pair in found for p in pair) == sorted(p.id for p in alike if p is not spare)


def test_a_heavy_beginner_meets_the_lightest_only_if_nobody_else_is_left() -> None:
    heavy, also, light = Person("heavy", "FR", 2, 0), Person("also", "FR", 2, 9), Person("light", "B3", 0, 0)
    assert pairs([light, heavy, also]) == (((heavy, also),), light)


def test_each_who_helps_has_a_named_job_in_turn() -> None:
    people = [Person(f"p{n}", "FR") for n in range(4)]
    assert [job for _person, job in jobs(people)] == [Job.FEEDER, Job.TALKER, Job.TIMEKEEPER, Job.FEEDER]


@given(squads(), st.integers(1, 4))
def test_whole_groups_stand_together_where_there_are_fewer_stations(people: list[Person], count: int) -> None:
    groups = deal(people, 4)
    found = joined(groups, count)
    assert Counter(p.id for group in found for p in group.people) == Counter(p.id for p in people)


@settings(deadline=None)
@given(squads(), cards(), MEANS, st.integers(8, 16))
def test_in_a_rotation_everybody_is_at_each_station_once_and_at_one_at_a_time(
    people: list[Person], stations: list[Card], means: Means, minutes: int
) -> None:
    night = rotate(stations, people, means, minutes=minutes, change=1.5, fixed=20)
    seen: Counter[tuple[str, str]] = Counter()
    for one in night.rounds:
        here = [p.id for stand in one for p in stand.workers]
        helping = [p.id for stand in one for p, _job in stand.helpers]
        assert len(here) == len(set(here))
        assert set(here) | set(helping) == {p.id for p in people}
        seen.update((p, stand.card.id) for stand in one for p in {*_people_at(stand)})
    assert seen == Counter((p.id, card.id) for p in people for card in stations)


def _people_at(stand) -> set[str]:  # type: ignore[no-untyped-def]
    return {p.id for p in stand.workers} | {p.id for p, _job in stand.helpers}


@settings(deadline=None)
@given(squads(), cards(), MEANS, st.integers(8, 16))
def test_nobody_works_above_what_he_may_do_and_whoever_may_do_no_contact_has_no_minute_of_it(
    people: list[Person], stations: list[Card], means: Means, minutes: int
) -> None:
    night = rotate(stations, people, means, minutes=minutes, change=1.5, fixed=20)
    for stand in (stand for one in night.rounds for stand in one):
        assert all(p.ceiling.allows(stand.card.kind) for p in stand.workers)
    assert all(not any(night.contact(p.id).values()) for p in people if p.is_non_contact)


@settings(deadline=None)
@given(squads(), cards(), MEANS, st.integers(8, 16))
def test_what_works_has_an_adult_at_each_station_kit_for_all_of_them_and_the_time(
    people: list[Person], stations: list[Card], means: Means, minutes: int
) -> None:
    night = rotate(stations, people, means, minutes=minutes, change=1.5, fixed=20)
    rounds = len(night.rounds)
    fits = all(
        [
            20 + rounds * minutes + 1.5 * (rounds - 1) <= means.minutes,
            all(sum(max(1, s.card.coaches) for s in one) <= means.adults for one in night.rounds),
            all(s.card.players[0] <= len(s.workers) <= s.card.players[1] for one in night.rounds for s in one),
            means.kit is None or all(sum((s.card.kit or {})["shields"] for s in one) <= 8 for one in night.rounds),
        ]
    )
    assert night.works == fits
    for mend in mends(night):
        left = [card for card in stations if card.id != mend.card]
        mended = rotate(
            left, people, means, minutes=mend.minutes or minutes, change=1.5, fixed=20, at_once=len(night.groups)
        )
        assert mended.works


@given(st.integers(0, 9), st.sampled_from([0, 0.5, 1, 1.5, 2, 2.5]))
def test_change_overs_in_whole_minutes_stay_within_half_a_minute_of_the_exact_sum(rounds: int, change: float) -> None:
    found = change_overs(rounds, change)
    assert len(found) == max(0, rounds - 1)
    for n in range(len(found) + 1):
        assert abs(sum(found[:n]) - n * change) <= 0.5
