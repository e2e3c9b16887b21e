"""Whole tables of loads say for each player and day what the small functions say."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as tables

from planner.core import load, load_table
from planner.core.load import Deviation, Form, Missing

MONDAY = dt.date(2026, 10, 5)

loads = st.one_of(*[st.integers(0, 1500).map(float)] * 6, st.just(0.0), st.just(float("nan")))
daily = tables.arrays(float, st.tuples(st.integers(1, 70), st.integers(1, 3)), elements=loads)
first_days = st.integers(0, 6).map(lambda n: MONDAY + dt.timedelta(days=n))


def days_of(table, player):
    return [Missing.NOT_KNOWN if np.isnan(value) else float(value) for value in table[:, player]]


def number(found):
    return np.nan if isinstance(found, Missing) else found


def of_each_day(table, figure):
    """`figure` of the days up to each day, for each player, as a table."""
    players = [days_of(table, n) for n in range(table.shape[1])]
    return np.array([[number(figure(days[: day + 1])) for days in players] for day in range(len(table))])


def same(found, expected):
    np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-9)


def of_week(table, first, figure):
    """`figure` of the seven days of each whole week."""
    start = -first.weekday() % 7
    mondays = range(start, len(table) - 6, 7)
    rows = [[number(figure(days_of(table[at : at + 7], n))) for n in range(table.shape[1])] for at in mondays]
    return np.array(rows).reshape(-1, table.shape[1])


@given(daily)
def test_the_coupled_ratio_of_a_table_is_that_of_each_player_and_day(table):
    same(load_table.loads_of(table, MONDAY).coupled, of_each_day(table, load.rolling_ratio))


@given(daily)
def test_the_uncoupled_ratio_of_a_table_is_that_of_each_player_and_day(table):
    expected = of_each_day(table, lambda days: load.rolling_ratio(days, Form.UNCOUPLED))
    same(load_table.uncoupled_ratio(load_table.sums_of_seven(table)), expected)


@given(daily)
def test_the_weighted_ratio_of_a_table_is_that_of_each_player_and_day(table):
    found = load_table.loads_of(table, MONDAY)
    same(found.weighted, of_each_day(table, lambda days: load.weighted_ratio(days).value))
    marks = of_each_day(table, lambda days: load.weighted_ratio(days).is_warming_up)
    np.testing.assert_array_equal(found.warming_up, marks.astype(bool))


@given(daily, st.sampled_from([7, 28]))
def test_weighted_means_of_a_table_are_those_of_each_player(table, over):
    same(load_table.weighted_means(table, over), of_each_day(table, lambda days: load.weighted_means(days, over)[-1]))


@given(daily, first_days)
def test_weekly_loads_of_a_table_run_from_monday_to_sunday(table, first):
    same(load_table.loads_of(table, first).weekly, of_week(table, first, load.weekly_load))


@given(daily, first_days, st.sampled_from(Deviation))
def test_monotony_of_a_table_is_that_of_each_week(table, first, deviation):
    expected = of_week(table, first, lambda days: load.monotony(days, deviation))
    same(load_table.monotony(table, first, deviation), expected)


sessions = st.lists(st.tuples(st.integers(0, 2), st.integers(0, 9), loads), max_size=40)


@given(sessions)
def test_daily_loads_of_a_table_are_the_sums_of_its_sessions(rows):
    player, day = (np.array([row[n] for row in rows], dtype=np.intp) for n in (0, 1))
    found = load_table.daily_loads(player, day, np.array([row[2] for row in rows], dtype=float), players=3, days=10)
    for at in range(10):
        for who in range(3):
            his = [Missing.NOT_KNOWN if np.isnan(au) else au for p, d, au in rows if (p, d) == (who, at)]
            same(found[at, who], number(load.daily_load(his)))


def test_a_week_of_the_same_load_each_day_has_no_monotony_even_if_its_mean_is_rounded():
    table = np.full((7, 1), 0.1)
    assert np.isnan(load_table.monotony(table, MONDAY, Deviation.SAMPLE)).all()


def test_a_window_of_rest_after_a_heavy_one_is_exactly_nothing():
    table = np.array([[0.1]] * 30 + [[0.0]] * 40)
    found = load_table.loads_of(table, MONDAY)
    assert found.acute[-1, 0] == 0
    assert np.isnan(found.coupled[-1, 0])


@pytest.mark.parametrize("days", [1, 6, 7, 27, 28])
def test_means_begin_on_the_seventh_and_on_the_28th_day(days):
    found = load_table.loads_of(np.full((days, 1), 100.0), MONDAY)
    assert np.isfinite(found.acute[:, 0]).sum() == max(0, days - 6)
    assert np.isfinite(found.chronic[:, 0]).sum() == max(0, days - 27)
