"""Bringing called-off sessions back, several in one step, with a look at what that does.

The verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable

from django.db import transaction
from django.utils.translation import gettext as _

from planner.break_actions import held
from planner.called_off import CalledOff, Return
from planner.changes import Refused
from planner.models import Season, Session
from planner.moved_told import Effects, effects_of
from planner.moving import what_if
from planner.session_actions import held as held_session
from planner.session_actions import put_back
from planner.turns import hold_nights
from shared.models import User


@transaction.atomic
def look_at_return(*, season: Season, sessions: Collection[int], by: User, today: dt.date) -> tuple[Return, Effects]:
    """What bringing them back would do, tried and taken back. Refused as by bring_back."""
    season = held(season)
    found = returning(season, sessions, today)
    days = {session.day for session in found.sessions}
    return found, effects_of(what_if(season.squad, days, lambda: restore_all(found.lines, by, today), today))


@transaction.atomic
def bring_back(
    *, season: Season, sessions: Collection[int], by: User, today: dt.date, seen: str | None = None
) -> list[Session]:
    """They take place after all, with what stands in them. One whose night has ended goes over to a night of the season
    on that weekday at that time, if one runs then. `seen`: the digest of what the person saw."""
    found = returning(held(season), sessions, today)
    if seen is not None and seen != found.digest:
        raise Refused(_("The calendar has changed since you saw this. Nothing was written: look through it again."))
    return restore_all(found.lines, by, today)


def returning(season: Season, sessions: Collection[int], today: dt.date) -> Return:
    if not sessions:
        raise Refused(_("Tick at least one session."))
    found = Return.of(season, sessions, today)
    if len(found.lines) < len(set(sessions)):
        raise Refused(_("One of these sessions is past, or no longer called off. Nothing was written: tick again."))
    return found


def restore_all(lines: Iterable[CalledOff], by: User, today: dt.date) -> list[Session]:
    lines = list(lines)
    hold_nights(line.session for line in lines)
    return [put_back(held_session(line.session), line.night, by, today) for line in lines]
