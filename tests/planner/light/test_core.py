"""Sunset and dusk of an evening, and from when on they leave a session in the dark."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.light import NOON, Evening, Place, Sun, evening, first_dark

OSLO = ZoneInfo("Europe/Oslo")
PLACES = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))
DAYS = st.dates(dt.date(2000, 1, 1), dt.date(2060, 12, 31))
ZONES = st.sampled_from(
    ["UTC", "Europe/London", "Pacific/Kiritimati", "Pacific/Auckland", "America/New_York", "Australia/Lord_Howe"]
).map(ZoneInfo)
SEVEN = dt.datetime(2026, 10, 6, 19, tzinfo=OSLO)


@given(PLACES, DAYS, ZONES)
def test_every_place_on_the_globe_has_an_evening_even_where_the_sun_stays_up_or_down(place, day, zone):
    found = evening(place, day, zone)
    assert (found.sunset is not None) == (found.sun is Sun.SETS)
    if found.sunset and found.dusk:
        assert dt.timedelta() < found.dusk - found.sunset < dt.timedelta(hours=12)


@given(st.builds(Place, st.floats(-60, 60), st.floats(-180, 180)), DAYS)
def test_between_60_degrees_north_and_south_the_sun_sets_every_day(place, day):
    assert evening(place, day, ZoneInfo("UTC")).sun is Sun.SETS


@given(st.builds(Place, st.floats(-60, 60), st.floats(-180, 180)), DAYS)
def test_sunset_of_the_next_day_is_a_day_later_to_a_few_minutes(place, day):
    zone = dt.timezone(dt.timedelta(hours=round(place.longitude / 15)))
    first, second = (evening(place, day + dt.timedelta(days=n), zone).sunset for n in (0, 1))
    assert abs(second - first - dt.timedelta(days=1)) < dt.timedelta(minutes=6)


@given(st.floats(-60, 60), DAYS)
def test_the_longest_evening_of_one_half_of_the_globe_is_the_shortest_of_the_other(latitude, day):
    """Within the hour: the clock of the sun runs off by a quarter of one, and refraction adds more the flatter the sun
    sets (43 minutes at most up to 60 degrees; close to the polar circle a sunset may go on for an hour)."""
    north = evening(Place(latitude, 0), day, dt.UTC)
    noon = dt.datetime.combine(day, NOON, dt.UTC)
    south = evening(Place(-latitude, 0), day, dt.UTC)
    if north.sunset and south.sunset:  # the two together are a day of twice six hours, and refraction on both sides
        assert abs((north.sunset - noon) + (south.sunset - noon) - dt.timedelta(hours=12)) < dt.timedelta(hours=1)


@pytest.mark.parametrize(
    ("latitude", "day", "sun"),
    [
        (78.2, dt.date(2026, 6, 21), Sun.STAYS_UP),
        (78.2, dt.date(2026, 12, 21), Sun.STAYS_DOWN),
        (-78.2, dt.date(2026, 6, 21), Sun.STAYS_DOWN),
        (-78.2, dt.date(2026, 12, 21), Sun.STAYS_UP),
        (90, dt.date(2026, 6, 21), Sun.STAYS_UP),
        (-90, dt.date(2026, 6, 21), Sun.STAYS_DOWN),
    ],
)
def test_in_polar_day_and_polar_night_it_says_so(latitude, day, sun):
    found = evening(Place(latitude, 15.6), day, OSLO)
    assert (found.sun, found.sunset) == (sun, None)


def test_a_sun_that_sets_after_midnight_belongs_to_the_evening_before():
    found = evening(Place(65, 14), dt.date(2026, 6, 21), OSLO)
    assert f"{found.sunset:%d %H}" == "22 00"
    assert found.dusk is None  # and then it does not get dark at all


MINUTES = st.integers(-300, 300)


@given(MINUTES, st.integers(1, 300))
def test_it_is_dark_from_sunset_or_its_start_on_and_never_where_it_ends_by_sunset(after, length):
    sunset, starts = SEVEN, SEVEN + dt.timedelta(minutes=after)
    ends = starts + dt.timedelta(minutes=length)
    dark = Evening(Sun.SETS, sunset).dark_from(starts, ends)
    assert (dark is None) == (ends <= sunset)
    assert dark is None or (starts <= dark < ends and dark >= sunset)


def test_all_of_a_session_is_dark_in_polar_night_and_none_in_polar_day():
    ends = SEVEN + dt.timedelta(hours=1)
    assert Evening(Sun.STAYS_DOWN).dark_from(SEVEN, ends) == SEVEN
    assert Evening(Sun.STAYS_UP).dark_from(SEVEN, ends) is None


@pytest.mark.parametrize(("after", "number"), [(-5, 1), (0, 1), (9, 1), (10, 2), (21, 2), (22, 3), (35, 3), (36, None)])
def test_the_first_slot_that_ends_after_sunset(after, number):
    assert first_dark(SEVEN, [10, 12, 14], SEVEN + dt.timedelta(minutes=after)) == number
