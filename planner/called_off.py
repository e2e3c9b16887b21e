"""Sessions ahead that were called off: why, and what bringing them back meets. Rows in, nothing written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.breaks import digest
from planner.core.breaks import why_off
from planner.core.calendar import at_wall_time, monday_of
from planner.falling_out import breaks_of
from planner.laying_out import meets
from planner.models import Season, Session, TrainingNight


@dataclass(frozen=True)
class CalledOff:
    """`why` it was called off. `night`: the night that it will belong to again, where its own has ended."""

    session: Session
    why: str
    night: TrainingNight | None


def called_off(season: Season, today: dt.date) -> list[CalledOff]:
    """Those of the season from today on, in the order of time."""
    sessions = ahead(season, today).filter(cancelled=True).select_related("night", "fell_out", "squad__club")
    homes = Homes(season, list(season.nights.all()))
    return [CalledOff(session, why_it_is_off(session, season), homes.of(session)) for session in sessions]


def ahead(season: Season, today: dt.date):
    first = max(season.first_day, today)
    return season.squad.sessions.with_length().filter(day__range=(first, season.last_day)).order_by("starts_at")


def why_it_is_off(session: Session, season: Season) -> str:
    if hasattr(session, "fell_out"):
        return _("falls out: %(why)s") % {"why": session.fell_out}
    if session.pattern_day and has_lost_its_night(session, season):
        return _("its night has ended")
    return _("called off by hand")


def has_lost_its_night(session: Session, season: Season) -> bool:
    return session.night is None or session.pattern_day not in session.night.days_in(season)


class Homes:
    """Which night of the season a session belongs to whose own night has ended: one on that weekday at that time that
    runs on that day and has no session in that week."""

    def __init__(self, season: Season, nights: Sequence[TrainingNight]) -> None:
        self.season, self.nights = season, nights
        held = Session.objects.filter(night__in=nights, pattern_day__isnull=False)
        self.held = {(night, monday_of(day)) for night, day in held.values_list("night", "pattern_day")}

    def of(self, session: Session) -> TrainingNight | None:
        if not session.pattern_day or not has_lost_its_night(session, self.season):
            return None
        return next((night for night in self.nights if self.fits(night, session)), None)

    def fits(self, night: TrainingNight, session: Session) -> bool:
        # At one moment the squad has one session, so that no two go over to one night on one day.
        is_then = night.weekday == session.day.weekday()
        is_then = is_then and at_wall_time(session.day, night.starts, night.zone) == session.starts_at
        is_free = (night.pk, monday_of(session.day)) not in self.held
        return is_then and is_free and session.day in night.days_in(self.season)


def home_of(session: Session) -> TrainingNight | None:
    """The night that a session belongs to once it is back, if that is another one than its own."""
    season = session.squad.seasons.filter(first_day__lte=session.day, last_day__gte=session.day).first()
    return Homes(season, list(season.nights.all())).of(session) if season else None


@dataclass(frozen=True)
class Return:
    """Sessions that are brought back, and sentences on what they meet."""

    lines: tuple[CalledOff, ...]
    notes: tuple[str, ...]

    @classmethod
    def of(cls, season: Season, keys: Collection[int], today: dt.date) -> Return:
        lines = tuple(line for line in called_off(season, today) if line.session.pk in keys)
        back = [line.session for line in lines]
        standing = list(ahead(season, today).filter(cancelled=False))
        return cls(lines, tuple(notes_on(season, back, standing)))

    @property
    def sessions(self) -> list[Session]:
        return [line.session for line in self.lines]

    @property
    def digest(self) -> str:
        nights = [line.night.pk if line.night else None for line in self.lines]
        return digest(([(session.pk, session.plan_version) for session in self.sessions], nights, self.notes))


def notes_on(season: Season, back: Sequence[Session], standing: Sequence[Session]) -> Iterator[str]:
    """What stands beside them on the day, and breaks that their day lies in."""
    breaks = breaks_of(season)
    for place, session in enumerate(back):
        when = date_format(session.starts, "D j M, H:i")
        if why := why_off(session.day, breaks):
            yield _("%(when)s: the day falls out (%(why)s). It takes place all the same.") % {"when": when, "why": why}
        for other in (*standing, *back[:place]):
            if meets(session.starts_at, session.minutes, other.starts_at, other.minutes):
                clock = f"{other.starts_at.astimezone(session.zone):%H:%M}"
                yield _("%(when)s: it runs into the session at %(clock)s. Both would stand.") % {
                    "when": when,
                    "clock": clock,
                }
