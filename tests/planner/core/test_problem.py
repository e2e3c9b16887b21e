"""Reading problems and plans: exact round trips, and a clear word about everything malformed."""

from __future__ import annotations

import copy
import json
import math
import random
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.problem import Ceiling, Contact, Malformed, Plan, Problem, Station, Status
from tests.planner.core import cases, outside
from tests.planner.core.cases import drill, problem, session


def without_nothing(value: Any) -> Any:
    """Keys that are null or hold nothing mean the same as keys that are missing."""
    if isinstance(value, dict):
        kept = {key: without_nothing(entry) for key, entry in value.items()}
        return {key: entry for key, entry in kept.items() if entry not in (None, {}, [])}
    return [without_nothing(entry) for entry in value] if isinstance(value, list) else value


def complaint(data: object) -> str:
    with pytest.raises(Malformed) as caught:
        Problem.from_json(data)
    return str(caught.value)


def plan_complaint(changes: dict[str, Any]) -> str:
    data = {"format": "plumbline-plan/1", "problem": "case", "stations": []}
    with pytest.raises(Malformed) as caught:
        Plan.from_json(data | changes, Problem.from_json(problem()))
    return str(caught.value)


# --- reading and writing ------------------------------------------------------------------------------


def test_a_problem_is_read_into_values() -> None:
    known = Problem.from_json(
        problem(
            drills=[drill("a", contact={"kind": "set_piece", "share": 0.25})],
            ceilings={"ann": {"s1": "controlled"}},
            sessions=[session("s1", 8, slots=[10, 20])],
        )
    )
    assert known.drill("a").kind is Contact.SET_PIECE
    assert known.ceiling("ann", "s1") is Ceiling.CONTROLLED
    assert known.ceiling("bea", "s1") is Ceiling.FULL
    assert known.session("s1").date == date(2026, 1, 13)
    assert known.week_of("s1") == 1
    assert known.minutes(Station("s1", 1, "a", ())) == 20
    assert known.share("ann", "a", "tackle") == 0.5


def test_a_limit_that_is_missing_or_null_does_not_bind() -> None:
    limits = Problem.from_json(problem(limits={"weekly": {"full": None}, "ladder": None})).limits
    assert (limits.weekly, limits.full_days_per_week, limits.repeats_per_week, limits.ladder) == ({}, None, None, None)


def test_a_rung_without_a_ladder_means_nothing() -> None:
    known = Problem.from_json(problem(drills=[drill("a", ladder=None, rung=7)]))
    assert (known.drill("a").ladder, known.drill("a").rung) == (None, 1)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32))
def test_any_problem_survives_writing_and_reading(seed: int) -> None:
    rng = random.Random(seed)
    built = cases.random_problem(rng)
    built = cases.with_misses(rng, built) if rng.random() < 0.5 else built
    known = Problem.from_json(built)
    assert Problem.from_json(json.loads(json.dumps(known.to_json()))) == known


@pytest.mark.parametrize("name", outside.INSTANCES)
def test_a_public_instance_is_written_as_it_was_read(name: str) -> None:
    data = outside.instance(name)
    assert without_nothing(Problem.from_json(data).to_json()) == without_nothing(data)


def test_a_plan_survives_writing_and_reading() -> None:
    known = Problem.from_json(problem())
    stations = (Station("s1", 0, "free", ("ann", "bea")), Station("s1", 1, "free", ()))
    plan = Plan("case", stations, cost=12.5, bound=3.25, status=Status.FEASIBLE, seconds=0.5)
    assert Plan.from_json(json.loads(json.dumps(plan.to_json())), known) == plan


def test_a_plan_needs_only_its_stations() -> None:
    data = {"format": "plumbline-plan/1", "problem": "case", "stations": []}
    assert Plan.from_json(data, Problem.from_json(problem())) == Plan("case", ())


# --- what is malformed, where, and how to mend it -----------------------------------------------------


def spoilt(path: list[str | int], value: object) -> dict[str, Any]:
    """A good problem with one value replaced."""
    data = problem(
        players=[
            {
                "id": "ann",
                "roles": ["all"],
                "done": {"tackle:1": [["2026-01-01", 10]]},
                "accrued": {"0": {"full": 1}},
            }
        ],
        drills=[drill("a", needs={"all": 1}, kit={"bags": 1}, ladder="tackle", rung=2)],
        ceilings={"ann": {"s1": "none"}},
        limits={"weekly": {"full": 5}, "full_days_per_week": 2, "ladder": {"minutes": 15, "days": 28}},
        targets=[{"player": "ann", "skill": "tackle", "minutes": 5, "weight": 1, "weekly": True}],
        bands=[{"player": "ann", "week": 0, "low": 1, "high": 2, "weight": 1}],
        evenness={"roles": ["all"], "weight": 1},
        idle_weight=0.5,
        locks=[{"session": "s1", "slot": 0, "drill": "a", "players": ["ann"]}],
    )
    data = copy.deepcopy(data)
    Problem.from_json(data)
    holder: Any = data
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = value
    return data


