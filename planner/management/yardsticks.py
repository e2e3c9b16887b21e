"""What the planner is measured beside: a plan made slot by slot without search, and one model of a whole problem."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from datetime import date, timedelta
from typing import Any

from planner.core.problem import Problem, Station

Answer = tuple[tuple[Station, ...], float]  # stations, and a bound or 0


def greedy(problem: Problem, seconds: float, seed: int, workers: int) -> Answer:
    """As with a list on paper: each slot in order of date gets what saves most there, and is never looked at again."""
    from planner.core.solve import solve

    return solve(problem, seconds=seconds, seed=seed, workers=1, iterations=0).stations, 0.0


def cpsat(problem: Problem, seconds: float, seed: int, workers: int) -> Answer:
    """All rules and the whole cost as one model for OR-Tools' CP-SAT; the empty plan where it finds none in time."""
    from ortools.math_opt.python import mathopt

    from planner.core.exact import Exact, chosen_stations
    from planner.core.flat import flatten

    layout = flatten(problem)
    exact = Exact(layout.flat)
    limits = mathopt.SolveParameters(time_limit=timedelta(seconds=seconds), threads=workers, random_seed=seed)
    result = mathopt.solve(exact.model, mathopt.SolverType.CP_SAT, params=limits)
    bound = max(0.0, result.termination.objective_bounds.dual_bound)
    if not result.has_primal_feasible_solution():
        return (), bound
    return chosen_stations(layout, exact, result.variable_values()), bound


YARDSTICKS: dict[str, Callable[[Problem, float, int, int], Answer]] = {"greedy": greedy, "cpsat": cpsat}


def of_weeks(built: dict[str, Any], weeks: int) -> dict[str, Any]:
    """The first weeks of a problem file; beyond its end its weeks follow once more. Targets grow with the weeks."""
    whole = built["weeks"]
    start = date.fromisoformat(built["start"])
    sessions, ceilings = [], {player: dict(row) for player, row in (built.get("ceilings") or {}).items()}
    for turn in range(-(-weeks // whole)):
        for session in built["sessions"]:
            day = date.fromisoformat(session["date"]) + timedelta(weeks=turn * whole)
            if (day - start).days < 7 * weeks:
                name = session["id"] if turn == 0 else f"{session['id']} again {turn}"
                sessions.append(session | {"id": name, "date": str(day)})
                for row in ceilings.values():
                    if session["id"] in row:
                        row[name] = row[session["id"]]
    kept = {session["id"] for session in sessions}
    locks = [lock for lock in built.get("locks") or [] if lock["session"] in kept]
    targets = [wish | {"minutes": max(1, round(wish["minutes"] * weeks / whole))} for wish in built["targets"]]
    bands = [
        band | {"week": week}
        for week in range(weeks)
        for band in built.get("bands") or []
        if band["week"] == week % whole
    ]
    players = deepcopy(built["players"])
    for player in players:
        player["accrued"] = {week: row for week, row in (player.get("accrued") or {}).items() if int(week) < weeks}
    return built | {
        "name": f"{built['name']}, {weeks} weeks",
        "weeks": weeks,
        "sessions": sessions,
        "ceilings": {
            player: {name: most for name, most in row.items() if name in kept} for player, row in ceilings.items()
        },
        "locks": locks,
        "targets": targets,
        "bands": bands,
        "players": players,
    }
