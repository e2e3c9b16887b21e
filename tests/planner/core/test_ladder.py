"""Rungs passed: enough minutes within the days that count (house rule, as the contact rules of the club say)."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.ladder import ORDER, Stood, rungs

MONDAY = dt.date(2026, 10, 5)


def stood(day, minutes, rung="C2", ladder="D", by="M. Askham"):
    return Stood(ladder, rung, MONDAY + dt.timedelta(days=day), minutes, by)


def only(found):
    (figure,) = found
    return figure


def test_a_rung_is_passed_on_the_day_on_which_its_minutes_reach_what_is_needed():
    figure = only(rungs([stood(0, 8), stood(2, 6), stood(7, 1, by="T. Fenwright"), stood(9, 12)], 15, 28))
    assert (figure.passed_on, figure.by) == (MONDAY + dt.timedelta(days=7), "T. Fenwright")
    assert (figure.minutes, figure.last) == (27, MONDAY + dt.timedelta(days=9))


def test_fourteen_of_fifteen_minutes_do_not_pass_a_rung():
    figure = only(rungs([stood(0, 14)], 15, 28))
    assert (figure.passed_on, figure.by, figure.minutes) == (None, "", 14)


@pytest.mark.parametrize(("gap", "passes"), [(27, True), (28, False)])
def test_minutes_count_for_28_days_the_last_one_among_them(gap, passes):
    figure = only(rungs([stood(0, 10), stood(gap, 10)], 15, 28))
    assert (figure.passed_on is not None) is passes


def test_two_stations_of_one_day_count_together():
    assert only(rungs([stood(3, 8), stood(3, 8)], 15, 28)).passed_on == MONDAY + dt.timedelta(days=3)


def test_ladders_and_rungs_count_apart_and_stand_from_the_lowest_up():
    found = rungs([stood(0, 9, "C4"), stood(0, 9, "C2"), stood(0, 9, "SP3", "K"), stood(0, 9, "C2", "A")], 15, 28)
    assert [(each.ladder, each.rung) for each in found] == [("A", "C2"), ("D", "C2"), ("D", "C4"), ("K", "SP3")]
    assert {each.passed_on for each in found} == {None}


def test_where_no_minutes_are_asked_for_the_first_minute_passes():
    assert only(rungs([stood(4, 1), stood(0, 0)], 0, 28)).passed_on == MONDAY + dt.timedelta(days=4)


each = st.builds(
    stood, st.integers(0, 90), st.integers(0, 20), st.sampled_from(ORDER), st.sampled_from("AD"), st.just("x")
)


@given(st.lists(each, max_size=30), st.integers(1, 30), st.integers(1, 60), st.randoms())
def test_the_order_of_entries_changes_nothing(entries, needed, days, dice):
    shuffled = entries[:]
    dice.shuffle(shuffled)
    assert rungs(entries, needed, days) == rungs(shuffled, needed, days)


@given(st.lists(each, min_size=1, max_size=30), st.integers(1, 30), st.integers(1, 60), each)
def test_more_minutes_never_make_a_rung_pass_later(entries, needed, days, more):
    before = {(f.ladder, f.rung): f.passed_on for f in rungs(entries, needed, days)}
    after = {(f.ladder, f.rung): f.passed_on for f in rungs([*entries, more], needed, days)}
    assert all(after[key] <= day for key, day in before.items() if day)


@given(st.lists(each, max_size=30), st.integers(1, 30), st.integers(1, 60))
def test_a_passed_rung_has_its_minutes_within_the_days_that_count(entries, needed, days):
    for figure in rungs(entries, needed, days):
        if figure.passed_on:
            first = figure.passed_on - dt.timedelta(days=days - 1)
            here = [e for e in entries if (e.ladder, e.rung) == (figure.ladder, figure.rung)]
            assert sum(e.minutes for e in here if first <= e.day <= figure.passed_on) >= needed
