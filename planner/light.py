"""Daylight on a session or a night: sunset at its venue, and in words where it runs on without light.

A venue whose position nobody entered has no sunset: nothing is guessed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.core.laying_out import PatternDay
from planner.core.light import Evening, Place, Sun, evening, first_dark
from planner.laying_out import Layout, when
from planner.models import Session, TrainingNight
from planner.slot_plans import plans_in
from planner.venue_models import Ground, Venue


@dataclass(frozen=True)
class Light:
    """`minutes`: of each slot in order. `is_lit`: floodlights are known; until when is a matter of its own."""

    evening: Evening
    starts: dt.datetime
    minutes: tuple[int, ...]
    is_lit: bool

    @cached_property
    def ends(self) -> dt.datetime:
        return self.starts.astimezone(dt.UTC) + dt.timedelta(minutes=sum(self.minutes))

    @cached_property
    def dark_from(self) -> dt.datetime | None:
        """From when on it has neither daylight nor floodlights; None: it has light to its end."""
        return None if self.is_lit else self.evening.dark_from(self.starts, self.ends)

    @property
    def told(self) -> str:
        """ "Sunset 18:12, civil dusk 18:45"."""
        evening = self.evening
        if evening.sun is Sun.STAYS_UP:
            return _("the sun does not set on this day")
        if evening.sunset is None:
            return _("the sun does not rise on this day")
        sunset = self.clock(evening.sunset)
        if evening.dusk is None:
            return _("sunset %(sunset)s, then twilight all night") % {"sunset": sunset}
        return _("sunset %(sunset)s, civil dusk %(dusk)s") % {"sunset": sunset, "dusk": self.clock(evening.dusk)}

    @property
    def warning(self) -> str:
        """A sentence where it runs on without light, else ""."""
        if self.dark_from is None:
            return ""
        if self.evening.sun is Sun.STAYS_DOWN:
            return _("The sun does not rise on this day, and no floodlights are known: all of it is in the dark.")
        if self.dark_from <= self.starts:
            return _("All of it is after sunset, and no floodlights are known.")
        slot = first_dark(self.starts, self.minutes, self.dark_from)
        words = {"dark": self.clock(self.dark_from), "ends": self.clock(self.ends), "slot": slot}
        return (
            _(
                "No daylight from %(dark)s on, and no floodlights are known: slot %(slot)d and what follows, until "
                "%(ends)s, runs after sunset."
            )
            % words
        )

    def clock(self, moment: dt.datetime) -> str:
        """By the clock of the ground; with the day where that is another one."""
        moment = moment.astimezone(self.starts.tzinfo)
        text = f"{moment:%H:%M}"
        return text if moment.date() == self.starts.date() else f"{text} ({date_format(moment, 'D j M')})"


def light_of(session: Session, minutes: Sequence[int]) -> Light | None:
    """None where the venue's position is not known."""
    return light_on(session, session.starts, minutes)


def light_on(ground: Ground, starts: dt.datetime, minutes: Sequence[int]) -> Light | None:
    """Of what begins there at this moment, in the zone of the ground."""
    place = place_of(ground.venue)
    if place is None:
        return None
    return Light(evening(place, starts.date(), ground.zone), starts, tuple(minutes), ground.is_lit)


def place_of(venue: Venue | None) -> Place | None:
    return Place(venue.latitude, venue.longitude) if venue and venue.has_position else None


# A season before it is laid out


@dataclass(frozen=True)
class NightInTheDark:
    """A night of the week whose new sessions run on after sunset, and those in the order of time."""

    night: TrainingNight
    new: int
    dark: tuple[Light, ...]

    @property
    def told(self) -> str:
        count, first = len(self.dark), self.dark[0]
        text = ngettext(
            "%(night)s: %(count)d of %(new)d new sessions runs on after sunset, and no floodlights are known, on "
            "%(first)s.",
            "%(night)s: %(count)d of %(new)d new sessions run on after sunset, and no floodlights are known. The first "
            "is %(first)s.",
            count,
        )
        return text % {"night": self.night, "count": count, "new": self.new, "first": in_short(first)}

    @property
    def lines(self) -> list[str]:
        return [in_short(light) for light in self.dark]


def in_short(light: Light) -> str:
    return _("%(when)s (%(sun)s; ends %(ends)s)") % {
        "when": when(light.starts),
        "sun": light.told,
        "ends": light.clock(light.ends),
    }


def dark_nights(layout: Layout) -> list[NightInTheDark]:
    """Nights of which a session that would be laid out runs on without light."""
    found = (
        dark_night(night, [each for each in layout.new if each.night == key]) for key, night in layout.nights.items()
    )
    return [night for night in found if night.dark]


def dark_night(night: TrainingNight, new: Sequence[PatternDay]) -> NightInTheDark:
    minutes = [plan.minutes for plan in plans_in(night.template)]
    lights = (light_on(night, each.starts_at, minutes) for each in new)
    return NightInTheDark(night, len(new), tuple(light for light in lights if light and light.dark_from))


def unplaced(layout: Layout) -> list[Venue]:
    """Venues of its nights of which no position is given, so that nothing can be said of the sun."""
    venues = {night.venue.pk: night.venue for night in layout.nights.values() if night.venue}
    return [venue for venue in venues.values() if not venue.has_position]
