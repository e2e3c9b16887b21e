"""The bound never exceeds what some plan costs."""

from __future__ import annotations

import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.bound import Bound
from planner.core.check import cost
from planner.core.flat import flatten
from planner.core.problem import Problem
from planner.core.search import Search
from tests.planner.core import outside
from tests.planner.core.small_world import least_cost, micro_problem, random_problem


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
    assert 0.6 * known <= raised(problem, known, steps=400) <= known


def test_a_problem_without_wishes_has_bound_zero() -> None:
    problem = random_problem(1, targets=None, bands=None, evenness=None, idle_weight=0)
    assert raised(problem, 10.0) == 0.0
