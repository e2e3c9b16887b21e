"""Nights laid out in wall time, training weeks, days to a match, times within a session."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.calendar import (
    MatchDistance,
    Stretch,
    at_wall_time,
    match_distance,
    monday_of,
    timeline,
    week_number,
    week_of,
    weekdays_between,
    weeks_of,
)

SEVEN = dt.time(19)
TUESDAY = 1
DAYS = st.dates(dt.date(2020, 1, 1), dt.date(2040, 12, 31))


def hours_utc(days: list[dt.date], clock: dt.time, zone: str) -> list[str]:
    return [f"{at_wall_time(day, clock, ZoneInfo(zone)).astimezone(dt.UTC):%d %H:%M}" for day in days]


# Offsets from the IANA time zone database, as the tzdata package carries it.


def test_seven_in_the_evening_stays_seven_when_paris_changes_its_clocks():
    autumn = weekdays_between(TUESDAY, Stretch(dt.date(2026, 10, 20), dt.date(2026, 11, 3)))
    spring = weekdays_between(TUESDAY, Stretch(dt.date(2027, 3, 23), dt.date(2027, 3, 30)))
    assert hours_utc(autumn, SEVEN, "Europe/Paris") == ["20 17:00", "27 18:00", "03 18:00"]
    assert hours_utc(spring, SEVEN, "Europe/Paris") == ["23 18:00", "30 17:00"]


def test_new_york_changes_on_other_days_than_europe():
    days = weekdays_between(TUESDAY, Stretch(dt.date(2026, 10, 27), dt.date(2026, 11, 3)))
    assert hours_utc(days, SEVEN, "America/New_York") == ["27 23:00", "04 00:00"]


def test_lord_howe_moves_by_half_an_hour():
    days = weekdays_between(TUESDAY, Stretch(dt.date(2026, 9, 29), dt.date(2026, 10, 6)))
    assert hours_utc(days, SEVEN, "Australia/Lord_Howe") == ["29 08:30", "06 08:00"]


def test_casablanca_goes_back_for_the_month_of_fasting():
    days = weekdays_between(TUESDAY, Stretch(dt.date(2026, 2, 10), dt.date(2026, 2, 17)))
    assert hours_utc(days, SEVEN, "Africa/Casablanca") == ["10 18:00", "17 19:00"]


def test_a_time_that_comes_twice_is_the_first():
    moment = at_wall_time(dt.date(2026, 10, 25), dt.time(1, 30), ZoneInfo("Europe/London"))
    assert moment.astimezone(dt.UTC) == dt.datetime(2026, 10, 25, 0, 30, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("zone", "day", "clock", "shown"),
    [
        ("Europe/Paris", dt.date(2027, 3, 28), dt.time(2, 30), "03:30"),
        ("America/New_York", dt.date(2027, 3, 14), dt.time(2, 30), "03:30"),
        ("Australia/Lord_Howe", dt.date(2026, 10, 4), dt.time(2, 15), "02:45"),
    ],
)
def test_a_time_that_is_skipped_comes_later_by_the_gap(zone, day, clock, shown):
    assert f"{at_wall_time(day, clock, ZoneInfo(zone)):%H:%M}" == shown


@given(DAYS, st.times(), st.sampled_from(["Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata"]))
def test_a_moment_shows_its_own_wall_time_or_lies_in_a_gap(day, clock, zone):
    moment = at_wall_time(day, clock, ZoneInfo(zone))
    later = moment.replace(tzinfo=None) - dt.datetime.combine(day, clock)
    assert later in (dt.timedelta(0), dt.timedelta(minutes=30), dt.timedelta(hours=1))


def test_a_leap_day_is_a_night_like_any_other():
    nights = weekdays_between(TUESDAY, Stretch(dt.date(2028, 2, 22), dt.date(2028, 3, 7)))
    assert nights == [dt.date(2028, 2, 22), dt.date(2028, 2, 29), dt.date(2028, 3, 7)]


def test_a_season_crosses_the_new_year():
    nights = weekdays_between(TUESDAY, Stretch(dt.date(2026, 12, 22), dt.date(2027, 1, 5)))
    assert nights == [dt.date(2026, 12, 22), dt.date(2026, 12, 29), dt.date(2027, 1, 5)]


def test_days_that_fall_out_are_left_out_and_only_they():
    days = Stretch(dt.date(2026, 12, 1), dt.date(2027, 1, 12))
    off = [Stretch(dt.date(2026, 12, 21), dt.date(2027, 1, 3)), Stretch(dt.date(2027, 1, 5), dt.date(2027, 1, 5))]
    assert weekdays_between(TUESDAY, days, off) == [
        dt.date(2026, 12, 1),
        dt.date(2026, 12, 8),
        dt.date(2026, 12, 15),
        dt.date(2027, 1, 12),
    ]


@given(DAYS, st.integers(0, 500), st.integers(0, 6))
def test_nights_are_all_the_right_weekdays_of_the_days(first, length, weekday):
    last = first + dt.timedelta(days=length)
    every = [first + dt.timedelta(days=n) for n in range(length + 1)]
    assert weekdays_between(weekday, Stretch(first, last)) == [day for day in every if day.weekday() == weekday]


def test_the_training_week_runs_from_monday_to_sunday():
    monday, sunday = dt.date(2026, 10, 5), dt.date(2026, 10, 11)
    assert monday_of(sunday) == monday_of(monday) == monday
    assert week_of(dt.date(2026, 10, 8)) == Stretch(monday, sunday)


def test_weeks_count_from_the_one_that_holds_the_first_day_and_on_over_the_new_year():
    first = dt.date(2026, 9, 3)
    assert [week_number(day, first) for day in (dt.date(2026, 8, 31), dt.date(2026, 9, 7))] == [1, 2]
    assert week_number(dt.date(2027, 1, 4), first) == 19


@given(DAYS, st.integers(1, 400))
def test_weeks_follow_each_other_without_gap_and_cover_the_season(first, length):
    days = Stretch(first, first + dt.timedelta(days=length))
    weeks = weeks_of(days)
    assert days.first in weeks[0]
    assert days.last in weeks[-1]
    assert [week_number(week.first, first) for week in weeks] == list(range(1, len(weeks) + 1))


SATURDAYS = [dt.date(2026, 10, 3), dt.date(2026, 10, 10)]


@pytest.mark.parametrize(
    ("day", "word"),
    [
        (3, "MD"),
        (4, "MD+1"),
        (5, "MD-5"),
        (6, "MD-4"),
        (8, "MD-2"),
        (9, "MD-1"),
        (10, "MD"),
        (11, "MD+1"),
        (13, "MD+3"),
        (16, "MD+6"),
        (17, ""),
    ],
)
def test_a_day_is_called_by_its_match(day, word):
    """Common practice of the trade: Tuesday before a Saturday match is MD-4."""
    assert str(match_distance(dt.date(2026, 10, day), SATURDAYS)) == word


def test_without_matches_a_day_has_no_distance():
    assert match_distance(dt.date(2026, 10, 6), []) == MatchDistance(None, None)


@given(DAYS, st.lists(DAYS, max_size=8))
def test_distances_agree_with_a_search_through_all_matches(day, matches):
    since = min(((day - match).days for match in matches if match <= day), default=None)
    until = min(((match - day).days for match in matches if match >= day), default=None)
    assert match_distance(day, sorted(matches)) == MatchDistance(since, until)


def test_slots_follow_each_other_from_the_start():
    starts = dt.datetime(2026, 10, 6, 19, tzinfo=ZoneInfo("Europe/London"))
    spans = timeline(starts, [10, 12, 12])
    assert [f"{a:%H:%M}-{b:%H:%M}" for a, b in spans] == ["19:00-19:10", "19:10-19:22", "19:22-19:34"]


def test_a_session_over_a_clock_change_lasts_as_long_as_its_minutes():
    starts = dt.datetime(2026, 10, 25, 1, 30, tzinfo=ZoneInfo("Europe/London"))
    assert [f"{end:%H:%M}" for _start, end in timeline(starts, [60, 60])] == ["01:30", "02:30"]
