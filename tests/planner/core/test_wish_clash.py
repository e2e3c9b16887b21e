"""Locks that a coach's wishes stand against: named in words, and exactly where an independent model finds no plan."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import breaches
from planner.core.clash import clash, unserved
from planner.core.foothold import foothold
from planner.core.problem import Problem
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session
from tests.planner.core.exact import some_plan

SEEDS = st.integers(0, 2**32)


def wished(seed: int) -> Problem:
    rng = random.Random(seed)
    return Problem.from_json(cases.with_wishes(rng, cases.roomy_problem(rng)))


@settings(max_examples=150, deadline=None)
@given(SEEDS)
def test_locks_beside_wishes_clash_exactly_when_no_plan_holds_them(seed: int) -> None:
    known = wished(seed)
    plan, found = some_plan(known, known.locks), clash(known)
    assert (found is None) == (plan is not None)
    if plan is not None:
        assert breaches(known, plan) == []
    if found is not None:
        assert some_plan(known, found.locks) is None


@settings(max_examples=150, deadline=None)
@given(SEEDS)
def test_locks_beside_wishes_that_do_not_clash_have_a_foothold(seed: int) -> None:
    known = wished(seed)
    if clash(known) is None:
        stations = foothold(known)
        assert stations is not None
        assert breaches(known, stations) == []


def lock(name: str, slot: int, *players: str, at: str = "s1") -> dict[str, Any]:
    return {"session": at, "slot": slot, "drill": name, "players": list(players)}


HARD, CALM = drill("hard", rpe=9, theme="ruck"), drill("calm", fresh=True, theme="line")
LATER = session("s2", 2, nothing_new=True)


@pytest.mark.parametrize(
    ("given", "rules", "text"),
    [
        (
            {"sessions": [session("s1", 0, themes_most=1)], "locks": [lock("hard", 0), lock("calm", 1)]},
            ("H11",),
            "hard on s1 (Mon 05 Jan), slot 1 and calm on s1 (Mon 05 Jan), slot 2 are locked: 2 themes (ruck and line), "
            "but the limit is 1.",
        ),
        (
            {"sessions": [LATER], "locks": [lock("hard", 0, at="s2")]},
            ("H12",),
            "hard on s2 (Wed 07 Jan), slot 1 is locked, but hard is new to the squad, cannot run earlier in the block, "
            "and nothing new may run on s2 (Wed 07 Jan).",
        ),
        (
            {"order": {"tiring_rpe": 8}, "locks": [lock("hard", 0), lock("calm", 1)]},
            ("H13",),
            "calm on s1 (Mon 05 Jan), slot 2 wants fresh players and is locked after hard on s1 (Mon 05 Jan), slot 1, "
            "which tires them.",
        ),
        (
            {"hard_row": {"rpe": 4, "most": 1}, "locks": [lock("hard", 0, "ann"), lock("calm", 1, "ann", "bea")]},
            ("H14",),
            "ann is locked to hard on s1 (Mon 05 Jan), slot 1 and calm on s1 (Mon 05 Jan), slot 2: hard drills in "
            "2 slots in a row, but the limit is 1.",
        ),
        (
            {
                "drills": [drill("rare", repeats={"gap_days": 7})],
                "sessions": [session("s1", 0), session("s2", 2)],
                "locks": [lock("rare", 0), lock("rare", 1, at="s2")],
            },
            ("H15",),
            "rare on s1 (Mon 05 Jan), slot 1 and rare on s2 (Wed 07 Jan), slot 2 are locked, 2 days apart; "
            "it has to be 7 at least.",
        ),
        (
            {"apart": [{"players": ["ann", "cat"]}], "locks": [lock("calm", 0, "ann", "bea", "cat")]},
            ("H16",),
            "ann and cat are kept apart, but both are locked to calm on s1 (Mon 05 Jan), slot 1.",
        ),
        (
            {
                "players": [{"id": "pip", "roles": ["all", "prop"]}, {"id": "wyn", "roles": ["all", "wing"]}],
                "drills": [drill("own", units={"roles": ["prop", "wing"], "keep": "together"})],
                "locks": [lock("own", 0, "pip", "wyn")],
            },
            ("H17",),
            "pip (prop) and wyn (wing) are locked to own on s1 (Mon 05 Jan), slot 1, which keeps units to themselves.",
        ),
    ],
)
def test_a_wish_that_locks_break_is_named(given: dict[str, Any], rules: tuple[str, ...], text: str) -> None:
    found = clash(Problem.from_json(problem(**({"drills": [HARD, CALM]} | given))))
    assert found is not None
    assert (found.rules, found.text) == (rules, text)


def test_a_clash_of_a_wish_with_another_rule_is_proven() -> None:
    """A mixed drill needs a prop, and the only one is locked elsewhere in the slot."""
    roles = {"pip": ["all", "prop"], "wyn": ["all", "wing"], "zoe": ["all", "wing"]}
    known = problem(
        players=[{"id": name, "roles": has} for name, has in roles.items()],
        drills=[drill("both", units={"roles": ["prop", "wing"], "keep": "mixed"}), drill("free")],
        locks=[lock("both", 0), lock("free", 0, "pip")],
    )
    found = clash(Problem.from_json(known))
    assert found is not None
    assert found.rules == ("H1", "H17")
    assert found.text.endswith(
        "because nobody can stand at two stations at once and "
        "some drills keep units to themselves or need some of each."
    )


def test_a_target_that_only_a_drill_too_new_would_serve_is_listed() -> None:
    wish = {"player": "ann", "skill": "tackle", "minutes": 10, "weight": 1}
    known = Problem.from_json(problem(targets=[wish], sessions=[LATER]))
    assert [entry.text for entry in unserved(known)] == [
        "Nothing can train tackle for ann: new to the squad wherever it could run (1 drill)."
    ]