@pytest.mark.parametrize(
    ("path", "value", "text"),
    [
        (["name"], 7, 'name: 7 is not a text; write it in quotes, as "..."'),
        (
            ["name"],
            "a\nb",
            "name: 'a\\nb' is too long or holds control characters; use at most 200 ordinary characters",
        ),
        (
            ["name"],
            "\ud800",
            "name: '\\ud800' is too long or holds control characters; use at most 200 ordinary characters",
        ),
        (["start"], "5 January", "start: '5 January' is not a date; write it as 2026-01-31"),
        (["start"], "0001-01-01", "start: the year 1 is out of range; use 1950 to 2150"),
        (["weeks"], 0, "weeks: 0 will not do; write a whole number from 1 to 52"),
        (["weeks"], True, "weeks: True is not a number; write a number without quotes"),
        (["weeks"], 2.5, "weeks: 2.5 will not do; write a whole number from 1 to 52"),
        (["weeks"], None, "weeks: is missing; add it"),
        (["skills"], "tackle", "skills: 'tackle' is not a list; write [ ... ]"),
        (["players", 0], [], "players[0]: [] is not an object; write { ... }"),
        (["players", 0, "roles", 0], 3, 'players[0], roles[0]: 3 is not a text; write it in quotes, as "..."'),
        (
            ["players", 0, "done"],
            {"tackle": [["2026-01-01", 1]]},
            'players[0], done, \'tackle\'[0]: the key is not a rung of a ladder; write "LADDER:RUNG", as in "tackle:2"',
        ),
        (
            ["players", 0, "done", "tackle:1", 0],
            ["2026-01-01"],
            "players[0], done, 'tackle:1'[0]: is not a pair; write [date, minutes]",
        ),
        (
            ["players", 0, "accrued"],
            {"2": {"full": 1}},
            'players[0], accrued, \'2\': that is not a week of the block; write "0" to "1"',
        ),
        (
            ["players", 0, "accrued", "0"],
            {"half": 1},
            "players[0], accrued, '0': 'half' is unknown; write one of none, controlled, set_piece, full",
        ),
        (
            ["players", 0, "accrued", "0", "full"],
            -1,
            "players[0], accrued, '0', 'full': -1 will not do; "
            "write a number from 0 to 1e+06 with at most two decimals",
        ),
        (
            ["drills", 0, "players"],
            [4, 3],
            "drills[0], players: least 4 is above most 3; write the smaller number first",
        ),
        (["drills", 0, "minutes"], [4], "drills[0], minutes: [4] is not a pair; write [least, most]"),
        (["drills", 0, "rpe"], 11, "drills[0], rpe: 11 will not do; write a whole number from 1 to 10"),
        (
            ["drills", 0, "contact", "kind"],
            "some",
            "drills[0], contact, kind: 'some' is unknown; write one of none, controlled, set_piece, full",
        ),
        (
            ["drills", 0, "contact", "share"],
            0.125,
            "drills[0], contact, share: 0.125 will not do; write a number from 0 to 1 with at most two decimals",
        ),
        (
            ["drills", 0, "skills", 0, "skill"],
            "dance",
            "drills[0], skills[0], skill: there is no skill 'dance'; name a skill of the problem",
        ),
        (
            ["drills", 0, "needs", "all"],
            1.5,
            "drills[0], needs, 'all': 1.5 will not do; write a whole number from 0 to 1000000",
        ),
        (["drills", 0, "kit"], 1, "drills[0], kit: 1 is not an object; write { ... }"),
        (["drills", 0, "area"], math.inf, "drills[0], area: inf is out of range; write a number up to 1e+12"),
        (["drills", 0, "area"], math.nan, "drills[0], area: nan is out of range; write a number up to 1e+12"),
        (["sessions", 0, "slots", 0], 0, "sessions[0], slots[0]: 0 will not do; write a whole number from 1 to 1440"),
        (
            ["sessions", 0, "slots", 0],
            "10",
            "sessions[0], slots[0]: '10' is not a number; write a number without quotes",
        ),
        (
            ["sessions", 0, "date"],
            "2026-01-19",
            "sessions[0]: 2026-01-19 is outside the block; use a date in the 2 weeks from 2026-01-05",
        ),
        (
            ["ceilings", "ann", "s1"],
            "high",
            "ceilings, 'ann', 's1': 'high' is unknown; write one of absent, none, controlled, full",
        ),
        (["ceilings"], {"bob": {}}, "ceilings: there is no player 'bob'; name a player of the problem"),
        (
            ["ceilings", "ann"],
            {"s9": "none"},
            "ceilings, 'ann': there is no session 's9'; name a session of the problem",
        ),
        (["limits", "ladder", "days"], None, "limits, ladder, days: is missing; add it"),
        (["targets", 0, "player"], "bob", "targets[0], player: there is no player 'bob'; name a player of the problem"),
        (["targets", 0, "weekly"], 1, "targets[0], weekly: 1 is neither true nor false; write true or false"),
        (["targets", 0, "minutes"], -5, "targets[0], minutes: -5 will not do; write a whole number from 0 to 1000000"),
        (["bands", 0, "week"], 2, "bands[0], week: 2 will not do; write a whole number from 0 to 1"),
        (["bands", 0, "low"], 3, "bands[0]: low 3 is above high 2; exchange them"),
        (["evenness", "weight"], None, "evenness, weight: is missing; add it"),
        (["idle_weight"], "1", "idle_weight: '1' is not a number; write a number without quotes"),
        (["locks", 0, "slot"], 2, "locks[0]: session 's1' has no slot 2; slots are numbered 0 to 1"),
        (["locks", 0, "drill"], ["a"], "locks[0], drill: ['a'] is not a text; write it in quotes, as \"...\""),
        (
            ["locks", 0, "players", 0],
            "bob",
            "locks[0], players[0]: there is no player 'bob'; name a player of the problem",
        ),
    ],
)
def test_a_malformed_value_is_named_with_its_place_and_a_remedy(
    path: list[str | int], value: object, text: str
) -> None:
    assert complaint(spoilt(path, value)) == f"problem, {text}"


