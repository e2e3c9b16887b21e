"""Who comes late or leaves early stands in no slot that he misses, whoever deals; the cost stays what others reckon."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches, cost
from planner.core.compare import Standing
from planner.core.flat import flatten
from planner.core.more_time import EXTRA, longer, more_time
from planner.core.problem import Malformed, Plan, Problem, Station
from planner.core.redeal import redeal
from planner.core.search import Search
from planner.core.solve import solve
from planner.core.unserved import unserved
from tests.planner.core import cases, outside
from tests.planner.core.cases import drill, problem, session

SEEDS = st.integers(0, 10**6)
SLOW = settings(max_examples=60, deadline=None)


def late(*slots: int, **given: Any) -> Problem:
    """Ann misses these slots of the only night."""
    return Problem.from_json(problem(misses={"ann": {"s1": list(slots)}}, **given))


def drawn(seed: int) -> tuple[dict[str, Any], Problem]:
    rng = random.Random(seed)
    built = cases.with_misses(rng, cases.random_problem(rng) | {"locks": None})
    return built, Problem.from_json(built)


def stands_where_he_is_not(known: Problem, stations: tuple[Station, ...]) -> list[tuple[str, Station]]:
    return [
        (player, station)
        for station in stations
        for player in station.players
        if station.slot in known.misses.get(player, {}).get(station.session, ())
    ]


# --- the file -----------------------------------------------------------------------------------------


def test_a_file_without_the_key_is_written_without_it() -> None:
    assert "misses" not in Problem.from_json(problem()).to_json()


def test_slots_missed_are_read_in_order_and_once_each() -> None:
    assert late(1, 0, 1).misses == {"ann": {"s1": (0, 1)}}


@pytest.mark.parametrize(
    ("misses", "text"),
    [
        ({"dan": {"s1": [0]}}, "problem, misses: there is no player 'dan'; name a player of the problem"),
        ({"ann": {"s9": [0]}}, "problem, misses, 'ann': there is no session 's9'; name a session of the problem"),
        ({"ann": {"s1": [2]}}, "problem, misses, 'ann', 's1'[0]: 2 will not do; write a whole number from 0 to 1"),
        ({"ann": {"s1": 0}}, "problem, misses, 'ann', 's1': 0 is not a list; write [ ... ]"),
    ],
)
def test_a_slot_that_is_not_there_is_refused_with_its_place(misses: Any, text: str) -> None:
    with pytest.raises(Malformed) as refusal:
        Problem.from_json(problem(misses=misses))
    assert str(refusal.value).startswith(text)


# --- the referee --------------------------------------------------------------------------------------


def test_who_misses_a_slot_may_stand_in_the_others_only() -> None:
    known = late(0)
    told = [(b.rule, b.text) for b in breaches(known, [Station("s1", slot, "free", ("ann", "bea")) for slot in (0, 1)])]
    first = "ann is not there for all of the slot, but stands at free on s1 (Mon 05 Jan), slot 1."
    assert told[0] == ("H1", first)
    assert [rule for rule, _ in told] == ["H1", "H8"]  # the drill twice in a session is what the second station breaks


def test_a_missed_slot_costs_as_if_he_stood_about_and_is_told_to_nobody_as_idle() -> None:
    known, whole = late(0, idle_weight=1), Problem.from_json(problem(idle_weight=1))
    assert cost(known, []).idle == cost(whole, []).idle == 90
    assert Standing.of(known, []).idle == {"ann": 20, "bea": 30, "cat": 30}


@SLOW
@given(SEEDS)
def test_any_other_reader_reckons_the_same_cost_and_finds_the_same_fault_but_for_the_slots_missed(seed: int) -> None:
    checker = outside.reference()
    built, known = drawn(seed)
    rows = cases.random_stations(random.Random(seed), built)
    plan = Plan.from_json({"format": "plumbline-plan/1", "problem": known.name, "stations": rows}, known)
    broken, parts, _notes = checker.check(built, plan.to_json())
    ours = cost(known, plan.stations)
    assert {part: getattr(ours, part) for part in parts} == pytest.approx(parts, abs=1e-6)
    without = replace(known, misses={})
    mine = [b for b in breaches(known, plan.stations) if b not in breaches(without, plan.stations)]
    assert {(b.player, b.session, b.slot, b.drill) for b in mine} == {
        (player, station.session, station.slot, station.drill)
        for player, station in stands_where_he_is_not(known, plan.stations)
        if known.attends(player, station.session)
    }
    assert len(set(broken)) == len(set(breaches(without, plan.stations)))


# --- the search ---------------------------------------------------------------------------------------


@SLOW
@given(SEEDS)
def test_nobody_is_sent_to_a_slot_that_he_misses_and_the_running_cost_is_the_referees(seed: int) -> None:
    _built, known = drawn(seed)
    search = Search(flatten(known), seed)
    for _ in range(10):
        search.improve(20, 100.0)
        assert stands_where_he_is_not(known, search.current()) == []
    assert breaches(known, search.stations()) == []
    assert search.cost == pytest.approx(cost(known, search.stations()).total, abs=1e-6)


def test_a_plan_of_a_public_instance_with_latecomers_is_accepted_by_the_reference_checker() -> None:
    built = outside.instance("small")
    built = cases.with_misses(random.Random(3), built | {"locks": None})
    known = Problem.from_json(built)
    result = solve(known, seconds=60, iterations=300, workers=1)
    plan = Plan(known.name, result.stations, cost=result.cost.total, bound=result.bound)
    broken, _parts, notes = outside.reference().check(built, plan.to_json())
    assert (broken, notes) == ([], [])
    assert stands_where_he_is_not(known, plan.stations) == []


# --- dealing again ------------------------------------------------------------------------------------


def test_who_comes_late_is_taken_off_the_slot_that_he_misses_and_off_no_other() -> None:
    drills = [drill("free"), drill("more")]
    stations = (
        Station("s1", 0, "free", ("ann", "bea", "cat")),
        Station("s1", 1, "more", ("ann", "bea", "cat")),
    )
    dealt = redeal(late(0, drills=drills), stations, iterations=50)
    assert dealt.released == ("ann is not there for all of the slot, but stands at free on s1 (Mon 05 Jan), slot 1.",)
    assert [(s.slot, s.players) for s in dealt.stations] == [(0, ("bea", "cat")), (1, ("ann", "bea", "cat"))]


def test_a_lock_lets_go_of_who_misses_its_slot() -> None:
    known = late(0, locks=[{"session": "s1", "slot": 0, "drill": "free", "players": ["ann", "bea"]}])
    dealt = redeal(known, (Station("s1", 0, "free", ("ann", "bea")),), iterations=50)
    assert dealt.released[0] == (
        "ann is not there for all of the slot and no longer locked to free on s1 (Mon 05 Jan), slot 1."
    )
    assert dealt.stations[0].players == ("bea",)


@SLOW
@given(SEEDS)
def test_dealing_again_for_latecomers_ends_within_the_rules(seed: int) -> None:
    _built, known = drawn(seed)
    before = Search(flatten(replace(known, misses={})), seed).stations()
    dealt = redeal(known, before, iterations=50)
    assert breaches(known, dealt.stations) == []


# --- in words -----------------------------------------------------------------------------------------


def test_a_target_that_falls_in_missed_slots_only_is_told_before_a_run() -> None:
    sessions = [session("s1", 0, slots=[10, 40])]
    wanted = [{"player": "ann", "skill": "tackle", "minutes": 10, "weight": 1}]
    known = late(0, sessions=sessions, targets=wanted)
    assert [each.text for each in unserved(known)] == [
        "Nothing can train tackle for ann: not there whenever it could run (1 drill)."
    ]


def test_who_misses_every_slot_is_told_as_absent_from_all() -> None:
    wanted = [{"player": "ann", "skill": "tackle", "minutes": 10, "weight": 1}]
    assert [each.text for each in unserved(late(0, 1, targets=wanted))] == ["ann is absent from every session."]


def test_who_has_gone_before_the_end_gains_nothing_from_more_time() -> None:
    wanted = [{"player": player, "skill": "tackle", "minutes": 40, "weight": 1} for player in ("ann", "bea", "cat")]
    known = late(1, targets=wanted, drills=[drill("free"), drill("more")])
    assert longer(known, {"s1"}).missed("ann", "s1") == (1, 2)
    found = more_time(known, ())
    assert [set(each.eased) for each in found] == [{"bea", "cat"}]
    assert found[0].eased["bea"] == EXTRA / 2
