"""What each role opens the site for: this week, tonight, or who needs looking after."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from planner.coach_names import is_named
from planner.core.totals import monday_of
from planner.models import Block, PlanRun, Session
from planner.weeks import Night, SlotLine, StationLine, Week, week_of
from shared.models import AuditEvent, Club, JobState, User
from squads.models import Squad
from squads.returning import Returning, returning

SHOWN_EVENTS = 50
WEEK = dt.timedelta(days=7)


# The head coach: this week, and what does not fit yet


@dataclass(frozen=True)
class HeadNow:
    """`week` is this one, or the next once its last night is over; `run` is one that is under way."""

    week: Week
    run: PlanRun | None
    next_block: Block | None

    @property
    def misfits(self) -> list[str]:
        return [words for night in self.week.nights if night.is_open for words in night.misfits]


def head_now(squad: Squad, today: dt.date, now: dt.datetime | None = None) -> HeadNow:
    monday = monday_of(today)
    ahead = Session.objects.filter(squad=squad).between(today, monday + WEEK - dt.timedelta(days=1)).exists()
    runs = PlanRun.objects.filter(block__squad=squad, job__state__in=[JobState.QUEUED, JobState.RUNNING])
    return HeadNow(
        week_of(squad, monday if ahead else next_monday_with_nights(squad, monday), today, now),
        runs.select_related("block").defer("problem", "plan", "trace").first(),
        Block.objects.filter(squad=squad, first_day__gt=today).order_by("first_day").first(),
    )


def next_monday_with_nights(squad: Squad, monday: dt.date) -> dt.date:
    """The next week if a night is laid out in it; else this one stays in view."""
    coming = Session.objects.filter(squad=squad).between(monday + WEEK, monday + 2 * WEEK - dt.timedelta(days=1))
    return monday + WEEK if coming.exists() else monday


# An assistant: what do I run tonight


@dataclass(frozen=True)
class Tonight:
    """The next night, from its own day on until that day is over; `mine` are the stations of one coach."""

    night: Night
    week: Week
    mine: tuple[tuple[SlotLine, StationLine], ...]
    is_today: bool


def tonight(club: Club, user: User, today: dt.date) -> list[Tonight]:
    """The night of each squad that trains on the next day on which any does."""
    coming = Session.objects.of(club).filter(day__gte=today, cancelled=False).order_by("day", "starts_at")
    first = coming.values_list("day", flat=True).first()
    sessions = coming.filter(day=first).select_related("squad__club") if first else ()
    return [evening(session, user, today) for session in sessions]


def evening(session: Session, user: User, today: dt.date) -> Tonight:
    week = week_of(session.squad, monday_of(session.day), today, judged=False)
    night = week.night(session.pk)
    mine = tuple((line, each) for line in night.slots for each in line.stations if is_named(user, each.station.coach))
    return Tonight(night, week, mine, session.day == today)


# Both coaches: which nights nobody has confirmed

LOOKED_BACK = dt.timedelta(days=14)


def to_confirm(club: Club, now: dt.datetime) -> list[Session]:
    """Nights of the last fortnight that have begun and that nobody has confirmed, the latest first."""
    begun = Session.objects.of(club).filter(cancelled=False, starts_at__lte=now, starts_at__gt=now - LOOKED_BACK)
    return list(begun.filter(confirmations__isnull=True).select_related("squad__club").order_by("-starts_at"))


# The welfare officer, beside his week: who has a status, who decided what


@dataclass(frozen=True)
class Decisions:
    """`statuses`: players whom a decision or a return limits today; `events`: the latest changes in the club."""

    statuses: tuple[Returning, ...]
    events: tuple[AuditEvent, ...]


def decisions_now(club: Club, today: dt.date) -> Decisions:
    """What limits a player is reckoned where the list of returns reckons it, so that both say the same."""
    events = AuditEvent.objects.filter(club=club.slug).order_by("-number")[:SHOWN_EVENTS]
    return Decisions(tuple(returning(club.squads.all(), today)), tuple(events))
