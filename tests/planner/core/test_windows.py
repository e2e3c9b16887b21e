"""Days, matches and their windows against limits, by worked examples and by properties.

How a week, a match and a gap are counted is a house rule (no published source) and stated in the core.
"""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.totals import Limit, Room, WeekLimits, player_week
from planner.core.windows import Bounds, Match, Measure, RuleSet, bounds_of, hours_between, player_windows
from shared.core.contact import Kind, Level
from tests.planner.core.test_totals import LIMITS, MONDAY, SUNDAY, THURSDAY, TUESDAY, of, stretch

SATURDAY = MONDAY + dt.timedelta(days=5)
WEDNESDAY = MONDAY + dt.timedelta(days=2)
LONDON = ZoneInfo("Europe/London")
RULES = RuleSet(
    "invented",
    {
        Measure.FULL_DAYS: 2,
        Measure.FREE_DAYS: 1,
        Measure.MATCH_MINUTES: 120,
        Measure.MATCH_HOURS: 72,
        Measure.TWO_DAY_MINUTES: 90,
        Measure.SEASON_MATCHES: 30,
    },
)


def match(day: dt.date, minutes: int = 80, hour: int | None = None, player: int = 1) -> Match:
    starts = None if hour is None else dt.datetime.combine(day, dt.time(hour), LONDON)
    return Match(player, day, minutes, f"match of {day}", starts)


def windows(stretches=(), matches=(), limits: WeekLimits = LIMITS, rules=RULES, season: dt.date = dt.date.min):
    week = player_week(1, MONDAY, stretches, limits)
    return player_windows(week, matches, bounds_of([rules]) if rules else Bounds(), season)


def found(measure: Measure, *matches: Match, **given):
    return windows(matches=matches, **given).of(measure)


# Contact: the totals' own figures


@pytest.mark.parametrize(
    ("hundredths", "room", "shown", "excess"),
    [
        (1499, Room.NEAR, 15.0, 0),
        (1500, Room.NEAR, 15.0, 0),
        (1501, Room.PAST, 15.1, 0.1),
        (1505, Room.PAST, 15.1, 0.1),
        (1720, Room.PAST, 17.2, 2.2),
        (1199, Room.FINE, 12.0, 0),
    ],
)
def test_fifteen_minutes_are_inside_a_limit_of_fifteen_and_a_hundredth_more_is_past_and_shown_so(
    hundredths, room, shown, excess
):
    full = windows(of(hundredths)).of(Measure.FULL)
    assert (full.room, full.shown, full.excess_shown) == (room, shown, excess)


def test_kinds_are_never_pooled():
    """85 minutes, each kind at its limit: nothing is past."""
    week = windows([stretch(15, 100), stretch(40, 100, Kind.CONTROLLED), stretch(30, 100, Kind.SET_PIECE)])
    assert [week.of(m).amount for m in (Measure.FULL, Measure.CONTROLLED, Measure.SET_PIECE)] == [15, 40, 30]
    assert week.past == ()


def test_the_sessions_that_made_a_figure_stand_with_it():
    full = windows([stretch(12, 25, session=7, what="Full Fence"), stretch(8, 30, day=THURSDAY)]).of(Measure.FULL)
    assert [(part.day, part.session, part.amount) for part in full.parts] == [
        (TUESDAY, 7, Fraction(3)),
        (THURSDAY, 1, Fraction(12, 5)),
    ]


def test_contact_in_spite_of_a_ceiling_stands_above_everything():
    spite = windows([stretch(1, 50, level=Level.NONE)])
    assert (spite.room, [s.what for s in spite.in_spite]) == (Room.NOT_ALLOWED, ["a drill"])
    assert sorted([windows(of(1720)), spite], key=lambda week: week.urgency)[0] is spite


def test_a_pattern_that_asks_for_fewer_days_stands_before_the_rules():
    lower = WeekLimits({Kind.FULL: Limit(15, "rules")}, full_days=1)
    days = windows([stretch(1, 10), stretch(1, 10, day=THURSDAY)], limits=lower).of(Measure.FULL_DAYS)
    assert (days.room, days.bound.source) == (Room.PAST, "pattern")


# Days


def test_a_week_with_contact_on_all_days_but_one_keeps_its_free_day():
    days = [MONDAY + dt.timedelta(days=n) for n in range(7)]
    bags = [stretch(5, 50, Kind.CONTROLLED, day) for day in days]
    assert windows(bags).of(Measure.FREE_DAYS).room is Room.PAST
    assert windows(bags[:6]).of(Measure.FREE_DAYS).room is Room.FINE


def test_a_match_takes_a_free_day_and_touch_takes_none():
    bags = [stretch(5, 50, Kind.CONTROLLED, MONDAY + dt.timedelta(days=n)) for n in range(5)]
    touch = stretch(5, 50, Kind.NONE, SUNDAY)
    week = windows([*bags, touch], [match(SATURDAY)])
    assert (week.of(Measure.FREE_DAYS).amount, week.of(Measure.FREE_DAYS).room) == (1, Room.FINE)


# Matches


def test_match_minutes_of_a_week_end_on_sunday():
    minutes = found(Measure.MATCH_MINUTES, match(WEDNESDAY, 50), match(SUNDAY, 70), match(SUNDAY - dt.timedelta(7), 80))
    assert (minutes.amount, minutes.room) == (120, Room.NEAR)
    assert found(Measure.MATCH_MINUTES, match(WEDNESDAY, 51), match(SUNDAY, 70)).excess_shown == 1.0


def test_a_match_without_a_minute_counts_nowhere():
    week = windows(matches=[match(WEDNESDAY, 0, 15), match(THURSDAY, 80, 15)])
    assert week.of(Measure.MATCH_HOURS).bound is None
    assert week.of(Measure.SEASON_MATCHES).amount == 1


