"""The bound never exceeds what some plan costs."""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.bound import Bound
from planner.core.check import cost
from planner.core.flat import flatten
from planner.core.problem import Problem
from planner.core.search import Search
from tests.planner.core import cases, outside
from tests.planner.core.small_world import ladder_problem, least_cost, micro_problem, random_problem


def raised(problem: Problem, goal: float, steps: int = 60) -> float:
    bound = Bound(flatten(problem))
    for step in range(steps):
        bound.step(goal, step / steps)
    return bound.best


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_the_bound_is_no_more_than_the_best_of_all_plans(seed: int) -> None:
    problem = micro_problem(random.Random(seed))
    assert raised(problem, least_cost(problem)) <= least_cost(problem) + 1e-6


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_the_bound_is_no_more_than_the_best_plan_that_climbs_a_ladder_with_scarce_roles(seed: int) -> None:
    problem = ladder_problem(random.Random(seed))
    assert raised(problem, least_cost(problem)) <= least_cost(problem) + 1e-6


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(0, 1000))
def test_the_bound_is_no_more_than_a_plan_that_was_found_whatever_its_goal(seed: int, goal: float) -> None:
    problem = random_problem(seed)
    search = Search(flatten(problem), seed)
    search.improve(300, 5.0)
    assert raised(problem, goal) <= cost(problem, search.stations()).total + 1e-6


@pytest.mark.parametrize("name", ["tiny", "small", "club", "tight"])
def test_the_bound_stays_below_the_best_known_cost_and_comes_near(name: str) -> None:
    problem = Problem.from_json(outside.instance(name))
    path = outside.BESIDE / "instances" / "best.json"
    known = json.loads(path.read_text(encoding="utf-8"))[name]["cost"]
    assert 0.8 * known <= raised(problem, known, steps=400) <= known


def one_slot(drills: list[dict[str, Any]], slots: Sequence[int] = (10,), **given: Any) -> Problem:
    """Ten minutes wanted of everyone, and sessions of one slot on days in a row."""
    targets = [{"player": p, "skill": "tackle", "minutes": 10, "weight": 1} for p in ("ann", "bea", "cat")]
    sessions = [cases.session(f"s{n}", n, slots=[minutes], stations=1) for n, minutes in enumerate(slots)]
    return Problem.from_json(cases.problem(drills=drills, sessions=sessions, targets=targets, **given))


WHOLE = [{"skill": "tackle", "share": 1, "roles": None}]


def test_a_station_too_small_for_everyone_leaves_ten_minutes_short_even_if_turns_are_shared() -> None:
    problem = one_slot([cases.drill("pair", players=[1, 2], skills=WHOLE)])
    assert raised(problem, 15) == pytest.approx(10, rel=0.05)
    assert least_cost(problem) == 15


def test_a_station_that_asks_for_more_players_than_want_it_brings_the_bound_to_the_best_cost() -> None:
    drills = [cases.drill("rest", players=[1, 9], skills=WHOLE, rpe=1), cases.drill("all", players=[3, 9], rpe=9)]
    bands = [{"player": "ann", "week": 0, "low": 90, "high": 90, "weight": 10}]
    problem = one_slot(drills, bands=bands)
    assert raised(problem, least_cost(problem)) == pytest.approx(least_cost(problem), rel=0.05)


def test_a_rung_that_cannot_be_earned_in_its_days_brings_the_bound_to_the_best_cost() -> None:
    low = cases.drill("low", ladder="tackle", rung=1, skills=[])
    high = cases.drill("high", ladder="tackle", rung=2, skills=WHOLE)
    problem = one_slot([low, high], slots=(10, 10, 10), limits={"ladder": {"minutes": 20, "days": 28}})
    assert least_cost(problem) == 0
    problem = one_slot([low, high], slots=(10, 5, 10), limits={"ladder": {"minutes": 15, "days": 1}})
    assert raised(problem, 45) == pytest.approx(least_cost(problem), rel=0.05) == 45


def test_rung_minutes_that_compete_with_wished_minutes_raise_the_bound() -> None:
    low = cases.drill("low", ladder="tackle", rung=1, skills=[])
    high = cases.drill("high", ladder="tackle", rung=2, skills=WHOLE)
    drills = [low, high, cases.drill("other", skills=[{"skill": "tackle", "share": 0.5, "roles": None}])]
    earned = one_slot(drills, slots=(10, 8), limits={"ladder": {"minutes": 10, "days": 28}})
    free = one_slot(drills, slots=(10, 8))
    assert least_cost(free) < raised(earned, least_cost(earned)) <= least_cost(earned) + 1e-6


def test_a_role_that_one_player_has_lets_one_of_two_stations_run_in_the_bound() -> None:
    players = [{"id": p, "roles": ["all", *(["front"] if p == "ann" else [])]} for p in ("ann", "bea", "cat")]
    drills = [cases.drill(name, needs={"front": 1}, players=[1, 2], skills=WHOLE) for name in ("one", "two")]
    problem = one_slot(drills, players=players).to_json()
    problem["sessions"][0]["stations"] = 2
    known = Problem.from_json(problem)
    assert raised(known, 15, steps=300) == pytest.approx(10, rel=0.05)
    assert least_cost(known) == 15


def test_a_problem_without_wishes_has_bound_zero() -> None:
    problem = random_problem(1, targets=None, bands=None, evenness=None, idle_weight=0)
    assert raised(problem, 10.0) == 0.0
