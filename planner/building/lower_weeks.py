"""What the patterns on a block's weeks take off its limits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from planner.building.full_days import Fewer
from planner.building.patterns import Patterns
from planner.core import problem as core
from planner.core.calendar import monday_of
from planner.core.pattern import Pattern
from planner.core.words import Lowered
from shared.core.contact import Kind

# What a kind that no rule limits may have in a week that no pattern is on: all minutes of seven days.
NO_LIMIT = 7 * 24 * 60


@dataclass(frozen=True)
class LowerWeeks:
    """Weeks of a block with a pattern, against `general` limits of all its weeks.

    Weeks of a block count from its first day. Where that is no Monday, a week of it meets two of the calendar, and
    the stricter pattern of both holds.
    """

    patterns: Patterns
    first_day: dt.date
    weeks: int
    general: core.Limits

    def of(self, week: int) -> list[Pattern]:
        first = self.first_day + dt.timedelta(weeks=week)
        mondays = {monday_of(first), monday_of(first + dt.timedelta(days=6))}
        return [self.patterns[monday] for monday in sorted(mondays) if monday in self.patterns]

    @property
    def limits(self) -> core.Limits:
        """With a limit for every kind that some pattern limits."""
        kinds = {core.Contact(kind) for week in range(self.weeks) for each in self.of(week) for kind in each.weekly}
        return replace(self.general, weekly=dict.fromkeys(kinds, NO_LIMIT) | dict(self.general.weekly))

    @property
    def lowered(self) -> dict[tuple[int, core.Contact], Lowered]:
        """What each week's limits are lower than those of all weeks."""
        return {(week, kind): low for week in range(self.weeks) for kind, low in self._lowered_in(week)}

    def _lowered_in(self, week: int) -> Iterator[tuple[core.Contact, Lowered]]:
        limits = self.limits.weekly
        for kind, general in limits.items():
            found = [(each.weekly[Kind(kind)], each.name) for each in self.of(week) if Kind(kind) in each.weekly]
            if found and (strictest := min(found))[0] < general:
                yield kind, Lowered(general - strictest[0], _("pattern %(name)s") % {"name": strictest[1]})

    @property
    def fewer_days(self) -> dict[int, Fewer]:
        """Weeks with fewer days of full contact. Where no minute of it is allowed the days need not be counted."""
        found = {}
        for week in range(self.weeks):
            here = [(p.full_days, p.name) for p in self.of(week) if p.full_days is not None and p.weekly.get(Kind.FULL)]
            most = self.general.full_days_per_week
            if here and (most is None or min(here)[0] < most):
                days, name = min(here)
                why = _("pattern %(name)s: days with full contact in the week: %(days)d") % {"name": name, "days": days}
                found[week] = Fewer(days, why)
        return found