def test_seventy_two_hours_are_enough_and_a_minute_less_is_not():
    first = match(MONDAY - dt.timedelta(days=1), 80, 15)
    enough, short = match(WEDNESDAY, 80, 15), match(WEDNESDAY, 80, 14)
    assert found(Measure.MATCH_HOURS, first, enough).room is Room.FINE
    gap = found(Measure.MATCH_HOURS, first, short)
    assert (gap.room, gap.amount, gap.excess_shown) == (Room.PAST, 71, 1.0)
    assert [part.day for part in gap.parts] == [first.day, WEDNESDAY]


def test_hours_short_of_the_limit_never_read_as_enough():
    first = Match(1, SUNDAY, 80, "a", dt.datetime(2026, 10, 11, 15, 0, tzinfo=dt.UTC))
    second = Match(1, SUNDAY, 80, "b", dt.datetime(2026, 10, 14, 14, 59, tzinfo=dt.UTC))
    week = player_week(1, MONDAY + dt.timedelta(days=7), [], LIMITS)
    moved = Match(1, dt.date(2026, 10, 14), 80, "b", second.starts)
    gap = player_windows(week, [first, moved], bounds_of([RULES])).of(Measure.MATCH_HOURS)
    assert (gap.room, gap.shown, gap.excess_shown) == (Room.PAST, 71.9, 0.1)


def test_a_gap_across_the_end_of_summer_time_has_its_real_hours():
    saturday, tuesday = match(dt.date(2026, 10, 24), 80, 15), match(dt.date(2026, 10, 27), 80, 15)
    assert hours_between(saturday, tuesday) == 73


def test_without_a_kick_off_a_day_counts_as_24_hours():
    assert hours_between(match(SATURDAY), match(SATURDAY + dt.timedelta(days=3), hour=9)) == 72


def test_minutes_in_48_hours_go_from_kick_off_to_kick_off():
    friday, saturday, sunday = (match(MONDAY + dt.timedelta(days=n), 40, 14) for n in (4, 5, 6))
    two_days = found(Measure.TWO_DAY_MINUTES, friday, saturday, sunday)
    assert (two_days.amount, two_days.room) == (80, Room.NEAR)
    early = match(SUNDAY, 40, 13)
    assert found(Measure.TWO_DAY_MINUTES, friday, saturday, early).excess == 30


def test_the_thirty_first_match_of_a_season_is_past_in_the_week_that_it_is_played():
    before = [match(SATURDAY - dt.timedelta(days=7 * n)) for n in range(1, 31)]
    assert found(Measure.SEASON_MATCHES, *before, match(SATURDAY)).room is Room.PAST
    assert found(Measure.SEASON_MATCHES, *before).bound is None
    season = SATURDAY - dt.timedelta(days=7 * 29)
    assert found(Measure.SEASON_MATCHES, *before, match(SATURDAY), season=season).room is Room.NEAR


# Rules by date


def test_of_two_documents_within_a_week_the_stricter_limit_of_each_measure_holds():
    older = RuleSet("older", {Measure.MATCH_MINUTES: 120, Measure.MATCH_HOURS: 72}, near_percent=80)
    newer = RuleSet("newer", {Measure.MATCH_MINUTES: 140, Measure.MATCH_HOURS: 96}, near_percent=90)
    bounds = bounds_of([older, newer])
    assert (bounds.by_measure[Measure.MATCH_MINUTES].source, bounds.by_measure[Measure.MATCH_MINUTES].amount) == (
        "older",
        120,
    )
    assert bounds.by_measure[Measure.MATCH_HOURS].amount == 96
    assert bounds.near_percent == 80


def test_where_nothing_binds_nothing_is_near_or_past():
    week = windows([stretch(100, 100)], [match(SATURDAY, 300), match(SUNDAY, 300)], WeekLimits(), rules=None)
    assert (week.room, {finding.room for finding in week.findings}) == (Room.FINE, {Room.FINE})


# Properties

MATCHES = st.lists(
    st.builds(
        match,
        st.integers(-14, 6).map(lambda n: MONDAY + dt.timedelta(days=n)),
        st.integers(0, 100),
        st.none() | st.integers(8, 20),
    ),
    max_size=12,
)


@given(MATCHES, st.randoms())
def test_the_order_in_which_matches_are_told_changes_nothing(matches, random):
    assert windows(matches=matches).findings == windows(matches=random.sample(matches, len(matches))).findings


@given(MATCHES)
def test_match_minutes_are_the_plain_sum_of_the_week(matches):
    assert found(Measure.MATCH_MINUTES, *matches).amount == sum(m.minutes for m in matches if m.day >= MONDAY)


@given(MATCHES)
def test_another_match_never_makes_more_room(matches):
    def rank(given):
        week = windows(matches=given)
        return [week.of(m).room.rank for m in (Measure.MATCH_MINUTES, Measure.FREE_DAYS, Measure.TWO_DAY_MINUTES)]

    more = rank([*matches, match(WEDNESDAY, 30, 12)])
    assert all(before <= after for before, after in zip(rank(matches), more, strict=True))


@given(st.integers(0, 4000), st.integers(1, 40))
def test_what_is_shown_lies_on_the_same_side_of_the_limit_as_the_figure(hundredths, limit):
    full = windows(of(hundredths), limits=WeekLimits({Kind.FULL: Limit(limit, "rules")})).of(Measure.FULL)
    assert (full.shown > limit) == (full.amount > limit) == (full.excess_shown > 0)
    assert abs(full.shown - float(full.amount)) <= 0.1
