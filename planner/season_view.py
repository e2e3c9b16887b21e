"""A season as one page: a line for each week with what stands in it and the contact planned against its limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from planner.calendar_days import SquadCalendar, Week
from planner.calendar_drawn import Drawn, linked
from planner.core.totals import Room
from planner.core.words import number
from planner.models import FixtureState
from planner.season_figures import Most, SeasonFigures, WeekFigures, figures_of
from planner.season_strip import Strip, StripWeek
from shared.charts import kind_words, plumb_bar


@dataclass(frozen=True)
class SeasonPage:
    calendar: SquadCalendar
    weeks: list[Week]
    figures: SeasonFigures

    @classmethod
    def of(cls, calendar: SquadCalendar, end: str | None) -> SeasonPage:
        """`end` of the club's audit chain, as `figures_of` asks for it."""
        weeks = calendar.weeks()
        mondays = [week.monday for week in weeks]
        figures = figures_of(calendar.squad, mondays, calendar.sessions, calendar.fixtures, end)
        return cls(calendar, weeks, figures)

    def rows(self, *, with_contact: bool) -> SafeString:
        """A row of the table for each week."""
        drawn = DrawnSeason(self.calendar, with_contact=with_contact)
        return mark_safe("".join(drawn.row(week, self.figures[week.monday]) for week in self.weeks))

    def contact_rows(self) -> SafeString:
        """The contact of each week, without what stands in it."""
        drawn = DrawnSeason(self.calendar, with_contact=True)
        return mark_safe("".join(drawn.contact_row(week, self.figures[week.monday]) for week in self.weeks))

    @property
    def strip(self) -> Strip:
        return Strip([self._strip_week(week) for week in self.weeks])

    def _strip_week(self, week: Week) -> StripWeek:
        matches = [entry.row for entry in week.entries if entry.is_match and entry.row.state == FixtureState.PLANNED]
        home = sum(1 for match in matches if match.home)
        return StripWeek(
            week.number,
            week.monday,
            self.figures[week.monday].families,
            home,
            len(matches) - home,
            self._phase_begun_in(week),
            week.holds_today,
        )

    def _phase_begun_in(self, week: Week) -> str:
        return ", ".join(p.name for p in self.calendar.phases if week.monday <= p.first_day <= week.sunday)


class DrawnSeason(Drawn):
    """`with_contact`: for who may see totals."""

    def __init__(self, calendar: SquadCalendar, *, with_contact: bool) -> None:
        super().__init__()
        self.links, self.with_contact = calendar.links, with_contact
        self._week, self._this_week = escape(_("Week")), escape(_("this week"))

    def row(self, week: Week, figures: WeekFigures) -> str:
        today = ' class="today"' if week.holds_today else ""
        contact = "".join(map(contact_td, figures.contact)) if self.with_contact else ""
        return (
            f'<tr id="week-{week.monday}"{today}><th scope="row">{self._heading(week)}</th>'
            f"<td>{self.beside(week)}{pattern(figures)}</td><td>{self.short(week)}</td>{contact}</tr>"
            f"{beside_the_bars(figures) if self.with_contact else ''}"
        )

    def contact_row(self, week: Week, figures: WeekFigures) -> str:
        today = ' class="today"' if week.holds_today else ""
        contact, below = "".join(map(contact_td, figures.contact)), beside_the_bars(figures, columns=4)
        return f'<tr{today}><th scope="row">{self._heading(week)}</th>{contact}</tr>{below}'

    def _heading(self, week: Week) -> str:
        number = f"{self._week} {week.number}" if week.number else week.iso
        name = linked(number, self.links.week("calendar_week", week.monday))
        days = f"{self.names.in_year(week.monday)} – {self.names.in_year(week.sunday)}"
        now = f' <b class="now">{self._this_week}</b>' if week.holds_today else ""
        return f'{name} <span class="soft">{days}</span>{now}'


def pattern(figures: WeekFigures) -> str:
    return f' <span class="soft">{escape(_("pattern:"))} {escape(figures.pattern)}</span>' if figures.pattern else ""


@lru_cache(maxsize=4096)
def contact_td(most: Most) -> str:
    label, cell = escape(kind_words(most.kind)), contact_cell(most)
    return f'<td data-label="{label}">{cell}</td>' if cell else f'<td data-label="{label}" class="none">–</td>'


def contact_cell(most: Most) -> str:
    """Minutes of the player who has most, the bar against the limit, the word where one is due; "" without minutes."""
    if not most.hundredths:
        return ""
    told = against(most)
    bar = plumb_bar(
        most.minutes, most.limit.minutes if most.limit else None, f"{kind_words(most.kind)}: {told}",
        near=most.near_percent / 100,
    )  # fmt: skip
    return f'{bar} <span class="figure">{told}</span>{room_word(most)}'


def against(most: Most) -> str:
    minutes = number(most.minutes)
    if most.limit is None:
        return _("%(minutes)s min, no limit") % {"minutes": minutes}
    return _("%(minutes)s of %(limit)d min") % {"minutes": minutes, "limit": most.limit.minutes}


def room_word(most: Most) -> str:
    if most.room is Room.PAST and most.limit:
        past = {"minutes": number(most.minutes - most.limit.minutes)}
        return f' <span class="word past">{_("past by %(minutes)s") % past}</span>'
    return f' <span class="word near">{_("near")}</span>' if most.room is Room.NEAR else ""


def beside_the_bars(figures: WeekFigures, columns: int = 6) -> str:
    """A row with what no bar shows, "" if there is nothing."""
    words = "".join(f'<span class="word past">{escape(each)}</span> ' for each in warnings(figures))
    return f'<tr class="above"><td colspan="{columns}">{words}</td></tr>' if words else ""


def warnings(figures: WeekFigures) -> Iterator[str]:
    if figures.not_allowed:
        yield _("%(count)d above what they may do") % {"count": figures.not_allowed}
    if figures.too_many_days:
        yield _("%(count)d with full contact on too many days") % {"count": figures.too_many_days}
