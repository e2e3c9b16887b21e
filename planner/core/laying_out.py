"""A season from its nights: one day for each night and training week, and what becomes of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from planner.core.calendar import Stretch, at_wall_time, monday_of, weekdays_between, weeks_of


class Fate(StrEnum):
    """NEW: a session is made. STANDS: the night has its session of this week. The others: no session is made.

    OUTSIDE: the season or the night does not run that day. OFF: a break. TAKEN: another session stands at that moment.
    """

    NEW = "new"
    STANDS = "stands"
    PAST = "past"
    OUTSIDE = "outside"
    OFF = "off"
    MATCH = "match"
    TAKEN = "taken"


@dataclass(frozen=True, slots=True)
class Night:
    """One night of a week: `days` from when until when it runs, `weekday` 0 on Monday, `starts` on the wall clock."""

    key: int
    weekday: int
    starts: dt.time
    days: Stretch
    zone: dt.tzinfo


@dataclass(frozen=True, slots=True)
class Break:
    """Days without training. `uid`: how the source that it came from knows it; `key`: of its row, None if new."""

    name: str
    days: Stretch
    uid: str = ""
    key: int | None = None


@dataclass(frozen=True, slots=True)
class PatternDay:
    """`why`: the name of the break."""

    night: int
    day: dt.date
    starts_at: dt.datetime
    fate: Fate
    why: str = ""


@dataclass(frozen=True)
class Calendar:
    """What a season already holds. `laid`: night and Monday of the weeks that have its session, wherever it is now.

    `taken`: moments at which sessions of the squad begin. `match_days`: days on which no session is made. `now`: what
    would have begun by then is past, though it would be today.
    """

    season: Stretch
    today: dt.date
    breaks: Sequence[Break] = ()
    match_days: Collection[dt.date] = frozenset()
    laid: Collection[tuple[int, dt.date]] = frozenset()
    taken: Collection[dt.datetime] = frozenset()
    now: dt.datetime | None = None


def pattern_days(nights: Iterable[Night], calendar: Calendar) -> list[PatternDay]:
    """For each night one day in each training week of the season, in the order of the nights.

    Of two nights that begin at the same moment the first gets it. Making sessions of all that are NEW and asking
    again leaves none that is.
    """
    taken = {moment.astimezone(dt.UTC) for moment in calendar.taken}
    return [each for night in nights for each in _days_of(night, calendar, taken)]


def _days_of(night: Night, calendar: Calendar, taken: set[dt.datetime]) -> Iterator[PatternDay]:
    weeks = weeks_of(calendar.season)
    for day in weekdays_between(night.weekday, Stretch(weeks[0].first, weeks[-1].last)):
        starts_at = at_wall_time(day, night.starts, night.zone)
        fate, why = _fate(night, day, calendar)
        if fate in (Fate.NEW, Fate.MATCH, Fate.OFF) and calendar.now is not None and starts_at <= calendar.now:
            fate, why = Fate.PAST, ""
        if fate is Fate.NEW and starts_at.astimezone(dt.UTC) in taken:
            fate = Fate.TAKEN
        if fate is Fate.NEW:
            taken.add(starts_at.astimezone(dt.UTC))
        yield PatternDay(night.key, day, starts_at, fate, why)


def _fate(night: Night, day: dt.date, calendar: Calendar) -> tuple[Fate, str]:
    gap = next((gap for gap in calendar.breaks if day in gap.days), None)
    if (night.key, monday_of(day)) in calendar.laid:
        return Fate.STANDS, ""
    if day not in calendar.season or day not in night.days:
        return Fate.OUTSIDE, ""
    if day < calendar.today:
        return Fate.PAST, ""
    if gap:
        return Fate.OFF, gap.name
    return (Fate.MATCH if day in calendar.match_days else Fate.NEW), ""


@dataclass(frozen=True, slots=True)
class ClockChange:
    """Between two nights the clocks change: the wall time stays, the hours from UTC do not."""

    before: dt.datetime
    after: dt.datetime


def clock_changes(moments: Iterable[dt.datetime]) -> list[ClockChange]:
    """Where the offset from UTC changes from one moment to the next; `moments` of one zone, in order."""
    return [ClockChange(a, b) for a, b in pairwise(moments) if a.utcoffset() != b.utcoffset()]
