"""The most that a player may take part in on a day, and why.

Five things set a ceiling: belonging to the squad, being away, the clearance that a person decided, the dates of a
return that is under way, and the distance to a match. The lowest holds. Nothing here raises a ceiling: that takes
a decision by a person. Days are calendar dates of the club, so that no clock change can shift them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shared.core.contact import Level
from squads.core.graduated import Course
from squads.core.spoken import days, spoken
from squads.core.union_tables import Step

WORDS = {
    Level.ABSENT: "no training",
    Level.NONE: "no contact",
    Level.CONTROLLED: "controlled at most",
    Level.FULL: "all work",
}


@dataclass(frozen=True, slots=True)
class Ceiling:
    level: Level
    reason: str


@dataclass(frozen=True, slots=True)
class Away:
    """Away from `first` to `last`, both included."""

    first: dt.date
    last: dt.date


@dataclass(frozen=True, slots=True)
class Word:
    """What is known of one night: whether he comes, and from and until when where that is not all of it."""

    coming: bool
    reason: str = ""
    starts: dt.datetime | None = None
    ends: dt.datetime | None = None

    def holds(self, starts: dt.datetime, ends: dt.datetime) -> bool:
        """He is there for all of that stretch."""
        return (
            self.coming and (self.starts is None or self.starts <= starts) and (self.ends is None or self.ends >= ends)
        )


@dataclass(frozen=True, slots=True)
class Decision:
    """A clearance: from `from_day` on at most `level`, as `decided_by` decided on `decided_on`."""

    from_day: dt.date
    level: Level
    decided_on: dt.date
    decided_by: str


@dataclass(frozen=True, slots=True)
class MatchRules:
    """First day after and last day before a match with the kind of contact, in days.

    Full contact `full_after=3`: from Tuesday on after a Saturday match; `full_before=2`: until Thursday before it.
    """

    full_after: int
    full_before: int
    controlled_after: int
    controlled_before: int


def ceiling(
    day: dt.date,
    *,
    joined: dt.date | None = None,
    left: dt.date | None = None,
    absences: Iterable[Away] = (),
    word: Word | None = None,
    decisions: Sequence[Decision] = (),
    courses: Iterable[Course] = (),
    matches: Iterable[dt.date] = (),
    rules: MatchRules | None = None,
) -> Ceiling:
    """The lowest ceiling of the day with its reason; of two equally low ones the first in the order above.

    `decisions` stand in the order in which they were entered. `joined` and `left` are the first and the last
    day in the squad. Without `rules` only the day of a match itself is kept free of contact. A `word` on this very
    night stands before absences by dates; it lifts nothing that a person decided.
    """
    ceilings = [
        *by_membership(day, joined, left),
        *(by_absence(day, absences) if word is None else by_word(word)),
        *by_clearance(day, decisions),
        *by_return(day, courses),
        *by_matches(day, matches, rules),
    ]
    return lowest(ceilings)


def lowest(ceilings: Iterable[Ceiling]) -> Ceiling:
    """The one that holds, of two equally low ones the first; all work where there is none."""
    return min(ceilings, key=lambda found: found.level.height, default=Ceiling(Level.FULL, WORDS[Level.FULL]))


def by_membership(day: dt.date, joined: dt.date | None, left: dt.date | None) -> Iterator[Ceiling]:
    if joined is not None and day < joined:
        yield Ceiling(Level.ABSENT, f"joins the squad on {spoken(joined, day)}")
    if left is not None and day > left:
        yield Ceiling(Level.ABSENT, f"left the squad on {spoken(left, day)}")


def by_absence(day: dt.date, absences: Iterable[Away]) -> Iterator[Ceiling]:
    """Of several that overlap the one that ends last, for that is when the player is back."""
    lasts = [absence.last for absence in absences if absence.first <= day <= absence.last]
    if lasts:
        last = max(lasts)
        yield Ceiling(Level.ABSENT, "away this day" if last == day else f"away until {spoken(last, day)}")


def by_word(word: Word) -> Iterator[Ceiling]:
    if not word.coming:
        yield Ceiling(Level.ABSENT, word.reason)


def in_force(day: dt.date, decisions: Sequence[Decision]) -> Decision | None:
    """The latest decision among those that have begun by the day; None if there is none.

    The latest *decision* counts, not the latest beginning: "out" decided today also ends a "full from
    the 20th" that was decided last week.
    """
    begun = [(decision.decided_on, place) for place, decision in enumerate(decisions) if decision.from_day <= day]
    return decisions[max(begun)[1]] if begun else None


def by_clearance(day: dt.date, decisions: Sequence[Decision]) -> Iterator[Ceiling]:
    """Without any decision nothing is restricted."""
    decision = in_force(day, decisions)
    if decision is not None and decision.level != Level.FULL:
        since = spoken(decision.from_day, day)
        yield Ceiling(
            decision.level, f"{WORDS[decision.level]} by clearance of {since}, decided by {decision.decided_by}"
        )


def by_return(day: dt.date, courses: Iterable[Course]) -> Iterator[Ceiling]:
    """The words are for everybody: they tell a date, and never what kind of return it is."""
    for course in courses:
        level = course.most_on(day)
        if level is not Level.FULL:
            step = Step.NON_CONTACT if level is Level.ABSENT else Step.CONTACT
            until = course.dates_on(day)[step].day
            yield Ceiling(
                level,
                f"{WORDS[level]} before {spoken(until, day)}" if until else f"{WORDS[level]}, no date for more yet",
            )


def by_matches(day: dt.date, matches: Iterable[dt.date], rules: MatchRules | None) -> Iterator[Ceiling]:
    """What the day itself, the next match and the last one allow."""
    distances = [(match - day).days for match in matches]
    if 0 in distances:
        yield Ceiling(Level.NONE, "match day: no contact in training")
    if rules is None:
        return
    until = min((distance for distance in distances if distance > 0), default=None)
    since = min((-distance for distance in distances if distance < 0), default=None)
    yield from at_distance(until, "before", rules.full_before, rules.controlled_before)
    yield from at_distance(since, "after", rules.full_after, rules.controlled_after)


def at_distance(distance: int | None, side: str, full: int, controlled: int) -> Iterator[Ceiling]:
    """`full` and `controlled` are the days from a match from which each kind is allowed."""
    if distance is None or distance >= max(full, controlled):
        return
    level = Level.NONE if distance < controlled else Level.CONTROLLED
    yield Ceiling(level, f"{days(distance)} {side} a match: {WORDS[level]}")
