"""Sessions laid out from nights against the breaks of their season: which fall out, and which come back.

A session falls out when its day lies in a break; it comes back when it no longer does. One that somebody called off
or put back by hand stays as that person left it, and so does what is past, marked or locked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import F

from planner.core.breaks import why_off
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.models import Season, Session
from planner.night_models import FellOut
from planner.scope import sessions_in, why_it_stays
from planner.turns import hold_nights


def breaks_of(season: Season) -> list[Break]:
    return [Break(gap.name, Stretch(gap.first_day, gap.last_day), gap.uid, gap.pk) for gap in season.breaks.all()]


@dataclass(frozen=True)
class FallingOut:
    """`falls`: with the name of the break. `stays`: neither called off nor put back, with the reason.

    `renamed`: they fell out before, and the break has another name now.
    """

    falls: tuple[tuple[Session, str], ...] = ()
    returns: tuple[Session, ...] = ()
    stays: tuple[tuple[Session, str], ...] = ()
    forgotten: tuple[Session, ...] = ()  # put back by hand, and no longer in a break: nothing is left to remember
    renamed: tuple[tuple[Session, str], ...] = ()

    @property
    def is_nothing(self) -> bool:
        return not (self.falls or self.returns)

    @classmethod
    def of(
        cls,
        season: Season,
        breaks: Sequence[Break],
        today: dt.date,
        among: Collection[int] | None = None,
        before: Sequence[Break] = (),
    ) -> FallingOut:
        """`among`: keys of the sessions that are looked at, if not all.

        `before`: the breaks until now. A session that takes place in one of them was set there by somebody.
        """
        fates = Fates(breaks, before, today)
        for session in sessions_in(season):
            if among is None or session.pk in among:
                fates.add(session)
        return cls(*map(tuple, (fates.falls, fates.returns, fates.stays, fates.forgotten, fates.renamed)))


@dataclass
class Fates:
    """Sorts sessions one after the other."""

    breaks: Sequence[Break]
    before: Sequence[Break]
    today: dt.date
    falls: list[tuple[Session, str]] = field(default_factory=list)
    returns: list[Session] = field(default_factory=list)
    stays: list[tuple[Session, str]] = field(default_factory=list)
    forgotten: list[Session] = field(default_factory=list)
    renamed: list[tuple[Session, str]] = field(default_factory=list)

    def add(self, session: Session) -> None:
        why, fell = why_off(session.day, self.breaks), hasattr(session, "fell_out")
        if why and fell:
            self.rename(session, why)
        elif why and not session.cancelled and not why_off(session.day, self.before):
            self.change(session, self.falls, (session, why))
        elif not why and fell and session.day >= self.today:
            self.come_back(session)

    def rename(self, session: Session, why: str) -> None:
        if session.fell_out.why != why:
            self.renamed.append((session, why))

    def come_back(self, session: Session) -> None:
        if session.cancelled:
            self.change(session, self.returns, session)
        else:
            self.forgotten.append(session)

    def change(self, session: Session, changed: list, entry: object) -> None:
        if reason := why_it_stays(session, self.today):
            self.stays.append((session, reason))
        else:
            changed.append(entry)


def write(found: FallingOut) -> None:
    """Call it in the transaction of the change that it comes from, which holds the lock on the squad."""
    hold_nights([*(session for session, _why in found.falls), *found.returns])
    set_cancelled([session for session, _why in found.falls], True)
    set_cancelled(found.returns, False)
    FellOut.objects.filter(session__in=[*found.returns, *found.forgotten]).delete()
    for session, why in found.renamed:
        FellOut.objects.filter(session=session).update(why=why)
    FellOut.objects.bulk_create(FellOut(session=session, why=why) for session, why in found.falls)


def set_cancelled(sessions: Iterable[Session], cancelled: bool) -> None:
    keys = [session.pk for session in sessions]
    Session.objects.filter(pk__in=keys).update(cancelled=cancelled, plan_version=F("plan_version") + 1)
