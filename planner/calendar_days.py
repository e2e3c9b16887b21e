"""A squad's days as the pages of the calendar show them: what stands on each, and where a click leads."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from django.db.models import Value
from django.urls import reverse

from planner.calendar_words import EntryWords
from planner.core.calendar import A_WEEK, Stretch, iso_week, match_distance, monday_of, week_number, weeks_of
from planner.days import NEAR_A_MATCH
from planner.models import Fixture, FixtureState, Season, Session
from shared.models import Club
from squads.models import Squad


@dataclass(frozen=True, slots=True)
class Entry:
    """A session or a match on a day.

    `place`: the pitch of a session, the venue of a match; `state`: the word beside one that does not take place as
    planned; `address`: its page; `move`: the form that moves it. Either is "" where the reader may not go there.
    """

    name: str
    text: str
    more: str
    place: str
    state: str
    address: str
    move: str
    row: Session | Fixture
    is_match: bool = False

    @property
    def is_off(self) -> bool:
        return bool(self.state)

    @property
    def at_length(self) -> str:
        """What more is said of it, the place included."""
        return ", ".join(part for part in (self.more, self.place) if part)


@dataclass(frozen=True, slots=True)
class Day:
    """`distance` as coaches say it: MD-2; `off`: why nobody trains."""

    day: dt.date
    distance: str
    entries: list[Entry]
    off: list[str]
    is_today: bool
    is_outside: bool

    @property
    def css(self) -> str:
        words = (("today", self.is_today), ("outside", self.is_outside), ("bare", not self.entries and not self.off))
        return " ".join(word for word, holds in words if holds)


@dataclass(frozen=True, slots=True)
class Week:
    """Monday to Sunday. `number` is 0 outside the season."""

    number: int
    days: list[Day]
    phases: list[str]
    breaks: list[str]
    holds_today: bool

    @property
    def monday(self) -> dt.date:
        return self.days[0].day

    @property
    def iso(self) -> str:
        """Its number by ISO 8601, with the year that the number belongs to: W53 2020."""
        year, week = iso_week(self.monday)
        return f"W{week:02d} {year}"

    @property
    def sunday(self) -> dt.date:
        return self.days[6].day

    @property
    def entries(self) -> list[Entry]:
        return [entry for day in self.days for entry in day.entries]


class Links:
    """Addresses of many rows and weeks of a squad: each route is looked up once."""

    ROW, DAY = 987654321, "stands-for-a-day"

    def __init__(self, club: Club, squad: Squad, *, may_edit: bool) -> None:
        self.club, self.squad, self.may_edit = club, squad, may_edit
        self._rows = {
            name: reverse(name, args=[club.slug, self.ROW]) for name in ("session", "move_session", "edit_fixture")
        }
        self._weeks: dict[str, str] = {}

    def session(self, key: int) -> str:
        return self._row("session", key)

    def moving(self, key: int) -> str:
        return self._row("move_session", key) if self.may_edit else ""

    def fixture(self, key: int) -> str:
        return self._row("edit_fixture", key) if self.may_edit else ""

    def _row(self, name: str, key: int) -> str:
        return self._rows[name].replace(str(self.ROW), str(key))

    def week(self, name: str, monday: dt.date) -> str:
        """A page of that name for the squad's week."""
        if name not in self._weeks:
            self._weeks[name] = reverse(name, args=[self.club.slug, self.squad.slug, self.DAY])
        return self._weeks[name].replace(self.DAY, monday.isoformat())


class NamedDays(NamedTuple):
    """A phase or a break."""

    name: str
    first_day: dt.date
    last_day: dt.date


def phases_and_breaks(season: Season) -> tuple[list[NamedDays], list[NamedDays]]:
    """Of the season, each in the order of its days; in one query."""
    phases, breaks = (
        rows.order_by().values_list(Value(kind), "name", "first_day", "last_day")
        for kind, rows in (("phase", season.phases), ("break", season.breaks))
    )
    found: dict[str, list[NamedDays]] = {"phase": [], "break": []}
    for kind, *named in phases.union(breaks, all=True).order_by("first_day"):
        found[kind].append(NamedDays(*named))
    return found["phase"], found["break"]


# Columns that no page of the calendar shows; three of them would be read as JSON for each night.
LEFT_OUT = ("kit", "coach_names", "notes")


