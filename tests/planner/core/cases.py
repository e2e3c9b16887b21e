"""Small invented problems and plans, drawn at random but the same for the same seed."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

START = date(2026, 1, 5)
ROLES = ("front", "half", "wing")
LADDERS = ("tackle", "jackal")
KINDS = ("none", "controlled", "set_piece", "full")


def day(offset: int) -> str:
    return str(START + timedelta(days=offset))


def drill(name: str, **given: Any) -> dict[str, Any]:
    """A drill that anyone may do at any time, changed by what is given."""
    plain: dict[str, Any] = {
        "id": name,
        "roles": ["all"],
        "needs": {},
        "players": [1, 10],
        "minutes": [5, 30],
        "rpe": 4,
        "contact": {"kind": "none", "share": 0},
        "skills": [{"skill": "tackle", "share": 0.5, "roles": None}],
        "coaches": 1,
        "area": 100,
        "kit": {},
        "ladder": None,
        "rung": 1,
    }
    return plain | given


def session(name: str, offset: int, **given: Any) -> dict[str, Any]:
    """A session so many days after the start, with room for three stations."""
    plain: dict[str, Any] = {
        "id": name,
        "date": day(offset),
        "slots": [10, 20],
        "stations": 3,
        "coaches": 3,
        "area": 1000,
        "kit": {"shields": 6},
    }
    return plain | given


def problem(**given: Any) -> dict[str, Any]:
    """Three players, one free drill and one session, changed by what is given."""
    plain: dict[str, Any] = {
        "format": "plumbline-problem/1",
        "name": "case",
        "start": str(START),
        "weeks": 2,
        "skills": ["tackle", "jackal"],
        "players": [{"id": p, "roles": ["all"]} for p in ("ann", "bea", "cat")],
        "drills": [drill("free")],
        "sessions": [session("s1", 0)],
    }
    return plain | given


def random_problem(rng: random.Random) -> dict[str, Any]:
    """A small problem with every part of the format, tight enough that plans often break rules."""
    weeks = rng.randint(1, 3)
    players = [_player(rng, f"p{i}", weeks) for i in range(rng.randint(2, 7))]
    drills = [_drill(rng, f"d{i}") for i in range(rng.randint(2, 7))]
    offsets = sorted(rng.choice(range(7 * weeks)) for _ in range(rng.randint(1, 5)))
    sessions = [_session(rng, f"s{i}", offset) for i, offset in enumerate(offsets)]
    names = [p["id"] for p in players]
    built = problem(
        name=f"random {weeks}",
        weeks=weeks,
        players=players,
        drills=drills,
        sessions=sessions,
        ceilings={p: _ceilings(rng, sessions) for p in names if rng.random() < 0.6},
        limits=_limits(rng),
        targets=[_target(rng, p) for p in names for _ in range(rng.randint(0, 2))],
        bands=[_band(rng, p, weeks) for p in names if rng.random() < 0.7],
        evenness=rng.choice([None, {"roles": rng.sample(ROLES, 2), "weight": rng.randint(0, 200) / 100}]),
        idle_weight=rng.choice([None, 0, 0.35, 1]),
    )
    built["locks"] = [random_lock(rng, built) for _ in range(rng.choice([0, 0, 1, 2]))]
    return built


def with_misses(rng: random.Random, built: dict[str, Any]) -> dict[str, Any]:
    """The problem with players who are there for some slots only, some of them for none of a night."""
    return built | {
        "misses": {
            player["id"]: {
                night["id"]: sorted(rng.sample(range(len(night["slots"])), rng.randint(0, len(night["slots"]))))
                for night in built["sessions"]
                if rng.random() < 0.6
            }
            for player in built["players"]
            if rng.random() < 0.5
        }
    }


THEMES = ("line", "ruck", "chase")


def with_wishes(rng: random.Random, built: dict[str, Any]) -> dict[str, Any]:
    """The problem with wishes of a coach added to it, each kind in about every other problem."""
    drills = [each["id"] for each in built["drills"]]
    players = [each["id"] for each in built["players"]]
    nights = [each["id"] for each in built["sessions"]]
    sometimes = [rng.random() < 0.5 for _ in range(8)]
    for each in built["drills"]:
        each["theme"] = rng.choice([None, *THEMES]) if sometimes[0] else None
        each["fresh"] = sometimes[1] and rng.random() < 0.4
        each["repeats"] = _repeats(rng) if sometimes[2] and rng.random() < 0.6 else None
        each["units"] = _units(rng) if sometimes[3] and rng.random() < 0.5 else None
    for each in built["sessions"]:
        each["themes_most"] = rng.choice([None, 0, 1, 1, 2]) if sometimes[0] else None
        each["nothing_new"] = sometimes[4] and rng.random() < 0.5
        each["breaks"] = [slot for slot in range(1, len(each["slots"])) if rng.random() < 0.4]
    return built | {
        "known": rng.sample(drills, rng.randint(0, len(drills) - 1)) if sometimes[4] else None,
        "apart": [_apart(rng, players) for _ in range(rng.randint(1, 2))] if sometimes[5] else None,
        "order": {"tiring_rpe": rng.randint(4, 9)} if sometimes[1] else None,
        "hard_row": {"rpe": rng.randint(3, 8), "most": rng.choice([0, 1, 1, 2])} if sometimes[6] else None,
        "favourites": [_favourite(rng, drills, nights) for _ in range(rng.randint(1, 2))] if sometimes[7] else None,
    }


def _repeats(rng: random.Random) -> dict[str, Any]:
    most = rng.choice([None, 0, 1, 2])
    return {
        "least": rng.randint(0, 3 if most is None else most),
        "most": most,
        "gap_days": rng.choice([None, 2, 7, 10]),
        "weight": rng.randint(0, 500) / 100,
    }


def _units(rng: random.Random) -> dict[str, Any]:
    keep = rng.choice(["together", "mixed"])
    return {"roles": rng.sample(ROLES, rng.randint(2, 3)), "keep": keep, "least": rng.choice([None, 1, 2])}


def _apart(rng: random.Random, players: list[str]) -> dict[str, Any]:
    return {"players": rng.sample(players, 2), "contact_only": rng.choice([None, True, False])}


def _favourite(rng: random.Random, drills: list[str], nights: list[str]) -> dict[str, Any]:
    return {
        "coach": "coach",
        "drills": rng.sample(drills, rng.randint(1, 2)),
        "sessions": rng.sample(nights, rng.randint(1, len(nights))),
        "weight": rng.randint(0, 600) / 100,
    }


def random_lock(rng: random.Random, built: dict[str, Any]) -> dict[str, Any]:
    place = random_place(rng, built)
    names = [p["id"] for p in built["players"]]
    return place | {"players": rng.choice([None, [], rng.sample(names, rng.randint(1, min(3, len(names))))])}


def random_place(rng: random.Random, built: dict[str, Any]) -> dict[str, Any]:
    chosen = rng.choice(built["sessions"])
    return {
        "session": chosen["id"],
        "slot": rng.randrange(len(chosen["slots"])),
        "drill": rng.choice(built["drills"])["id"],
    }


def random_stations(rng: random.Random, built: dict[str, Any], most: int = 9) -> list[dict[str, Any]]:
    """Stations with no thought for any rule: some players twice, some stations empty or repeated."""
    names = [p["id"] for p in built["players"]]
    stations = []
    for _ in range(rng.randint(0, most)):
        players = rng.sample(names, rng.randint(0, len(names)))
        if players and rng.random() < 0.1:
            players.append(rng.choice(players))
        stations.append(random_place(rng, built) | {"players": players})
    if stations and rng.random() < 0.1:
        stations.append(dict(stations[0]))
    return stations


def _player(rng: random.Random, name: str, weeks: int) -> dict[str, Any]:
    roles = ["all", *rng.sample(ROLES, rng.randint(0, 2))]
    done = {
        f"{ladder}:{rung}": [[day(-rng.randint(1, 30)), rng.choice([5, 10, 15, 20])]]
        for ladder in LADDERS
        for rung in (1, 2)
        if rng.random() < 0.4
    }
    accrued = {
        str(week): {kind: rng.randint(0, 1200) / 100 for kind in KINDS[1:] if rng.random() < 0.5}
        for week in range(weeks)
        if rng.random() < 0.4
    }
    return {"id": name, "roles": roles, "done": done or None, "accrued": accrued or None}


def _drill(rng: random.Random, name: str) -> dict[str, Any]:
    least, short = rng.randint(0, 3), rng.choice([5, 8, 10])
    kind = rng.choice(KINDS)
    return drill(
        name,
        roles=rng.choice([["all"], ["all"], rng.sample(ROLES, 2)]),
        needs={rng.choice(ROLES): 1} if rng.random() < 0.3 else None,
        players=[least, least + rng.randint(0, 4)],
        minutes=[short, short + rng.randint(0, 15)],
        rpe=rng.randint(1, 10),
        contact={"kind": kind, "share": rng.randint(0, 100) / 100},
        skills=[_share(rng) for _ in range(rng.randint(0, 3))],
        coaches=rng.choice([None, 0, 1, 2]),
        area=rng.choice([None, 50, 400, 120.5]),
        kit=rng.choice([None, {"shields": rng.randint(1, 5)}, {"bags": 1}]),
        ladder=rng.choice([None, *LADDERS]),
        rung=rng.randint(1, 3),
    )


def _share(rng: random.Random) -> dict[str, Any]:
    roles = rng.choice([None, rng.sample(ROLES, rng.randint(0, 2))])
    return {"skill": rng.choice(["tackle", "jackal"]), "share": rng.randint(0, 100) / 100, "roles": roles}


def _session(rng: random.Random, name: str, offset: int) -> dict[str, Any]:
    return session(
        name,
        offset,
        slots=[rng.choice([5, 8, 10, 12, 20]) for _ in range(rng.randint(1, 3))],
        stations=rng.randint(1, 3),
        coaches=rng.randint(1, 4),
        area=rng.choice([400, 800.5]),
        kit=rng.choice([None, {"shields": 6}]),
    )


def _ceilings(rng: random.Random, sessions: list[dict[str, Any]]) -> dict[str, str]:
    return {s["id"]: rng.choice(["absent", "none", "controlled", "full"]) for s in sessions if rng.random() < 0.6}


def _limits(rng: random.Random) -> dict[str, Any] | None:
    return rng.choice(
        [
            None,
            {"weekly": {"controlled": 10, "full": 5}, "ladder": {"minutes": 15, "days": 28}},
            {
                "weekly": {"controlled": 12, "set_piece": 10, "full": 8},
                "full_days_per_week": rng.randint(0, 2),
                "repeats_per_week": rng.randint(1, 2),
                "ladder": {"minutes": rng.choice([5, 10]), "days": rng.choice([3, 14])},
            },
        ]
    )


def _target(rng: random.Random, player: str) -> dict[str, Any]:
    return {
        "player": player,
        "skill": rng.choice(["tackle", "jackal"]),
        "minutes": rng.randint(0, 25),
        "weight": rng.randint(0, 300) / 100,
        "weekly": rng.choice([None, True, False]),
    }


def _band(rng: random.Random, player: str, weeks: int) -> dict[str, Any]:
    low = rng.randint(0, 200)
    return {
        "player": player,
        "week": rng.randrange(weeks),
        "low": low,
        "high": low + rng.randint(0, 100),
        "weight": rng.randint(0, 200) / 100,
    }


def roomy_problem(rng: random.Random) -> dict[str, Any]:
    """A small problem in which most drills fit most slots and players, so that locks decide what clashes."""
    built = random_problem(rng)
    for each in built["drills"]:
        each |= {"roles": ["all"], "minutes": [5, 25], "coaches": rng.choice([1, 1, 2]), "area": 100, "kit": None}
        each["players"] = [rng.randint(1, 3), rng.randint(3, 5)]
        each["kit"] = rng.choice([None, None, {"shields": 4}])
    for each in built["sessions"]:
        each |= {"stations": rng.randint(2, 3), "coaches": 3, "area": 1000, "kit": {"shields": 6}}
    for row in built["ceilings"].values():
        for session_id in list(row):
            row[session_id] = rng.choice(["full", "full", "full", row[session_id]])
    built["locks"] = [random_lock(rng, built) for _ in range(rng.randint(1, 5))]
    return built
