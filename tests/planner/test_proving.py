"""The exact model in a process of its own."""

from __future__ import annotations

import random
import time

import pytest

from planner.core.problem import Status
from planner.core.solve import solve
from planner.proving import Prover
from tests.planner.core.small_world import least_cost, micro_problem


def test_a_small_problem_is_proven_to_have_no_better_plan():
    problem = micro_problem(random.Random(4))
    result = solve(problem, seconds=30, prover=Prover)
    assert result.status is Status.OPTIMAL
    assert result.bound == pytest.approx(least_cost(problem), abs=0.01)


def test_a_question_that_is_ended_answers_nothing_at_once():
    asked = Prover(micro_problem(random.Random(5)), 1e9, 60)
    asked.end()
    began = time.monotonic()
    assert asked.answer() == (0.0, ())
    assert time.monotonic() - began < 5
