"""A season week by week, as the calendar shows it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from planner.core.calendar import MatchDistance, Stretch, match_distance, week_number, weeks_of
from planner.models import Break, Fixture, FixtureState, Phase, Season, Session
from planner.patterns import Proposal


@dataclass(frozen=True)
class Patterns:
    """By Monday: the names of the patterns that are on weeks, and those that would fit others."""

    on: Mapping[dt.date, str] = field(default_factory=dict)
    proposed: Mapping[dt.date, Proposal] = field(default_factory=dict)


NO_PATTERNS = Patterns()


@dataclass(frozen=True)
class SeasonDay:
    day: dt.date
    distance: MatchDistance
    fixtures: list[Fixture]
    sessions: list[Session]
    is_today: bool

    @property
    def has_something(self) -> bool:
        return bool(self.fixtures or self.sessions)


@dataclass(frozen=True)
class SeasonWeek:
    """Monday to Sunday; `number` counts from the week of the season's first day."""

    number: int
    span: Stretch
    days: list[SeasonDay]
    phases: list[Phase]
    breaks: list[Break]
    is_now: bool
    is_past: bool
    opens_month: bool
    pattern: str = ""
    proposal: Proposal | None = None

    @property
    def month(self) -> dt.date:
        return self.span.last.replace(day=1)

    @property
    def has_something(self) -> bool:
        return any(day.has_something for day in self.days)


class SeasonWeeks:
    """The season's weeks, given its rows; fetch phases and breaks with it."""

    def __init__(
        self,
        season: Season,
        fixtures: Iterable[Fixture],
        sessions: Iterable[Session],
        today: dt.date,
        patterns: Patterns = NO_PATTERNS,
    ) -> None:
        self.patterns = patterns
        self.season, self.today = season, today
        self.phases, self.breaks = list(season.phases.all()), list(season.breaks.all())
        self.fixtures, self.sessions = by_day(fixtures), by_day(sessions)
        played = (fixture for day in self.fixtures.values() for fixture in day if fixture.state == FixtureState.PLANNED)
        self.match_days = sorted({fixture.day for fixture in played})

    @cached_property
    def all(self) -> list[SeasonWeek]:
        return [self.week(span) for span in weeks_of(Stretch(self.season.first_day, self.season.last_day))]

    @property
    def before(self) -> list[SeasonWeek]:
        return [week for week in self.all if week.is_past]

    @property
    def now(self) -> SeasonWeek | None:
        return next((week for week in self.all if week.is_now), None)

    @property
    def ahead(self) -> list[SeasonWeek]:
        return [week for week in self.all if week.span.first > self.today]

    @property
    def months(self) -> list[SeasonWeek]:
        """The week in which each month begins, to jump to."""
        return [week for week in self.all if week.opens_month]

    def week(self, span: Stretch) -> SeasonWeek:
        days = [self.day(span.first + dt.timedelta(days=offset)) for offset in range(7)]
        return SeasonWeek(
            number=week_number(span.first, self.season.first_day),
            span=span,
            days=days,
            phases=touching(self.phases, span),
            breaks=touching(self.breaks, span),
            is_now=self.today in span,
            is_past=span.last < self.today,
            opens_month=self.opens_month(span),
            pattern=self.patterns.on.get(span.first, ""),
            proposal=self.patterns.proposed.get(span.first),
        )

    def opens_month(self, span: Stretch) -> bool:
        """A month of the season begins in it, or the season itself."""
        first = span.last.replace(day=1)
        return (first in span and first <= self.season.last_day) or self.season.first_day in span

    def day(self, day: dt.date) -> SeasonDay:
        distance = match_distance(day, self.match_days)
        return SeasonDay(day, distance, self.fixtures[day], self.sessions[day], day == self.today)


def by_day(rows: Iterable[Fixture] | Iterable[Session]) -> dict[dt.date, list]:
    found = defaultdict(list)
    for row in rows:
        found[row.day].append(row)
    return found


def touching(rows: list, span: Stretch) -> list:
    return [row for row in rows if span.meets(Stretch(row.first_day, row.last_day))]


@dataclass(frozen=True)
class PlaceInSeason:
    """Where a day stands: between matches, in which week and phases of which season (None outside all)."""

    distance: MatchDistance
    season: Season | None
    week: int | None
    phases: list[Phase]


def place_in_season(session: Session) -> PlaceInSeason:
    day = session.day
    matches = session.squad.fixtures.played_or_due().order_by("day").values_list("day", flat=True)
    season = session.squad.seasons.filter(first_day__lte=day, last_day__gte=day).first()
    phases = list(season.phases.filter(first_day__lte=day, last_day__gte=day)) if season else []
    number = week_number(day, season.first_day) if season else None
    return PlaceInSeason(match_distance(day, list(matches)), season, number, phases)
