"""A night to record: Tuesday 6 October 2026, 19:00 to 19:34, eight players, two planned slots after the warm-up."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pytest

from planner.core.record import Here, Part
from planner.models import Session
from planner.record_night import NightRecord, night_record
from tests import factories as f
from tests.planner.block_cast import Cast, small_block, stand

DURING = dt.datetime(2026, 10, 6, 20, 0, tzinfo=f.LONDON)
NEXT_DAY = dt.datetime(2026, 10, 7, 9, 0, tzinfo=f.LONDON)
THREE_DAYS_ON = dt.datetime(2026, 10, 9, 20, 0, tzinfo=f.LONDON)


@dataclass
class Evening:
    """Live tackling (C4, a quarter of the time) for four, a walk-through for the others; then bags for all."""

    cast: Cast
    live: object
    walk: object
    bags: object

    @property
    def session(self) -> Session:
        return Session.objects.select_related("squad__club").get(pk=self.cast.nights[0].pk)

    @property
    def players(self) -> list:
        return self.cast.players

    def record(self, now: dt.datetime = DURING) -> NightRecord:
        return night_record(self.session, now)

    def spot(self, drill: object, order: int = 1) -> str:
        return f"{self.cast.slot(order=order).pk}.{drill.pk}"

    def parts(self, minutes: int = 12, rung: str = "C4", players: int = 4, **how) -> list[Part]:
        """One part of the live station, with the first players there for all of it."""
        here = {player.pk: Here(minutes) for player in self.players[:players]}
        return [Part(minutes, rung, 0 if rung == "C0" else 25, "C4", here, **how)]


@pytest.fixture
def evening(squad) -> Evening:
    cast = small_block(squad)
    live = f.DrillFactory(club=squad.club, name="Live", rung="C4", contact_share=25, contacts_most=4)
    bags = f.DrillFactory(club=squad.club, name="Bags", rung="C2", contact_share=50, contacts_most=4)
    stand(cast.slot(), live, cast.players[:4])
    stand(cast.slot(), cast.drills[0], cast.players[4:], order=1)
    stand(cast.slot(order=2), bags, cast.players)
    return Evening(cast, live, cast.drills[0], bags)
