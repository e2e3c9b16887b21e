from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from tests import factories as f
from tests.planner.breaks.cast import FIRST, LAST, tuesdays


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=FIRST, last_day=LAST)


@pytest.fixture
def night(season, head):
    return tuesdays(season, head)


@pytest.fixture
def september(monkeypatch):
    """It is noon on Wednesday 16 September 2026."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 9, 16, 12, tzinfo=f.LONDON))
