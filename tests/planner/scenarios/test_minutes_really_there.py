"""Somebody comes late or leaves early: he is booked the minutes that he was there for, of contact and of skills.

The first case is a worked example of our own: he arrives in minute 55 of a night with four blocks.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections import defaultdict
from dataclasses import replace

import pytest
from django.db.models import prefetch_related_objects

from drills.actions import add_starter_library
from drills.models import Drill
from planner.attendance_actions import Tapped, mark
from planner.core.record import Here, Source, taken
from planner.days import Days
from planner.models import Session
from planner.record import part_of
from planner.record_actions import confirm_night, correct_line
from planner.record_days import blocks_on
from planner.record_models import Account, Confirmation, PlayerDay
from planner.totals import totals_of
from shared.core.contact import Kind
from tests import factories as f
from tests.planner.block_cast import BEFORE, stand

MONDAY, TUESDAY, AFTER = (dt.date(2026, 10, day) for day in (5, 6, 7))
# Minutes 10-30, 30-50, 52-66 and 70-82 by the numbers of the cards.
NIGHT = [(10, "Warm-up"), 20, 20, (2, "Water"), 14, (4, "Talk"), 12]
NEXT_MORNING = dt.datetime(2026, 10, 7, 9, tzinfo=f.LONDON)
CARDS = (12, 32, 20, 21)


@pytest.fixture
def cast(squad, head):
    add_starter_library(squad.club, by=head, today=BEFORE)
    f.ContactRulesFactory(club=squad.club, ladder_minutes=0)
    f.BlockFactory(squad=squad, weeks=1)
    players = [f.PlayerFactory(squad=squad, main_position=n % 8 + 1) for n in range(20)]
    starts = dt.datetime.combine(TUESDAY, dt.time(19), f.LONDON)
    night = f.SessionFactory(squad=squad, starts_at=starts, slots=NIGHT, width=70, length=100, kit={})
    cards = {drill.number: drill for drill in Drill.objects.of(squad.club)}
    for slot, number in zip(night.slots.filter(title=""), CARDS, strict=True):
        stand(slot, cards[number], players)
    return night, players[0]


def tap(night: Session, player, state: str, minute: int, by, seen=()) -> str:
    key = uuid.uuid4()
    at = night.starts_at + dt.timedelta(minutes=minute)
    mark(session=night, taps=[Tapped(key, player.pk, state, at, tuple(seen))], by=by, today=TUESDAY)
    return str(key)


def booked(night: Session, player) -> dict[str, float]:
    found = totals_of(night.squad, MONDAY, 1, today=AFTER).weeks[0].of(player.pk)
    return {kind.value: found.figure(kind).minutes for kind in (Kind.CONTROLLED, Kind.FULL)}


def skills(night: Session, player) -> dict[str, float]:
    days = Days.of(night.squad, TUESDAY, TUESDAY)
    prefetch_related_objects(days.sessions, "slots__stations__drill__skill_shares__skill")
    found: dict[str, float] = defaultdict(float)
    for took in taken(blocks_on(days, days.sessions[0]), night.pk, TUESDAY, Source.PLANNED):
        if took.player == player.pk:
            for code, minutes in took.skill_minutes((player.group, "all")).items():
                found[code] += minutes
    return dict(found)


@pytest.mark.parametrize(
    ("minute", "controlled", "full"),
    [
        (0, 10.0 + 7.0 + 3.5, 3.0),
        (20, 5.0 + 7.0 + 3.5, 3.0),
        (55, 2.75, 3.0),
        (66, 0, 3.0),
        (76, 0, 1.5),
    ],
)
def test_a_late_arrival_is_booked_the_contact_from_his_minute_on(cast, head, minute, controlled, full):
    night, player = cast
    tap(night, player, "late" if minute else "here", minute, head)
    assert booked(night, player) == pytest.approx({"controlled": controlled, "full": full})


@pytest.mark.parametrize(("minute", "controlled", "full"), [(60, 10 + 7 + 2.0, 0), (40, 10 + 3.5, 0), (76, 20.5, 1.5)])
def test_whoever_leaves_early_is_booked_what_he_had_until_then(cast, head, minute, controlled, full):
    night, player = cast
    came = tap(night, player, "here", -5, head)
    tap(night, player, "gone", minute, head, seen=[came])
    assert booked(night, player) == pytest.approx({"controlled": controlled, "full": full})


def test_the_record_of_the_night_books_the_same_and_follows_a_correction(cast, head):
    """Marked as late in minute 55, confirmed as it ran, then put right: he was there from minute 30 on."""
    night, player = cast
    tap(night, player, "late", 55, head)
    fresh = Session.objects.select_related("squad__club").get(pk=night.pk)
    confirm_night(session=fresh, by=head, version=fresh.plan_version, now=NEXT_MORNING)
    kept = PlayerDay.objects.get(player=player)
    assert (kept.controlled, kept.full, kept.minutes) == (275, 300, 11 + 4 + 12)
    assert booked(night, player) == pytest.approx({"controlled": 2.75, "full": 3.0})
    his = Account.objects.filter(session=night, lines__presences__player=player, drill__isnull=False)
    assert sorted(his.values_list("drill__number", flat=True)) == [20, 21]

    second = Account.objects.get(session=night, drill__number=32)
    parts = [part_of(line) for line in second.lines.all()]
    put_right = [replace(part, here={**part.here, player.pk: Here(part.minutes)}) for part in parts]
    correct_line(
        session=fresh, spot=second.spot, parts=put_right, seen=second.pk, by=head, may_correct=True, now=NEXT_MORNING,
        why="he came for the second block",
    )  # fmt: skip
    assert PlayerDay.objects.get(player=player).controlled == 275 + 700
    assert booked(night, player) == pytest.approx({"controlled": 9.75, "full": 3.0})
    (change,) = Confirmation.objects.filter(session=night, number=2)
    assert (change.by_name, change.what) == (
        str(head),
        f"{second.title}: 20 min C3, 19 players → 20 min C3, 20 players",
    )


def test_skills_are_booked_likewise(cast, head):
    night, player = cast
    tap(night, player, "late", 55, head)
    other = next(p for p in night.squad.players.all() if p.pk != player.pk and p.group == player.group)
    his, whole = skills(night, player), skills(night, other)
    wanted = defaultdict(float)
    for number, minutes in ((20, 11), (21, 12)):
        drill = Drill.objects.of(night.squad.club).get(number=number)
        for entry in drill.skill_shares.select_related("skill"):
            wanted[entry.skill.code] += minutes * entry.share / 100
    assert his == pytest.approx(dict(wanted))
    assert sum(his.values()) == pytest.approx(23)
    assert sum(whole.values()) == pytest.approx(66)
