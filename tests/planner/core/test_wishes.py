"""A coach's wishes in the problem file: read, written, and refused in words when they make no sense."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.problem import Apart, Favourite, HardRow, Keep, Malformed, Order, Problem, Repeats, Units
from tests.planner.core import cases
from tests.planner.core.cases import drill, problem, session


def wished(**changes: Any) -> dict[str, Any]:
    """A problem in which every wish is said once, changed by what is given."""
    return (
        problem(
            drills=[
                drill(
                    "free",
                    theme="line speed",
                    fresh=True,
                    repeats={"least": 2, "most": 4, "gap_days": 3, "weight": 1.5},
                    units={"roles": ["front", "half"], "keep": "together"},
                )
            ],
            sessions=[session("s1", 0, themes_most=2, nothing_new=True, breaks=[1])],
            known=["free"],
            apart=[{"players": ["ann", "bea"], "contact_only": True}],
            order={"tiring_rpe": 8},
            hard_row={"rpe": 7, "most": 2},
            favourites=[{"coach": "Ivy", "drills": ["free"], "sessions": ["s1"], "weight": 2}],
        )
        | changes
    )


def test_wishes_are_read_into_values() -> None:
    known = Problem.from_json(wished())
    free, first = known.drill("free"), known.session("s1")
    assert (free.theme, free.fresh) == ("line speed", True)
    assert free.repeats == Repeats(least=2, most=4, gap_days=3, weight=1.5)
    assert free.units == Units(("front", "half"), Keep.TOGETHER, 1)
    assert (first.themes_most, first.nothing_new, first.breaks) == (2, True, (1,))
    assert known.known == ("free",)
    assert known.apart == (Apart(("ann", "bea"), contact_only=True),)
    assert (known.order, known.hard_row) == (Order(8), HardRow(7, 2))
    assert known.favourites == (Favourite("Ivy", ("free",), ("s1",), 2),)


def test_a_problem_without_wishes_is_written_without_their_keys() -> None:
    written = Problem.from_json(problem()).to_json()
    assert written.keys() == {
        "format", "name", "start", "weeks", "skills", "players", "drills", "sessions", "ceilings", "limits", "targets",
        "bands", "evenness", "idle_weight", "locks",
    }  # fmt: skip
    assert written["drills"][0].keys() == drill("free").keys()
    assert written["sessions"][0].keys() == session("s1", 0).keys()


def test_wishes_that_are_null_or_say_nothing_mean_no_wish() -> None:
    nothing = {"repeats": {}, "units": None, "theme": None, "fresh": None}
    nights = {"themes_most": None, "nothing_new": False, "breaks": []}
    empty = {"known": [], "apart": None, "order": None, "hard_row": None, "favourites": []}
    told = problem(drills=[drill("free") | nothing], sessions=[session("s1", 0) | nights]) | empty
    assert Problem.from_json(told) == Problem.from_json(problem())


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32))
def test_any_problem_with_wishes_survives_writing_and_reading(seed: int) -> None:
    rng = random.Random(seed)
    known = Problem.from_json(cases.with_wishes(rng, cases.random_problem(rng)))
    assert Problem.from_json(json.loads(json.dumps(known.to_json()))) == known


@pytest.mark.parametrize(
    ("path", "value", "text"),
    [
        (["drills", 0, "theme"], 3, 'drills[0], theme: 3 is not a text; write it in quotes, as "..."'),
        (["drills", 0, "fresh"], 1, "drills[0], fresh: 1 is neither true nor false; write true or false"),
        (["drills", 0, "repeats", "least"], 5, "drills[0], repeats: least 5 is above most 4; exchange them"),
        (
            ["drills", 0, "repeats", "gap_days"],
            -1,
            "drills[0], repeats, gap_days: -1 will not do; write a whole number from 0 to 1000000",
        ),
        (
            ["drills", 0, "units", "roles"],
            ["front", "front"],
            "drills[0], units: roles does not name two different roles; name each unit once, and two at least",
        ),
        (
            ["drills", 0, "units", "keep"],
            "apart",
            "drills[0], units, keep: 'apart' is unknown; write one of together, mixed",
        ),
        (
            ["drills", 0, "units", "least"],
            0,
            "drills[0], units, least: 0 will not do; write a whole number from 1 to 1000000",
        ),
        (
            ["sessions", 0, "themes_most"],
            -1,
            "sessions[0], themes_most: -1 will not do; write a whole number from 0 to 1000000",
        ),
        (
            ["sessions", 0, "breaks"],
            [0],
            "sessions[0], breaks[0]: there is no break before slot 0 of 2, counted from 0; name a slot from 1 to 1",
        ),
        (["known", 0], "jig", "known[0]: there is no drill 'jig'; name a drill of the problem"),
        (
            ["apart", 0, "players"],
            ["ann", "ann"],
            "apart[0]: players is not a pair of two different players; name two players",
        ),
        (
            ["apart", 0, "players", 1],
            "bob",
            "apart[0], players[1]: there is no player 'bob'; name a player of the problem",
        ),
        (["order"], {}, "order, tiring_rpe: is missing; add it"),
        (["hard_row", "rpe"], 11, "hard_row, rpe: 11 will not do; write a whole number from 1 to 10"),
        (
            ["favourites", 0, "sessions"],
            ["s9"],
            "favourites[0], sessions[0]: there is no session 's9'; name a session of the problem",
        ),
        (["favourites", 0, "drills"], None, "favourites[0], drills: is missing; add it"),
    ],
)
def test_a_malformed_wish_is_named_with_its_place_and_a_remedy(path: list[Any], value: object, text: str) -> None:
    holder: Any = (data := wished())
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = value
    with pytest.raises(Malformed) as caught:
        Problem.from_json(data)
    assert str(caught.value) == f"problem, {text}"
