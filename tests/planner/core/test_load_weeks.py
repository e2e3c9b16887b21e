"""Loads by day and week: rest is 0, unknown is unknown, a week that is not over has no figure yet."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from planner.core.load import Deviation, Form, Missing, rolling_ratio, strain, weekly_load
from planner.core.load_weeks import daily_series, load_weeks

MONDAY = dt.date(2026, 10, 5)
UNKNOWN = Missing.NOT_KNOWN


def day(n):
    return MONDAY + dt.timedelta(days=n)


def weeks_of(days, first=MONDAY, form=None):
    return load_weeks(first, days, Deviation.POPULATION, form)


def test_a_day_without_anything_is_rest():
    assert daily_series(day(0), day(2), {day(1): 480.0}) == [0, 480, 0]


def test_a_day_of_work_without_a_load_is_not_known():
    assert daily_series(day(0), day(1), {day(1): None}) == [0, UNKNOWN]


def test_a_night_that_nobody_has_confirmed_is_not_known_unless_its_load_is():
    assert daily_series(day(0), day(1), {day(1): 300.0}, {day(0), day(1)}) == [UNKNOWN, 300]


def test_a_load_of_0_that_somebody_told_is_known():
    assert daily_series(day(0), day(0), {day(0): 0.0}, {day(0)}) == [0]


def test_weeks_begin_on_mondays_and_days_before_the_first_one_count_in_no_week():
    found = weeks_of([100.0] * 10, first=day(-3))
    assert [(week.monday, week.load) for week in found] == [(MONDAY, 700)]


def test_a_week_that_is_not_over_has_only_what_is_known_so_far():
    (week,) = weeks_of([300.0, UNKNOWN, 200.0])
    assert (week.is_over, week.so_far, week.days_not_known) == (False, 500, 1)
    assert {week.load, week.monotony, week.strain, week.jump.value} == {Missing.TOO_EARLY}


def test_a_jump_looks_at_the_weeks_before_it():
    loads = [[700.0 / 7] * 7, [800.0 / 7] * 7, [900.0 / 7] * 7, [1200.0 / 7] * 7]
    found = weeks_of([load for week in loads for load in week])
    assert [week.jump.value for week in found[:3]] == [Missing.TOO_EARLY] * 3
    assert round(found[3].jump.value, 9) == 1.5


def test_a_ratio_is_as_of_the_last_day_of_the_week():
    days = [100.0] * 21 + [200.0] * 7 + [0.0] * 3
    found = weeks_of(days, form=Form.COUPLED)
    assert [week.ratio.value for week in found[:3]] == [Missing.TOO_EARLY] * 3
    assert [week.ratio.value for week in found[3:]] == [1.6, rolling_ratio(days)]


def test_a_weighted_ratio_is_marked_while_it_warms_up():
    found = weeks_of([100.0] * 35, form=Form.WEIGHTED)
    assert [week.ratio.is_warming_up for week in found] == [True] * 4 + [False]


def test_a_club_that_shows_no_ratio_has_none():
    assert weeks_of([100.0] * 28)[3].ratio is None


loads = st.one_of(st.integers(0, 1500).map(float), st.just(UNKNOWN))


@given(st.lists(loads, min_size=1, max_size=60), st.integers(0, 6))
def test_each_week_is_that_of_its_own_seven_days(days, offset):
    first = day(offset)
    for week in weeks_of(days, first):
        at = (week.monday - first).days
        seven = days[at : at + 7]
        assert list(week.days) == seven
        if len(seven) == 7:
            assert (week.load, week.strain) == (weekly_load(seven), strain(seven))
