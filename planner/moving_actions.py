"""Changing a match together with the training that it meets, in one step.

The verb raises Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from planner.calendar_actions import save_fixture
from planner.changes import Refused
from planner.core.calendar import at_wall_time
from planner.models import Fixture, Session
from planner.pattern_actions import mark_final
from planner.session_actions import cancel_session, move_session
from planner.turns import hold_nights, take_turn
from shared.models import User

SEEN = ("kick_off", "all_day", "opponent", "home", "competition", "venue_id", "venue_words", "state")


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of a session on a match day: it moves to the day at its usual time, or without one is called off."""

    session: Session
    day: dt.date | None = None


@transaction.atomic
def change_match(
    *,
    fixture: Fixture,
    by: User,
    today: dt.date,
    fates: Iterable[Fate] = (),
    is_final: bool | None = None,
    was: str | None = None,
    **fields: Any,
) -> Fixture:
    """Save the match, and move or call off sessions with it. What is moved keeps its stations, to be judged anew.

    `is_final`: whether the club counts it as a final; None leaves that as it is. `was`: the digest of the match that
    the person saw; Refused if somebody else has made it another one since.
    """
    fates = list(fates)
    if fixture.pk and was is not None:
        refuse_unseen(fixture, was, fields)
    if fates:
        take_turn(fixture.squad)
        hold_nights(fate.session for fate in fates)
    saved = save_fixture(fixture=fixture, by=by, **fields)
    if is_final is not None:
        mark_final(saved, is_final, by)
    for fate in fates:
        if fate.day is None:
            cancel_session(session=fate.session, by=by, today=today)
        else:
            slide(fate.session, fate.day, by, today)
    return saved


def digest_of(fixture: Fixture) -> str:
    """Tells whether a match is still what somebody saw."""
    return hashlib.sha256(repr([str(getattr(fixture, name)) for name in SEEN]).encode()).hexdigest()[:16]


def refuse_unseen(fixture: Fixture, was: str, fields: Mapping[str, Any]) -> None:
    """Not where it is already what it should be: the same form was sent twice."""
    take_turn(fixture.squad)
    now = Fixture.objects.get(pk=fixture.pk)
    if digest_of(now) != was and any(getattr(now, name) != value for name, value in fields.items()):
        raise Refused(
            _("Somebody has changed this match since you opened it. Nothing was written: open it again, and look.")
        )


def slide(session: Session, day: dt.date, by: User, today: dt.date) -> None:
    """To another day at the same time of the clock."""
    starts_at = at_wall_time(day, session.starts.time(), session.zone)
    move_session(session=session, starts_at=starts_at, by=by, version=session.plan_version, today=today, keep_plan=True)
