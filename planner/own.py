"""What a player sees on his own page: his next nights with his replies, and his own contact. Nothing of others.

Nothing here tells what he may or may not do, nor why: no word on anybody's health leaves the club's own pages.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from planner.attendance import span_of_session
from planner.attendance_models import Reply
from planner.core.totals import Figure, Room, monday_of
from planner.models import Session, Slot
from planner.rpe import Asked, asked_of, while_in_squad
from planner.totals import totals_of
from squads.models import Player

DAYS_AHEAD = dt.timedelta(days=21)
MOST_NIGHTS = 8
MOST_ASKED = 4  # nights and matches that he is asked about at once
WEEKS_BACK = 4
WEEK = dt.timedelta(weeks=1)


@dataclass(frozen=True)
class OwnNight:
    """A night to come and what was said of him for it last, by him or by a coach who was told."""

    session: Session
    ends: dt.datetime
    reply: Reply | None

    @property
    def place(self) -> str:
        return ", ".join(part for part in (str(self.session.where), self.session.pitch) if part)

    @property
    def is_from_a_coach(self) -> bool:
        return self.reply is not None and self.reply.entered_by_id is not None


@dataclass(frozen=True)
class OwnFigure:
    """His contact of one kind in a week, in minutes, and where it stands against the limit; nothing of his status."""

    figure: Figure

    @property
    def is_past(self) -> bool:
        return self.figure.against_limit is Room.PAST

    @property
    def is_near(self) -> bool:
        return self.figure.against_limit is Room.NEAR


@dataclass(frozen=True)
class OwnWeek:
    monday: dt.date
    is_this_week: bool
    figures: tuple[OwnFigure, ...]


@dataclass(frozen=True)
class OwnPage:
    player: Player
    nights: tuple[OwnNight, ...]
    weeks: tuple[OwnWeek, ...]
    asked: tuple[Asked, ...]


def own_page(player: Player, today: dt.date, now: dt.datetime) -> OwnPage:
    """In a fixed number of queries; the player's squad and club should be fetched with him."""
    nights, weeks = nights_ahead(player, today), own_weeks(player, today)
    return OwnPage(player, tuple(nights), tuple(weeks), tuple(asked_of(player, now)[:MOST_ASKED]))


def nights_ahead(player: Player, today: dt.date) -> Iterable[OwnNight]:
    sessions = list(own_sessions(player).filter(day__gte=today, day__lte=today + DAYS_AHEAD)[:MOST_NIGHTS])
    rows = Reply.objects.filter(player=player, session__in=[session.pk for session in sessions])
    replies = {row.session_id: row for row in rows.order_by("said_at", "pk")}
    for session in sessions:
        yield OwnNight(session, session.on_the_wall(span_of_session(session)[1]), replies.get(session.pk))


def own_sessions(player: Player) -> QuerySet[Session]:
    """Nights of his squad, on the days on which he is of it; none that was called off."""
    nights = Session.objects.filter(while_in_squad(player), squad=player.squad_id, cancelled=False).order_by(
        "starts_at"
    )
    return nights.select_related("squad__club", "squad").prefetch_related(Prefetch("slots", Slot.objects.all()))


def own_weeks(player: Player, today: dt.date) -> Iterable[OwnWeek]:
    """The last four weeks, this one included, the newest first."""
    this_monday = monday_of(today)
    totals = totals_of(player.squad, this_monday - (WEEKS_BACK - 1) * WEEK, WEEKS_BACK, today, only=player)
    for week in reversed(totals.weeks):
        if found := week.of(player.pk):
            yield OwnWeek(week.monday, week.monday == this_monday, tuple(map(OwnFigure, found.figures)))
