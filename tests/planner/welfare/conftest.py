from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from tests.planner.welfare.cast import FRIDAY, WelfareCast, welfare_cast


@pytest.fixture
def on(monkeypatch):
    """`on(day)`: that is today at the club. It is Friday to begin with."""

    def set_day(day: dt.date) -> None:
        monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: day)

    set_day(FRIDAY)
    return set_day


@pytest.fixture
def cast(squad, on) -> WelfareCast:
    return welfare_cast(squad)
