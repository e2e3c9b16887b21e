from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from tests import factories as f
from tests.planner.ledger.cast import TODAY
from tests.planner.record.conftest import evening  # noqa: F401 - a fixture


@pytest.fixture
def on(monkeypatch):
    """`on(day)`: that is today at the club, at noon. It is Friday 9 October to begin with."""

    def set_day(day: dt.date) -> None:
        noon = dt.datetime.combine(day, dt.time(12), f.LONDON)
        monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: day)
        monkeypatch.setattr(timezone, "now", lambda: noon.astimezone(dt.UTC))

    set_day(TODAY)
    return set_day


@pytest.fixture
def player(squad, on):
    f.SeasonFactory(squad=squad)
    return f.PlayerFactory(squad=squad, given_name="Oswin", family_name="Hartle", main_position=2)
