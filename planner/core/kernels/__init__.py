"""Compiled kernels of the planner's search and bound.

They compile on first use and keep the machine code where NUMBA_CACHE_DIR says. `warm_up` does that ahead of
time, at set-up and when a worker starts, so that no coach waits for a compiler.
"""

from __future__ import annotations


def warm_up() -> None:
    """Compile every kernel on a tiny problem whose wish nothing serves, for one proven at once skips the search."""
    from datetime import date

    from planner.core.bound import Bound
    from planner.core.flat import flatten
    from planner.core.problem import Contact, Drill, Player, Problem, Session, Target
    from planner.core.solve import solve

    day = date(2000, 1, 3)
    problem = Problem(
        "warm-up", day, 1, ("skill",), (Player("one", ("all",)),),
        (Drill("drill", ("all",), {}, (1, 1), (1, 9), 1, Contact.NONE, 0, ()),),
        (Session("session", day, (5,), 1, 1, 1),),
        targets=(Target("one", "skill", 5, 1, False),),
    )  # fmt: skip
    solve(problem, seconds=60, iterations=1, workers=1)
    Bound(flatten(problem)).step(0.0, 0.0)
