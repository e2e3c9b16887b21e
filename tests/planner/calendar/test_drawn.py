"""Days of the calendar as they are drawn: Django's own words, and nothing that a person typed is read as HTML."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from django.utils.formats import date_format
from hypothesis import given
from hypothesis import strategies as st

from planner.calendar_words import DayNames
from tests import factories as f
from tests.planner.calendar.test_months import at, text_of
from tests.planner.calendar.test_pages import page

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)
TYPED = '<b>"Cup"</b> & more'
WRITTEN = "&lt;b&gt;&quot;Cup&quot;&lt;/b&gt; &amp; more"


@given(st.dates(dt.date(1950, 1, 1), dt.date(2150, 12, 31)))
def test_days_are_named_as_django_formats_them(day):
    names = DayNames()
    for written, form in (
        (names.weekday(day), "D"),
        (names.in_week(day), "D j"),
        (names.in_year(day), "j M"),
        (names.whole(day), "D j M"),
    ):
        assert written == date_format(day, form)


@pytest.fixture
def typed(squad, monkeypatch):
    """Everything on a day of which a person typed the name."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    season = f.SeasonFactory(squad=squad)
    season.phases.create(name=TYPED, first_day=season.first_day, last_day=season.last_day)
    season.breaks.create(name=TYPED, first_day=dt.date(2026, 10, 9), last_day=dt.date(2026, 10, 9))
    f.FixtureFactory(squad=squad, opponent=TYPED, competition=TYPED)
    starts = dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON)
    f.SessionFactory(squad=squad, starts_at=starts, pitch=TYPED, slots=[12])
    return season


@pytest.mark.parametrize(("view", "day"), [("month", "2026-10"), ("week", "2026-10-05"), ("season", "2026-09-01")])
def test_what_somebody_typed_stands_as_letters_in_each_view(typed, head, log_in, view, day):
    text = text_of(log_in(head), at(view, day))
    assert f"v {WRITTEN}, home" in text
    assert WRITTEN in text.partition("no training: ")[2][:50]
    assert TYPED not in text


def test_what_somebody_typed_stands_as_letters_in_the_list(typed, head, log_in):
    text = page(log_in(head), "calendar")
    assert f'<span class="soft">{WRITTEN}</span>' in text
    assert f"12 min, {WRITTEN}" in text
    assert TYPED not in text
