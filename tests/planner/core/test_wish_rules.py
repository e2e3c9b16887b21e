"""The coach's wishes that have to be kept, and what those cost that need not, by hand from docs/planning-problem.md."""

from __future__ import annotations

from typing import Any

import pytest

from planner.core.check import breaches, cost
from planner.core.compare import Standing
from planner.core.problem import Problem, Station
from tests.planner.core.cases import drill, problem, session

Place = tuple[str, int, str, list[str]]


def stations(*places: Place) -> list[Station]:
    return [Station(night, slot, name, tuple(players)) for night, slot, name, players in places]


def broken(built: dict[str, Any], *places: Place) -> list[tuple[str, str]]:
    return [(b.rule, b.text) for b in breaches(Problem.from_json(built), stations(*places))]


def wishes_cost(built: dict[str, Any], *places: Place) -> float:
    total = cost(Problem.from_json(built), stations(*places))
    assert total.total == total.wishes
    return total.wishes


LINE, RUCK, CHAT = drill("line", theme="line speed"), drill("ruck", theme="ruck"), drill("chat")


def test_a_session_with_more_themes_than_it_may_have_breaks_h11() -> None:
    one = problem(drills=[LINE, RUCK, CHAT], sessions=[session("s1", 0, themes_most=1)])
    assert broken(one, ("s1", 0, "line", ["ann"]), ("s1", 1, "ruck", ["ann"])) == [
        ("H11", "s1 (Mon 05 Jan) has 2 themes, line speed and ruck; the limit is 1.")
    ]
    assert broken(one, ("s1", 0, "line", ["ann"]), ("s1", 1, "chat", ["ann"])) == []


def test_two_drills_of_one_theme_are_one_theme() -> None:
    one = problem(drills=[LINE, drill("press", theme="line speed")], sessions=[session("s1", 0, themes_most=1)])
    assert broken(one, ("s1", 0, "line", ["ann"]), ("s1", 0, "press", ["bea"])) == []


def nights(*offsets: int, **last: Any) -> list[dict[str, Any]]:
    """Sessions so many days after the start; what is given is of the last."""
    made = [session(f"s{i + 1}", offset) for i, offset in enumerate(offsets)]
    return [*made[:-1], made[-1] | last]


def test_a_drill_that_is_new_where_nothing_new_may_run_breaks_h12() -> None:
    late = problem(sessions=nights(0, 2, nothing_new=True))
    assert broken(late, ("s2", 0, "free", ["ann"])) == [
        ("H12", "free on s2 (Wed 07 Jan), slot 1 would be new to the squad, and nothing new may run that day.")
    ]
    assert broken(late, ("s1", 0, "free", ["bea"]), ("s2", 0, "free", ["ann"])) == []
    assert broken(late | {"known": ["free"]}, ("s2", 0, "free", ["ann"])) == []


def test_an_earlier_session_of_the_same_date_makes_nothing_known() -> None:
    twice = problem(sessions=nights(0, 0, nothing_new=True))
    assert [rule for rule, _ in broken(twice, ("s1", 0, "free", ["ann"]), ("s2", 0, "free", ["ann"]))] == ["H12"]


def test_a_fresh_drill_after_a_tiring_one_breaks_h13() -> None:
    hard, calm = drill("hard", rpe=8), drill("calm", fresh=True)
    ordered = problem(drills=[hard, calm], order={"tiring_rpe": 8})
    assert broken(ordered, ("s1", 0, "hard", ["ann"]), ("s1", 1, "calm", ["bea"])) == [
        (
            "H13",
            "calm on s1 (Mon 05 Jan), slot 2 wants fresh players, but comes after hard on s1 (Mon 05 Jan), slot 1 "
            "(RPE 8).",
        )
    ]
    assert broken(ordered, ("s1", 0, "hard", ["ann"]), ("s1", 0, "calm", ["bea"])) == []
    assert broken(ordered, ("s1", 1, "hard", ["ann"]), ("s1", 0, "calm", ["bea"])) == []
    assert broken(ordered | {"order": {"tiring_rpe": 9}}, ("s1", 0, "hard", ["ann"]), ("s1", 1, "calm", ["bea"])) == []


def four_slots(**given: Any) -> dict[str, Any]:
    return problem(
        drills=[drill(name, rpe=rpe) for name, rpe in (("a", 7), ("b", 8), ("c", 9), ("easy", 6))],
        sessions=[session("s1", 0, slots=[10, 10, 10, 10]) | given],
        hard_row={"rpe": 7, "most": 2},
    )


THREE_HARD: list[Place] = [("s1", slot, name, ["ann"]) for slot, name in enumerate("abc")]


def test_a_player_in_too_many_hard_slots_in_a_row_breaks_h14() -> None:
    assert broken(four_slots(), *THREE_HARD) == [
        (
            "H14",
            "ann stands at drills of RPE 7 or more in 3 slots in a row from s1 (Mon 05 Jan), slot 1 on; "
            "the limit is 2.",
        )
    ]


def test_a_break_an_easy_slot_or_another_player_ends_a_row_of_hard_slots() -> None:
    assert broken(four_slots(breaks=[2]), *THREE_HARD) == []
    spread = [("s1", 0, "a", ["ann"]), ("s1", 1, "b", ["ann"]), ("s1", 2, "easy", ["ann"]), ("s1", 3, "c", ["ann"])]
    assert broken(four_slots(), *spread) == []
    assert broken(four_slots(), *THREE_HARD[:2], ("s1", 2, "c", ["bea"])) == []
    assert broken(four_slots(), *THREE_HARD[:2], ("s1", 3, "c", ["ann"])) == []


