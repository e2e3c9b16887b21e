"""Which stations of a night still work with those who are there, its coaches, grass and kit; and which do not, and why.

Nothing is reckoned here: every reason is a sentence of the referee or of the week.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from drills import words as words_of_kit
from planner.build import drill_id
from planner.core.breach import Breach
from planner.core.totals import monday_of
from planner.models import Session
from planner.swap_models import Swap, swaps_of
from planner.swap_told import Told, told_of
from planner.tonight_actions import as_json
from planner.tonight_models import Found
from planner.weeks import Night, SlotLine, StationLine, Week, week_of


@dataclass(frozen=True)
class Works:
    """A station and what stands against it; nothing does where it works."""

    line: SlotLine
    each: StationLine
    reasons: tuple[str, ...]

    @property
    def has_begun(self) -> bool:
        return self.line.has_begun


@dataclass(frozen=True)
class Tonight:
    week: Week
    night: Night
    swap: Swap | None = None

    @cached_property
    def stations(self) -> list[Works]:
        return [
            Works(line, each, () if line.has_begun else tuple(dict.fromkeys(self._reasons(line, each))))
            for line in self.night.to_plan
            for each in line.stations
        ]

    @property
    def told(self) -> Told | None:
        """The groups that swap, in words."""
        return told_of(self.swap, self.night.session, self.week.days.players) if self.swap else None

    @property
    def broken(self) -> list[Works]:
        return [works for works in self.stations if works.reasons]

    @property
    def slots(self) -> list[int]:
        """Keys of the slots to deal anew: those that have not begun and have light."""
        return [line.slot.pk for line in self.night.ahead if not self.is_settled(line)]

    def is_settled(self, line: SlotLine) -> bool:
        return self.swap is not None and line.slot.pk in self.swap.slots

    def _reasons(self, line: SlotLine, each: StationLine) -> Iterator[str]:
        if each.is_below_least:
            yield _("%(coming)d can come, it needs %(least)d.") % {
                "coming": each.coming,
                "least": each.station.drill.players_least,
            }
        for breach in self._breaches(line):
            if breach.drill in (None, drill_id(each.station.drill_id)):
                yield breach.text
        if line.is_dark:
            yield _("The lights go off before it ends.")

    def _breaches(self, line: SlotLine) -> list[Breach]:
        """Players who are not there are counted out by the week, not by the referee."""
        overview = self.week.overview_of(self.night.session)
        place = overview and overview.built.places.get(line.slot.pk)
        found = overview.breaches if place else ()
        return [b for b in found if (b.session, b.slot) == place and not overview.is_about_away(b)]


def tonight_of(session: Session, today: dt.date, now: dt.datetime | None = None) -> Tonight:
    week = week_of(session.squad, monday_of(session.day), today, now)
    return Tonight(week, week.night(session.pk), swaps_of([session]).get(session.pk))


def planned_words(first: Found) -> list[str]:
    """What had been planned and is different now, from the first row that was said of the night."""
    session, was = first.session, first.was
    lines = {
        "coaches": _("coaches %(was)s"),
        "stations": _("stations at once %(was)s"),
        "lights_until": _("lights until %(was)s"),
    }
    now = as_json({name: getattr(session, name) for name in was})
    found = [words % {"was": was[name] or _("the end")} for name, words in lines.items() if was[name] != now[name]]
    if (was["width"], was["length"]) != (session.width, session.length):
        found.append(_("grass %(width)d × %(length)d m") % was)
    less = [item for item in was["kit"] | session.kit if was["kit"].get(item) != session.kit.get(item)]
    return found + [words_of_kit.pieces(item, was["kit"][item]) for item in less if item in was["kit"]]
