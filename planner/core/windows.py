"""What a welfare officer looks at beside the contact minutes of a week: days, matches, and the windows they fall into.

Contact minutes, their seven-day sums and the days with full contact are those of `planner.core.totals`; nothing is
counted a second time here. Measures stay apart: no minute of one is ever added to another.

Exact figures are compared, in whole hundredths of a minute, whole days, whole matches, or hours as a fraction.
House rules: the week runs from Monday to Sunday; hours between matches, and the minutes in any 48 hours, go from
kick-off to kick-off, so a match stands in a window with all of its minutes or not at all; where a kick-off is not
known, a day counts as 24 hours; a day with a match is no day without contact; touch and grip leave it one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from planner.core.totals import ONE_DAY, Figure, PlayerWeek, Rolling, Room, Stretch, worst
from shared.core.contact import Kind

HOUR = dt.timedelta(hours=1)
TWO_DAYS = 48  # hours
WEEK_OF_DAYS = 7


class Measure(StrEnum):
    """What can be limited; the first three are the kinds of contact, in minutes a week."""

    FULL = Kind.FULL.value
    CONTROLLED = Kind.CONTROLLED.value
    SET_PIECE = Kind.SET_PIECE.value
    FULL_DAYS = "full_days"
    FREE_DAYS = "free_days"
    MATCH_MINUTES = "match_minutes"
    MATCH_HOURS = "match_hours"
    TWO_DAY_MINUTES = "two_day_minutes"
    SEASON_MATCHES = "season_matches"

    @property
    def is_a_least(self) -> bool:
        """The limit is the least that is asked for, not the most that is allowed."""
        return self in {Measure.FREE_DAYS, Measure.MATCH_HOURS}

    @property
    def is_neared(self) -> bool:
        """Some days and hours are kept or not: on the last one allowed nobody is near."""
        return self not in {Measure.FULL_DAYS, Measure.FREE_DAYS, Measure.MATCH_HOURS}


KINDS = {Measure(kind.value): kind for kind in (Kind.FULL, Kind.CONTROLLED, Kind.SET_PIECE)}


@dataclass(frozen=True, slots=True)
class Bound:
    """So much of a measure, in its own unit; `source` names the document that asks for it, and from when."""

    amount: int
    source: str


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The limits of one document that hold from a day on; a measure that is missing does not bind."""

    source: str
    amounts: Mapping[Measure, int]
    near_percent: int = 80


@dataclass(frozen=True, slots=True)
class Bounds:
    """What binds in a week."""

    by_measure: Mapping[Measure, Bound] = field(default_factory=dict)
    near_percent: int = 80


def bounds_of(rules: Iterable[RuleSet]) -> Bounds:
    """The strictest limit of each measure, with its document, when rules change within the week."""
    rules = list(rules)
    found: dict[Measure, Bound] = {}
    for each in rules:
        for measure, amount in each.amounts.items():
            if measure not in found or is_stricter(measure, amount, found[measure].amount):
                found[measure] = Bound(amount, each.source)
    return Bounds(found, min((each.near_percent for each in rules), default=Bounds().near_percent))


def is_stricter(measure: Measure, one: int, other: int) -> bool:
    return one > other if measure.is_a_least else one < other


@dataclass(frozen=True, slots=True)
class Match:
    """So many minutes of one player in a match. `starts` is the kick-off, None where only the day is known.

    `fixture`: the key of the squad's own match, None for one of another team.
    """

    player: int
    day: dt.date
    minutes: int
    what: str
    starts: dt.datetime | None = None
    fixture: int | None = None


