"""When the sun sets over a ground, and from when on that leaves a session without daylight.

Sunset is when the upper edge of the sun goes below a flat horizon, civil dusk when its middle is 6 degrees below it.
Hills, woods and clouds bring the dark earlier. The reckoning is astral's, which follows the equations that the United
States' National Oceanic and Atmospheric Administration publishes for its solar calculator.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from astral import Observer
from astral import sun as astral_sun

A_DAY = dt.timedelta(days=1)
NOON = dt.time(12)
# The sun is lowest half a day after it was highest; the equation of time shifts that by minutes.
HALF_A_DAY = dt.timedelta(hours=12, minutes=30)
# Degrees from straight up at which the edge of the sun is at the horizon: half its width, and refraction.
AT_THE_HORIZON = 90.833


class Place(NamedTuple):
    """Degrees; north and east are positive."""

    latitude: float
    longitude: float


class Sun(StrEnum):
    """What the sun does in a day: it sets, or does not (polar day), or does not even rise (polar night)."""

    SETS = "sets"
    STAYS_UP = "up"
    STAYS_DOWN = "down"


@dataclass(frozen=True, slots=True)
class Evening:
    """`sunset` where the sun sets, `dusk` where it gets 6 degrees below the horizon; both by the clock of the ground.

    Either may come after midnight.
    """

    sun: Sun
    sunset: dt.datetime | None = None
    dusk: dt.datetime | None = None

    def dark_from(self, starts: dt.datetime, ends: dt.datetime) -> dt.datetime | None:
        """From when on a session of this day has no daylight; None where it ends before or at sunset."""
        if self.sun is Sun.STAYS_DOWN:
            return starts
        return max(starts, self.sunset) if self.sunset and self.sunset < ends else None


def evening(place: Place, day: dt.date, zone: dt.tzinfo) -> Evening:
    """The evening that ends a day of that zone, after its own solar noon."""
    observer = Observer(place.latitude, place.longitude)
    noon = solar_noon(observer, day, zone)
    sunset = next_after(noon, lambda date: astral_sun.sunset(observer, date))
    dusk = next_after(noon, lambda date: astral_sun.dusk(observer, date))
    sun = Sun.SETS if sunset else Sun.STAYS_UP if _is_up(observer, noon) else Sun.STAYS_DOWN
    return Evening(sun, sunset and sunset.astimezone(zone), dusk and dusk.astimezone(zone))


def solar_noon(observer: Observer, day: dt.date, zone: dt.tzinfo) -> dt.datetime:
    """The one that is nearest to noon by the clock: a zone may be a whole day from what its longitude says."""
    by_the_clock = dt.datetime.combine(day, NOON, zone)
    noons = (astral_sun.noon(observer, day + n * A_DAY) for n in (-1, 0, 1))
    return min(noons, key=lambda noon: abs(noon - by_the_clock))


def next_after(noon: dt.datetime, of_date: Callable[[dt.date], dt.datetime]) -> dt.datetime | None:
    """The first within half a day. `of_date` gives what falls on a date of UTC, or raises ValueError for nothing."""
    found = (_or_none(of_date, noon.date() + n * A_DAY) for n in (-1, 0, 1))
    return min((moment for moment in found if moment and noon < moment < noon + HALF_A_DAY), default=None)


def _or_none(of_date: Callable[[dt.date], dt.datetime], date: dt.date) -> dt.datetime | None:
    try:
        return of_date(date)
    except ValueError:
        return None


def _is_up(observer: Observer, moment: dt.datetime) -> bool:
    return bool(astral_sun.zenith(observer, moment, with_refraction=False) < AT_THE_HORIZON)


def first_dark(starts: dt.datetime, minutes: Sequence[int], dark: dt.datetime) -> int | None:
    """The number, from 1, of the first of the slots of so many minutes that runs on after `dark`."""
    ends = starts
    for number, length in enumerate(minutes, start=1):
        ends += dt.timedelta(minutes=length)
        if ends > dark:
            return number
    return None
