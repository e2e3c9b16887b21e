"""Clashes named, never invented: against an exact model of every rule, the referee, and clashes made on purpose."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches
from planner.core.clash import Clash, Words, clash, unserved
from planner.core.foothold import foothold
from planner.core.problem import Lock, Problem
from planner.core.solve import solve
from tests.planner.core import cases, clashing, outside
from tests.planner.core.cases import drill, problem, session
from tests.planner.core.exact import some_plan

SIZES = {
    "tiny": {"players": 8, "weeks": 1, "nights": 3, "drills": 8},
    "club": {"players": 34, "weeks": 4, "nights": 2, "drills": 40},
    "pro": {"players": 45, "weeks": 8, "nights": 4, "drills": 120},
    "season": {"players": 40, "weeks": 40, "nights": 3, "drills": 100},
}


def said(built: dict[str, Any]) -> Clash:
    found = clash(Problem.from_json(built))
    assert found is not None
    return found


def lock(drill_id: str, slot: int, *players: str, at: str = "s1") -> dict[str, Any]:
    return clashing.lock(at, slot, drill_id, *players)


def with_some_away(seed: int) -> Problem:
    rng = random.Random(seed)
    built = cases.roomy_problem(rng)
    return Problem.from_json(cases.with_misses(rng, built) if rng.random() < 0.4 else built)


# --- in words -----------------------------------------------------------------------------------------


def test_a_player_below_the_ceiling_is_named() -> None:
    built = problem(
        drills=[drill("choke-3", contact={"kind": "full", "share": 0.5})],
        ceilings={"ann": {"s1": "controlled"}},
        locks=[lock("choke-3", 0, "ann", "bea")],
    )
    assert said(built) == Clash(
        ("H5",),
        (Lock("s1", 0, "choke-3", ("ann",)),),
        "ann is locked to choke-3 on s1 (Mon 05 Jan), slot 1, but ann may do controlled contact at most on "
        "s1 (Mon 05 Jan) and choke-3 is full contact.",
    )


def test_contact_of_two_locks_and_of_the_week_before_them_is_added_up() -> None:
    built = problem(
        players=[{"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 2.5}}}],
        drills=[drill("a", contact={"kind": "full", "share": 0.4}), drill("b", contact={"kind": "full", "share": 0.2})],
        sessions=[session("s1", 0), session("s2", 2)],
        limits={"weekly": {"full": 8}},
        locks=[lock("a", 0, "ann"), lock("b", 0, "ann"), lock("b", 0, "ann", at="s2")],
    )
    built["locks"][1]["slot"] = 1
    assert said(built).text == (
        "ann is locked to a on s1 (Mon 05 Jan), slot 1 and b on s1 (Mon 05 Jan), slot 2: 8 minutes of full contact "
        "in week 1 on top of 2.5, but the limit is 8."
    )


def test_two_locks_on_one_station_count_as_one() -> None:
    built = problem(drills=[drill("a", players=[1, 2])], locks=[lock("a", 0, "ann"), lock("a", 0, "bea", "cat")])
    found = said(built)
    assert (found.rules, found.locks) == (("H2",), (Lock("s1", 0, "a", ("ann", "bea", "cat")),))


def test_names_stand_in_for_ids() -> None:
    built = problem(drills=[drill("a", minutes=[25, 30])], locks=[lock("a", 0)])
    known = Problem.from_json(built)
    found = clash(known, words=Words(known, drills={"a": "Tower tackle"}, sessions={"s1": "Monday night"}))
    assert str(found) == (
        "Tower tackle on Monday night, slot 1 is locked, but Tower tackle takes 25 to 30 minutes and "
        "Monday night, slot 1 has 10."
    )


def climb(*lower: str, minutes: int) -> dict[str, Any]:
    """ann is locked to the second rung on a Tuesday, after a Monday of two slots of 10 minutes for these drills."""
    return problem(
        drills=[*(drill(name, ladder="tackle") for name in lower), drill("high", ladder="tackle", rung=2)],
        sessions=[session("s1", 0, slots=[10, 10]), session("s2", 1)],
        limits={"ladder": {"minutes": minutes, "days": 28}},
        locks=[lock("high", 0, "ann", at="s2")],
    )


def test_just_enough_minutes_at_the_rung_below_are_enough() -> None:
    assert clash(Problem.from_json(climb("low", minutes=10))) is None
    assert clash(Problem.from_json(climb("low", "other", minutes=20))) is None


def test_a_drill_gives_minutes_at_its_rung_once_in_a_session() -> None:
    assert said(climb("low", minutes=20)).rules == ("H2", "H9")
    assert said(climb("low", "other", minutes=21)).rules == ("H2", "H9")


def test_contact_spent_before_counts_against_a_single_lock() -> None:
    built = problem(
        players=[{"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 4}}}, {"id": "bea", "roles": ["all"]}],
        drills=[drill("a", contact={"kind": "full", "share": 0.5})],
        limits={"weekly": {"full": 8}},
        locks=[lock("a", 0, "ann")],
    )
    assert said(built).text == (
        "ann is locked to a on s1 (Mon 05 Jan), slot 1, but ann would have 9 minutes of full contact in week 1 with a; "
        "the limit is 8."
    )


def test_the_public_clash_is_explained() -> None:
    found = said(outside.instance("clash"))
    assert found.rules == ("H6",)
    assert found.locks == tuple(Lock(night, 0, "choke-3", ("p31",)) for night in ("w2d2", "w2d4"))


@pytest.mark.parametrize("name", [name for name in outside.INSTANCES if name != "clash"])
def test_no_clash_is_found_in_a_public_instance_that_has_a_plan(name: str) -> None:
    assert clash(Problem.from_json(outside.instance(name))) is None


# --- made on purpose, at every size ------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("trap", clashing.TRAPS, ids=lambda trap: trap.__name__)
def test_a_clash_made_on_purpose_is_named_exactly(size: str, trap: Callable[[dict[str, Any]], clashing.Trap]) -> None:
    rng = random.Random(size)
    made = trap(clashing.block(rng, **SIZES[size]))
    first = made.built["sessions"][0]["id"]
    bystander = clashing.lock(first, 3, made.built["drills"][2]["id"])
    found = said(made.built | {"locks": [bystander, *made.locks]})
    assert found.rules == made.rules
    assert set(found.locks) == set(Problem.from_json(made.built | {"locks": made.locks}).locks)


@pytest.mark.parametrize("size", ["tiny", "club"])
def test_the_stations_of_a_plan_never_clash(size: str) -> None:
    known = Problem.from_json(clashing.block(random.Random(size), **SIZES[size]))
    stations = solve(known, seconds=60, iterations=20, seed=1, workers=1).stations
    assert breaches(known, stations) == []
    rng = random.Random(1)
    for _ in range(5):
        chosen = rng.sample(stations, min(len(stations), 12))
        assert clash(known, [Lock(s.session, s.slot, s.drill, s.players) for s in chosen]) is None


# --- against an exact model of the whole problem ------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32))
def test_locks_clash_exactly_when_no_plan_holds_them(seed: int) -> None:
    known = with_some_away(seed)
    plan = some_plan(known, known.locks)
    found = clash(known)
    assert (found is None) == (plan is not None)
    if plan is not None:
        assert breaches(known, plan) == []
    if found is not None:
        assert some_plan(known, found.locks) is None


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32))
def test_locks_that_do_not_clash_have_a_foothold_that_keeps_every_rule(seed: int) -> None:
    known = with_some_away(seed)
    if clash(known) is None:
        stations = foothold(known)
        assert stations is not None
        assert breaches(known, stations) == []


@pytest.mark.parametrize("size", ["club", "pro"])
def test_high_rungs_in_a_large_block_have_a_foothold(size: str) -> None:
    built = clashing.block(random.Random(size), **SIZES[size])
    high = [d["id"] for d in built["drills"] if d["ladder"] and d["rung"] == 3]
    locks = [lock(name, i, at=built["sessions"][-1]["id"]) for i, name in enumerate(high[:4])]
    known = Problem.from_json(built | {"locks": locks})
    stations = foothold(known)
    assert stations is not None
    assert breaches(known, stations) == []


def lessened(locks: tuple[Lock, ...]) -> Iterator[tuple[Lock, ...]]:
    """The locks without one of them, or without one of their players."""
    for i, less in enumerate(locks):
        yield locks[:i] + locks[i + 1 :]
        for player in less.players:
            rest = tuple(other for other in less.players if other != player)
            yield (*locks[:i], replace(less, players=rest), *locks[i + 1 :])


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32))
def test_nothing_can_be_left_out_of_a_clash_that_only_shows_when_rules_meet(seed: int) -> None:
    known = with_some_away(seed)
    found = clash(known)
    if found is not None and " cannot hold" in found.text:
        assert all(some_plan(known, fewer) is not None for fewer in lessened(found.locks))


# --- targets that nothing serves ----------------------------------------------------------------------


def reasons(**given: Any) -> list[str]:
    wish = {"player": "ann", "skill": "tackle", "minutes": 10, "weight": 1, "weekly": False}
    return [entry.text for entry in unserved(Problem.from_json(problem(targets=[wish], **given)))]


FULL = {"kind": "full", "share": 0.5}


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ({"ceilings": {"ann": {"s1": "absent"}}}, "ann is absent from every session."),
        ({"drills": [drill("a", skills=[])]}, "No drill trains tackle for ann."),
        ({"drills": [drill("a", skills=[{"skill": "tackle", "share": 1, "roles": ["front"]}])]},
         "No drill trains tackle for ann."),
        ({"drills": [drill("a", minutes=[25, 30]), drill("b", roles=["front"])]},
         "Nothing can train tackle for ann: not for the player's roles (1 drill), "
         "no slot of the right length (1 drill)."),
        ({"drills": [drill("a", contact=FULL)], "ceilings": {"ann": {"s1": "none"}}},
         "Nothing can train tackle for ann: above the player's contact ceiling (1 drill)."),
        ({"drills": [drill("a", contact=FULL)], "limits": {"weekly": {"full": 4}}},
         "Nothing can train tackle for ann: above the weekly contact limit (1 drill)."),
        ({"drills": [drill("a", ladder="tackle", rung=2)], "limits": {"ladder": {"minutes": 5, "days": 9}}},
         "Nothing can train tackle for ann: the rung below out of reach (1 drill)."),
        ({"drills": [drill("a", players=[4, 9])]},
         "Nothing can train tackle for ann: too few players who could stand there (1 drill)."),
        ({"drills": [drill("a", kit={"sled": 1})]},
         "Nothing can train tackle for ann: not enough stations, coaches, area or kit (1 drill)."),
    ],
)  # fmt: skip
def test_a_target_that_nothing_serves_is_listed_with_its_reason(given: dict[str, Any], text: str) -> None:
    assert reasons(**given) == [text]


def test_a_target_that_something_serves_is_not_listed() -> None:
    assert reasons() == []


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32))
def test_no_plan_gives_a_minute_to_an_unserved_target(seed: int) -> None:

    rng = random.Random(seed)
    known = Problem.from_json(cases.roomy_problem(rng) | {"locks": []})
    for entry in unserved(known)[:2]:
        for drill_ in known.drills:
            if known.share(entry.target.player, drill_.id, entry.target.skill) > 0:
                places = [(s.id, k) for s in known.sessions for k in range(len(s.slots))]
                wishes = (Lock(s, k, drill_.id, (entry.target.player,)) for s, k in places)
                assert all(some_plan(known, (wish,)) is None for wish in wishes)
