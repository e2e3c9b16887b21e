"""Public holidays that the site offers, against the texts of the law that set them.

Read for this check: Banking and Financial Dealings Act 1971, Schedule 1, paragraph 1 (England and Wales), and the
Scottish insertion of 2007 asp 2, section 1; Code du travail, article L3133-1, and article L3134-13 for Alsace and
Moselle; the dates of Matariki as the government of New Zealand announced them on 1 July 2021 (now in the schedule of
the Te Kāhui o Matariki Public Holiday Act 2022). From memory: 5 U.S.C. § 6103(a); Good Friday and Christmas Day as
holidays of the common law, New Year's Day and the first Monday in May by proclamation under section 1(3) of the 1971
Act; Public Holidays Act 36 of 1994 of South Africa, section 2. Easter comes from dateutil, which reckons it apart.
"""

from __future__ import annotations

import datetime as dt

import pytest
from dateutil.easter import easter
from dateutil.relativedelta import FR, MO, TH, relativedelta

from planner.core.calendar import Stretch
from planner.public_holidays import holidays_in

YEARS = range(2025, 2031)  # Christmas falls on each kind of day that the rules tell apart, and 2028 is a leap year
MONDAY, SATURDAY, SUNDAY = 0, 5, 6


def offered(country: str, region: str, year: int) -> set[dt.date]:
    year_long = Stretch(dt.date(year, 1, 1), dt.date(year, 12, 31))
    return {gap.days.first for gap in holidays_in(country, region, year_long)}


def nth(year: int, month: int, weekday, day: int = 1) -> dt.date:
    """`MO(1)` with day 1: the first Monday; `MO(-1)` with day 31: the last."""
    return dt.date(year, month, 1) + relativedelta(day=day, weekday=weekday)


def after_easter(year: int, days: int) -> dt.date:
    return easter(year) + dt.timedelta(days=days)


@pytest.mark.parametrize("year", YEARS)
def test_england_and_wales_by_the_first_schedule_of_the_act_of_1971(year):
    schedule = {after_easter(year, 1), nth(year, 5, MO(-1), 31), nth(year, 8, MO(-1), 31)}
    boxing_day = dt.date(year, 12, 26)
    if boxing_day.weekday() != SUNDAY:
        schedule.add(boxing_day)
    if SUNDAY in (boxing_day.weekday(), dt.date(year, 12, 25).weekday()):
        schedule.add(dt.date(year, 12, 27))
    others = {after_easter(year, -2), dt.date(year, 12, 25), nth(year, 5, MO(1))}
    for region in ("ENG", "WLS"):
        assert schedule | others <= offered("GB", region, year)


def test_saint_andrews_day_is_a_monday_where_it_falls_on_a_weekend_by_2007_asp_2():
    for year in YEARS:
        day = dt.date(year, 11, 30)
        expected = day if day.weekday() < SATURDAY else day + relativedelta(weekday=MO)
        assert expected in offered("GB", "SCT", year)
        assert expected not in offered("GB", "ENG", year)


@pytest.mark.parametrize("year", YEARS)
def test_france_has_the_eleven_days_of_article_l3133_1_and_no_other(year):
    fixed = {dt.date(year, *day) for day in ((1, 1), (5, 1), (5, 8), (7, 14), (8, 15), (11, 1), (11, 11), (12, 25))}
    assert offered("FR", "", year) == fixed | {after_easter(year, days) for days in (1, 39, 50)}


@pytest.mark.parametrize("year", YEARS)
def test_moselle_has_good_friday_and_saint_stephen_besides_by_article_l3134_13(year):
    assert offered("FR", "57", year) - offered("FR", "", year) == {after_easter(year, -2), dt.date(year, 12, 26)}


@pytest.mark.parametrize(
    ("year", "month", "day"),
    [(2024, 6, 28), (2025, 6, 20), (2026, 7, 10), (2027, 6, 25), (2028, 7, 14)],
)
def test_matariki_is_on_the_friday_that_was_announced(year, month, day):
    found = dt.date(year, month, day)
    assert found == found + relativedelta(weekday=FR)
    assert found in offered("NZ", "", year)


@pytest.mark.parametrize("year", YEARS)
def test_the_united_states_by_5_usc_6103(year):
    mondays = {nth(year, 1, MO(3)), nth(year, 2, MO(3)), nth(year, 5, MO(-1), 31), nth(year, 9, MO(1))}
    others = {dt.date(year, *day) for day in ((1, 1), (6, 19), (7, 4), (11, 11), (12, 25))}
    assert mondays | {nth(year, 10, MO(2)), nth(year, 11, TH(4))} | others <= offered("US", "", year)


@pytest.mark.parametrize("year", YEARS)
def test_a_south_african_holiday_on_a_sunday_has_its_monday_too(year):
    days = ((1, 1), (3, 21), (4, 27), (5, 1), (6, 16), (8, 9), (9, 24), (12, 16), (12, 25), (12, 26))
    for day in (dt.date(year, *each) for each in days):
        found = offered("ZA", "", year)
        assert day in found
        assert day.weekday() != SUNDAY or day + dt.timedelta(days=1) in found


def test_a_season_over_the_new_year_has_the_holidays_of_both_years_in_order():
    found = holidays_in("FR", "", Stretch(dt.date(2027, 11, 2), dt.date(2028, 2, 29)))
    assert [gap.days.first for gap in found] == [
        dt.date(2027, 11, 11), dt.date(2027, 12, 25), dt.date(2028, 1, 1),
    ]  # fmt: skip
