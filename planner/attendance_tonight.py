"""Which stations of a night still work with those who are there, its coaches, grass and kit; and which do not, and why.

Nothing is reckoned here: every reason is a sentence of the referee or of the week.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from planner.build import drill_id
from planner.core.breach import Breach
from planner.core.calendar import at_wall_time
from planner.core.totals import monday_of
from planner.models import Session
from planner.weeks import Night, SlotLine, StationLine, Week, week_of


@dataclass(frozen=True)
class Works:
    """A station and what stands against it; nothing does where it works."""

    line: SlotLine
    each: StationLine
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Tonight:
    week: Week
    night: Night

    @cached_property
    def stations(self) -> list[Works]:
        return [
            Works(line, each, tuple(dict.fromkeys(self._reasons(line, each))))
            for line in self.night.to_plan
            for each in line.stations
        ]

    @property
    def broken(self) -> list[Works]:
        return [works for works in self.stations if works.reasons]

    @property
    def slots(self) -> list[int]:
        """Keys of the slots to deal anew: those that are planned."""
        return [line.slot.pk for line in self.night.to_plan]

    def _reasons(self, line: SlotLine, each: StationLine) -> Iterator[str]:
        if each.is_below_least:
            yield _("%(coming)d can come, it needs %(least)d.") % {
                "coming": each.coming,
                "least": each.station.drill.players_least,
            }
        for breach in self._breaches(line):
            if breach.drill in (None, drill_id(each.station.drill_id)):
                yield breach.text
        if self._lights_fail(line):
            yield _("The lights go off before it ends.")

    def _breaches(self, line: SlotLine) -> list[Breach]:
        """Players who are not there are counted out by the week, not by the referee."""
        overview = self.week.overview_of(self.night.session)
        place = overview and overview.built.places.get(line.slot.pk)
        found = overview.breaches if place else ()
        return [b for b in found if (b.session, b.slot) == place and not overview.is_about_away(b)]

    def _lights_fail(self, line: SlotLine) -> bool:
        session, ends = self.night.session, line.starts + dt.timedelta(minutes=line.slot.minutes)
        lights = session.lights_until
        return lights is not None and ends > at_wall_time(session.day, lights, session.squad.club.tzinfo)


def tonight_of(session: Session, today: dt.date) -> Tonight:
    week = week_of(session.squad, monday_of(session.day), today)
    return Tonight(week, week.night(session.pk))
