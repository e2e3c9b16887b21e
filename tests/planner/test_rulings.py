"""What everybody may do on a night, told for all at once: the same as one by one."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.attendance_actions import Said, note_replies
from planner.building.attendance import ruling, rulings_on
from planner.days import Days
from planner.pattern_models import WeekPattern
from shared.core.contact import Level
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block

TUESDAY, THURSDAY = dt.date(2026, 10, 6), dt.date(2026, 10, 8)


@pytest.fixture
def days(squad, head) -> Days:
    """Two weeks with a match on the first Saturday; of eight players five have something of their own."""
    cast = small_block(squad)
    away, injured, new, gone, late, *_plain = cast.players
    Absence.objects.create(player=away, first_day=TUESDAY, last_day=TUESDAY)
    told = {"decided_by": "Robin Ash", "decided_as": "physio", "decided_on": BEFORE}
    Clearance.objects.create(player=injured, level="controlled", from_day=THURSDAY, **told)
    for player, fields in ((new, {"joined": THURSDAY}), (gone, {"left": TUESDAY})):
        type(player).objects.filter(pk=player.pk).update(**fields)
    said = Said(late, cast.nights[1], coming=True, from_time=dt.time(19, 20))
    note_replies(said=[said], by=head, today=BEFORE)
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON))
    WeekPattern.objects.create(
        squad=squad, monday=dt.date(2026, 10, 12), name="Short", full_after=5, holds_from=dt.date(2026, 10, 12)
    )
    return Days.of(squad, dt.date(2026, 10, 5), dt.date(2026, 10, 18))


def test_all_at_once_is_the_same_as_one_by_one(days):
    assert len(days.sessions) == 4
    for night in days.sessions:
        alone = {key: ruling(days, player, night) for key, player in days.players.items()}
        assert rulings_on(days, days.players, night) == alone
        assert days.ceilings(night) == {key: days.ceiling(player, night) for key, player in days.players.items()}


def test_each_reason_of_ones_own_is_among_them(days):
    """So that the test before compares something."""
    levels = [[days.ceiling(player, night).level for player in days.players.values()] for night in days.sessions]
    away_on_tuesday, away_on_thursday = (row.count(Level.ABSENT) for row in levels[:2])
    assert (away_on_tuesday, away_on_thursday) == (2, 1)
    assert Level.CONTROLLED in levels[1]
    assert len({tuple(row) for row in levels}) > 1
