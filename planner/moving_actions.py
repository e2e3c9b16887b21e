"""Changing a match together with the training that it meets, in one step.

The verb raises Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from planner.calendar_actions import save_fixture
from planner.core.calendar import at_wall_time
from planner.models import Fixture, Session
from planner.pattern_actions import mark_final
from planner.session_actions import cancel_session, move_session
from planner.turns import hold_nights, take_turn
from shared.models import User


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
    **fields: Any,
) -> Fixture:
    """Save the match, and move or call off sessions with it. What is moved keeps its stations, to be judged anew.

    `is_final`: whether the club counts it as a final; None leaves that as it is.
    """
    fates = list(fates)
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


def slide(session: Session, day: dt.date, by: User, today: dt.date) -> None:
    """To another day at the same time of the clock."""
    starts_at = at_wall_time(day, session.starts.time(), session.zone)
    move_session(session=session, starts_at=starts_at, by=by, version=session.plan_version, today=today, keep_plan=True)
