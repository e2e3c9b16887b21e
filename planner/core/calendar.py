"""The clock and the calendar of a season: nights laid out, training weeks, days to a match, times within a session.

Recurrence is RFC 5545's, through dateutil. All times are the wall time of a zone: 19:00 stays 19:00 when clocks change.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from dateutil.rrule import WEEKLY, rrule, rrulestr

A_WEEK = dt.timedelta(days=7)
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
FAR_FROM_A_MATCH = 7


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days from first to last, both included."""

    first: dt.date
    last: dt.date

    def __contains__(self, day: dt.date) -> bool:
        return self.first <= day <= self.last

    def meets(self, other: Stretch) -> bool:
        return self.first <= other.last and other.first <= self.last


def at_wall_time(day: dt.date, clock: dt.time, zone: dt.tzinfo) -> dt.datetime:
    """The moment at which a clock in the zone shows `clock` on that day.

    A time that comes twice means the first; one that is skipped is read with the offset before the gap, so
    that 02:30 becomes 03:30 where an hour is left out (RFC 5545, section 3.3.5).
    """
    wall = dt.datetime.combine(day, clock.replace(tzinfo=None, fold=0), zone)
    return wall.astimezone(dt.UTC).astimezone(zone)


def recurring(rule: str, starts: dt.datetime, without: Iterable[dt.datetime] = ()) -> Iterator[dt.datetime]:
    """What an RRULE gives from DTSTART on, in order, without the EXDATEs (RFC 5545, 3.8.5.1 and 3.8.5.3).

    With a zone in `starts` the clock on the wall stays the same when clocks change. DTSTART itself is among them
    if the rule gives it; the standard leaves the other case open. An endless rule gives an endless iterator.
    Raises ValueError for what is no rule.
    """
    gone = set(without)
    for wall in rrulestr(rule, dtstart=starts):
        moment = at_wall_time(wall.date(), wall.time(), wall.tzinfo) if wall.tzinfo else wall
        if moment not in gone:
            yield moment


def weekdays_between(weekday: int, days: Stretch, off: Collection[Stretch] = ()) -> list[dt.date]:
    """Every such weekday (0 is Monday) of the days, without those that lie in a stretch of `off`."""
    rule = f"FREQ=WEEKLY;BYDAY={WEEKDAYS[weekday]};UNTIL={days.last:%Y%m%d}T000000"
    found = (moment.date() for moment in recurring(rule, dt.datetime.combine(days.first, dt.time())))
    return [day for day in found if not any(day in stretch for stretch in off)]


def monday_of(day: dt.date) -> dt.date:
    """The first day of the training week, which runs from Monday to Sunday."""
    return day - dt.timedelta(days=day.weekday())


def week_of(day: dt.date) -> Stretch:
    monday = monday_of(day)
    return Stretch(monday, monday + dt.timedelta(days=6))


def weeks_of(days: Stretch) -> list[Stretch]:
    """The whole training weeks that the days touch, in order."""
    start, end = (dt.datetime.combine(day, dt.time()) for day in (monday_of(days.first), days.last))
    return [week_of(moment.date()) for moment in rrule(WEEKLY, dtstart=start, until=end)]


def week_number(day: dt.date, first_day: dt.date) -> int:
    """1 in the training week that holds the season's first day."""
    return (monday_of(day) - monday_of(first_day)) // A_WEEK + 1


def iso_week(day: dt.date) -> tuple[int, int]:
    """Year and number of the week by ISO 8601: week 1 is the one that holds the year's first Thursday."""
    year, week, _weekday = day.isocalendar()
    return year, week


@dataclass(frozen=True, slots=True)
class MatchDistance:
    """Days since the last match and until the next; 0 in both on a match day, None where there is none."""

    since: int | None
    until: int | None

    def __str__(self) -> str:
        """As coaches say it: MD, MD-4, MD+1; "" when no match is within a week.

        Common practice, no published rule: the next match within six days names the day, save that the day
        after a match is MD+1. With no match ahead the last one names it.
        """
        if self.until == 0:
            return "MD"
        if self.since == 1:
            return "MD+1"
        if self.until is not None and self.until < FAR_FROM_A_MATCH:
            return f"MD-{self.until}"
        if self.since is not None and self.since < FAR_FROM_A_MATCH:
            return f"MD+{self.since}"
        return ""


def match_distance(day: dt.date, match_days: Sequence[dt.date]) -> MatchDistance:
    """`match_days` in order."""
    before, after = bisect_right(match_days, day), bisect_left(match_days, day)
    return MatchDistance(
        (day - match_days[before - 1]).days if before else None,
        (match_days[after] - day).days if after < len(match_days) else None,
    )


def timeline(starts: dt.datetime, minutes: Iterable[int]) -> list[tuple[dt.datetime, dt.datetime]]:
    """Start and end of each slot on the clock of `starts`, one after the other without a gap."""
    spans = []
    moment = starts.astimezone(dt.UTC)
    for length in minutes:
        end = moment + dt.timedelta(minutes=length)
        spans.append((moment.astimezone(starts.tzinfo), end.astimezone(starts.tzinfo)))
        moment = end
    return spans
