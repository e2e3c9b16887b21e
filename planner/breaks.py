"""What a change of a season's breaks would do to its sessions and nights: rows in, one plan out, nothing written."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.breaks import why_off
from planner.core.calendar import Stretch
from planner.core.laying_out import Break, Fate
from planner.falling_out import FallingOut, breaks_of
from planner.laying_out import Layout
from planner.models import Season
from shared.clock import WallTime

MOST_BREAKS = 300


@dataclass(frozen=True)
class BreaksPlan:
    """`left_out` and `to_lay_out`: when nights that have no session yet would, or would no longer, fall out, by the
    clock of where they are."""

    season: Season
    known: tuple[Break, ...]
    wanted: tuple[Break, ...]
    falling: FallingOut
    left_out: tuple[tuple[WallTime, str], ...]
    to_lay_out: tuple[WallTime, ...]

    @classmethod
    def of(cls, season: Season, wanted: Sequence[Break], today: dt.date) -> BreaksPlan:
        """The season's squad and club should be fetched with it."""
        known = breaks_of(season)
        days = [(each, on_the_wall(each.starts_at)) for each in Layout.of(season, today).days]
        return cls(
            season,
            tuple(known),
            tuple(wanted),
            FallingOut.of(season, wanted, today, before=known),
            tuple((at, why) for each, at in days if each.fate is Fate.NEW and (why := why_off(each.day, wanted))),
            tuple(at for each, at in days if each.fate is Fate.OFF and not why_off(each.day, wanted)),
        )

    @property
    def is_plain(self) -> bool:
        """It changes no session and nothing that will be laid out."""
        return self.falling.is_nothing and not self.left_out and not self.to_lay_out

    @property
    def days(self) -> set[dt.date]:
        """Days on which a session is called off or comes back."""
        return {session.day for session, _why in self.falling.falls} | {s.day for s in self.falling.returns}

    @property
    def digest(self) -> str:
        """So that nobody saves what he has not seen."""
        falling = self.falling
        sessions = [(s.pk, s.plan_version, why) for s, why in falling.falls], [(s.pk, why) for s, why in falling.stays]
        back = [(session.pk, session.plan_version) for session in falling.returns]
        return digest((self.wanted, *sessions, back, self.left_out, self.to_lay_out))


def on_the_wall(moment: dt.datetime) -> WallTime:
    return WallTime.of(moment, moment.tzinfo or dt.UTC)


def digest(shown: object) -> str:
    return hashlib.sha256(repr(shown).encode()).hexdigest()[:16]


def digest_of(season: Season) -> str:
    """Tells whether the breaks of a season are still those that somebody saw."""
    return digest(breaks_of(season))


def days_told(days: Stretch) -> str:
    """ "Mon 26 – Fri 30 Oct 2026", "Sun 20 Dec 2026 – Sun 3 Jan 2027", "Fri 25 Dec 2026"."""
    last = date_format(days.last, "D j M Y")
    if days.first == days.last:
        return last
    if days.first.year != days.last.year:
        return f"{date_format(days.first, 'D j M Y')} – {last}"
    is_one_month = days.first.month == days.last.month
    return f"{date_format(days.first, 'D j' if is_one_month else 'D j M')} – {last}"


def told(gap: Break) -> str:
    return _("%(name)s, %(days)s") % {"name": gap.name, "days": days_told(gap.days)}


def refuse_breaks(season: Season, wanted: Iterable[Break]) -> None:
    wanted = list(wanted)
    if len(wanted) > MOST_BREAKS:
        raise Refused(
            _("A season holds at most %(most)d breaks. Put days that follow each other into one.")
            % {"most": MOST_BREAKS}
        )
    for gap in wanted:
        if not season.first_day <= gap.days.first <= gap.days.last <= season.last_day:
            raise Refused(
                _("“%(name)s” must end after it begins, and lie within the season (%(first)s to %(last)s).")
                % {"name": gap.name, "first": season.first_day, "last": season.last_day}
            )
