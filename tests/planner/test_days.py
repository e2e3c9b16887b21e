"""Some days out of more: what is cut without a query is what a query would have fetched."""

from __future__ import annotations

import datetime as dt
import random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.days import Days
from planner.models import Place, Session
from planner.record_actions import confirm_night
from tests import factories as f
from tests.planner.calendar.test_season_figures import MONDAY, WEEKS, some_weeks

A_DAY = dt.timedelta(days=1)
LAST = MONDAY + 7 * WEEKS * A_DAY - A_DAY


def told(days: Days) -> dict:
    """All that is fetched of some days, in its order."""
    return {
        "days": (days.first, days.last),
        "sessions": [session.pk for session in days.sessions],
        "slots": [[slot.pk for slot in session.slots.all()] for session in days.sessions],
        "stations": [
            (station.pk, station.drill, station.standing)
            for session in days.sessions
            for slot in session.slots.all()
            for station in slot.stations.all()
        ],
        "players": list(days.players.values()),
        "rules": days.rules,
        "absences": {player: rows for player, rows in days.absences.items() if rows},
        "clearances": {player: rows for player, rows in days.clearances.items() if rows},
        "returns": {player: rows for player, rows in days.returns.items() if rows},
        "matches": days.matches,
        "fixtures": days.fixtures,
        "words": days.words,
        "patterns": days.patterns,
        "told": days.records.told,
        "confirmed": days.records.confirmed,
        "drills": days.drills,
        "declared": days.declared,
        "ceilings": {session.pk: dict(days.ceilings(session)) for session in days.sessions},
    }


def some_nights_told(squad, by, dice: random.Random) -> None:
    """Some nights are confirmed, which takes in who was there; then one of the players has left before all of it."""
    nights = list(Session.objects.filter(squad=squad, cancelled=False).order_by("day"))
    for night in dice.sample(nights, 5):
        ends = night.starts_at + dt.timedelta(hours=3)
        confirm_night(session=night, by=by, version=night.plan_version, now=ends)
    leaver = dice.choice(list(squad.players.all()))
    squad.players.filter(pk=leaver.pk).update(joined=None, left=MONDAY - 30 * A_DAY)


@pytest.mark.parametrize("seed", range(6))
def test_days_cut_out_of_more_are_those_that_would_be_fetched(squad, head, seed):
    dice = random.Random(seed)
    some_weeks(squad, seed)
    some_nights_told(squad, head, dice)
    whole = Days.of(squad, MONDAY - 20 * A_DAY, LAST + 20 * A_DAY, to_plan=True)
    for _n in range(6):
        first = MONDAY + dice.randrange(-20, 7 * WEEKS) * A_DAY
        last = min(first + dice.randrange(40) * A_DAY, LAST + 20 * A_DAY)
        with CaptureQueriesContext(connection) as asked:
            cut = told(whole.cut(first, last))
        assert len(asked) == 0
        assert cut == told(Days.of(squad, first, last, to_plan=True))


def test_entries_of_a_return_are_cut_with_the_clearance_that_names_it(squad, head):
    player = f.PlayerFactory(squad=squad)
    case = player.return_entries.create(kind="started", day=MONDAY + 30 * A_DAY, table="uk-grassroots")
    decided = {"decided_by": "Robin Ash", "decided_as": "physio", "decided_on": MONDAY}
    player.clearances.create(level="absent", from_day=case.day, case=case, **decided)
    whole = Days.of(squad, MONDAY, LAST, to_plan=True)
    assert whole.returns[player.pk] == [case]
    for last in (case.day - A_DAY, case.day):
        assert told(whole.cut(MONDAY, last)) == told(Days.of(squad, MONDAY, last, to_plan=True))
    assert not whole.cut(MONDAY, case.day - A_DAY).returns[player.pk]


def test_who_stands_at_a_station_is_told_in_the_order_of_the_rows(squad):
    some_weeks(squad, seed=1)
    for session in Days.of(squad, MONDAY, LAST).sessions:
        for station in (station for slot in session.slots.all() for station in slot.stations.all()):
            assert station.standing == tuple(Place.objects.filter(station=station).values_list("player", flat=True))
