"""Days and months as addresses write them, right and wrong."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.nearest import month_after, month_of, months_between, names_a_day, nearest_day

TODAY = dt.date(2026, 10, 7)
DAYS = st.dates(dt.date(2000, 1, 1), dt.date(2100, 12, 31))


@given(DAYS)
def test_a_written_day_is_that_day(day):
    assert nearest_day(day.isoformat(), TODAY) == day
    assert names_a_day(day.isoformat())


@given(st.text() | st.from_regex(r"\d{1,6}-\d{1,3}(-\d{1,3})?", fullmatch=True))
def test_any_text_leads_to_a_day_within_the_years_of_the_calendar(text):
    assert 2000 <= nearest_day(text, TODAY).year <= 2100


@given(st.text() | st.from_regex(r"\d{4}-\d{1,2}-\d{1,2}", fullmatch=True))
def test_a_text_that_names_a_day_leads_to_the_day_that_it_names(text):
    if names_a_day(text):
        day = nearest_day(text, TODAY)
        assert [int(part) for part in text.split("-")] in ([day.year, day.month, day.day], [day.year, day.month])


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-02-31", dt.date(2026, 2, 28)),
        ("2028-02-30", dt.date(2028, 2, 29)),
        ("2026-99", dt.date(2026, 12, 1)),
        ("soon", TODAY),
    ],
)
def test_what_is_no_day_leads_to_the_nearest(text, day):
    assert (nearest_day(text, TODAY), names_a_day(text)) == (day, False)


@given(DAYS)
def test_a_month_ends_the_day_before_the_next_begins(day):
    first, last = month_of(day)
    assert first <= day <= last
    assert last + dt.timedelta(days=1) == month_after(day)
    assert month_after(month_after(day), -1) == first


@given(DAYS, st.integers(0, 800))
def test_the_months_of_a_stretch_are_those_of_its_days(first, length):
    last = first + dt.timedelta(days=length)
    days = (first + dt.timedelta(days=n) for n in range(length + 1))
    assert months_between(first, last) == sorted({day.replace(day=1) for day in days})
