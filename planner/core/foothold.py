"""A plan for hard locks: when stations cannot be staffed one after the other, an exact model staffs them at once.

That is needed where a locked station asks for rung minutes that another station must give first.
"""

from __future__ import annotations

from ortools.sat.python import cp_model

from planner.core.lock_model import LockModel, wishes_of
from planner.core.problem import Problem, Station
from planner.core.reach import Reach

LONGEST = 10.0  # of CP-SAT's deterministic time, about as many seconds


def foothold(problem: Problem) -> tuple[Station, ...] | None:
    """The locked stations and those that carry them, or None when none were found within the effort allowed."""
    wishes = wishes_of(problem.locks)
    locks = LockModel(Reach(problem), wishes)
    for wish in wishes:
        locks.model.add(locks._variable(wish) == 1)
    locks.model.minimize(sum(locks.stands.values()))  # no more than the locks need: the search does the rest
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = LONGEST
    if solver.solve(locks.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return tuple(
        Station(place.session, place.slot, place.drill, here)
        for place, run in locks.runs.items()
        if solver.boolean_value(run)
        for here in [
            tuple(who for (who, at), stand in locks.stands.items() if at == place and solver.boolean_value(stand))
        ]
        if here
    )