@dataclass
class SquadCalendar:
    """A squad's days from `first` to `last`, fetched in three queries at most; `season` counts the weeks.

    `near`: how far before and after them matches are fetched too.
    """

    squad: Squad
    season: Season | None
    first: dt.date
    last: dt.date
    today: dt.date
    links: Links
    near: dt.timedelta = NEAR_A_MATCH
    entries: dict[dt.date, list[Entry]] = field(init=False)
    sessions: list[Session] = field(init=False)
    fixtures: list[Fixture] = field(init=False)
    phases: list[NamedDays] = field(init=False)
    breaks: list[NamedDays] = field(init=False)

    def __post_init__(self) -> None:
        self.phases, self.breaks = phases_and_breaks(self.season) if self.season else ([], [])
        near = (self.first - self.near, self.last + self.near)
        self.fixtures = list(self.squad.fixtures.filter(day__range=near).select_related("final"))
        sessions = self.squad.sessions.filter(day__range=(self.first, self.last))
        self.sessions = list(sessions.with_length().defer(*LEFT_OUT))
        self.words = EntryWords()
        self.entries = defaultdict(list)
        for fixture in self.fixtures:
            self.entries[fixture.day].append(self.match(fixture))
        for session in self.sessions:
            self.entries[session.day].append(self.training(session))

    @property
    def match_days(self) -> list[dt.date]:
        return sorted({each.day for each in self.fixtures if each.state == FixtureState.PLANNED})

    def weeks(self, month: dt.date | None = None) -> list[Week]:
        """Whole weeks; days outside `month` are marked as such."""
        matches = self.match_days
        return [self.week(span, matches, month) for span in weeks_of(Stretch(self.first, self.last))]

    def week(self, span: Stretch, matches: list[dt.date], month: dt.date | None) -> Week:
        days = [self.day(span.first + dt.timedelta(days=n), matches, month) for n in range(7)]
        return Week(
            self.number(span),
            days,
            named(self.phases, span),
            named(self.breaks, span),
            self.today in span,
        )

    def number(self, span: Stretch) -> int:
        season = self.season
        if season is None or not span.meets(Stretch(season.first_day, season.last_day)):
            return 0
        return week_number(span.first, season.first_day)

    def day(self, day: dt.date, matches: list[dt.date], month: dt.date | None) -> Day:
        entries = self.entries.get(day, [])
        return Day(
            day,
            str(match_distance(day, matches)) if entries else "",
            entries,
            named(self.breaks, Stretch(day, day)),
            day == self.today,
            month is not None and day.month != month.month,
        )

    def training(self, session: Session) -> Entry:
        return Entry(
            f"session-{session.pk}",
            self.words.training % {"time": f"{session.starts:%H:%M}"},
            "" if session.cancelled else self.words.length(session),
            "" if session.cancelled else session.pitch,
            self.words.cancelled if session.cancelled else "",
            self.links.session(session.pk),
            self.links.moving(session.pk) if session.day >= self.today else "",
            session,
        )

    def match(self, fixture: Fixture) -> Entry:
        who = self.words.at_home if fixture.home else self.words.away
        address = self.links.fixture(fixture.pk)
        more = (self.words.no_time if fixture.all_day else "", fixture.competition)
        return Entry(
            f"match-{fixture.pk}",
            ("" if fixture.all_day else f"{fixture.kicks_off:%H:%M} ") + who % {"opponent": fixture.opponent},
            ", ".join(part for part in more if part),
            str(fixture.where),
            self.words.state(fixture),
            address,
            address,
            fixture,
            is_match=True,
        )


def named(rows: Iterable[NamedDays], span: Stretch) -> list[str]:
    return [row.name for row in rows if row.first_day <= span.last and span.first <= row.last_day]


def season_in(seasons: Iterable[Season], first: dt.date, last: dt.date) -> Season | None:
    """The season that some of these days lie in; of two the later."""
    found = [season for season in seasons if season.first_day <= last and first <= season.last_day]
    return max(found, key=lambda season: season.first_day, default=None)


def nearest_season(seasons: Iterable[Season], day: dt.date) -> Season | None:
    """The one that holds the day, else the one that begins or ends closest to it."""

    def away(season: Season) -> dt.timedelta:
        return max(season.first_day - day, day - season.last_day, dt.timedelta())

    return min(seasons, key=lambda season: (away(season), -season.first_day.toordinal()), default=None)


def week_around(day: dt.date) -> tuple[dt.date, dt.date]:
    return monday_of(day), monday_of(day) + A_WEEK - dt.timedelta(days=1)


def season_span(season: Season) -> tuple[dt.date, dt.date]:
    """Its whole weeks."""
    return week_around(season.first_day)[0], week_around(season.last_day)[1]
