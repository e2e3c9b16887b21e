"""Sessions laid out from nights against the breaks of their season: which fall out, and which come back.

A session falls out when its day lies in a break; it comes back when it no longer does. One that somebody called off
or put back by hand stays as that person left it, and so does what is past, marked or locked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import F

from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.models import Season, Session
from planner.night_models import FellOut
from planner.scope import sessions_in, why_it_stays


def breaks_of(season: Season) -> list[Break]:
    return [Break(gap.name, Stretch(gap.first_day, gap.last_day)) for gap in season.breaks.all()]


@dataclass(frozen=True)
class FallingOut:
    """`falls`: with the name of the break. `stays`: in a break and not called off, with the reason."""

    falls: tuple[tuple[Session, str], ...] = ()
    returns: tuple[Session, ...] = ()
    stays: tuple[tuple[Session, str], ...] = ()
    forgotten: tuple[Session, ...] = ()  # put back by hand, and no longer in a break: nothing is left to remember

    @property
    def is_nothing(self) -> bool:
        return not (self.falls or self.returns)

    @classmethod
    def of(
        cls, season: Season, breaks: Sequence[Break], today: dt.date, among: Collection[int] | None = None
    ) -> FallingOut:
        """`among`: keys of the sessions that are looked at, if not all."""
        falls, returns, stays, forgotten = [], [], [], []
        for session in sessions_in(season):
            if among is not None and session.pk not in among:
                continue
            why = next((gap.name for gap in breaks if session.day in gap.days), "")
            fell = hasattr(session, "fell_out")
            if why and not session.cancelled and not fell:
                reason = why_it_stays(session, today)
                (stays if reason else falls).append((session, reason or why))
            elif not why and fell and session.day >= today:
                (returns if session.cancelled else forgotten).append(session)
        return cls(tuple(falls), tuple(returns), tuple(stays), tuple(forgotten))


def write(found: FallingOut) -> None:
    """Call it in the transaction of the change that it comes from."""
    set_cancelled([session for session, _why in found.falls], True)
    set_cancelled(found.returns, False)
    FellOut.objects.filter(session__in=[*found.returns, *found.forgotten]).delete()
    FellOut.objects.bulk_create(FellOut(session=session, why=why) for session, why in found.falls)


def set_cancelled(sessions: Iterable[Session], cancelled: bool) -> None:
    keys = [session.pk for session in sessions]
    Session.objects.filter(pk__in=keys).update(cancelled=cancelled, plan_version=F("plan_version") + 1)
