"""Contact minutes against limits, by worked examples and by properties.

The counting rules are house rules (no published source): minutes x share, weeks from Monday, near from 80 per cent.
The limits of 15, 40 and 30 minutes and two days follow published contact-load guidance of 2021 for the elite game.
"""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.core.totals import (
    LIMITED,
    Limit,
    Room,
    Stretch,
    WeekLimits,
    monday_of,
    player_week,
    room,
    worst,
)
from shared.core.contact import Kind, Level

MONDAY = dt.date(2026, 10, 5)
TUESDAY, THURSDAY, SUNDAY = (MONDAY + dt.timedelta(days=n) for n in (1, 3, 6))
LIMITS = WeekLimits(
    {Kind.FULL: Limit(15, "rules"), Kind.CONTROLLED: Limit(40, "rules"), Kind.SET_PIECE: Limit(30, "rules")},
    full_days=2,
)


def stretch(minutes: int, share: int, kind: Kind = Kind.FULL, day: dt.date = TUESDAY, **fields: object) -> Stretch:
    given = {"player": 1, "session": 1, "slot": 1, "what": "a drill", "level": Level.FULL} | fields
    return Stretch(day=day, kind=kind, minutes=minutes, share=share, **given)


def full(stretches: list[Stretch], limits: WeekLimits = LIMITS):
    return player_week(1, MONDAY, stretches, limits).figure(Kind.FULL)


def of(hundredths: int, day: dt.date = TUESDAY) -> list[Stretch]:
    """Stretches of full contact that sum to so many hundredths of a minute."""
    whole, rest = divmod(hundredths, 100)
    return [stretch(whole, 100, day=day), stretch(1, rest, day=day)]


# House worked example: four live drills on Tuesday, two more wanted on Thursday before a Sunday match.

TUESDAY_LIVE = [stretch(12, 25), stretch(8, 35), stretch(10, 25), stretch(8, 30)]
LAST_FIVE = stretch(8, 30, day=THURSDAY)


def test_a_tuesday_of_four_live_drills_is_10_7_minutes():
    assert [each.counted for each in TUESDAY_LIVE] == [300, 280, 250, 240]
    assert full(TUESDAY_LIVE).minutes == 10.7


def test_a_planned_thursday_that_goes_over_says_by_how_much():
    figure = full([*TUESDAY_LIVE, LAST_FIVE, stretch(20, 25, day=THURSDAY)])
    assert (figure.minutes, figure.excess, figure.room) == (18.1, 3.1, Room.PAST)


def test_seven_minutes_of_the_same_drill_stay_inside_and_near():
    figure = full([*TUESDAY_LIVE, LAST_FIVE, stretch(7, 25, day=THURSDAY)])
    assert (figure.minutes, figure.excess, figure.room) == (14.85, 0, Room.NEAR)


def test_the_controlled_drill_in_its_place_is_booked_as_controlled():
    week = player_week(1, MONDAY, [*TUESDAY_LIVE, LAST_FIVE, stretch(20, 25, Kind.CONTROLLED, THURSDAY)], LIMITS)
    assert (week.figure(Kind.CONTROLLED).minutes, week.figure(Kind.FULL).minutes) == (5.0, 13.1)


# House worked example: a Friday check of 34 players.


def test_a_friday_check_tells_three_past_five_near_and_26_fine_with_the_worst_first():
    hundredths = [1540, 1200, 1720, 1500, 1600, 1310, 1290, 1499, *[1199] * 26]
    weeks = [
        player_week(n, MONDAY, [stretch(100, 0), *(stretch(1, h, player=n) for h in [much])], LIMITS)
        for n, much in enumerate(hundredths)
    ]
    ordered = sorted(weeks, key=lambda week: week.urgency)
    assert [week.figure(Kind.FULL).excess for week in ordered[:3]] == [2.2, 1.0, 0.4]
    assert [week.room for week in ordered] == [Room.PAST] * 3 + [Room.NEAR] * 5 + [Room.FINE] * 26
    assert [week.figure(Kind.FULL).minutes for week in ordered[3:8]] == [15.0, 14.99, 13.1, 12.9, 12.0]


def test_a_player_placed_above_his_ceiling_comes_before_one_past_a_limit():
    past = player_week(1, MONDAY, of(1720), LIMITS)
    placed = player_week(2, MONDAY, [stretch(1, 50, player=2, level=Level.NONE)], LIMITS)
    assert sorted([past, placed], key=lambda week: week.urgency) == [placed, past]
    assert placed.room is Room.NOT_ALLOWED


@pytest.mark.parametrize(
    ("hundredths", "stands"),
    [
        (1199, Room.FINE),
        (1200, Room.NEAR),
        (1500, Room.NEAR),
        (1501, Room.PAST),
        (1505, Room.PAST),
    ],
)
def test_the_limit_is_inside_and_four_fifths_of_it_are_near(hundredths, stands):
    assert full(of(hundredths)).room is stands


@pytest.mark.parametrize(("hundredths", "shown"), [(1500, 0), (1501, 0.1), (1505, 0.1), (1510, 0.1), (1720, 2.2)])
def test_an_excess_is_shown_in_tenths_and_never_as_none(hundredths, shown):
    assert full(of(hundredths)).excess_shown == shown


