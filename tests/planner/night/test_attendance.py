"""Replies before a night and marks on it, and what follows for who is expected."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.db import IntegrityError, transaction

from planner.attendance import present_in, words_of
from planner.attendance_actions import (
    Said,
    Tapped,
    mark,
    mark_rest_away,
    note_replies,
)
from planner.attendance_models import Mark, Reply
from planner.build import player_id, problem_of, session_id
from planner.changes import Refused
from planner.days import Days
from planner.record_models import Confirmation
from shared.audit import broken_links
from shared.models import AuditEvent
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import small_block

TUESDAY = dt.date(2026, 10, 6)
MONDAY = dt.date(2026, 10, 5)


@pytest.fixture
def cast(squad):
    return small_block(squad)


@pytest.fixture
def night(cast):
    return cast.nights[0]


def level(cast, player) -> str:
    days = Days.of(cast.squad, TUESDAY, TUESDAY)
    return days.ceiling(player, days.sessions[0]).level


def says(player, night, coming=True, by=None, **times) -> int:
    return note_replies(said=[Said(player, night, coming, **times)], by=by, today=MONDAY).count


def tap(night, player, state, by, minute=5, seen=(), key=None) -> Tapped:
    at = night.starts_at + dt.timedelta(minutes=minute)
    tapped = Tapped(key or uuid.uuid4(), player.pk, state, at, tuple(seen))
    mark(session=night, taps=[tapped], by=by, today=TUESDAY)
    return tapped


# Replies


def test_the_newest_reply_counts_and_all_are_kept(cast, night, head):
    player = cast.players[0]
    says(player, night, False, by=head)
    assert level(cast, player) == "absent"
    says(player, night, True, by=head)
    assert level(cast, player) == "full"
    assert Reply.objects.count() == 2


def test_a_yes_stands_before_an_absence_by_dates_and_without_it_the_absence_counts(cast, night, head):
    player, other = cast.players[:2]
    for each in (player, other):
        Absence.objects.create(player=each, first_day=TUESDAY, last_day=TUESDAY)
    says(player, night, True, by=head)
    assert [level(cast, player), level(cast, other)] == ["full", "absent"]


@pytest.mark.parametrize("decided", ["absent", "none"])
def test_neither_a_reply_nor_a_mark_lifts_what_a_person_decided(cast, night, head, decided):
    player = cast.players[0]
    Clearance.objects.create(
        player=player, level=decided, from_day=MONDAY, decided_by="R. Ash", decided_as="physio", decided_on=MONDAY
    )
    says(player, night, True, by=head)
    tap(night, player, "here", head)
    assert level(cast, player) == decided


def test_the_planner_and_the_pages_see_the_same_reply(cast, night, head):
    says(cast.players[0], night, False, by=head)
    problem = problem_of(cast.block, today=MONDAY).problem
    assert not problem.attends(player_id(cast.players[0].pk), session_id(night.pk))
    assert problem.attends(player_id(cast.players[0].pk), session_id(cast.nights[1].pk))


def test_a_reply_says_who_told_it_and_the_chain_of_events_holds(cast, night, head):
    player = cast.players[0]
    says(player, night, False, by=head)
    says(player, night, True)
    assert [(r.said_by, r.entered_by) for r in Reply.objects.all()] == [(str(head), head), (str(player), None)]
    assert list(broken_links(cast.squad.club)) == []


def test_the_same_again_adds_nothing(cast, night, head):
    assert [says(cast.players[0], night, by=head), says(cast.players[0], night, by=head)] == [1, 0]


def test_a_past_night_takes_no_reply(cast, night, head):
    with pytest.raises(Refused):
        note_replies(said=[Said(cast.players[0], night, True)], by=head, today=dt.date(2026, 10, 7))


def test_a_reply_is_never_changed(cast, night, head):
    says(cast.players[0], night, by=head)
    with pytest.raises(TypeError):
        Reply.objects.get().save()
    with pytest.raises(TypeError):
        Reply.objects.update(coming=False)


@pytest.mark.parametrize(
    ("fields", "holds"),
    [
        ({"coming": True, "from_time": dt.time(19, 10), "until_time": dt.time(19, 30)}, True),
        ({"coming": True, "from_time": dt.time(19, 30), "until_time": dt.time(19, 10)}, False),
        ({"coming": False}, True),
        ({"coming": False, "from_time": dt.time(19, 30)}, False),
        ({"coming": True, "said_by": ""}, False),
    ],
)
def test_the_database_keeps_replies_sound(cast, night, fields, holds):
    row = {"player": cast.players[0], "session": night, "said_by": "Bo"} | fields
    if holds:
        Reply.objects.create(**row)
        return
    with pytest.raises(IntegrityError), transaction.atomic():
        Reply.objects.create(**row)


# Marks


def test_sending_a_tap_twice_does_no_harm(cast, night, head):
    tapped = tap(night, cast.players[0], "here", head)
    assert mark(session=night, taps=[tapped, tapped], by=head, today=TUESDAY) == 0
    assert Mark.objects.count() == 1
    assert AuditEvent.objects.filter(did="marked who is here").count() == 1


def test_not_here_takes_him_off_the_night_and_here_brings_him_back(cast, night, head):
    player = cast.players[0]
    first = tap(night, player, "away", head)
    assert level(cast, player) == "absent"
    tap(night, player, "here", head, seen=[str(first.key)])
    assert level(cast, player) == "full"


def test_whoever_is_marked_here_counts_as_there_in_spite_of_a_no(cast, night, head):
    says(cast.players[0], night, False, by=head)
    tap(night, cast.players[0], "here", head)
    assert level(cast, cast.players[0]) == "full"


def test_the_rest_are_not_here_and_who_is_marked_stays(cast, night, head):
    tap(night, cast.players[0], "here", head)
    assert mark_rest_away(session=night, players=cast.players, by=head, today=TUESDAY) == len(cast.players) - 1
    assert level(cast, cast.players[0]) == "full"
    assert level(cast, cast.players[1]) == "absent"


def test_a_night_to_come_takes_no_mark(cast, night, head):
    with pytest.raises(Refused):
        mark(session=night, taps=[], by=head, today=MONDAY)


def test_a_stranger_of_another_squad_is_refused_and_nothing_is_written(cast, night, head):
    other = f.PlayerFactory()
    taps = [Tapped(uuid.uuid4(), p.pk, "here", night.starts_at) for p in (cast.players[0], other)]
    with pytest.raises(Refused):
        mark(session=night, taps=taps, by=head, today=TUESDAY)
    assert not Mark.objects.exists()


def test_the_database_keeps_marks_sound(cast, night, head):
    row = {"player": cast.players[0], "session": night, "at": night.starts_at, "by_name": "Bo"}
    Mark.objects.create(key=uuid.uuid4(), state="here", **row)
    for wrong in ({"state": "lost"}, {"state": "here", "by_name": ""}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Mark.objects.create(key=uuid.uuid4(), **(row | wrong))


def test_who_was_present_from_when_until_when(cast, night, head):
    early, late, due, said_no = cast.players[:4]
    says(due, night, from_time=dt.time(19, 20), by=head)
    says(said_no, night, False, by=head)
    tap(night, early, "here", head)
    tap(night, late, "late", head, minute=15)
    found = {stay.player: stay for stay in present_in(night)}
    assert found.keys() == {early.pk, late.pk, due.pk}
    minutes = {key: (stay.starts - night.starts_at).seconds // 60 for key, stay in found.items()}
    assert minutes == {early.pk: 0, late.pk: 15, due.pk: 20}
    assert [found[p.pk].is_marked for p in (early, late, due)] == [True, True, False]


def test_who_comes_late_says_from_when_and_is_expected(cast, night, head):
    says(cast.players[0], night, from_time=dt.time(19, 20), by=head)
    word = words_of([night])[cast.players[0].pk, night.pk]
    assert word.reason == "from 19:20"
    assert level(cast, cast.players[0]) == "full"


# How long marks are made


@pytest.mark.parametrize(("days", "is_taken"), [(-1, False), (0, True), (7, True), (8, False)])
def test_marks_are_made_on_the_night_and_a_week_after(squad, head, days, is_taken):
    night, player = f.SessionFactory(squad=squad), f.PlayerFactory(squad=squad)
    tap = Tapped(uuid.uuid4(), player.pk, "here", night.starts_at)
    today = night.day + dt.timedelta(days=days)
    if is_taken:
        assert mark(session=night, taps=[tap], by=head, today=today) == 1
        return
    with pytest.raises(Refused):
        mark(session=night, taps=[tap], by=head, today=today)
    assert not Mark.objects.exists()


def test_once_the_record_is_confirmed_nobody_is_marked_any_more(squad, head):
    night, player = f.SessionFactory(squad=squad), f.PlayerFactory(squad=squad)
    Confirmation.objects.create(session=night, number=1, plan_version=0, by=head, by_name="R. Ash")
    tap = Tapped(uuid.uuid4(), player.pk, "gone", night.starts_at)
    with pytest.raises(Refused, match="correct the record"):
        mark(session=night, taps=[tap], by=head, today=night.day)
