"""Solving as a whole: the best plan where it is known, any time, and reproducible."""

from __future__ import annotations

import random
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost
from planner.core.problem import Problem, Status
from planner.core.solve import Impossible, Progress, solve
from tests.planner.core import cases, outside
from tests.planner.core.small_world import least_cost, micro_problem

FEASIBLE = [name for name in outside.INSTANCES if name != "clash"]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_the_plan_is_the_best_of_all_plans_when_they_can_be_counted(seed: int) -> None:
    problem = micro_problem(random.Random(seed))
    result = solve(problem, seconds=20, iterations=600, workers=2)
    assert result.cost.total == pytest.approx(least_cost(problem), abs=1e-6)


@pytest.mark.parametrize("name", FEASIBLE)
def test_the_reference_checker_accepts_the_plan_its_cost_and_its_bound(name: str) -> None:
    checker, built = outside.reference(), outside.instance(name)
    result = solve(Problem.from_json(built), seconds=0.5)
    stations = [
        {"session": s.session, "slot": s.slot, "drill": s.drill, "players": list(s.players)} for s in result.stations
    ]
    plan = {"format": "plumbline-plan/1", "problem": built["name"], "stations": stations}
    broken, parts, notes = checker.check(built, plan | {"cost": result.cost.total, "bound": result.bound})
    assert (broken, notes) == ([], [])
    assert sum(parts.values()) == pytest.approx(result.cost.total, abs=0.01)


def test_locks_that_cannot_hold_are_named() -> None:
    with pytest.raises(Impossible) as refused:
        solve(Problem.from_json(outside.instance("clash")), seconds=5)
    assert len(refused.value.clash.locks) >= 1


def test_the_same_seed_and_iterations_give_the_same_plan() -> None:
    problem = Problem.from_json(outside.instance("small"))
    first, again = (solve(problem, seconds=60, seed=3, iterations=400) for _ in range(2))
    assert first.stations == again.stations


def test_more_seconds_do_not_end_a_run_before_its_iterations() -> None:
    problem = Problem.from_json(outside.instance("tiny"))
    assert solve(problem, seconds=0.001, iterations=700, workers=2).iterations == 1400


def test_no_iterations_give_the_first_plan() -> None:
    problem = Problem.from_json(outside.instance("tiny"))
    result = solve(problem, seconds=60, iterations=0)
    assert (result.iterations, breaches(problem, result.stations)) == (0, [])


def test_a_run_that_is_stopped_gives_the_best_plan_so_far() -> None:
    problem = Problem.from_json(outside.instance("small"))
    told: list[Progress] = []
    started = time.monotonic()
    result = solve(problem, seconds=60, stop=lambda: len(told) >= 3, progress=told.append)
    assert time.monotonic() - started < 30
    assert result.cost.total <= told[0].cost
    assert breaches(problem, result.stations) == []


def test_progress_tells_of_falling_costs_with_a_plan_for_each() -> None:
    problem = Problem.from_json(outside.instance("club"))
    told: list[Progress] = []
    result = solve(problem, seconds=1.0, progress=told.append)
    costs = [news.cost for news in told]
    assert costs == sorted(costs, reverse=True)
    for news in told:
        if news.stations is not None:
            assert cost(problem, news.stations).total == pytest.approx(news.cost, abs=1e-6)
    assert told[-1].cost == pytest.approx(result.cost.total)
    assert told[-1].fraction == 1.0


def test_an_error_while_reporting_reaches_the_caller_and_ends_the_run() -> None:
    def fail(_: Progress) -> None:
        raise OSError("the disk is full")

    started = time.monotonic()
    with pytest.raises(OSError, match="the disk is full"):
        solve(Problem.from_json(outside.instance("tiny")), seconds=60, progress=fail)
    assert time.monotonic() - started < 30


def test_a_plan_to_start_with_never_gets_worse() -> None:
    problem = Problem.from_json(outside.instance("small"))
    good = solve(problem, seconds=0.5)
    assert solve(problem, seconds=0.1, start=good.stations).cost.total <= good.cost.total + 1e-6


def test_a_block_without_sessions_players_or_drills_is_solved() -> None:
    for missing in ("sessions", "players", "drills"):
        problem = Problem.from_json(cases.problem(**{missing: []}))
        assert solve(problem, seconds=0.05).stations == ()


def test_a_lock_high_on_a_ladder_makes_room_for_the_rungs_below() -> None:
    ladder = [
        cases.drill(f"tackle-{rung}", ladder="tackle", rung=rung, players=[2, 3], skills=[]) for rung in (1, 2, 3)
    ]
    built = cases.problem(
        drills=[*ladder, cases.drill("free")],
        sessions=[cases.session(f"s{n}", n, slots=[20], stations=1) for n in range(3)],
        limits={"ladder": {"minutes": 15, "days": 28}},
        locks=[{"session": "s2", "slot": 0, "drill": "tackle-3", "players": None}],
    )
    result = solve(Problem.from_json(built), seconds=0.2)
    assert [s.drill for s in result.stations] == ["tackle-1", "tackle-2", "tackle-3"]


def test_a_problem_with_every_wish_met_is_proven_optimal() -> None:
    result = solve(Problem.from_json(cases.problem()), seconds=0.1)
    assert (result.cost.total, result.status) == (0.0, Status.OPTIMAL)


def test_a_player_locked_to_two_stations_of_a_slot_is_a_clash_that_names_both() -> None:
    drill = cases.problem()["drills"][0]
    built = cases.problem() | {"drills": [drill | {"id": "a"}, drill | {"id": "b"}]}
    session, player = built["sessions"][0]["id"], built["players"][0]["id"]
    built["locks"] = [{"session": session, "slot": 0, "drill": each, "players": [player]} for each in "ab"]
    with pytest.raises(Impossible) as impossible:
        solve(Problem.from_json(built), seconds=1)
    assert {lock.drill for lock in impossible.value.clash.locks} == {"a", "b"}
