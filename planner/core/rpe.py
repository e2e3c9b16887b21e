"""How hard a session was, on Foster's scale, and what a player did on a day: from both follows his load.

The scale is the CR-10 in the words of Foster et al. 2001, J Strength Cond Res 15(1):109-115, figure 1: asked as “How
was your workout?” about thirty minutes after the end, one number for the whole of it. Borg's own words for his scale
differ, and his other one runs from 6 to 20: neither is mixed in here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

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
    """Something that a player did on a day. None where it is not known: minutes that are only planned are not."""

    rpe: int | None
    minutes: int | None

    @property
    def load(self) -> Measured:
        """AU; see planner.core.load.session_load."""
        return session_load(self.rpe, self.minutes)


def load_of_day(did: Iterable[Did]) -> Measured:
    """AU: the sum of all that he did; not known if one of them is not."""
    return daily_load(each.load for each in did)


def sure_load(did: Iterable[Did]) -> float | None:
    """The load of a day of which nothing can change any more by itself; None while something is open."""
    load = load_of_day(did)
    return None if isinstance(load, Missing) else load
