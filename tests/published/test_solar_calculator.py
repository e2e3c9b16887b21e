"""Sunset and civil dusk against the equations that NOAA publishes beside its solar calculator.

Source: "General Solar Position Calculations", NOAA Global Monitoring Division (the general-purpose formulas: fractional
year, equation of time, declination, hour angle), written down here from memory of that sheet and independently of the
program. NOAA gives its calculator as good to a minute between 72 degrees north and south; the short series of the
sheet is coarser, so five minutes are allowed here, between 50 degrees north and south.
"""

from __future__ import annotations

import datetime as dt
from math import acos, cos, degrees, pi, radians, sin, tan
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.light import Place, Sun, evening

SUNSET, CIVIL = 90.833, 96.0  # degrees from straight up
FIVE_MINUTES = dt.timedelta(minutes=5)
PLACES = st.builds(Place, st.floats(-50, 50), st.floats(-180, 180))
DAYS = st.dates(dt.date(2000, 1, 1), dt.date(2060, 12, 31))


def by_the_sheet(place: Place, day: dt.date, zenith: float) -> dt.datetime:
    """The moment in UTC at which the sun goes below the angle in the evening of the day by the sun at that place."""
    in_year = 366 if day.year % 4 == 0 and (day.year % 100 or day.year % 400 == 0) else 365
    hour = 18 - place.longitude / 15
    g = 2 * pi / in_year * (day.timetuple().tm_yday - 1 + (hour - 12) / 24)
    eqtime = 229.18 * (0.000075 + 0.001868 * cos(g) - 0.032077 * sin(g) - 0.014615 * cos(2 * g) - 0.040849 * sin(2 * g))
    decl = (
        0.006918 - 0.399912 * cos(g) + 0.070257 * sin(g) - 0.006758 * cos(2 * g) + 0.000907 * sin(2 * g)
        - 0.002697 * cos(3 * g) + 0.00148 * sin(3 * g)
    )  # fmt: skip
    lat = radians(place.latitude)
    ha = degrees(acos(cos(radians(zenith)) / (cos(lat) * cos(decl)) - tan(lat) * tan(decl)))
    minutes = 720 - 4 * (place.longitude - ha) - eqtime
    return dt.datetime.combine(day, dt.time(), dt.UTC) + dt.timedelta(minutes=minutes)


def zone_of(place: Place) -> dt.timezone:
    """A clock that goes by the sun there, to the hour."""
    return dt.timezone(dt.timedelta(hours=round(place.longitude / 15)))


@given(PLACES, DAYS)
def test_sunset_is_that_of_the_published_equations(place, day):
    found = evening(place, day, zone_of(place))
    assert found.sun is Sun.SETS
    assert abs(found.sunset - by_the_sheet(place, day, SUNSET)) <= FIVE_MINUTES
    assert found.sunset.date() == day


@given(PLACES, DAYS)
def test_civil_dusk_is_that_of_the_published_equations(place, day):
    found = evening(place, day, zone_of(place))
    assert abs(found.dusk - by_the_sheet(place, day, CIVIL)) <= FIVE_MINUTES
    assert found.sunset < found.dusk


# Zones whose clocks are far from the sun, or a whole day from what their longitude says: the zone, a place in it, and
# by how many days its date is ahead of the date by the sun. Positions from memory, to a degree.
FAR = [
    ("Pacific/Auckland", Place(-37, 175), 0),
    ("Pacific/Kiritimati", Place(2, -157), 1),
    ("Pacific/Apia", Place(-14, -172), 1),
    ("Pacific/Honolulu", Place(21, -158), 0),
    ("Pacific/Pago_Pago", Place(-14, -171), 0),
    ("Australia/Lord_Howe", Place(-32, 159), 0),
    ("America/Los_Angeles", Place(34, -118), 0),
    ("Asia/Urumqi", Place(44, 88), 0),
]


@pytest.mark.parametrize(("zone", "place", "ahead"), FAR)
def test_far_from_greenwich_it_is_the_sunset_of_this_evening(zone, place, ahead):
    for day in (dt.date(2026, 1, 1) + dt.timedelta(days=n) for n in range(0, 366, 3)):
        found = evening(place, day, ZoneInfo(zone))
        assert found.sunset.date() == day
        assert abs(found.sunset - by_the_sheet(place, day - dt.timedelta(days=ahead), SUNSET)) <= FIVE_MINUTES