def test_a_drill_that_runs_too_often_in_the_block_breaks_h15() -> None:
    once = problem(drills=[drill("free", repeats={"most": 1})], sessions=nights(0, 8))
    assert broken(once, ("s1", 0, "free", ["ann"]), ("s2", 0, "free", ["ann"])) == [
        ("H15", "free runs 2 times in the block; the limit is 1.")
    ]


@pytest.mark.parametrize(("days", "breaks"), [(6, True), (7, False), (0, False)])
def test_two_dates_of_a_drill_that_are_too_near_break_h15(days: int, breaks: bool) -> None:
    rare = problem(drills=[drill("free", repeats={"gap_days": 7})], sessions=nights(0, days))
    found = broken(rare, ("s1", 0, "free", ["ann"]), ("s2", 0, "free", ["ann"]))
    text = "free runs on s1 (Mon 05 Jan) and on s2 (Sun 11 Jan), 6 days apart; it has to be 7 at least."
    assert found == ([("H15", text)] if breaks else [])


def test_a_pair_kept_apart_at_one_station_breaks_h16() -> None:
    pair = problem(drills=[drill("free"), drill("other")], apart=[{"players": ["ann", "cat"]}])
    assert broken(pair, ("s1", 0, "free", ["ann", "bea", "cat"])) == [
        ("H16", "ann and cat are kept apart, but both stand at free on s1 (Mon 05 Jan), slot 1.")
    ]
    assert broken(pair, ("s1", 0, "free", ["ann", "bea"]), ("s1", 0, "other", ["cat"])) == []


def test_a_pair_kept_apart_in_contact_may_share_a_station_without_it() -> None:
    drills = [drill("free"), drill("hit", contact={"kind": "controlled", "share": 0})]
    pair = problem(drills=drills, apart=[{"players": ["ann", "cat"], "contact_only": True}])
    assert broken(pair, ("s1", 0, "free", ["ann", "cat"])) == []
    assert [rule for rule, _ in broken(pair, ("s1", 0, "hit", ["ann", "cat"]))] == ["H16"]


def units(**given: Any) -> dict[str, Any]:
    """A prop, a winger, one who is both, and one who is neither."""
    roles = {"pip": ["prop"], "wyn": ["wing"], "uma": ["wing", "prop"], "any": []}
    return problem(
        players=[{"id": name, "roles": [*has, "all"]} for name, has in roles.items()],
        drills=[drill("free", units={"roles": ["prop", "wing"]} | given)],
    )


def test_players_of_two_units_at_a_station_that_keeps_them_together_break_h17() -> None:
    apart = units(keep="together")
    assert broken(apart, ("s1", 0, "free", ["pip", "wyn"])) == [
        ("H17", "free on s1 (Mon 05 Jan), slot 1 keeps units to themselves, but has prop and wing.")
    ]
    assert broken(apart, ("s1", 0, "free", ["pip", "any"])) == []
    assert broken(apart, ("s1", 0, "free", ["pip", "uma"])) == []  # the drill names props first
    assert [rule for rule, _ in broken(apart, ("s1", 0, "free", ["wyn", "uma"]))] == ["H17"]


def test_a_station_that_mixes_units_and_lacks_one_breaks_h17() -> None:
    assert broken(units(keep="mixed"), ("s1", 0, "free", ["pip", "any"])) == [
        ("H17", "free on s1 (Mon 05 Jan), slot 1 mixes units and needs 1 of role wing, but has 0.")
    ]
    assert broken(units(keep="mixed"), ("s1", 0, "free", ["uma"])) == []
    assert len(broken(units(keep="mixed", least=2), ("s1", 0, "free", ["pip", "uma"]))) == 1


def test_runs_that_lack_cost_their_weight_each() -> None:
    often = problem(drills=[drill("free", repeats={"least": 3, "weight": 1.5})], sessions=nights(0, 2))
    assert wishes_cost(often) == 4.5
    assert wishes_cost(often, ("s1", 0, "free", ["ann"])) == 3
    assert wishes_cost(often, *[(night, 0, "free", ["ann"]) for night in ("s1", "s2", "s2", "s1")]) == 0


def test_a_favourite_costs_its_weight_for_each_session_without_one_of_its_drills() -> None:
    wish = {"coach": "Ivy", "drills": ["a", "b"], "sessions": ["s1", "s2"], "weight": 2.5}
    liked = problem(drills=[drill("a"), drill("b"), drill("c")], sessions=nights(0, 2, 4), favourites=[wish])
    assert wishes_cost(liked) == 5
    assert wishes_cost(liked, ("s1", 0, "b", ["ann"]), ("s1", 1, "a", ["ann"]), ("s3", 0, "a", ["ann"])) == 2.5
    assert wishes_cost(liked, ("s1", 0, "b", ["ann"]), ("s2", 1, "a", ["ann"])) == 0


def test_wishes_that_are_not_met_are_counted_where_there_are_any() -> None:
    wish = {"coach": "Ivy", "drills": ["free"], "sessions": ["s1"], "weight": 2.5}
    assert Standing.of(Problem.from_json(problem(favourites=[wish])), ()).figures.unmet == 1
    assert Standing.of(Problem.from_json(problem()), ()).figures.unmet is None
