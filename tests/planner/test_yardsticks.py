"""What the planner is measured beside answers the same problem under the same rules."""

from __future__ import annotations

import random

import pytest

from planner.core.check import breaches, cost
from planner.core.problem import Problem
from planner.management.yardsticks import cpsat, greedy, of_weeks
from tests.planner.core import cases
from tests.planner.core.small_world import least_cost, micro_problem, random_problem


def test_one_model_of_the_whole_finds_the_best_plan_of_a_problem_that_can_be_counted() -> None:
    problem = micro_problem(random.Random(4))
    stations, bound = cpsat(problem, 20, 1, 1)
    assert breaches(problem, stations) == []
    assert cost(problem, stations).total == pytest.approx(least_cost(problem), abs=0.01)
    assert bound == pytest.approx(least_cost(problem), abs=0.01)


def test_a_plan_made_in_order_keeps_the_rules_and_is_the_same_each_time() -> None:
    problem = random_problem(7)
    (first, _), (again, _) = greedy(problem, 1, 1, 1), greedy(problem, 9, 1, 2)
    assert first == again
    assert breaches(problem, first) == []


def block(**given: object) -> dict[str, object]:
    built = cases.problem(
        weeks=2,
        sessions=[cases.session("mon", 0), cases.session("next", 7)],
        ceilings={"ann": {"next": "none"}},
        locks=[{"session": "next", "slot": 0, "drill": "free", "players": None}],
        targets=[{"player": "ann", "skill": "tackle", "minutes": 20, "weight": 1}],
        bands=[{"player": "ann", "week": week, "low": 10 * week, "high": 100, "weight": 1} for week in (0, 1)],
    )
    return built | given


def test_a_block_cut_to_its_first_week_keeps_only_what_lies_in_it() -> None:
    cut = Problem.from_json(of_weeks(block(), 1))
    assert [session.id for session in cut.sessions] == ["mon"]
    assert (cut.weeks, cut.targets[0].minutes, [band.week for band in cut.bands], cut.locks) == (1, 10, [0], ())


def test_a_block_drawn_out_has_its_weeks_once_more_with_their_ceilings_and_bands() -> None:
    long = Problem.from_json(of_weeks(block(), 4))
    assert [(long.week_of(s.id), len(s.slots)) for s in long.sessions] == [(0, 2), (1, 2), (2, 2), (3, 2)]
    assert long.ceiling("ann", long.sessions[3].id) is long.ceiling("ann", "next")
    assert [(band.week, band.low) for band in long.bands] == [(0, 0), (1, 10), (2, 0), (3, 10)]
    assert long.targets[0].minutes == 40
