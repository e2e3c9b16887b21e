"""The search keeps its running sums equal to a recomputation and its plan within the rules."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost
from planner.core.flat import flatten
from planner.core.problem import Problem
from planner.core.search import Search
from tests.planner.core import cases, outside
from tests.planner.core.small_world import random_problem

SEEDS = st.integers(0, 10**6)
SLOW = settings(max_examples=60, deadline=None)


def searched(problem: Problem, seed: int, rounds: int = 300, temperature: float = 30.0) -> Search:
    search = Search(flatten(problem), seed)
    search.improve(rounds, temperature)
    return search


@SLOW
@given(SEEDS, st.sampled_from([0.0, 5.0, 500.0]))
def test_the_running_cost_equals_the_referee_after_any_number_of_edits(seed: int, temperature: float) -> None:
    problem = random_problem(seed)
    search = searched(problem, seed, temperature=temperature)
    assert search.cost == pytest.approx(cost(problem, search.stations()).total, abs=1e-6)


@SLOW
@given(SEEDS)
def test_the_state_after_many_edits_is_the_state_of_its_plan(seed: int) -> None:
    problem = random_problem(seed)
    search = searched(problem, seed, temperature=200.0)
    afresh = Search(flatten(problem), seed, search.current(), free=())
    assert afresh.totals() == search.totals()


@SLOW
@given(SEEDS)
def test_no_plan_on_the_way_breaks_a_rule(seed: int) -> None:
    problem = random_problem(seed)
    search = Search(flatten(problem), seed)
    for _ in range(20):
        search.improve(10, 100.0)
        assert breaches(problem, search.current()) == []


def test_the_first_plan_is_already_within_the_rules_on_a_public_instance() -> None:
    problem = Problem.from_json(outside.instance("block"))
    assert breaches(problem, Search(flatten(problem), 1).stations()) == []


def test_a_plan_to_start_with_is_taken_over_as_it_is() -> None:
    problem = Problem.from_json(outside.instance("small"))
    plan = searched(problem, 1).stations()
    assert set(Search(flatten(problem), 2, plan, free=()).stations()) == set(plan)


def test_only_the_free_slots_change() -> None:
    problem = Problem.from_json(outside.instance("small"))
    layout = flatten(problem)
    plan = Search(layout, 1).stations()
    search = Search(layout, 2, plan, free=[0])
    search.improve(500, 50.0)
    first = next(iter(layout.slots))
    fixed = {station for station in plan if (station.session, station.slot) != first}
    assert fixed == {s for s in search.stations() if (s.session, s.slot) != first}


def test_a_lock_that_names_more_players_than_fit_leaves_its_slot_unstaffed() -> None:
    built = cases.problem(drills=[cases.drill("pair", players=[1, 2])])
    lock = {"session": "s1", "slot": 0, "drill": "pair", "players": ["ann", "bea", "cat"]}
    assert Search(flatten(Problem.from_json(built | {"locks": [lock]})), 1).unstaffed == [0]


@SLOW
@given(SEEDS, st.integers(1, 400))
def test_the_same_seed_and_rounds_give_the_same_plan(seed: int, rounds: int) -> None:
    problem = random_problem(seed)
    assert searched(problem, 7, rounds).stations() == searched(problem, 7, rounds).stations()
