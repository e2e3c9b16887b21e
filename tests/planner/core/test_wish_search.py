"""The search with a coach's wishes: its plans keep them, its sums stay exact, and small ones are the best there are."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost
from planner.core.flat import flatten
from planner.core.problem import Problem, Station
from planner.core.search import Search
from planner.core.solve import Impossible, solve
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session
from tests.planner.core.exact import some_plan
from tests.planner.core.small_world import every_plan, micro_problem

SEEDS = st.integers(0, 10**6)
SLOW = settings(max_examples=60, deadline=None)


def wished(seed: int) -> Problem:
    rng = random.Random(seed)
    return Problem.from_json(cases.with_wishes(rng, cases.random_problem(rng)) | {"locks": None})


def micro(seed: int) -> Problem:
    """Two slots, three players, two drills, wishes; a station stands only where somebody is."""
    rng = random.Random(seed)
    built = micro_problem(rng).to_json()
    for each in built["drills"]:
        each["players"] = [max(1, players) for players in each["players"]]
    return Problem.from_json(cases.with_wishes(rng, built))


@SLOW
@given(SEEDS)
def test_no_plan_on_the_way_breaks_a_wish_that_has_to_be_kept(seed: int) -> None:
    known = wished(seed)
    search = Search(flatten(known), seed)
    for _ in range(20):
        search.improve(10, 100.0)
        assert breaches(known, search.current()) == []


@SLOW
@given(SEEDS, st.sampled_from([0.0, 5.0, 500.0]))
def test_the_running_cost_equals_the_referee_with_wishes_too(seed: int, temperature: float) -> None:
    known = wished(seed)
    search = Search(flatten(known), seed)
    search.improve(300, temperature)
    assert search.cost == pytest.approx(cost(known, search.stations()).total, abs=1e-6)


@SLOW
@given(SEEDS)
def test_the_state_after_many_edits_is_the_state_of_its_plan_with_wishes_too(seed: int) -> None:
    known = wished(seed)
    search = Search(flatten(known), seed)
    search.improve(300, 200.0)
    assert Search(flatten(known), seed, search.current(), free=()).totals() == search.totals()


@settings(max_examples=12, deadline=None)
@given(SEEDS)
@example(441038).via("two who are kept apart, and the keener one is not the better")
@example(1702).via("the same where a station needs both of the others")
@example(2097).via("the same where each role counts")
@example(1860).via("two of a group that is to have even contact: either alone would make it uneven")
@example(3523).via("the same where units train together")
def test_the_plan_is_the_best_of_all_plans_when_they_can_be_counted(seed: int) -> None:
    known = micro(seed)
    best = min(cost(known, plan).total for plan in every_plan(known) if not breaches(known, plan))
    assert solve(known, seconds=60, iterations=600).cost.total == pytest.approx(best, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_locked_stations_beside_wishes_end_in_a_plan_exactly_where_there_is_one(seed: int) -> None:
    rng = random.Random(seed)
    known = Problem.from_json(cases.with_wishes(rng, cases.roomy_problem(rng)))
    if some_plan(known, known.locks) is None:
        with pytest.raises(Impossible):
            solve(known, seconds=60, iterations=50, workers=1)
    else:
        assert breaches(known, solve(known, seconds=60, iterations=50, workers=1).stations) == []


# --- what the wishes do to a plan ---------------------------------------------------------------------


def best(**given: Any) -> tuple[Station, ...]:
    return solve(Problem.from_json(problem(**given)), seconds=60, iterations=400, workers=1).stations


def drills_of(stations: tuple[Station, ...]) -> list[str]:
    return sorted(station.drill for station in stations)


def test_a_drill_runs_as_often_as_is_wished_even_where_nobody_needs_it() -> None:
    nights = [session(f"s{n}", n) for n in range(4)]
    dull = drill("dull", skills=[], repeats={"least": 3, "weight": 1})
    assert drills_of(best(drills=[dull], sessions=nights)) == ["dull"] * 3


def test_a_favourite_runs_in_each_session_that_it_is_wished_for() -> None:
    wish = {"coach": "Ivy", "drills": ["dull", "dim"], "sessions": ["s0", "s2"], "weight": 1}
    nights = [session(f"s{n}", n) for n in range(3)]
    found = best(drills=[drill("dull", skills=[]), drill("dim", skills=[])], sessions=nights, favourites=[wish])
    assert [station.session for station in found] == ["s0", "s2"]


def test_a_pair_kept_apart_still_trains_at_stations_of_their_own() -> None:
    pair = [{"players": ["ann", "bea"]}]
    found = best(drills=[drill("a"), drill("b")], apart=pair, idle_weight=1, sessions=[session("s1", 0, slots=[10])])
    assert len(found) == 2
    assert all(not {"ann", "bea"} <= set(station.players) for station in found)


def test_units_kept_together_run_the_drill_one_unit_at_a_time() -> None:
    players = [{"id": f"{unit}{n}", "roles": ["all", unit]} for unit in ("front", "half") for n in range(3)]
    units = {"roles": ["front", "half"], "keep": "together"}
    found = best(players=players, drills=[drill("own", units=units), drill("any")], idle_weight=1)
    own = [{player[:-1] for player in station.players} for station in found if station.drill == "own"]
    assert own
    assert all(len(unit) == 1 for unit in own)


def test_a_drill_that_is_needed_late_is_taught_earlier_when_nothing_new_may_run_then() -> None:
    nights = [session("s1", 0, slots=[10]), session("s2", 3, slots=[10], nothing_new=True)]
    wish = {"coach": "Ivy", "drills": ["free"], "sessions": ["s2"], "weight": 50}
    found = best(drills=[drill("free"), drill("other")], sessions=nights, favourites=[wish], idle_weight=1)
    assert [station.session for station in found if station.drill == "free"] == ["s1", "s2"]
