"""The referee against figures worked out by hand from docs/planning-problem.md, and against the reference.

The reference checker (check_plan.py) was written apart from this project; where it lies beside the
checkout, both must name the same broken rules in the same places and the same cost.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.check import Breach, Words, breaches, cost, tally
from planner.core.problem import Contact, Plan, Problem
from tests.planner.core import cases, outside
from tests.planner.core.cases import drill, problem, session


def read(built: dict[str, Any], stations: list[tuple[str, int, str, list[str]]]) -> tuple[Problem, Plan]:
    known = Problem.from_json(built)
    keys = ("session", "slot", "drill", "players")
    data = {"format": "plumbline-plan/1", "problem": known.name}
    return known, Plan.from_json(data | {"stations": [dict(zip(keys, s, strict=True)) for s in stations]}, known)


def broken(built: dict[str, Any], *stations: tuple[str, int, str, list[str]]) -> list[tuple[str, str]]:
    known, plan = read(built, list(stations))
    return [(breach.rule, breach.text) for breach in breaches(known, plan.stations)]


def parts(built: dict[str, Any], *stations: tuple[str, int, str, list[str]]) -> tuple[float, ...]:
    known, plan = read(built, list(stations))
    total = cost(known, plan.stations)
    return (total.shortfall, total.touch, total.band, total.idle, total.evenness)


# --- each rule, broken once and kept once -------------------------------------------------------------


def test_a_plan_without_stations_breaks_nothing_without_locks() -> None:
    assert broken(problem()) == []


def test_a_player_at_two_stations_of_a_slot_breaks_h1() -> None:
    two = problem(drills=[drill("a"), drill("b")])
    assert broken(two, ("s1", 0, "a", ["ann"]), ("s1", 0, "b", ["ann"])) == [
        ("H1", "ann is listed 2 times on s1 (Mon 05 Jan), slot 1: a and b.")
    ]
    assert broken(two, ("s1", 0, "a", ["ann"]), ("s1", 1, "b", ["ann"])) == []


def test_a_player_listed_twice_at_one_station_breaks_h1() -> None:
    assert [rule for rule, _ in broken(problem(), ("s1", 0, "free", ["ann", "ann"]))] == ["H1"]


def test_an_absent_player_at_a_station_breaks_h1() -> None:
    away = problem(ceilings={"ann": {"s1": "absent"}})
    assert broken(away, ("s1", 0, "free", ["ann"])) == [
        ("H1", "ann is absent, but stands at free on s1 (Mon 05 Jan), slot 1.")
    ]


def test_too_few_players_break_h2() -> None:
    assert broken(problem(drills=[drill("a", players=[2, 2])]), ("s1", 0, "a", ["ann"])) == [
        ("H2", "a on s1 (Mon 05 Jan), slot 1 takes 2 players, but 1 stand there.")
    ]


def test_a_needed_role_that_is_missing_breaks_h2() -> None:
    needy = problem(drills=[drill("a", needs={"scrum_half": 1})])
    assert broken(needy, ("s1", 0, "a", ["ann"])) == [
        ("H2", "a on s1 (Mon 05 Jan), slot 1 needs 1 of role scrum half, but has 0.")
    ]


def test_one_player_may_count_towards_several_needs() -> None:
    versatile = problem(
        players=[{"id": "ann", "roles": ["all", "half", "wing"]}],
        drills=[drill("a", needs={"half": 1, "wing": 1})],
    )
    assert broken(versatile, ("s1", 0, "a", ["ann"])) == []


def test_a_player_whom_the_drill_does_not_fit_breaks_h2() -> None:
    assert broken(problem(drills=[drill("a", roles=["front", "half"])]), ("s1", 0, "a", ["ann"])) == [
        ("H2", "ann does not fit a on s1 (Mon 05 Jan), slot 1, which is for front or half.")
    ]


@pytest.mark.parametrize(
    ("have", "text"),
    [
        ({"stations": 1}, "uses 2 stations, but there are 1."),
        ({"coaches": 1}, "uses 2 coaches, but there are 1."),
        ({"area": 199.5}, "uses 200 m² of area, but there are 199.5."),
        ({"kit": None}, "uses 8 shields, but there are 0."),
    ],
)
def test_a_slot_that_is_too_full_breaks_h3(have: dict[str, Any], text: str) -> None:
    full = problem(
        drills=[drill("a", kit={"shields": 5}), drill("b", kit={"shields": 3})],
        sessions=[session("s1", 0, kit={"shields": 8}) | have],
    )
    two = (("s1", 0, "a", ["ann"]), ("s1", 0, "b", ["bea"]))
    assert broken(full, *two) == [("H3", f"s1 (Mon 05 Jan), slot 1 {text}")]


def test_a_slot_exactly_full_keeps_h3() -> None:
    full = problem(drills=[drill("a"), drill("b")], sessions=[session("s1", 0, stations=2, coaches=2, area=200)])
    assert broken(full, ("s1", 0, "a", ["ann"]), ("s1", 0, "b", ["bea"])) == []


def test_a_slot_too_short_for_the_drill_breaks_h4() -> None:
    assert broken(problem(drills=[drill("a", minutes=[12, 15])]), ("s1", 0, "a", ["ann"])) == [
        ("H4", "a on s1 (Mon 05 Jan), slot 1 gets 10 minutes, but takes 12 to 15 minutes.")
    ]


@pytest.mark.parametrize(
    ("ceiling", "kind", "rules"),
    [
        ("none", "none", []),
        ("none", "controlled", ["H5"]),
        ("controlled", "controlled", []),
        ("controlled", "set_piece", ["H5"]),
        ("controlled", "full", ["H5"]),
        ("full", "set_piece", []),
        ("full", "full", []),
    ],
)
def test_contact_above_the_ceiling_breaks_h5(ceiling: str, kind: str, rules: list[str]) -> None:
    hard = problem(drills=[drill("a", contact={"kind": kind, "share": 0.5})], ceilings={"ann": {"s1": ceiling}})
    assert [rule for rule, _ in broken(hard, ("s1", 0, "a", ["ann"]))] == rules


def test_contact_minutes_with_those_of_the_week_before_the_plan_break_h6() -> None:
    hard = problem(
        players=[{"id": "ann", "roles": ["all"], "accrued": {"0": {"controlled": 5.5}}}],
        drills=[drill("a", contact={"kind": "controlled", "share": 0.5})],
        limits={"weekly": {"controlled": 15}},
    )
    assert broken(hard, ("s1", 0, "a", ["ann"])) == []
    assert broken(hard, ("s1", 1, "a", ["ann"])) == [
        ("H6", "ann would have 15.5 minutes of controlled contact in week 1; the limit is 15.")
    ]


def test_who_has_had_too_much_contact_may_still_train_without() -> None:
    sore = problem(
        players=[{"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 20}}}],
        drills=[drill("a"), drill("b", contact={"kind": "full", "share": 0.1})],
        limits={"weekly": {"full": 15}},
    )
    assert broken(sore, ("s1", 0, "a", ["ann"])) == []
    assert [rule for rule, _ in broken(sore, ("s1", 0, "b", ["ann"]))] == ["H6"]


def test_full_contact_on_too_many_days_breaks_h7() -> None:
    days = problem(
        drills=[drill("a", contact={"kind": "full", "share": 0.1})],
        sessions=[session("s1", 0), session("s2", 0), session("s3", 1)],
        limits={"full_days_per_week": 1},
    )
    same_day = (("s1", 0, "a", ["ann"]), ("s2", 0, "a", ["ann"]))
    assert broken(days, *same_day) == []
    assert broken(days, *same_day, ("s3", 0, "a", ["ann"])) == [
        ("H7", "ann is in full contact on 2 days of week 1; the limit is 1.")
    ]


def test_a_drill_twice_in_a_session_breaks_h8() -> None:
    assert broken(problem(), ("s1", 0, "free", ["ann"]), ("s1", 1, "free", ["ann"])) == [
        ("H8", "free runs 2 times on s1 (Mon 05 Jan); once is the limit.")
    ]


def test_a_drill_too_often_in_a_week_breaks_h8() -> None:
    week = problem(sessions=[session("s1", 0), session("s2", 6), session("s3", 7)], limits={"repeats_per_week": 1})
    assert broken(week, ("s2", 0, "free", ["ann"]), ("s3", 0, "free", ["ann"])) == []
    assert broken(week, ("s1", 0, "free", ["ann"]), ("s2", 0, "free", ["ann"])) == [
        ("H8", "free runs 2 times in week 1; the limit is 1.")
    ]


LADDER = {
    "drills": [drill("low", ladder="tackle", rung=1), drill("high", ladder="tackle", rung=2)],
    "sessions": [session("s1", 0), session("s2", 0), session("s3", 1)],
    "limits": {"ladder": {"minutes": 15, "days": 28}},
}


def test_a_rung_without_the_one_below_on_an_earlier_day_breaks_h9() -> None:
    climb = problem(**LADDER)
    assert broken(climb, ("s1", 1, "low", ["ann"]), ("s3", 0, "high", ["ann"])) == []
    assert broken(climb, ("s1", 1, "low", ["ann"]), ("s2", 0, "high", ["ann"])) == [
        (
            "H9",
            "ann has 0 of the 15 minutes at rung 1 of tackle that must come in the 28 days before "
            "high on s2 (Mon 05 Jan), slot 1.",
        )
    ]


@pytest.mark.parametrize(("days_ago", "rules"), [(27, []), (28, []), (29, ["H9"])])
def test_rung_minutes_done_before_the_block_count_for_so_many_days(days_ago: int, rules: list[str]) -> None:
    old = problem(
        **LADDER, players=[{"id": "ann", "roles": ["all"], "done": {"tackle:1": [[cases.day(-days_ago), 15]]}}]
    )
    assert [rule for rule, _ in broken(old, ("s1", 0, "high", ["ann"]))] == rules


def test_a_lock_that_does_not_run_breaks_h10() -> None:
    locked = problem(locks=[{"session": "s1", "slot": 0, "drill": "free", "players": ["ann"]}])
    assert broken(locked) == [("H10", "free on s1 (Mon 05 Jan), slot 1 is locked, but does not run.")]
    assert broken(locked, ("s1", 0, "free", ["bea"])) == [
        ("H10", "ann is locked to free on s1 (Mon 05 Jan), slot 1, but does not stand there.")
    ]
    assert broken(locked, ("s1", 0, "free", ["ann", "bea"])) == []


def test_a_breach_says_where_it_is_for_a_page_to_mark() -> None:
    away = problem(ceilings={"ann": {"s1": "absent"}})
    known, plan = read(away, [("s1", 1, "free", ["ann"])])
    assert [(b.rule, b.session, b.slot, b.drill, b.player, b.week) for b in breaches(known, plan.stations)] == [
        ("H1", "s1", 1, "free", "ann", None)
    ]


def test_names_stand_in_for_ids() -> None:
    known, plan = read(problem(drills=[drill("a", minutes=[12, 15])]), [("s1", 0, "a", ["ann"])])
    words = Words(known, drills={"a": "Tower tackle"}, sessions={"s1": "Monday night"})
    assert [b.text for b in breaches(known, plan.stations, words)] == [
        "Tower tackle on Monday night, slot 1 gets 10 minutes, but takes 12 to 15 minutes."
    ]


# --- the parts of the cost, worked out by hand --------------------------------------------------------


def test_a_minute_short_costs_its_weight_and_below_half_twice() -> None:
    target = {"player": "ann", "skill": "tackle", "minutes": 20, "weight": 2, "weekly": False}
    wished = problem(targets=[target])
    assert parts(wished) == (2 * (20 + 10), 0, 0, 0, 0)
    assert parts(wished, ("s1", 0, "free", ["ann"])) == (2 * (15 + 5), 0, 0, 0, 0)  # 10 min x 0.5 = 5
    assert parts(wished, ("s1", 1, "free", ["ann"])) == (2 * (10 + 0), 0, 0, 0, 0)  # 20 min x 0.5 = 10


def test_a_share_for_roles_counts_only_for_them_and_shares_of_a_skill_add_up() -> None:
    skills = [
        {"skill": "tackle", "share": 0.25},
        {"skill": "tackle", "share": 0.5, "roles": ["half"]},
    ]
    wished = problem(
        players=[{"id": "ann", "roles": ["all"]}, {"id": "bea", "roles": ["all", "half"]}],
        drills=[drill("a", skills=skills)],
        targets=[{"player": p, "skill": "tackle", "minutes": 8, "weight": 1} for p in ("ann", "bea")],
    )
    # ann 2.5 of 8: 5.5 + 1.5; bea 7.5 of 8: 0.5
    assert parts(wished, ("s1", 0, "a", ["ann", "bea"]))[0] == pytest.approx(7.5)


def test_each_week_without_a_touch_costs_five_unless_he_is_absent_throughout() -> None:
    weekly = problem(
        sessions=[session("s1", 0), session("s2", 7)],
        targets=[{"player": "ann", "skill": "tackle", "minutes": 0, "weight": 2, "weekly": True}],
    )
    assert parts(weekly)[1] == 20
    assert parts(weekly, ("s1", 0, "free", ["ann"]))[1] == 10  # 10 min x 0.5 = 5: touched
    assert parts(weekly | {"ceilings": {"ann": {"s2": "absent"}}})[1] == 10


@pytest.mark.parametrize(("low", "high", "expected"), [(50, 60, 1.5), (40, 60, 0), (10, 30, 1.5)])
def test_load_outside_the_band_costs_a_tenth(low: int, high: int, expected: float) -> None:
    band = {"player": "ann", "week": 0, "low": low, "high": high, "weight": 1.5}
    assert parts(problem(bands=[band]), ("s1", 0, "free", ["ann"]))[2] == pytest.approx(expected)  # 40 AU


def test_idle_minutes_count_for_those_who_attend() -> None:
    quiet = problem(idle_weight=0.5, ceilings={"cat": {"s1": "absent"}, "bea": {"s1": "none"}})
    assert parts(quiet)[3] == 0.5 * 2 * 30
    assert parts(quiet, ("s1", 1, "free", ["ann"]))[3] == 0.5 * (10 + 30)


def test_evenness_compares_those_of_a_role_who_are_there_about_as_often() -> None:
    uneven = problem(
        players=[{"id": p, "roles": ["all", "half"]} for p in ("ann", "bea", "cat")],
        drills=[drill("a", contact={"kind": "controlled", "share": 0.5})],
        sessions=[session(f"s{i}", i) for i in range(4)],
        ceilings={"bea": {"s0": "none"}, "cat": {"s0": "none", "s1": "none"}},
        evenness={"roles": ["half", "wing"], "weight": 2},
    )
    # ann is cleared 4 times, bea 3 (enough), cat 2 (not enough); contact 10, 5 and 0 minutes
    stations = (("s2", 1, "a", ["ann"]), ("s3", 0, "a", ["bea"]))
    assert parts(uneven, *stations)[4] == 2 * (10 - 5)


def test_the_total_is_the_sum_of_the_parts() -> None:
    known = Problem.from_json(problem(idle_weight=1))
    assert cost(known, ()).total == 90


# --- the totals of each player ------------------------------------------------------------------------


def test_a_tally_sets_each_total_against_its_limit() -> None:
    known, plan = read(
        problem(
            players=[{"id": "ann", "roles": ["all"], "accrued": {"0": {"full": 3}}}],
            drills=[drill("a", contact={"kind": "full", "share": 0.5})],
            limits={"weekly": {"full": 7}, "full_days_per_week": 2},
            targets=[{"player": "ann", "skill": "tackle", "minutes": 12, "weight": 1, "weekly": True}],
            bands=[{"player": "ann", "week": 0, "low": 50, "high": 80, "weight": 1}],
        ),
        [("s1", 0, "a", ["ann"])],
    )
    (ann,) = tally(known, plan.stations)
    (skill,), load = ann.skills, ann.loads[0]
    assert (skill.skill, skill.minutes, skill.target, skill.short, skill.untouched) == ("tackle", 5, 12, 7, ())
    assert (load.load, load.low, load.high, load.outside) == (40, 50, 80, -10)
    full = next(c for c in ann.contact if c.week == 0 and c.kind is Contact.FULL)
    assert (full.planned, full.accrued, full.total, full.limit, full.left) == (5, 3, 8, 7, -1)
    assert [(d.week, d.days, d.limit) for d in ann.full_days] == [(0, 1, 2), (1, 0, 2)]


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32))
def test_the_tally_adds_up_to_the_cost(seed: int) -> None:
    rng = random.Random(seed)
    built = cases.random_problem(rng)
    known = Problem.from_json(built | {"bands": []})
    stations = random_plan(rng, built, known).stations
    weight = {(t.player, t.skill, t.minutes): t.weight for t in known.targets}
    if len(weight) < len(known.targets):
        return  # two targets for one skill cannot be told apart in the tally
    untouched = sum(
        weight[t.player, s.skill, s.target] * 5 * len(s.untouched) for t in tally(known, stations) for s in t.skills
    )
    assert untouched == pytest.approx(cost(known, stations).touch)


# --- against the reference checker --------------------------------------------------------------------


def random_plan(rng: random.Random, built: dict[str, Any], known: Problem, most: int = 9) -> Plan:
    data = {"format": "plumbline-plan/1", "problem": known.name}
    return Plan.from_json(data | {"stations": cases.random_stations(rng, built, most)}, known)


def place_by_us(breach: Breach) -> tuple[str, str, str | None]:
    week = None if breach.week is None else f"week {breach.week}"
    if breach.session is not None:
        slot = None if breach.slot is None else str(breach.slot)
        drill = None if breach.rule == "H8" else breach.drill
        where = "/".join(part for part in (breach.session, slot, drill) if part is not None)
    else:
        where = " ".join(part for part in (breach.player, week) if part)
    return breach.rule, where, breach.drill if breach.rule == "H8" else breach.player


def place_by_reference(rule: str, text: str, known: Problem) -> tuple[str, str, str | None]:
    where, _, rest = text.partition(": ")
    first = re.split(r"\s", rest)[0]
    if rule in ("H6", "H7"):
        return rule, where, where.split()[0]
    return rule, where, first if rule == "H8" or first in known.player_ids else None


def assert_agreement(built: dict[str, Any], known: Problem, plan: Plan, checker: Any) -> None:
    broken, parts, _ = checker.check(built, plan.to_json())
    theirs = Counter(place_by_reference(rule, text, known) for rule, text in set(broken))
    ours = Counter(place_by_us(breach) for breach in set(breaches(known, plan.stations)))
    assert ours == theirs
    total = cost(known, plan.stations)
    assert {part: getattr(total, part) for part in parts} == pytest.approx(parts, abs=1e-6)


@pytest.fixture(scope="module")
def checker() -> Any:
    return outside.reference()


@settings(max_examples=400, deadline=None)
@given(st.integers(0, 2**32))
def test_the_referee_agrees_with_the_reference_on_random_plans(checker: Any, seed: int) -> None:
    rng = random.Random(seed)
    built = cases.random_problem(rng)
    known = Problem.from_json(built)
    assert_agreement(built, known, random_plan(rng, built, known), checker)


@pytest.mark.parametrize("name", outside.INSTANCES)
def test_the_referee_agrees_with_the_reference_on_public_instances(checker: Any, name: str) -> None:
    built = outside.instance(name)
    known = Problem.from_json(built)
    for seed in range(3):
        plan = random_plan(random.Random(seed), built, known, most=60)
        assert_agreement(built, known, plan, checker)
