"""How hard a session was, on Foster's scale, and what a player did on a day: from both follows his load.

The scale is the CR-10 in the words of Foster et al. 2001, J Strength Cond Res 15(1):109-115, figure 1: asked as “How
was your workout?” about thirty minutes after the end, one number for the whole of it. Borg's own words for his scale
differ, and his other one runs from 6 to 20: neither is mixed in here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from planner.core.load import Measured, Missing, daily_load, session_load

LOWEST, HIGHEST = 0, 10
# Numbers without words have none in the source either.
WORDS = {
    0: "Rest",
    1: "Very, Very Easy",
    2: "Easy",
    3: "Moderate",
    4: "Somewhat Hard",
    5: "Hard",
    7: "Very Hard",
    10: "Maximal",
}
BEST_ASKED_AFTER = dt.timedelta(minutes=30)  # Foster et al. 2001
# A rating was found to be stable from a minute to 14 days after (Foster et al. 2021, Int J Sports Physiol Perform
# 16(5):612-621, abstract), so a player is asked for so long.
ASKED_FOR = dt.timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Did:
    """Something that a player did on a day, None where it is not known. `is_planned`: the minutes are those of the
    plan, of a night that nobody has confirmed in 48 hours; before that they are not known."""

    rpe: int | None
    minutes: int | None
    is_planned: bool = False

    @property
    def load(self) -> Measured:
        """AU; see planner.core.load.session_load."""
        return session_load(self.rpe, self.minutes)


def load_of_day(did: Iterable[Did]) -> Measured:
    """AU: the sum of all that he did; not known if one of them is not."""
    return daily_load(each.load for each in did)


def with_planned(did: Mapping[str, Did], minutes: Mapping[str, int]) -> dict[str, Did]:
    """With the planned minutes of nights that are not confirmed, by their names, where he said how hard it was and
    nobody told for how long. Of the others nothing is known: the plan says nothing of how hard a night was."""
    return {
        name: replace(each, minutes=minutes[name], is_planned=True)
        if each.rpe is not None and each.minutes is None and name in minutes
        else each
        for name, each in did.items()
    }


def sure_load(did: Iterable[Did]) -> float | None:
    """The load of a day of which nothing can change any more by itself; None while something is open."""
    load = load_of_day(did)
    return None if isinstance(load, Missing) else load
