"""Which pattern fits a week, by its matches. A proposal with its reason, nothing more.

All of it is common practice: six days or fewer between matches make a short week; three weeks lead to a final.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from planner.core.calendar import A_WEEK

SHORT = 6  # days from match to match
FESTIVAL = 3  # matches in two days
IN_SEASON = dt.timedelta(days=28)  # a week without a match is a bye if there is one within so many days on both sides


class Fit(StrEnum):
    """Kinds of weeks, as planner.pattern_models.Fits keeps them."""

    SHORT = "short"
    MIDWEEK = "midweek"
    BYE = "bye"
    BEFORE_FESTIVAL = "before_festival"
    AFTER_FESTIVAL = "after_festival"
    THIRD_LAST = "third_last"
    SECOND_LAST = "second_last"
    LAST = "last"


LAST_WEEKS = (Fit.LAST, Fit.SECOND_LAST, Fit.THIRD_LAST)


@dataclass(frozen=True, slots=True)
class Fitting:
    """`first` and `last`: the days that make it so."""

    fit: Fit
    first: dt.date
    last: dt.date


@dataclass(frozen=True)
class Matches:
    """Days of a squad's matches in order, one entry for each match, and of its finals."""

    days: Sequence[dt.date]
    finals: Collection[dt.date] = field(default=())

    def fitting(self, monday: dt.date) -> Fitting | None:
        """What the week from the Monday is; None for a usual one. What is lighter comes before what is less so."""
        for found in (self._festival_in(monday - A_WEEK), self._final(monday), self._midweek(monday)):
            if found:
                return found
        if (ahead := self._festival_days(monday + A_WEEK)) is not None:
            return Fitting(Fit.BEFORE_FESTIVAL, *ahead)
        return self._short(monday) or self._bye(monday)

    def _in_week(self, monday: dt.date) -> list[dt.date]:
        return [day for day in self.days if monday <= day < monday + A_WEEK]

    def _festival_days(self, monday: dt.date) -> tuple[dt.date, dt.date] | None:
        counts = Counter(self._in_week(monday))
        for day in sorted(counts):
            after = day + dt.timedelta(days=1)
            if counts[day] + counts[after] >= FESTIVAL:
                return day, after if counts[after] else day
        return None

    def _festival_in(self, monday: dt.date) -> Fitting | None:
        days = self._festival_days(monday)
        return Fitting(Fit.AFTER_FESTIVAL, *days) if days else None

    def _final(self, monday: dt.date) -> Fitting | None:
        """The nearest final within three weeks."""
        for final in sorted(self.finals):
            weeks = (final - dt.timedelta(days=final.weekday()) - monday) // A_WEEK
            if 0 <= weeks < len(LAST_WEEKS):
                return Fitting(LAST_WEEKS[weeks], final, final)
        return None

    def _midweek(self, monday: dt.date) -> Fitting | None:
        """Two matches from Monday to Sunday, or one from Tuesday to Thursday."""
        here = self._in_week(monday)
        if len(set(here)) > 1:
            return Fitting(Fit.MIDWEEK, here[0], here[-1])
        if here and 1 <= here[0].weekday() <= 3:
            return Fitting(Fit.MIDWEEK, here[0], here[0])
        return None

    def _short(self, monday: dt.date) -> Fitting | None:
        for before, after in pairwise(self.days):
            if monday <= after < monday + A_WEEK and 0 < (after - before).days <= SHORT:
                return Fitting(Fit.SHORT, before, after)
        return None

    def _bye(self, monday: dt.date) -> Fitting | None:
        sunday = monday + A_WEEK - dt.timedelta(days=1)
        before = [day for day in self.days if monday - IN_SEASON <= day < monday]
        after = [day for day in self.days if sunday < day <= sunday + IN_SEASON]
        if self._in_week(monday) or not before or not after:
            return None
        return Fitting(Fit.BYE, before[-1], after[0])
