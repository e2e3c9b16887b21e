"""After one change the plan is dealt again where it must be, and stays as it is elsewhere."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.core.check import breaches
from planner.core.problem import Ceiling, Lock, Problem, Station
from planner.core.redeal import Move, redeal
from planner.core.solve import Impossible, solve
from tests.planner.core import cases, outside

QUICK = {"iterations": 200}


def night(**given: object) -> Problem:
    return Problem.from_json(cases.problem(**given))


def test_without_a_change_nothing_moves() -> None:
    problem = Problem.from_json(outside.instance("small"))
    plan = solve(problem, seconds=0.3).stations
    dealt = redeal(problem, plan, **QUICK)
    assert (set(dealt.stations), dealt.released, dealt.changed) == (set(plan), (), ())


def test_a_player_who_drops_out_leaves_a_station_that_is_still_full_enough() -> None:
    problem = night(ceilings={"cat": {"s1": "absent"}})
    plan = [Station("s1", 0, "free", ("ann", "bea", "cat"))]
    dealt = redeal(problem, plan, **QUICK)
    assert dealt.stations == (Station("s1", 0, "free", ("ann", "bea")),)
    assert dealt.changed == (Move("cat", "s1", 0, "free", None),)
    assert dealt.released == ("cat is absent, but stands at free on s1 (Mon 05 Jan), slot 1.",)


def test_a_station_that_loses_its_least_number_is_released_and_its_players_go_elsewhere() -> None:
    drills = [cases.drill("three", players=[3, 5]), cases.drill("any")]
    problem = night(drills=drills, ceilings={"cat": {"s1": "absent"}}, idle_weight=1)
    plan = [Station("s1", 0, "three", ("ann", "bea", "cat"))]
    dealt = redeal(problem, plan, **QUICK)
    assert dealt.stations == (Station("s1", 0, "any", ("ann", "bea")),)
    assert dealt.released[1] == "three on s1 (Mon 05 Jan), slot 1 takes 3 to 5 players, but 2 stand there."


def test_a_rung_that_others_built_on_takes_them_along() -> None:
    one, two = (cases.drill(f"t{rung}", ladder="tackle", rung=rung, minutes=[20, 30]) for rung in (1, 2))
    sessions = [cases.session("s1", 0, slots=[20]), cases.session("s2", 2, slots=[20])]
    limits = {"ladder": {"minutes": 15, "days": 28}}
    plan = [Station("s1", 0, "t1", ("ann",)), Station("s2", 0, "t2", ("ann",))]
    problem = night(drills=[one, two], sessions=sessions, limits=limits, ceilings={"ann": {"s1": "absent"}})
    dealt = redeal(problem, plan, **QUICK)
    assert "t2" not in {station.drill for station in dealt.stations if "ann" in station.players}
    assert any("0 of the 15 minutes at rung 1 of tackle" in reason for reason in dealt.released)


def test_a_drill_that_is_banned_gives_way_to_another() -> None:
    problem = night(drills=[cases.drill("other")], idle_weight=1)
    dealt = redeal(problem, [Station("s1", 0, "banned", ("ann", "bea", "cat"))], **QUICK)
    assert [(s.slot, s.drill) for s in dealt.stations] == [(0, "other")]
    assert dealt.released == ("banned is no longer to be used.",)


def test_a_slot_that_is_gone_takes_its_stations_and_locks_with_it() -> None:
    problem = night(sessions=[cases.session("s1", 0, slots=[10])])
    problem = replace(problem, locks=(Lock("s1", 1, "free"),))
    dealt = redeal(problem, [Station("s1", 1, "free", ("ann",))], **QUICK)
    assert dealt.stations == ()
    assert dealt.released == (
        "The lock on free in slot 2 of s1 is gone with it.",
        "Slot 2 of s1 is no longer there.",
    )


def test_a_swapped_station_is_staffed_and_the_other_slots_stay() -> None:
    problem = Problem.from_json(outside.instance("small"))
    plan = solve(problem, seconds=60, iterations=300).stations
    place, other = next(
        (place, drill.id)
        for place in plan
        for drill in problem.drills
        if not any(lock.session == place.session for lock in problem.locks)
        and drill.kind.value == "none" and drill.rung == 1 and not drill.needs
        and drill.minutes[0] <= problem.minutes(place) <= drill.minutes[1]
        and all(s.drill != drill.id for s in plan if problem.week_of(s.session) == problem.week_of(place.session))
    )  # fmt: skip
    locked = replace(problem, locks=(*problem.locks, Lock(place.session, place.slot, other)))
    dealt = redeal(locked, plan, **QUICK)
    here = (place.session, place.slot)
    assert other in {s.drill for s in dealt.stations if (s.session, s.slot) == here}
    assert {s for s in dealt.stations if (s.session, s.slot) != here} == {
        s for s in plan if (s.session, s.slot) != here
    }


def test_locks_that_clash_after_the_change_are_named() -> None:
    problem = night(drills=[cases.drill("free", players=[3, 5])], ceilings={"cat": {"s1": "absent"}})
    problem = replace(problem, locks=(Lock("s1", 0, "free"),))
    with pytest.raises(Impossible):
        redeal(problem, [Station("s1", 0, "free", ("ann", "bea", "cat"))], **QUICK)


@pytest.mark.parametrize("name", ["club", "tight", "season"])
def test_a_player_out_for_the_rest_of_a_public_instance_leaves_a_plan_within_the_rules(name: str) -> None:
    problem = Problem.from_json(outside.instance(name))
    plan = solve(problem, seconds=0.3).stations
    away = {session.id: Ceiling.ABSENT for session in problem.sessions[2:]}
    locks = tuple(replace(lock, players=tuple(p for p in lock.players if p != "p05")) for lock in problem.locks)
    changed = replace(problem, ceilings={**problem.ceilings, "p05": away}, locks=locks)
    dealt = redeal(changed, plan, **QUICK)
    assert breaches(changed, dealt.stations) == []
    assert {move.after for move in dealt.changed if move.player == "p05" and move.session in away} == {None}
