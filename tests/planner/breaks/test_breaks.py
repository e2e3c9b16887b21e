"""Breaks of a season that come, change and go, and what becomes of the sessions on their days."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.break_actions import change_breaks, look_ahead
from planner.breaks import BreaksPlan, digest_of
from planner.calendar_actions import NamedDays, lay_out, save_season
from planner.changes import Refused
from planner.core.breaks import why_off
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.models import Season, Station
from planner.session_actions import cancel_session, move_session, restore_session
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.breaks.cast import FIRST, LAST, TODAY, mark, october, off, on, standing


def change(season, head, *wanted, today=TODAY, **more) -> BreaksPlan:
    return change_breaks(season=season, wanted=wanted, by=head, today=today, **more)


def test_a_new_break_calls_its_sessions_off_and_they_keep_what_stands_in_them(season, night, squad, head):
    station = stand(on(squad, 10, 20).slots.get(order=1), f.DrillFactory(club=squad.club), [])
    plan = change(season, head, october(19, 25))
    assert off(squad) == ["20 Oct"]
    assert [(session.day.day, why) for session, why in plan.falling.falls] == [(20, "Half term")]
    assert Station.objects.get() == station


def test_a_break_that_goes_or_shrinks_brings_its_sessions_back(season, night, squad, head):
    change(season, head, october(12, 21))
    assert off(squad) == ["13 Oct", "20 Oct"]
    (gap,) = breaks_of(season)
    change(season, head, Break(gap.name, Stretch(dt.date(2026, 10, 19), gap.days.last), gap.uid, gap.key))
    assert off(squad) == ["20 Oct"]
    change(season, head)
    assert (off(squad), standing(season)) == ([], [])


def test_past_marked_and_locked_sessions_never_change_and_the_reason_is_told(season, night, squad, head):
    mark(on(squad, 9, 22), squad)
    stand(on(squad, 9, 29).slots.get(order=1), f.DrillFactory(club=squad.club), [], locked=True)
    before = list(squad.sessions.filter(day__lt=dt.date(2026, 10, 1)).values())
    plan = change(season, head, Break("All", Stretch(FIRST, LAST)))
    assert off(squad) == ["6 Oct", "13 Oct", "20 Oct", "27 Oct"]
    assert [why for _session, why in plan.falling.stays] == [
        *["past"] * 3, "somebody is marked on it", "a station in it is locked",
    ]  # fmt: skip
    assert list(squad.sessions.filter(day__lt=dt.date(2026, 10, 1)).values()) == before


def test_a_marked_session_that_fell_out_stays_so_when_the_break_goes(season, night, squad, head):
    change(season, head, october(19, 25))
    mark(on(squad, 10, 20), squad)
    plan = change(season, head)
    assert off(squad) == ["20 Oct"]
    assert [(session.day.day, why) for session, why in plan.falling.stays] == [(20, "somebody is marked on it")]


def test_what_somebody_called_off_by_hand_stays_off_when_the_break_goes(season, night, squad, head):
    cancel_session(session=on(squad, 10, 20), by=head, today=TODAY)
    change(season, head, october(19, 25))
    change(season, head)
    assert off(squad) == ["20 Oct"]


def test_what_somebody_put_back_in_a_break_takes_place_whatever_becomes_of_other_breaks(season, night, squad, head):
    change(season, head, october(19, 25))
    restore_session(session=on(squad, 10, 20), by=head, today=TODAY)
    change(season, head, *breaks_of(season), october(13, name="Fair"))
    assert off(squad) == ["13 Oct"]


def test_what_fell_out_was_put_back_and_was_called_off_by_hand_stays_off(season, night, squad, head):
    change(season, head, october(19, 25))
    restore_session(session=on(squad, 10, 20), by=head, today=TODAY)
    cancel_session(session=on(squad, 10, 20), by=head, today=TODAY)
    change(season, head)
    assert off(squad) == ["20 Oct"]


def test_what_was_called_off_by_hand_and_put_back_in_a_break_stays_on(season, night, squad, head):
    cancel_session(session=on(squad, 10, 20), by=head, today=TODAY)
    change(season, head, october(19, 25))
    restore_session(session=on(squad, 10, 20), by=head, today=TODAY)
    (gap,) = breaks_of(season)
    change(season, head, Break("Autumn", gap.days, gap.uid, gap.key), october(20, name="Fair"))
    assert off(squad) == []


def test_a_session_that_somebody_moved_into_a_break_stays_there(season, night, squad, head):
    change(season, head, october(14, 16))
    starts = dt.datetime(2026, 10, 15, 19, tzinfo=f.LONDON)
    move_session(session=on(squad, 10, 13), starts_at=starts, by=head, version=0, today=TODAY)
    change(season, head, *breaks_of(season), october(27, name="Fair"))
    assert off(squad) == ["27 Oct"]


def test_a_break_with_another_name_is_the_reason_from_then_on(season, night, squad, head):
    change(season, head, october(19, 25))
    (gap,) = breaks_of(season)
    plan = change(season, head, Break("Autumn", gap.days, gap.uid, gap.key))
    assert (plan.falling.is_nothing, str(on(squad, 10, 20).fell_out)) == (True, "Autumn")


def test_nights_not_laid_out_yet_are_told_and_left_out(season, night, squad, head):
    squad.sessions.filter(day=dt.date(2026, 10, 20)).delete()
    plan = change(season, head, october(19, 25))
    assert [(at.day, why) for at, why in plan.left_out] == [(20, "Half term")]
    assert lay_out(season=season, by=head, today=TODAY) == []
    plan = change(season, head)
    assert [at.day for at in plan.to_lay_out] == [20]
    assert len(lay_out(season=season, by=head, today=TODAY)) == 1


def test_a_look_ahead_tells_all_and_writes_nothing(season, night, squad, head):
    before, events = list(squad.sessions.values()), AuditEvent.objects.count()
    plan, _effects = look_ahead(season=season, wanted=[october(19, 25)], by=head, today=TODAY)
    assert len(plan.falling.falls) == 1
    assert (list(squad.sessions.values()), AuditEvent.objects.count(), standing(season)) == (before, events, [])


def test_a_change_is_one_line_in_the_audit_and_older_pages_of_the_session_find_out(season, night, squad, head):
    events = AuditEvent.objects.count()
    change(season, head, october(19, 25))
    event = AuditEvent.objects.last()
    assert (AuditEvent.objects.count(), event.did) == (events + 1, "changed breaks")
    assert event.detail["new"] == ["Half term, Mon 19 – Sun 25 Oct 2026"]
    assert event.detail["called_off"] == [on(squad, 10, 20).pk]
    assert on(squad, 10, 20).plan_version == 1


def test_the_same_breaks_again_change_nothing_and_leave_no_line(season, night, squad, head):
    change(season, head, october(19, 25))
    before, events = list(squad.sessions.values()), AuditEvent.objects.count()
    change(season, head, *breaks_of(season))
    assert (list(squad.sessions.values()), AuditEvent.objects.count()) == (before, events)


@pytest.mark.parametrize("days", [(dt.date(2026, 8, 1), FIRST), (LAST, dt.date(2026, 11, 1)), (LAST, FIRST)])
def test_a_break_lies_within_its_season_and_ends_after_it_begins_or_is_refused(season, head, days):
    with pytest.raises(Refused, match="must end after it begins, and lie within the season"):
        change(season, head, october(1), Break("Fair", Stretch(*days)))
    assert standing(season) == []


def test_too_many_breaks_are_refused(season, head):
    with pytest.raises(Refused, match="at most 300 breaks"):
        change(season, head, *(october(1, name=f"Day {n}") for n in range(301)))


def test_breaks_that_somebody_else_changed_are_not_overwritten(season, night, squad, head):
    was = digest_of(season)
    change(season, head, october(19, 25))
    with pytest.raises(Refused, match="Somebody has changed the breaks"):
        change(season, head, october(1, name="Fair"), was=was)
    assert standing(season) == [("Half term", "19 Oct", "25 Oct")]


def test_a_session_that_was_locked_since_the_look_is_not_called_off_unseen(season, night, squad, head):
    plan, _effects = look_ahead(season=season, wanted=[october(19, 25)], by=head, today=TODAY)
    stand(on(squad, 10, 20).slots.get(order=1), f.DrillFactory(club=squad.club), [], locked=True)
    with pytest.raises(Refused, match="A session has changed since you saw this"):
        change(season, head, october(19, 25), seen=plan.digest)
    assert (off(squad), standing(season)) == ([], [])


def test_a_season_does_not_shrink_past_its_breaks(season, head):
    change(season, head, october(26, 30))
    with pytest.raises(Refused, match=r"“Half term” .* would lie outside the season"):
        save_season(season=Season.objects.get(), by=head, last_day=dt.date(2026, 10, 28))
    assert Season.objects.get().last_day == LAST


def test_a_new_season_may_have_breaks_from_the_start(squad, head):
    gap = NamedDays("Ball", dt.date(2027, 10, 9), dt.date(2027, 10, 9))
    days = {"first_day": dt.date(2027, 9, 1), "last_day": dt.date(2028, 4, 30)}
    season = save_season(season=Season(squad=squad), by=head, name="2027/28", breaks=[gap], **days)
    assert standing(season) == [("Ball", "09 Oct", "09 Oct")]


def test_the_database_keeps_a_uid_to_one_break_of_a_season_and_lets_many_have_none(season):
    days = {"first_day": FIRST, "last_day": FIRST}
    season.breaks.create(name="a", **days)
    season.breaks.create(name="b", **days)
    season.breaks.create(name="c", uid="x", **days)
    with pytest.raises(IntegrityError), transaction.atomic():
        season.breaks.create(name="d", uid="x", **days)


DAYS = st.dates(FIRST, LAST)
BREAKS = st.lists(st.tuples(DAYS, DAYS).map(lambda pair: Break("Off", Stretch(min(pair), max(pair)))), max_size=4)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(first=BREAKS, second=BREAKS, today=DAYS)
def test_sessions_ahead_take_place_exactly_outside_the_breaks_and_past_ones_never_change(
    first, second, today, night, season, squad, head
):
    with transaction.atomic():
        past = list(squad.sessions.filter(day__lt=today).values())
        for wanted in (first, second):
            change(season, head, *wanted, today=today)
            for session in squad.sessions.filter(day__gte=today):
                assert session.cancelled == bool(why_off(session.day, wanted))
        assert list(squad.sessions.filter(day__lt=today).values()) == past
        transaction.set_rollback(True)
