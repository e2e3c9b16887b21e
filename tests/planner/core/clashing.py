"""Blocks of any size in which all may hold, and ways to lock them into one known clash."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.planner.core.cases import drill, problem, session

ROLES = ("front", "half", "wing")


def block(rng: random.Random, *, players: int, weeks: int, nights: int, drills: int) -> dict[str, Any]:
    """A roomy block: every drill fits every slot of 10 to 20 minutes, nobody is hurt, no limit is near."""
    names = [f"p{i:02d}" for i in range(players)]
    kinds = ("none", "controlled", "set_piece", "full")
    return problem(
        name="block",
        weeks=weeks,
        players=[{"id": name, "roles": ["all", ROLES[i % 3]]} for i, name in enumerate(names)],
        drills=[
            drill(
                f"d{i:02d}",
                players=[2, 8],
                minutes=[8, 20],
                contact={"kind": kinds[i % 4], "share": 0.3},
                ladder=("tackle", "jackal", "maul")[i // 6 % 3] if i % 2 else None,
                rung=1 + i // 2 % 3,
                kit={"shields": 2},
            )
            for i in range(drills)
        ],
        sessions=[
            session(f"w{w}n{n}", 7 * w + 2 * n, slots=[rng.choice([10, 15, 20]) for _ in range(4)], kit={"shields": 9})
            for w in range(weeks)
            for n in range(nights)
        ],
        limits={
            "weekly": {"controlled": 40, "set_piece": 30, "full": 15},
            "full_days_per_week": 2,
            "repeats_per_week": 2,
            "ladder": {"minutes": 15, "days": 28},
        },
    )


@dataclass
class Trap:
    """A block, the locks that clash in it, and the rules that they break; other locks may stand beside them."""

    built: dict[str, Any]
    locks: list[dict[str, Any]]
    rules: tuple[str, ...]


def lock(session_id: str, slot: int, drill_id: str, *players: str) -> dict[str, Any]:
    return {"session": session_id, "slot": slot, "drill": drill_id, "players": list(players) or None}


def last(built: dict[str, Any]) -> dict[str, Any]:
    """The last session, where anything could have been prepared before."""
    found: dict[str, Any] = built["sessions"][-1]
    return found


def of_kind(built: dict[str, Any], kind: str) -> dict[str, Any]:
    """A drill of that contact kind, taken off its ladder."""
    found: dict[str, Any] = next(d for d in built["drills"] if d["contact"]["kind"] == kind)
    found["ladder"] = None
    return found


def a_slot_too_short(built: dict[str, Any]) -> Trap:
    night, hard = last(built), of_kind(built, "none")
    hard["minutes"] = [25, 30]
    return Trap(built, [lock(night["id"], 1, hard["id"])], ("H4",))


def too_little_kit(built: dict[str, Any]) -> Trap:
    night, hard = last(built), of_kind(built, "none")
    hard["kit"] = {"sled": 1}
    return Trap(built, [lock(night["id"], 1, hard["id"])], ("H3",))


def an_absent_player(built: dict[str, Any]) -> Trap:
    night, easy = last(built), of_kind(built, "none")
    built["ceilings"] = {"p01": {night["id"]: "absent"}}
    return Trap(built, [lock(night["id"], 0, easy["id"], "p01")], ("H1",))


def a_player_below_the_ceiling(built: dict[str, Any]) -> Trap:
    night, hard = last(built), of_kind(built, "full")
    built["ceilings"] = {"p01": {night["id"]: "controlled"}}
    return Trap(built, [lock(night["id"], 0, hard["id"], "p01")], ("H5",))


def a_player_without_the_role(built: dict[str, Any]) -> Trap:
    night, easy = last(built), of_kind(built, "none")
    easy["roles"] = ["front"]
    return Trap(built, [lock(night["id"], 0, easy["id"], "p01")], ("H2",))


def more_players_than_fit(built: dict[str, Any]) -> Trap:
    night, easy = last(built), of_kind(built, "none")
    easy["players"] = [2, 4]
    return Trap(built, [lock(night["id"], 0, easy["id"], *(f"p{i:02d}" for i in range(5)))], ("H2",))


def a_drill_twice_in_a_session(built: dict[str, Any]) -> Trap:
    night, easy = last(built), of_kind(built, "none")
    return Trap(built, [lock(night["id"], 0, easy["id"]), lock(night["id"], 2, easy["id"])], ("H8",))


def a_drill_too_often_in_a_week(built: dict[str, Any]) -> Trap:
    easy = of_kind(built, "none")
    built["limits"]["repeats_per_week"] = 1
    first, second = built["sessions"][-2:]
    return Trap(built, [lock(first["id"], 0, easy["id"]), lock(second["id"], 1, easy["id"])], ("H8",))


def a_player_at_two_stations(built: dict[str, Any]) -> Trap:
    night, one, two = last(built), of_kind(built, "none"), of_kind(built, "controlled")
    return Trap(built, [lock(night["id"], 0, d["id"], "p01") for d in (one, two)], ("H1",))


def shields_for_one_of_two(built: dict[str, Any]) -> Trap:
    night, one, two = last(built), of_kind(built, "none"), of_kind(built, "controlled")
    one["kit"] = two["kit"] = {"shields": 5}
    return Trap(built, [lock(night["id"], 0, d["id"]) for d in (one, two)], ("H3",))


def too_much_contact(built: dict[str, Any]) -> Trap:
    hard = of_kind(built, "controlled")
    hard["contact"]["share"], built["limits"]["weekly"]["controlled"] = 1, 19
    first, second = built["sessions"][-2:]
    first["slots"][0] = second["slots"][0] = 10
    return Trap(built, [lock(s["id"], 0, hard["id"], "p01") for s in (first, second)], ("H6",))


def too_many_full_days(built: dict[str, Any]) -> Trap:
    hard = of_kind(built, "full")
    built["limits"]["full_days_per_week"] = 1
    return Trap(built, [lock(s["id"], 0, hard["id"], "p01") for s in built["sessions"][-2:]], ("H7",))


def a_rung_out_of_reach(built: dict[str, Any]) -> Trap:
    built["drills"] += [drill("climb-2", ladder="climb", rung=2)]
    return Trap(built, [lock(last(built)["id"], 0, "climb-2")], ("H2", "H9"))


def too_few_for_two_stations(built: dict[str, Any]) -> Trap:
    night, one, two = last(built), of_kind(built, "none"), of_kind(built, "controlled")
    one["players"] = two["players"] = [4, 8]
    built["ceilings"] = {p["id"]: {night["id"]: "absent"} for p in built["players"][7:]}
    return Trap(built, [lock(night["id"], 0, d["id"]) for d in (one, two)], ("H1", "H2"))


def a_rung_that_another_lock_stands_on(built: dict[str, Any]) -> Trap:
    """p01 needs the only slot in which he could stand at the rung below, and is locked elsewhere in it."""
    night, eve, easy = *reversed(built["sessions"][-2:]), of_kind(built, "none")
    easy["minutes"] = [5, 30]
    eve["slots"][1], eve["stations"] = 28, 3
    built["drills"] += [drill("climb-1", ladder="climb", minutes=[25, 30], players=[2, 8])]
    built["drills"] += [drill("climb-2", ladder="climb", rung=2, players=[2, 8])]
    built["ceilings"] = {"p01": {s["id"]: "absent" for s in built["sessions"][:-2]}}
    return Trap(built, [lock(night["id"], 0, "climb-2", "p01"), lock(eve["id"], 1, easy["id"], "p01")], ("H1", "H9"))


def a_rung_that_contact_keeps_away(built: dict[str, Any]) -> Trap:
    """The rung below is controlled contact, of which another lock uses up p01's last minutes."""
    night, eve, hard = *reversed(built["sessions"][-2:]), of_kind(built, "controlled")
    hard["contact"]["share"] = 0.5
    eve["slots"] = [10, 20, 10, 20]
    built["limits"]["weekly"]["controlled"] = 7
    built["drills"] += [
        drill("climb-1", ladder="climb", players=[2, 8], contact={"kind": "controlled", "share": 0.2}),
        drill("climb-2", ladder="climb", rung=2, players=[2, 8]),
    ]
    built["ceilings"] = {"p01": {s["id"]: "absent" for s in built["sessions"][:-2]}}
    return Trap(built, [lock(night["id"], 0, "climb-2", "p01"), lock(eve["id"], 0, hard["id"], "p01")], ("H6", "H9"))


TRAPS: tuple[Callable[[dict[str, Any]], Trap], ...] = (
    a_slot_too_short,
    too_little_kit,
    an_absent_player,
    a_player_below_the_ceiling,
    a_player_without_the_role,
    more_players_than_fit,
    a_drill_twice_in_a_session,
    a_drill_too_often_in_a_week,
    a_player_at_two_stations,
    shields_for_one_of_two,
    too_much_contact,
    too_many_full_days,
    a_rung_out_of_reach,
    too_few_for_two_stations,
    a_rung_that_another_lock_stands_on,
    a_rung_that_contact_keeps_away,
)
