"""A squad's days as the pages of the calendar show them: what stands on each, and where a click leads."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import prefetch_related_objects
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.building.rows import NEAR_A_MATCH
from planner.core.calendar import A_WEEK, Stretch, iso_week, match_distance, monday_of, week_number, weeks_of
from planner.models import Break, Fixture, FixtureState, Phase, Season, Session
from shared.models import Club
from squads.models import Squad


@dataclass(frozen=True, slots=True)
class Entry:
    """A session or a match on a day.

    `state`: the word beside one that does not take place as planned; `address`: its page; `move`: the form that
    moves it. Either is "" where the reader may not go there.
    """

    name: str
    text: str
    more: str
    state: str
    address: str
    move: str
    row: Session | Fixture
    is_match: bool = False

    @property
    def is_off(self) -> bool:
        return bool(self.state)


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
    """Addresses of many rows: each route is looked up once."""

    STAND_IN = 987654321

    def __init__(self, club: Club, *, may_edit: bool) -> None:
        self.may_edit = may_edit
        self._session = self._route("session", club)
        self._move = self._route("move_session", club)
        self._fixture = self._route("edit_fixture", club)

    def _route(self, name: str, club: Club) -> str:
        return reverse(name, args=[club.slug, self.STAND_IN])

    def session(self, key: int) -> str:
        return self._session.replace(str(self.STAND_IN), str(key))

    def moving(self, key: int) -> str:
        return self._move.replace(str(self.STAND_IN), str(key)) if self.may_edit else ""

    def fixture(self, key: int) -> str:
        return self._fixture.replace(str(self.STAND_IN), str(key)) if self.may_edit else ""


@dataclass
class SquadCalendar:
    """A squad's days from `first` to `last`, fetched in four queries at most; `season` counts the weeks."""

    squad: Squad
    season: Season | None
    first: dt.date
    last: dt.date
    today: dt.date
    links: Links
    entries: dict[dt.date, list[Entry]] = field(init=False)
    sessions: list[Session] = field(init=False)
    fixtures: list[Fixture] = field(init=False)
    phases: list[Phase] = field(init=False)
    breaks: list[Break] = field(init=False)

    def __post_init__(self) -> None:
        if self.season:
            prefetch_related_objects([self.season], "phases", "breaks")
        self.phases = list(self.season.phases.all()) if self.season else []
        self.breaks = list(self.season.breaks.all()) if self.season else []
        near = (self.first - NEAR_A_MATCH, self.last + NEAR_A_MATCH)
        self.fixtures = list(self.squad.fixtures.filter(day__range=near))
        self.sessions = list(self.squad.sessions.filter(day__range=(self.first, self.last)).with_length())
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
        starts = session.starts_at.astimezone(self.squad.club.tzinfo)
        return Entry(
            f"session-{session.pk}",
            _("%(time)s Training") % {"time": f"{starts:%H:%M}"},
            "" if session.cancelled else length_of(session),
            _("cancelled") if session.cancelled else "",
            self.links.session(session.pk),
            self.links.moving(session.pk) if session.day >= self.today else "",
            session,
        )

    def match(self, fixture: Fixture) -> Entry:
        starts = fixture.kick_off.astimezone(self.squad.club.tzinfo)
        who = _("v %(opponent)s, home") if fixture.home else _("v %(opponent)s, away")
        address = self.links.fixture(fixture.pk)
        return Entry(
            f"match-{fixture.pk}",
            ("" if fixture.all_day else f"{starts:%H:%M} ") + who % {"opponent": fixture.opponent},
            _("time not known yet") if fixture.all_day else fixture.competition,
            "" if fixture.state == FixtureState.PLANNED else fixture.get_state_display(),
            address,
            address,
            fixture,
            is_match=True,
        )


def length_of(session: Session) -> str:
    minutes = _("%(minutes)d min") % {"minutes": session.minutes}
    if not session.stations_set:
        return minutes
    stations = ngettext("%(count)d station", "%(count)d stations", session.stations_set)
    return f"{minutes}, {stations % {'count': session.stations_set}}"


def named(rows: Iterable[Phase] | Iterable[Break], span: Stretch) -> list[str]:
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