def test_nothing_is_near_where_nothing_is_counted_or_nothing_binds():
    assert room(0, 0, 80) is Room.FINE
    assert room(1, 0, 80) is Room.PAST
    assert room(99_999, None, 80) is Room.FINE


# Ceilings


@pytest.mark.parametrize(
    ("level", "kind", "counted", "not_allowed"),
    [
        (Level.FULL, Kind.FULL, 300, False),
        (Level.CONTROLLED, Kind.FULL, 0, True),
        (Level.CONTROLLED, Kind.SET_PIECE, 0, True),
        (Level.CONTROLLED, Kind.CONTROLLED, 300, False),
        (Level.NONE, Kind.CONTROLLED, 0, True),
        (Level.NONE, Kind.NONE, 0, False),
        (Level.ABSENT, Kind.FULL, 0, False),
    ],
)
def test_what_a_player_may_not_do_counts_nothing_and_is_reported_unless_he_is_away(level, kind, counted, not_allowed):
    one = stretch(12, 25, kind, level=level)
    assert (one.counted, one.is_not_allowed) == (counted, not_allowed)


def test_from_content_for_everyone_a_player_stands_aside_without_a_report():
    one = stretch(12, 25, level=Level.NONE, placed=False)
    assert (one.counted, one.is_not_allowed) == (0, False)


# Days


def test_a_third_day_with_full_contact_is_past_and_the_second_is_not_near():
    days = [MONDAY, TUESDAY, THURSDAY]
    two, three = (player_week(1, MONDAY, [stretch(1, 10, day=day) for day in days[:n]], LIMITS) for n in (2, 3))
    assert (two.room, three.room) == (Room.FINE, Room.PAST)
    assert three.days_with_full == tuple(days)


def test_a_week_ends_on_sunday():
    figure = full([stretch(4, 25, day=SUNDAY), stretch(8, 25, day=SUNDAY + dt.timedelta(days=1))])
    assert figure.minutes == 1.0


def test_seven_days_over_two_weeks_are_watched_when_each_week_alone_is_inside():
    figure = full([*of(1000, MONDAY - dt.timedelta(days=2)), *of(600, TUESDAY)])
    assert (figure.room, figure.is_watched) == (Room.FINE, True)
    assert (figure.rolling.minutes, figure.rolling.last_day) == (16.0, TUESDAY)


def test_eight_days_apart_do_not_add_up():
    figure = full([*of(1000, MONDAY - dt.timedelta(days=4)), *of(600, THURSDAY)])
    assert (figure.rolling.minutes, figure.is_watched) == (10.0, False)


# Properties

unhurried = settings(deadline=None)  # a busy machine is no failure

DAYS = st.integers(-6, 6).map(lambda n: MONDAY + dt.timedelta(days=n))
STRETCHES = st.lists(
    st.builds(
        stretch,
        st.integers(1, 60),
        st.integers(0, 100),
        st.sampled_from(Kind),
        DAYS,
        level=st.sampled_from(Level),
        placed=st.booleans(),
        player=st.integers(1, 3),
    ),
    max_size=30,
)


@unhurried
@given(STRETCHES)
def test_a_figure_is_the_exact_sum_of_what_he_was_allowed_to_do_that_week(stretches):
    week = player_week(1, MONDAY, stretches, LIMITS)
    for kind in LIMITED:
        expected = sum(
            Fraction(s.minutes * s.share, 100)
            for s in stretches
            if s.player == 1 and s.day >= MONDAY and s.kind is kind and s.level.allows(kind)
        )
        assert Fraction(week.figure(kind).hundredths, 100) == expected


@unhurried
@given(STRETCHES)
def test_the_seven_day_sum_is_the_largest_of_every_window_counted_one_by_one(stretches):
    figure = full(stretches)
    his = [s for s in stretches if s.player == 1 and s.kind is Kind.FULL]
    windows = [
        sum(s.counted for s in his if 0 <= (MONDAY + dt.timedelta(days=end) - s.day).days <= 6) for end in range(7)
    ]
    assert figure.rolling.hundredths == max(windows)
    assert figure.rolling.hundredths >= figure.hundredths


@unhurried
@given(STRETCHES, st.randoms())
def test_the_order_of_stretches_changes_nothing(stretches, random):
    shuffled = random.sample(stretches, len(stretches))
    one, other = (player_week(1, MONDAY, each, LIMITS) for each in (stretches, shuffled))
    assert (one.room, one.urgency, one.days_with_full) == (other.room, other.urgency, other.days_with_full)


@unhurried
@given(st.integers(0, 5000), st.integers(0, 50), st.integers(1, 100))
def test_more_contact_never_leaves_more_room(hundredths, limit, near):
    assert room(hundredths, limit, near).rank <= room(hundredths + 1, limit, near).rank


@unhurried
@given(st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)))
def test_the_monday_of_a_day_begins_its_iso_week(day):
    """ISO 8601: weeks begin on Monday."""
    assert monday_of(day).isocalendar() == (*day.isocalendar()[:2], 1)


def test_the_worst_of_several_is_told():
    assert worst([Room.FINE, Room.NOT_ALLOWED, Room.PAST]) is Room.NOT_ALLOWED
    assert worst([]) is Room.FINE
