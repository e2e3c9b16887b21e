"""Words that stand on many days of the calendar: each is looked up once for a page, in the reader's language."""

from __future__ import annotations

import datetime as dt

from django.utils.dates import MONTHS_3, WEEKDAYS_ABBR
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.models import Fixture, FixtureState, Session


class DayNames:
    """Short names of days, as Django's formats "D", "D j", "j M" and "D j M" write them."""

    def __init__(self) -> None:
        self._weekdays = [str(WEEKDAYS_ABBR[n]) for n in range(7)]
        self._months = [str(MONTHS_3[n]).title() for n in range(1, 13)]

    def weekday(self, day: dt.date) -> str:
        return self._weekdays[day.weekday()]

    def in_week(self, day: dt.date) -> str:
        return f"{self._weekdays[day.weekday()]} {day.day}"

    def in_year(self, day: dt.date) -> str:
        return f"{day.day} {self._months[day.month - 1]}"

    def whole(self, day: dt.date) -> str:
        return f"{self.in_week(day)} {self._months[day.month - 1]}"


class EntryWords:
    """What is said of sessions and matches."""

    def __init__(self) -> None:
        self.training = _("%(time)s Training")
        self.cancelled = _("cancelled")
        self.at_home, self.away = _("v %(opponent)s, home"), _("v %(opponent)s, away")
        self.no_time = _("time not known yet")
        self._minutes = _("%(minutes)d min")
        self._states = {state: "" if state == FixtureState.PLANNED else str(state.label) for state in FixtureState}
        self._stations: dict[int, str] = {}

    def state(self, fixture: Fixture) -> str:
        """ "" for a match that takes place as planned."""
        return self._states[fixture.state]

    def length(self, session: Session) -> str:
        """Its minutes, and how many drills stand in it."""
        minutes, count = self._minutes % {"minutes": session.minutes}, session.stations_set
        if not count:
            return minutes
        if count not in self._stations:
            words = ngettext("%(count)d station", "%(count)d stations", count)
            self._stations[count] = words % {"count": count}
        return f"{minutes}, {self._stations[count]}"
