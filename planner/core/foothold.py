"""A plan for hard locks: when stations cannot be staffed one after the other, an exact model staffs them at once.

That is needed where a locked station asks for rung minutes that another station must give first.
"""

from __future__ import annotations

from planner.core.lock_model import FEW_FIRST, LockModel, wishes_of
from planner.core.problem import Problem, Station
from planner.core.reach import Reach


def foothold(problem: Problem) -> tuple[Station, ...] | None:
    """The locked stations and some that carry them, or None when none were found within the effort allowed.

    The locks must not clash (see planner.core.clash).
    """
    reach, wishes = Reach(problem), wishes_of(problem.locks)
    plans = (LockModel(reach, wishes, most=most).stations(wishes) for most in FEW_FIRST)
    return next((plan for plan in plans if plan is not None), None)
