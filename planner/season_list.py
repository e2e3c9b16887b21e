"""A season as a list of weeks: this one first, then those ahead, then those before."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from planner.calendar_days import SquadCalendar, Week
from planner.calendar_drawn import Drawn, linked
from planner.models import FixtureState
from planner.patterns import Proposal, matches_of, proposals_among


@dataclass(frozen=True, slots=True)
class ListWeek:
    """A week with its drawing. `month`: its first day, where a month or the season begins in the week."""

    week: Week
    month: dt.date | None
    is_past: bool
    drawn: SafeString


@dataclass(frozen=True)
class SeasonList:
    """The weeks of a calendar whose season is not None, in the order of time."""

    calendar: SquadCalendar
    weeks: list[ListWeek]

    @classmethod
    def of(cls, calendar: SquadCalendar, *, with_proposals: bool) -> SeasonList:
        """In two queries at most, beside those of the calendar."""
        weeks, drawn = calendar.weeks(), DrawnList(calendar)
        on = patterns_on(calendar)
        fit = proposed(calendar, (week.monday for week in weeks if week.monday not in on)) if with_proposals else {}
        return cls(calendar, [drawn.week(week, on.get(week.monday), fit.get(week.monday)) for week in weeks])

    @cached_property
    def before(self) -> list[ListWeek]:
        return [each for each in self.weeks if each.is_past]

    @cached_property
    def now(self) -> list[ListWeek]:
        return [each for each in self.weeks if each.week.holds_today]

    @cached_property
    def ahead(self) -> list[ListWeek]:
        return [each for each in self.weeks if each.week.monday > self.calendar.today]

    @cached_property
    def months(self) -> list[ListWeek]:
        """The week in which each month begins, to jump to."""
        return [each for each in self.weeks if each.month]


def patterns_on(calendar: SquadCalendar) -> dict[dt.date, str]:
    """The names of the patterns that are on weeks, by Monday."""
    rows = calendar.squad.week_patterns.filter(monday__range=(calendar.first, calendar.last))
    return dict(rows.values_list("monday", "name"))


def proposed(calendar: SquadCalendar, mondays: Iterable[dt.date]) -> dict[dt.date, Proposal]:
    """What would fit this week and those to come."""
    matches = matches_of(fixture for fixture in calendar.fixtures if fixture.state == FixtureState.PLANNED)
    this_week = calendar.today - dt.timedelta(days=calendar.today.weekday())
    return proposals_among(calendar.squad, matches, (monday for monday in mondays if monday >= this_week))


def month_begun_in(week: Week, calendar: SquadCalendar) -> dt.date | None:
    """The month that begins in the week, or that of the season's first day."""
    first, season = week.sunday.replace(day=1), calendar.season
    begins = week.monday <= first <= season.last_day
    return first if begins or week.monday <= season.first_day <= week.sunday else None


class DrawnList(Drawn):
    def __init__(self, calendar: SquadCalendar) -> None:
        super().__init__()
        self.calendar = calendar
        self._week, self._nothing = escape(_("Week %(number)d")), escape(_("Nothing is set."))

    def week(self, week: Week, pattern: str | None, proposal: Proposal | None) -> ListWeek:
        month = month_begun_in(week, self.calendar)
        mark = f' id="m{month:%Y-%m}"' if month else ""
        days = self.days(week) if week.entries else f'<p class="soft">{self._nothing}</p>'
        drawn = (
            f'<section class="week{" now" if week.holds_today else ""}"{mark}>'
            f"<h3>{self._heading(week)}</h3>{self._pattern(week, pattern, proposal)}{days}</section>"
        )
        return ListWeek(week, month, week.sunday < self.calendar.today, mark_safe(drawn))

    def _heading(self, week: Week) -> str:
        name = linked(self._week % {"number": week.number}, self.calendar.links.week("week", week.monday))
        days = f"{self.names.in_year(week.monday)} – {self.names.in_year(week.sunday)} {week.sunday.year}"
        return f'{name} <span class="soft">{days}</span>{self.beside(week)}'

    def _pattern(self, week: Week, pattern: str | None, proposal: Proposal | None) -> str:
        """The one that is on the week, or what would fit and the way to see what it would do."""
        if pattern:
            return f'<p class="soft">{escape(_("Pattern: %(name)s") % {"name": pattern})}</p>'
        if proposal is None:
            return ""
        words = _("“%(pattern)s” would fit: %(why)s.") % {"pattern": proposal.pattern, "why": proposal.why}
        way = linked(escape(_("See what it would do")), self.calendar.links.week("put_pattern", week.monday))
        return f'<p class="soft">{escape(words)} {way}</p>'
