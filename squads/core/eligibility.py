"""The most that a player may take part in on a day, with its reason in a coach's words.

Nothing here says that anybody is fit. A ceiling comes down from what people entered: who is away, what a
named person cleared, when matches are, and the contact rules that the club chose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shared.core.contact import Level


@dataclass(frozen=True, slots=True)
class MatchRules:
    """Days that must lie between a match and contact.

    `full_after` = 3: the first day with full contact is the third after a match, Tuesday after a Saturday;
    `full_before` = 3: the last one is the third before, Wednesday. The same for controlled contact.
    """

    full_after: int
    full_before: int
    controlled_after: int
    controlled_before: int


@dataclass(frozen=True, slots=True)
class Cleared:
    """A decision that holds from a day on, until the next one. `by` names who decided."""

    from_day: date
    level: Level
    by: str = ""


@dataclass(frozen=True, slots=True)
class Ceiling:
    """`reason` is empty where nothing stands against full work."""

    level: Level
    reason: str = ""


UNLIMITED = Ceiling(Level.FULL)


def ceiling(
    day: date,
    *,
    joined: date | None = None,
    left: date | None = None,
    absences: Iterable[tuple[date, date]] = (),
    cleared: Sequence[Cleared] = (),
    matches: Iterable[date] = (),
    rules: MatchRules | None = None,
) -> Ceiling:
    """The lowest of all that speaks against full work on the day; at the same height the first named below.

    Membership, absences (first and last day, both inside), the latest clearance in force, matches before and
    after. Decisions of one day count in the order given: the last one holds.
    """
    objections = [
        *_membership(day, joined, left),
        *_absence(day, absences),
        *_clearance(day, cleared),
        *_matches(day, matches, rules),
    ]
    return min(objections, key=lambda each: each.level.height, default=UNLIMITED)


def _membership(day: date, joined: date | None, left: date | None) -> Iterator[Ceiling]:
    if joined is not None and day < joined:
        yield Ceiling(Level.ABSENT, f"joins on {_say(joined)}")
    if left is not None and day > left:
        yield Ceiling(Level.ABSENT, f"left on {_say(left)}")


def _absence(day: date, absences: Iterable[tuple[date, date]]) -> Iterator[Ceiling]:
    last_days = [last for first, last in absences if first <= day <= last]
    if last_days:
        yield Ceiling(Level.ABSENT, f"away until {_say(max(last_days))}")


def _clearance(day: date, cleared: Sequence[Cleared]) -> Iterator[Ceiling]:
    in_force = [(entry.from_day, place) for place, entry in enumerate(cleared) if entry.from_day <= day]
    if not in_force:
        return
    entry = cleared[max(in_force)[1]]
    if entry.level is not Level.FULL:
        by = f", decided by {entry.by}" if entry.by else ""
        yield Ceiling(entry.level, f"{_STATUS[entry.level]} since {_say(entry.from_day)}{by}")


_STATUS = {
    Level.ABSENT: "out of training",
    Level.NONE: "non-contact only",
    Level.CONTROLLED: "controlled contact at most",
}


def _matches(day: date, matches: Iterable[date], rules: MatchRules | None) -> Iterator[Ceiling]:
    """Without rules a match binds nothing but its own day."""
    days = list(matches)
    if day in days:
        yield Ceiling(Level.NONE, "match day")
    if rules is None:
        return
    since = min(((day - match).days for match in days if match < day), default=None)
    until = min(((match - day).days for match in days if match > day), default=None)
    if since is not None:
        yield from _too_close(since, rules.full_after, rules.controlled_after, "after")
    if until is not None:
        yield from _too_close(until, rules.full_before, rules.controlled_before, "before")


def _too_close(days: int, full: int, controlled: int, side: str) -> Iterator[Ceiling]:
    told = f"{days} day{'' if days == 1 else 's'} {side} a match"
    if days < controlled:
        yield Ceiling(Level.NONE, f"{told}: no contact")
    elif days < full:
        yield Ceiling(Level.CONTROLLED, f"{told}: controlled contact at most")


def _say(day: date) -> str:
    return f"{day.day} {day:%b}"


def match_day_label(day: date, matches: Iterable[date], within: int = 6) -> str:
    """The day against the nearest match: "MD", "MD-3", "MD+1"; empty with none within so many days.

    Days before a match are told before days after one, as coaches do.
    """
    days = sorted(matches)
    if day in days:
        return "MD"
    ahead = [(match - day).days for match in days if timedelta(0) < match - day <= timedelta(days=within)]
    if ahead:
        return f"MD-{min(ahead)}"
    behind = [(day - match).days for match in days if timedelta(0) < day - match <= timedelta(days=within)]
    return f"MD+{min(behind)}" if behind else ""
