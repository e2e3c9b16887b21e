"""Rows are locked in one order, whatever is changed: else two changes could wait for each other for ever."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db.models import QuerySet

from planner import session_actions
from planner.actions import add_station
from planner.break_actions import change_breaks
from planner.calendar_actions import lay_out, save_fixture
from planner.called_off_actions import bring_back
from planner.core.scope import Scope
from planner.models import Block, Session
from planner.moving_actions import Fate, change_match
from planner.record_actions import confirm_night
from planner.rpe_models import Rpe
from planner.scope import Asked, night_values
from planner.scope_actions import change_night
from planner.session_actions import SlotEdit, cancel_session, edit_slots, move_session, restore_session
from planner.slot_plans import SlotPlan
from shared.models import AuditHead
from squads.models import Squad
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.breaks.cast import TODAY, october, on, tuesdays

ORDER = [Squad, Block, Session, AuditHead]


@pytest.fixture
def locked(monkeypatch):
    """The tables whose rows are locked, once for each row, in the order in which each is locked for the first time."""
    found, rows_seen, really = [], set(), QuerySet._fetch_all

    def noted(rows):
        is_fresh = rows._result_cache is None
        really(rows)
        if is_fresh and rows.query.select_for_update:
            new = {row.pk for row in rows._result_cache if (rows.model, row.pk) not in rows_seen}
            rows_seen.update((rows.model, key) for key in new)
            found.extend([rows.model] * len(new))

    monkeypatch.setattr(QuerySet, "_fetch_all", noted)
    return found


@pytest.fixture
def night(squad, head):
    season = f.SeasonFactory(squad=squad, first_day=dt.date(2026, 9, 1), last_day=dt.date(2026, 10, 31))
    night = tuesdays(season, head)
    f.BlockFactory(squad=squad, first_day=dt.date(2026, 9, 21), weeks=6)
    session = on(squad, 10, 13)
    player = f.PlayerFactory(squad=squad)
    stand(session.slots.get(order=1), f.DrillFactory(club=squad.club), [player])
    Rpe.objects.create(player=player, session=session, number=6, minutes=36, said_by="Ash", by_name="Ash")
    return night


def move(squad, head, **how):
    starts_at = dt.datetime(2026, 10, 14, 19, tzinfo=f.LONDON)
    move_session(session=on(squad, 10, 13), starts_at=starts_at, by=head, version=0, today=TODAY, **how)


def let_go(squad, head):
    kept = [SlotEdit(SlotPlan(20))]
    edit_slots(session=on(squad, 10, 13), slots=kept, by=head, version=0, today=TODAY, let_go=True)


def call_off_and_put_back(squad, head):
    cancel_session(session=on(squad, 10, 13), by=head, today=TODAY)
    restore_session(session=on(squad, 10, 13), by=head, today=TODAY)


def bring_two_back(squad, head):
    sessions = [on(squad, 10, 13), on(squad, 10, 20)]
    for session in sessions:
        Session.objects.filter(pk=session.pk).update(cancelled=True)
    bring_back(season=squad.seasons.get(), sessions=[each.pk for each in sessions], by=head, today=TODAY)


def move_a_match(squad, head):
    fixture = f.FixtureFactory(squad=squad)
    fates = [Fate(on(squad, 10, 13), dt.date(2026, 10, 15)), Fate(on(squad, 10, 20))]
    change_match(fixture=fixture, by=head, today=TODAY, fates=fates, opponent="Ouse RFC")


def correct_a_match(squad, head):
    save_fixture(fixture=f.FixtureFactory(squad=squad), by=head, opponent="Ouse RFC")


def take_a_break(squad, head):
    change_breaks(season=squad.seasons.get(), wanted=[october(19, 25)], by=head, today=TODAY)


def start_later(squad, head):
    night = squad.seasons.get().nights.get()
    change_night(asked=Asked(night, Scope.ALL, night_values(night) | {"starts": dt.time(20)}), by=head, today=TODAY)


def lay_out_again(squad, head):
    on(squad, 10, 27).delete()
    assert lay_out(season=squad.seasons.get(), by=head, today=TODAY)


def confirm(squad, head):
    session = on(squad, 9, 15)
    confirm_night(session=session, by=head, version=session.plan_version, now=session.starts_at + dt.timedelta(hours=3))


def plan_by_hand(squad, head):
    slot = on(squad, 10, 20).slots.get(order=1)
    drill = f.DrillFactory(club=squad.club, players_least=1)
    player = f.PlayerFactory(squad=squad)
    verdict = add_station(slot=slot, drill=drill, players=[player], by=head, version=0, today=TODAY)
    assert not verdict.is_refused


@pytest.mark.parametrize(
    "change",
    [
        lambda *who: move(*who, keep_plan=True),
        lambda *who: move(*who, drop_plan=True),
        let_go,
        call_off_and_put_back,
        bring_two_back,
        move_a_match,
        correct_a_match,
        take_a_break,
        start_later,
        lay_out_again,
        confirm,
        plan_by_hand,
    ],
)
def test_the_squad_is_locked_first_then_the_block_the_nights_and_the_end_of_the_chain(
    change, night, locked, squad, head
):
    change(squad, head)
    ranks = [ORDER.index(table) for table in locked if table in ORDER]
    assert len(ranks) >= 2
    assert ranks == sorted(ranks), [table.__name__ for table in locked]


def test_the_night_to_which_a_session_comes_back_is_looked_up_once_both_are_locked(
    night, locked, squad, head, monkeypatch
):
    found = []
    monkeypatch.setattr(session_actions, "home_of", lambda session: found.extend(locked))
    session = on(squad, 10, 13)
    Session.objects.filter(pk=session.pk).update(cancelled=True)
    restore_session(session=session, by=head, today=TODAY)
    assert found == [Squad, Session]