def test_a_number_too_long_to_write_out_is_refused() -> None:
    assert complaint(problem(weeks=10**5000)) == (
        "problem, weeks: a whole number of 16610 bits is out of range; write a number up to 1e+12"
    )


def test_another_format_is_refused() -> None:
    assert complaint(problem(format="other/1")) == (
        'problem: that is another format; choose a file that says "format": "plumbline-problem/1"'
    )


@pytest.mark.parametrize("data", [None, [], 3, "problem", {}, {"format": ["plumbline-problem/1"]}])
def test_what_is_no_problem_at_all_is_refused(data: object) -> None:
    assert complaint(data).startswith("problem")


@pytest.mark.parametrize(("key", "what"), [("players", "player"), ("drills", "drill"), ("sessions", "session")])
def test_an_id_given_twice_is_refused(key: str, what: str) -> None:
    data = problem()
    data[key] = data[key][:1] * 2
    name = data[key][0]["id"]
    assert complaint(data) == f"problem: {what} {name!r} is given twice; give each its own id"


def test_sessions_out_of_order_are_refused() -> None:
    data = problem(sessions=[session("s1", 3), session("s2", 2)])
    assert complaint(data) == (
        "problem, sessions[1]: it is earlier than the session before it; list sessions in time order"
    )


def test_whole_numbers_may_be_written_with_a_point() -> None:
    assert Problem.from_json(problem(weeks=2.0)).weeks == 2


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"stations": None}, "stations: is missing; add it"),
        (
            {"stations": [{"session": "s9", "slot": 0, "drill": "free", "players": []}]},
            "stations[0], session: there is no session 's9'; name a session of the problem",
        ),
        (
            {"stations": [{"session": "s1", "slot": -1, "drill": "free", "players": []}]},
            "stations[0], slot: -1 will not do; write a whole number from 0 to 1000000",
        ),
        ({"stations": [{"session": "s1", "slot": 0, "drill": "free"}]}, "stations[0], players: is missing; add it"),
        ({"cost": "low"}, "cost: 'low' is not a number; write a number without quotes"),
        ({"status": "best"}, "status: 'best' is unknown; write one of optimal, feasible"),
    ],
)
def test_a_malformed_plan_is_named_with_its_place_and_a_remedy(changes: dict[str, Any], text: str) -> None:
    assert plan_complaint(changes) == f"plan, {text}"


def test_a_plan_of_another_problem_is_refused() -> None:
    assert plan_complaint({"problem": "other"}) == (
        "plan: it is for 'other', not 'case'; choose the plan of this problem"
    )


def test_a_plan_of_another_format_is_refused() -> None:
    assert plan_complaint({"format": "plumbline-problem/1"}) == (
        'plan: that is another format; choose a file that says "format": "plumbline-plan/1"'
    )


# --- hostile input never ends in anything but Malformed -----------------------------------------------

JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.just(10**400),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)


def places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every place of a JSON document."""
    if isinstance(value, dict):
        inner = [(key, entry) for key, entry in value.items()]
    else:
        inner = list(enumerate(value)) if isinstance(value, list) else []
    return [(*path, key) for key, _ in inner] + [p for key, entry in inner for p in places(entry, (*path, key))]


@settings(max_examples=400, deadline=None)
@given(st.data(), st.integers(0, 50), JUNK)
def test_junk_at_any_place_is_read_or_refused_in_one_line(data: st.DataObject, seed: int, junk: Any) -> None:
    rng = random.Random(seed)
    built = cases.with_misses(rng, cases.random_problem(rng))
    path = data.draw(st.sampled_from(places(built)))
    holder: Any = built
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = junk
    read, refusal = outcome(built)
    if read is None:
        assert "\n" not in refusal
        assert "; " in refusal
    else:
        assert Problem.from_json(read.to_json()) == read


def outcome(data: object) -> tuple[Problem | None, str]:
    try:
        return Problem.from_json(data), ""
    except Malformed as error:
        return None, str(error)
