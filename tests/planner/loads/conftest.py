"""The evening of the record: Tuesday 6 October 2026, 19:00 to 19:34, eight players, all there for all of it."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.record_actions import confirm_night
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from tests import factories as f
from tests.planner.record.conftest import evening  # noqa: F401 - a fixture

AFTER = dt.datetime(2026, 10, 6, 20, 10, tzinfo=f.LONDON)
NEXT_DAY = dt.datetime(2026, 10, 7, 9, 0, tzinfo=f.LONDON)


@pytest.fixture
def tell(evening):  # noqa: F811
    """`tell(player number, RPE, minutes, by=…)`: an answer of the evening; without `by` he says it himself."""

    def told(player, number, minutes=None, *, by=None, answers=None, now=NEXT_DAY, occasion=None):
        occasion = occasion or Occasion(session=evening.session)
        each = Told(evening.players[player], occasion, number, minutes, answers)
        return note_rpe(told=[each], by=by, now=now)

    return told


@pytest.fixture
def confirmed(evening, head):  # noqa: F811
    return confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=NEXT_DAY)
