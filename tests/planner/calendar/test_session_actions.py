"""Single sessions: moved, called off, changed, and their slots."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.actions import undo
from planner.changes import Refused
from planner.models import PlanChange, Session, Station
from planner.session_actions import (
    SlotEdit,
    add_session,
    cancel_session,
    change_session,
    edit_slots,
    move_session,
    restore_session,
)
from planner.slot_plans import SlotPlan
from planner.venue_models import Where
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import stand

TODAY = dt.date(2026, 10, 1)
SIX = dt.datetime(2026, 10, 6, 18, tzinfo=f.LONDON)
WEDNESDAY = dt.datetime(2026, 10, 7, 19, tzinfo=f.LONDON)


@pytest.fixture
def session(squad):
    return f.SessionFactory(squad=squad, slots=[(10, "Warm-up"), 12, 14])


@pytest.fixture
def planned(session):
    """The session with a drill in its second slot."""
    drill = f.DrillFactory(club=session.squad.club)
    stand(session.slots.get(order=1), drill, [f.PlayerFactory(squad=session.squad)])
    return session


def fresh(session: Session) -> Session:
    return Session.objects.get(pk=session.pk)


def plans(session: Session) -> list[SlotPlan]:
    return [SlotPlan.of(slot) for slot in session.slots.order_by("order")]


def edits(session: Session) -> list[SlotEdit]:
    return [SlotEdit(SlotPlan.of(slot), slot.pk) for slot in session.slots.order_by("order")]


# Adding and moving


def test_a_session_of_its_own_is_added_with_its_slots(squad, head):
    session = add_session(squad=squad, starts_at=SIX, slots=[SlotPlan(10), SlotPlan(12)], by=head, today=TODAY)
    assert (session.day, [slot.minutes for slot in session.slots.all()]) == (dt.date(2026, 10, 6), [10, 12])


def test_a_session_in_the_past_is_not_added(squad, head):
    with pytest.raises(Refused, match="is past"):
        add_session(squad=squad, starts_at=SIX, slots=[SlotPlan(10)], by=head, today=dt.date(2026, 10, 7))


def test_two_sessions_at_one_time_are_refused_in_words(session, squad, head):
    with pytest.raises(Refused, match="another session at that very time"):
        add_session(squad=squad, starts_at=session.starts_at, slots=[SlotPlan(10)], by=head, today=TODAY)
    other = f.SessionFactory(squad=squad, starts_at=WEDNESDAY)
    with pytest.raises(Refused, match="another session at that very time"):
        move_session(session=other, starts_at=session.starts_at, by=head, version=0, today=TODAY)
    assert fresh(other).starts_at == WEDNESDAY


def test_a_moved_session_is_on_its_new_day(session, head):
    moved = move_session(session=session, starts_at=WEDNESDAY, by=head, version=0, today=TODAY)
    assert (moved.day, moved.plan_version) == (dt.date(2026, 10, 7), 1)


def test_an_earlier_start_on_the_same_day_keeps_the_stations(planned, head):
    move_session(session=planned, starts_at=SIX, by=head, version=0, today=TODAY)
    assert Station.objects.count() == 1


def test_stations_keep_a_session_on_its_day(planned, head):
    with pytest.raises(Refused, match="It holds 1 station that was planned for Tue 6 Oct 2026"):
        move_session(session=planned, starts_at=WEDNESDAY, by=head, version=0, today=TODAY)
    assert (fresh(planned).day, Station.objects.count()) == (dt.date(2026, 10, 6), 1)


def test_stations_are_taken_off_on_the_way_when_that_is_asked_for(planned, head):
    move_session(session=planned, starts_at=WEDNESDAY, by=head, version=0, today=TODAY, drop_plan=True)
    assert Station.objects.count() == 0


def test_in_a_block_the_stations_taken_off_can_be_put_back(planned, squad, head):
    block = f.BlockFactory(squad=squad)
    moved = move_session(session=planned, starts_at=WEDNESDAY, by=head, version=0, today=TODAY, drop_plan=True)
    assert PlanChange.objects.get(block=block).before["stations"] != []
    move_session(session=planned, starts_at=SIX, by=head, version=moved.plan_version, today=TODAY)
    undo(block=block, by=head, today=TODAY)
    assert Station.objects.count() == 1


@pytest.mark.parametrize("day", [dt.date(2026, 10, 7), dt.date(2027, 1, 1)])
def test_what_is_past_is_neither_moved_nor_called_off_nor_cut_up(session, head, day):
    later = dt.datetime(2027, 3, 2, 19, tzinfo=f.LONDON)
    with pytest.raises(Refused, match="is past and stays as it was"):
        move_session(session=session, starts_at=later, by=head, version=0, today=day)
    with pytest.raises(Refused, match="is past and stays as it was"):
        cancel_session(session=session, by=head, today=day)
    with pytest.raises(Refused, match="is past and stays as it was"):
        edit_slots(session=session, slots=edits(session), by=head, version=0, today=day)


def test_nothing_is_moved_into_the_past(session, head):
    with pytest.raises(Refused, match="Wed 30 Sep 2026 is past"):
        move_session(
            session=session, starts_at=dt.datetime(2026, 9, 30, 19, tzinfo=f.LONDON), by=head, version=0, today=TODAY
        )


def test_who_saw_an_older_version_is_told_so(session, head):
    move_session(session=session, starts_at=SIX, by=head, version=0, today=TODAY)
    for verb in (
        lambda: move_session(session=session, starts_at=WEDNESDAY, by=head, version=0, today=TODAY),
        lambda: change_session(session=session, by=head, today=TODAY, version=0, where=Where(words="Hall")),
        lambda: edit_slots(session=session, slots=edits(session), by=head, version=0, today=TODAY),
    ):
        with pytest.raises(Refused, match="Somebody has changed this session"):
            verb()


# Calling off


def test_a_cancelled_session_takes_no_place_and_keeps_its_programme(planned, squad, head):
    cancel_session(session=planned, by=head, today=TODAY)
    assert list(squad.sessions.between(TODAY, dt.date(2026, 12, 31))) == []
    assert Station.objects.count() == 1
    restore_session(session=planned, by=head, today=TODAY)
    assert list(squad.sessions.between(TODAY, dt.date(2026, 12, 31))) == [planned]


def test_calling_off_twice_is_one_event(session, head):
    cancel_session(session=session, by=head, today=TODAY)
    cancel_session(session=session, by=head, today=TODAY)
    assert [event.did for event in AuditEvent.objects.all()] == ["cancelled session"]


# Details


def test_details_change_and_older_prints_can_be_told_from_newer(session, head):
    change_session(session=session, by=head, today=TODAY, version=0, first_aider="Sam Ash", aims=["Fold"])
    changed = fresh(session)
    assert (changed.first_aider, changed.aims, changed.plan_version) == ("Sam Ash", ["Fold"], 1)
    assert AuditEvent.objects.last().detail == {"fields": ["aims", "first_aider"]}


def test_saving_the_same_details_changes_nothing(session, head):
    change_session(session=session, by=head, today=TODAY, version=0, where=session.where)
    assert (fresh(session).plan_version, AuditEvent.objects.count()) == (0, 0)


# Slots


def test_slots_are_added_dropped_changed_and_put_in_another_order(session, head):
    warm_up, _first, second = edits(session)
    wanted = [
        SlotEdit(SlotPlan(5, "Brief")),
        SlotEdit(SlotPlan(15), second.slot),
        SlotEdit(SlotPlan(8, "Warm-up", rpe=2), warm_up.slot),
    ]
    edit_slots(session=session, slots=wanted, by=head, version=0, today=TODAY)
    assert plans(session) == [SlotPlan(5, "Brief"), SlotPlan(15), SlotPlan(8, "Warm-up", rpe=2)]
    assert list(session.slots.values_list("pk", flat=True))[1:] == [second.slot, warm_up.slot]
    assert fresh(session).plan_version == 1


@pytest.mark.parametrize(
    "change",
    [
        lambda slots: [slots[0], slots[2]],
        lambda slots: [slots[0], SlotEdit(SlotPlan(12, "Attack"), slots[1].slot), slots[2]],
        lambda slots: [slots[0], SlotEdit(SlotPlan(13), slots[1].slot), slots[2]],
    ],
    ids=["dropped", "made fixed", "made longer"],
)
def test_a_slot_with_stations_is_kept_as_it_is(planned, head, change):
    before = plans(planned)
    with pytest.raises(Refused, match=r"Slot 2 \(12 min\) holds 1 station"):
        edit_slots(session=planned, slots=change(edits(planned)), by=head, version=0, today=TODAY)
    assert (plans(planned), Station.objects.count()) == (before, 1)


def test_a_slot_with_stations_may_change_places(planned, head):
    slots = edits(planned)
    edit_slots(session=planned, slots=[slots[1], slots[0], slots[2]], by=head, version=0, today=TODAY)
    assert Station.objects.get().slot.order == 0


def test_a_slot_of_another_session_or_one_named_twice_is_refused(session, squad, head):
    other = f.SessionFactory(squad=squad, starts_at=WEDNESDAY)
    (first, *rest) = edits(session)
    for slots in ([*edits(other)[:1], *rest], [first, first, *rest]):
        with pytest.raises(Refused, match="no longer there"):
            edit_slots(session=session, slots=slots, by=head, version=0, today=TODAY)
