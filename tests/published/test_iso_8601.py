"""ISO 8601 week numbering, as our pages show it.

Dates around the turn of the year are the usual examples of the standard (from memory: ISO 8601-1, week date);
`datetime.date.isocalendar` and strftime's %G and %V are the references.
"""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from planner.core.calendar import iso_week, recurring
from tests import factories as f

EXAMPLES = [
    (dt.date(2020, 12, 31), "W53 2020"),
    (dt.date(2021, 1, 3), "W53 2020"),
    (dt.date(2021, 1, 4), "W01 2021"),
    (dt.date(2024, 12, 30), "W01 2025"),
    (dt.date(2024, 2, 29), "W09 2024"),
    (dt.date(2016, 1, 3), "W53 2015"),
]


@pytest.mark.parametrize(("day", "shown"), EXAMPLES)
def test_the_page_of_a_week_shows_its_number(day, shown, squad, head, log_in):
    f.SeasonFactory(squad=squad, first_day=dt.date(2020, 9, 1), last_day=dt.date(2021, 5, 1))
    monday = day - dt.timedelta(days=day.weekday())
    answer = log_in(head).get(reverse("calendar_week", args=["brackenford", "firsts", monday.isoformat()]))
    assert f'<span class="soft">{shown}</span></h1>' in answer.content.decode()


@pytest.mark.parametrize(("day", "shown"), EXAMPLES)
def test_the_page_of_a_month_shows_it_beside_its_row(day, shown, squad, head, log_in):
    answer = log_in(head).get(reverse("calendar_month", args=["brackenford", "firsts", f"{day:%Y-%m}"]))
    assert f'<span class="soft">{shown}</span></th>' in " ".join(answer.content.decode().split())


@given(st.dates(dt.date(1990, 1, 1), dt.date(2100, 12, 31)))
def test_the_number_is_isocalendars_and_the_clibrarys(day):
    year, week = iso_week(day)
    assert (year, week) == tuple(day.isocalendar())[:2]
    assert (f"{year}", f"{week:02d}") == (f"{day:%G}", f"{day:%V}")


@given(st.integers(1990, 2100))
def test_week_1_holds_the_first_thursday_of_the_year(year):
    """The definition of the standard, against the recurrence rule of a year's first Thursday."""
    (thursday,) = recurring("FREQ=YEARLY;BYDAY=1TH;COUNT=1", dt.datetime(year, 1, 1))
    assert iso_week(thursday.date()) == (year, 1)
