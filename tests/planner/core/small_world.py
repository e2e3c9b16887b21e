"""Problems so small that every plan can be looked at."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product
from typing import Any

from planner.core.check import breaches, cost
from planner.core.problem import Problem, Station
from tests.planner.core import cases


def micro_problem(rng: random.Random) -> Problem:
    """Three players, two drills and two slots of a random problem; no locks."""
    built = cases.random_problem(rng)
    built["players"] = built["players"][:3]
    built["drills"] = built["drills"][:2]
    built["sessions"] = [session | {"slots": session["slots"][:1]} for session in built["sessions"][:2]]
    names = {player["id"] for player in built["players"]}
    nights = {session["id"] for session in built["sessions"]}
    built["ceilings"] = {
        player: {night: ceiling for night, ceiling in row.items() if night in nights}
        for player, row in built["ceilings"].items()
        if player in names
    }
    for key in ("targets", "bands"):
        built[key] = [wish for wish in built[key] if wish["player"] in names]
    return Problem.from_json((cases.with_misses(rng, built) if rng.random() < 0.4 else built) | {"locks": None})


def ladder_problem(rng: random.Random) -> Problem:
    """Two players, two rungs of a ladder and three days of one slot each; some drills need a role."""
    players = [
        {
            "id": name,
            "roles": ["all", *rng.sample(["front", "half"], rng.randint(0, 2))],
            "done": {"tackle:1": [[cases.day(-rng.randint(1, 5)), minutes]]} if minutes else None,
        }
        for name, minutes in (("ann", rng.choice([0, 0, 5, 10])), ("bea", 0))
    ]
    drills = [
        cases.drill(
            f"rung-{rung}",
            ladder="tackle",
            rung=rung,
            players=[rng.randint(0, 2), rng.randint(1, 2)],
            needs={"front": 1} if rng.random() < 0.4 else None,
            rpe=rng.randint(1, 9),
            skills=[{"skill": "tackle", "share": share, "roles": None}],
        )
        for rung, share in ((1, rng.randint(0, 60) / 100), (2, rng.randint(20, 100) / 100))
    ]
    for drill in drills:
        drill["players"].sort()
    sessions = [cases.session(f"s{n}", 2 * n, slots=[rng.choice([5, 8, 12])]) for n in range(3)]
    wanted = [
        {"player": p, "skill": "tackle", "minutes": rng.randint(5, 30), "weight": rng.randint(1, 3), "weekly": weekly}
        for p, weekly in (("ann", True), ("bea", False))
    ]
    band = {"player": "bea", "week": 0, "low": rng.randint(0, 80), "high": 90, "weight": rng.randint(0, 4)}
    limits = {"ladder": {"minutes": rng.choice([5, 10, 15]), "days": rng.choice([2, 28])}}
    return Problem.from_json(
        cases.problem(
            players=players,
            drills=drills,
            sessions=sessions,
            targets=wanted,
            bands=[band],
            limits=limits,
            idle_weight=0.1,
        )
    )


def every_plan(problem: Problem) -> Iterator[tuple[Station, ...]]:
    """Each way to send each player to a drill or to none in each slot; empty stations change no cost."""
    places = [(session.id, slot) for session in problem.sessions for slot in range(len(session.slots))]
    choices = [None, *(drill.id for drill in problem.drills)]
    of_slot = list(product(choices, repeat=len(problem.players)))
    for plan in product(of_slot, repeat=len(places)):
        yield tuple(
            Station(*place, drill, tuple(p.id for p, at in zip(problem.players, sent, strict=True) if at == drill))
            for place, sent in zip(places, plan, strict=True)
            for drill in dict.fromkeys(sent)
            if drill is not None
        )


def least_cost(problem: Problem) -> float:
    """The cost of the best plan, found by looking at every one with the referee."""
    return min(cost(problem, plan).total for plan in every_plan(problem) if not breaches(problem, plan))


def random_problem(seed: int, **given: Any) -> Problem:
    """A small problem of any shape, without locks unless they are given."""
    rng = random.Random(seed)
    built = cases.random_problem(rng)
    return Problem.from_json((cases.with_misses(rng, built) if rng.random() < 0.5 else built) | {"locks": None} | given)
