"""Single moves and reasons beside a coach's wishes, checked by force as in test_explain."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost
from planner.core.explain import Explanation, Reason, explain
from planner.core.moves import Kind
from planner.core.problem import Problem, Station
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session
from tests.planner.core.test_explain import EXACT, bettered, by_force, by_hand, lock_of, one_more, opens_a_station, same

SEEDS = st.integers(0, 10**6)
SMALL = settings(max_examples=40, deadline=None)
WISHES = {
    Reason.HARD_ROW, Reason.THEMES, Reason.NOTHING_NEW, Reason.FRESH_FIRST, Reason.BLOCK, Reason.KEPT_APART,
    Reason.UNITS,
}  # fmt: skip


def seen(seed: int) -> Explanation:
    """A small random problem with wishes, and stations thrown in at random as long as no rule is broken."""
    rng = random.Random(seed)
    built = cases.roomy_problem(rng) if rng.random() < 0.7 else cases.random_problem(rng)
    known = Problem.from_json(cases.with_wishes(rng, built | {"locks": []}))
    stations: tuple[Station, ...] = ()
    for _ in range(40):
        stations = one_more(rng, known, stations)
    stations = bettered(known, stations) if rng.random() < 0.5 else stations
    held = tuple(lock_of(rng, station) for station in stations if rng.random() < 0.15)
    return explain(replace(known, locks=held), stations)


@SMALL
@given(SEEDS)
def test_every_move_is_judged_as_the_referee_and_the_cost_judge_it(seed: int) -> None:
    found = seen(seed)
    before, table = cost(found.problem, found.stations).total, found.moves.table
    for row in range(len(table)):
        after = found.moves.move(table, row).applied(found.stations)
        assert cost(found.problem, after).total - before == pytest.approx(table.change[row], abs=EXACT)
        assert bool(table.bars[row]) == bool(breaches(found.problem, after))


@SMALL
@given(SEEDS)
def test_no_single_move_is_overlooked_beside_wishes(seed: int) -> None:
    found = seen(seed)
    table = found.moves.table
    moves = (found.moves.move(table, row) for row in range(len(table)) if table.kind[row] != Kind.OPEN)
    told = {same(move.applied(found.stations)) for move in moves}
    assert told == {same(plan) for plan in by_hand(found.problem, found.stations)}


@SMALL
@given(SEEDS)
def test_a_wish_is_the_reason_only_where_force_finds_no_move_and_no_other_rule(seed: int) -> None:
    found = seen(seed)
    for short in found.shorts:
        if not opens_a_station(short):
            by_hand = by_force(found.problem, found.stations, short)
            assert by_hand == (Reason.NO_ROOM if short.reason in WISHES else short.reason)


@SMALL
@given(SEEDS)
def test_a_station_is_worth_what_its_plan_would_cost_more_without_it_wishes_included(seed: int) -> None:
    found = seen(seed)
    before = cost(found.problem, found.stations).total
    for station in found.stations:
        rest = tuple(other for other in found.stations if other is not station)
        assert found.why(station).without == pytest.approx(cost(found.problem, rest).total - before, abs=EXACT)


def reason(stations: list[Station], **given: object) -> Reason:
    """Why ann stays short of tackling."""
    wish = {"player": "ann", "skill": "tackle", "minutes": 40, "weight": 1}
    return explain(Problem.from_json(problem(targets=[wish], **given)), stations).shorts[0].reason


def night(**given: object) -> list[dict[str, object]]:
    return [session("s1", 0, slots=[10], **given)]


FREE, OTHER = drill("free"), drill("other", skills=[])


def test_who_is_kept_apart_from_the_one_at_the_only_station_is_told_so() -> None:
    stations = [Station("s1", 0, "free", ("bea",))]
    held = [{"session": "s1", "slot": 0, "drill": "free", "players": ["bea"]}]
    given = {"drills": [FREE], "sessions": night(stations=1), "locks": held}
    assert reason(stations, **given) is Reason.ONE_MOVE
    assert reason(stations, **given, apart=[{"players": ["ann", "bea"]}]) is Reason.KEPT_APART


def test_a_session_that_has_its_themes_already_is_the_reason() -> None:
    drills = [FREE | {"theme": "tackle"}, OTHER | {"theme": "line"}]
    stations = [Station("s1", 0, "other", ("bea",))]
    assert reason(stations, drills=drills, sessions=night()) is Reason.ONE_MOVE
    assert reason(stations, drills=drills, sessions=night(themes_most=1)) is Reason.THEMES


def test_a_drill_that_would_be_new_is_the_reason() -> None:
    later = [*night(), session("s2", 2, slots=[10], nothing_new=True)]
    ceilings = {"ann": {"s1": "absent"}}
    assert reason([], drills=[FREE], sessions=later, ceilings=ceilings) is Reason.NOTHING_NEW


def test_a_drill_that_runs_often_enough_is_the_reason() -> None:
    twice = [session("s1", 0, slots=[10]), session("s2", 2, slots=[10])]
    once = FREE | {"repeats": {"most": 1}}
    assert reason([Station("s1", 0, "free", ("ann",))], drills=[once], sessions=twice) is Reason.BLOCK


def test_a_row_of_hard_slots_is_the_reason() -> None:
    hard = FREE | {"rpe": 9}
    given = {"drills": [hard, OTHER | {"rpe": 9}], "sessions": [session("s1", 0, slots=[10, 10])]}
    stations = [Station("s1", 0, "other", ("ann",)), Station("s1", 1, "free", ("bea",))]
    rule = {"rpe": 9, "most": 1}
    assert reason(stations, **given, hard_row=rule) is not Reason.HARD_ROW  # the first slot could be given up
    alone = {"drills": [hard | {"minutes": [12, 20]}, OTHER | {"rpe": 9, "minutes": [5, 10]}]}
    slots = {"sessions": [session("s1", 0, slots=[10, 12])]}
    assert reason(stations, **alone, **slots, hard_row=rule) is Reason.HARD_ROW