def hours_between(first: Match, second: Match) -> Fraction:
    """From kick-off to kick-off by the clock of the world, so that a change of the clocks makes no difference."""
    if first.starts is None or second.starts is None:
        return Fraction((second.day - first.day).days * 24)
    gap = second.starts.astimezone(dt.UTC) - first.starts.astimezone(dt.UTC)
    return Fraction(gap // dt.timedelta(microseconds=1), HOUR // dt.timedelta(microseconds=1))


def in_order(matches: Iterable[Match]) -> list[Match]:
    """By day and kick-off; those of a day without one come first."""
    return sorted(matches, key=lambda match: (match.day, stamp(match.starts), match.what, match.minutes))


def stamp(moment: dt.datetime | None) -> str:
    return moment.astimezone(dt.UTC).isoformat() if moment else ""


@dataclass(frozen=True, slots=True)
class Part:
    """What a figure is made of: so much of it from a session or a match (0 where the day itself is the figure)."""

    day: dt.date
    what: str
    amount: Fraction
    session: int | None = None

    @property
    def minutes(self) -> float:
        return float(self.amount)

    def is_of(self, session: int, day: dt.date) -> bool:
        """Where a part names no session, its day decides."""
        return self.session == session or (self.session is None and self.day == day)


@dataclass(frozen=True)
class Finding:
    """One measure of one player in one week, against what binds. `amount` is exact, in the unit of the measure."""

    measure: Measure
    amount: Fraction
    bound: Bound | None
    near_percent: int
    parts: tuple[Part, ...] = ()
    watched: Rolling | None = None

    @cached_property
    def excess(self) -> Fraction:
        """How far beyond the limit: above the most, or below the least."""
        if self.bound is None:
            return Fraction(0)
        beyond = self.amount - self.bound.amount
        return max(Fraction(0), -beyond if self.measure.is_a_least else beyond)

    @cached_property
    def room(self) -> Room:
        """The limit itself is inside, and near where the measure can be neared. Nothing at all is never near."""
        if self.bound is None:
            return Room.FINE
        if self.excess:
            return Room.PAST
        is_near = 100 * self.amount >= self.near_percent * self.bound.amount
        return Room.NEAR if self.measure.is_neared and self.amount and is_near else Room.FINE

    @property
    def shown(self) -> float:
        """In tenths, away from the limit's side: what is past never reads as if it were inside, or the other way."""
        tenths = 10 * self.amount
        if not self.excess:
            return self._inside((tenths + Fraction(1, 2)) // 1) / 10
        return (tenths // 1 if self.measure.is_a_least else -(-tenths // 1)) / 10

    def _inside(self, tenths: int) -> int:
        if self.bound is None:
            return tenths
        edge = 10 * self.bound.amount
        return max(tenths, edge) if self.measure.is_a_least else min(tenths, edge)

    @property
    def excess_shown(self) -> float:
        """In tenths, rounded up: an excess never reads as none."""
        return -(-10 * self.excess // 1) / 10


@dataclass(frozen=True)
class PlayerWindows:
    """One player in one week. `in_spite`: contact that he was put in although he may not do it."""

    week: PlayerWeek
    findings: tuple[Finding, ...]

    @property
    def player(self) -> int:
        return self.week.player

    @cached_property
    def in_spite(self) -> tuple[Stretch, ...]:
        return tuple(stretch for figure in self.week.figures for stretch in figure.not_allowed)

    def of(self, measure: str) -> Finding:
        return next(finding for finding in self.findings if finding.measure == measure)

    @property
    def past(self) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.room is Room.PAST)

    @property
    def near(self) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.room is Room.NEAR)

    @cached_property
    def room(self) -> Room:
        spite = Room.NOT_ALLOWED if self.in_spite else Room.FINE
        return worst([spite, *(finding.room for finding in self.findings)])

    @property
    def urgency(self) -> tuple[float, ...]:
        """Sorts the most urgent first: the standing, then the contact as the totals do, then what else is beyond."""
        beyond = (finding.excess / max(1, finding.bound.amount) for finding in self.past if finding.bound)
        return (-self.room.rank, *self.week.urgency[1:], -float(max(beyond, default=Fraction(0))))


def player_windows(
    week: PlayerWeek, matches: Sequence[Match], bounds: Bounds, season_from: dt.date = dt.date.min
) -> PlayerWindows:
    """Everything that is limited in a player's week.

    `matches` are his own, of the season up to the week's Sunday at least from the Saturday of the week before last;
    those before `season_from` count for no season. Limits of contact minutes and of days with full contact are those
    of `week`, which a pattern may have lowered.
    """
    sunday = week.monday + 6 * ONE_DAY
    played = in_order(match for match in matches if match.minutes and match.day <= sunday)
    here = [match for match in played if match.day >= week.monday]
    return PlayerWindows(
        week,
        (
            *(of_contact(week.figure(kind), measure) for measure, kind in KINDS.items()),
            full_days(week, bounds),
            free_days(week, here, bounds),
            against(bounds, Measure.MATCH_MINUTES, Fraction(sum(m.minutes for m in here)), [of_match(m) for m in here]),
            shortest_gap(played, here, bounds),
            fullest_two_days(played, here, bounds),
            season_so_far(played, here, bounds, season_from),
        ),
    )


def against(bounds: Bounds, measure: Measure, amount: Fraction, parts: Iterable[Part] = ()) -> Finding:
    return Finding(measure, amount, bounds.by_measure.get(measure), bounds.near_percent, tuple(parts))


def of_contact(figure: Figure, measure: Measure) -> Finding:
    """The totals' own figure, with what was counted in it."""
    return Finding(
        measure,
        Fraction(figure.hundredths, 100),
        Bound(figure.limit.minutes, figure.limit.source) if figure.limit else None,
        figure.near_percent,
        tuple(of_stretch(stretch) for stretch in figure.stretches if stretch.counted),
        figure.rolling if figure.is_watched else None,
    )


def of_stretch(stretch: Stretch) -> Part:
    return Part(stretch.day, stretch.what, Fraction(stretch.counted, 100), stretch.session or None)


def of_match(match: Match) -> Part:
    return Part(match.day, match.what, Fraction(match.minutes))


def full_days(week: PlayerWeek, bounds: Bounds) -> Finding:
    """Days with full contact. A pattern on the week may ask for fewer than the rules do."""
    bound, most = bounds.by_measure.get(Measure.FULL_DAYS), week.full_days_limit
    if most is not None and (bound is None or most < bound.amount):
        bound = Bound(most, "pattern")
    parts = (Part(day, "", Fraction(1)) for day in week.days_with_full)
    return Finding(Measure.FULL_DAYS, Fraction(len(week.days_with_full)), bound, bounds.near_percent, tuple(parts))


def free_days(week: PlayerWeek, here: Iterable[Match], bounds: Bounds) -> Finding:
    """Days of the week without contact of any kind and without a match; the parts are those that have some."""
    counted = {s.day: s.what for figure in week.figures for s in figure.stretches if s.counted}
    taken = counted | {match.day: match.what for match in here}
    parts = (Part(day, what, Fraction(0)) for day, what in sorted(taken.items()))
    return against(bounds, Measure.FREE_DAYS, Fraction(WEEK_OF_DAYS - len(taken)), parts)


def shortest_gap(played: Sequence[Match], here: Sequence[Match], bounds: Bounds) -> Finding:
    """The fewest hours before a match of this week. Without an earlier one there is nothing to judge."""
    pairs = [(hours_between(a, b), a, b) for a, b in pairwise(played) if b in here]
    if not pairs:
        return Finding(Measure.MATCH_HOURS, Fraction(0), None, bounds.near_percent)
    hours, *both = min(pairs, key=lambda pair: pair[0])
    return against(bounds, Measure.MATCH_HOURS, hours, [of_match(match) for match in both])


def fullest_two_days(played: Sequence[Match], here: Sequence[Match], bounds: Bounds) -> Finding:
    """The most match minutes in any 48 hours whose last kick-off lies in the week."""
    windows = ([m for m in played if 0 <= hours_between(m, last) < TWO_DAYS] for last in here)
    fullest = max(windows, key=lambda window: sum(match.minutes for match in window), default=[])
    parts = [of_match(match) for match in fullest]
    return against(bounds, Measure.TWO_DAY_MINUTES, sum((part.amount for part in parts), Fraction(0)), parts)


def season_so_far(played: Sequence[Match], here: Sequence[Match], bounds: Bounds, first: dt.date) -> Finding:
    """Matches of the season up to this week; a week without one adds nothing, so nothing is judged in it."""
    so_far = Fraction(sum(1 for match in played if match.day >= first))
    if not here:
        return Finding(Measure.SEASON_MATCHES, so_far, None, bounds.near_percent)
    return against(bounds, Measure.SEASON_MATCHES, so_far, [of_match(match) for match in here])
