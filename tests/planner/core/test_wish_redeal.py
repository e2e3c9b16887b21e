"""A wish that is made after the plan: what breaks it is released, and what a lock asks for stays."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches
from planner.core.problem import Lock, Problem, Station
from planner.core.redeal import redeal, release
from planner.core.solve import Impossible, solve
from planner.core.words import Words
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session

QUICK = {"iterations": 100}


def night(**given: object) -> Problem:
    return Problem.from_json(problem(**given))


def released(known: Problem, *stations: Station) -> tuple[set[Station], int]:
    """What is kept, and how many reasons are told."""
    kept, reasons = release(known, stations, Words(known))
    return set(kept), len(reasons)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_a_plan_made_without_the_wishes_is_dealt_again_within_them(seed: int) -> None:
    rng = random.Random(seed)
    built = cases.random_problem(rng) | {"locks": None}
    plan = solve(Problem.from_json(built), seconds=60, iterations=30, workers=1).stations
    known = Problem.from_json(cases.with_wishes(rng, built))
    assert breaches(known, redeal(known, plan, **QUICK).stations) == []


def test_of_two_players_kept_apart_one_leaves() -> None:
    known = night(apart=[{"players": ["ann", "bea"]}])
    both = Station("s1", 0, "free", ("ann", "bea", "cat"))
    assert released(known, both) == ({replace(both, players=("ann", "cat"))}, 1)
    held = replace(known, locks=(Lock("s1", 0, "free", ("bea",)),))
    assert released(held, both) == ({replace(both, players=("bea", "cat"))}, 1)


def test_the_smaller_station_gives_way_when_a_session_may_have_one_theme() -> None:
    drills = [drill("line", theme="line"), drill("ruck", theme="ruck"), drill("chat")]
    known = night(drills=drills, sessions=[session("s1", 0, themes_most=1)])
    line, ruck = Station("s1", 0, "line", ("ann", "bea")), Station("s1", 1, "ruck", ("ann",))
    chat = Station("s1", 1, "chat", ("cat",))
    assert released(known, line, ruck, chat) == ({line, chat}, 1)
    held = replace(known, locks=(Lock("s1", 1, "ruck"),))
    assert released(held, line, ruck, chat) == ({ruck, chat}, 1)


def test_only_a_hard_slot_is_given_up_for_a_row_of_them() -> None:
    drills = [drill("hard", rpe=9), drill("harder", rpe=10), drill("easy", rpe=2)]
    known = night(drills=drills, sessions=[session("s1", 0, slots=[10] * 3)], hard_row={"rpe": 9, "most": 1})
    plan = [
        Station("s1", 0, "easy", ("ann",)),
        Station("s1", 1, "hard", ("ann", "bea")),
        Station("s1", 2, "harder", ("ann", "bea", "cat")),
    ]
    kept, reasons = released(known, *plan)
    assert kept == {plan[0], replace(plan[2], players=("ann", "bea", "cat"))}
    assert reasons == 3


def test_a_new_lock_that_wants_fresh_players_moves_the_tiring_drill_before_it() -> None:
    drills = [drill("hard", rpe=9), drill("calm", fresh=True)]
    known = replace(night(drills=drills, order={"tiring_rpe": 9}), locks=(Lock("s1", 1, "calm"),))
    dealt = redeal(known, [Station("s1", 0, "hard", ("ann", "bea", "cat"))], **QUICK)
    assert "calm" in {station.drill for station in dealt.stations if station.slot == 1}
    assert breaches(known, dealt.stations) == []


def test_a_drill_locked_too_near_to_another_run_of_it_takes_its_place() -> None:
    nights = [session("s1", 0), session("s2", 3)]
    known = night(drills=[drill("rare", repeats={"gap_days": 7})], sessions=nights)
    known = replace(known, locks=(Lock("s2", 0, "rare"),))
    dealt = redeal(known, [Station("s1", 0, "rare", ("ann", "bea", "cat"))], **QUICK)
    assert {station.session for station in dealt.stations} == {"s2"}


def test_locks_that_a_wish_stands_against_are_named() -> None:
    drills = [drill("hard", rpe=9), drill("calm", fresh=True)]
    known = night(drills=drills, order={"tiring_rpe": 9})
    known = replace(known, locks=(Lock("s1", 0, "hard"), Lock("s1", 1, "calm")))
    with pytest.raises(Impossible, match="wants fresh players"):
        redeal(known, [], **QUICK)
