"""A season as one page: a line for each week with what stands in it and the contact planned against its limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from planner.calendar_days import SquadCalendar, Week
from planner.core.totals import Room
from planner.core.words import number
from planner.models import FixtureState
from planner.season_figures import Most, SeasonFigures, WeekFigures, figures_of
from planner.season_strip import Strip, StripWeek
from shared.charts import kind_words, plumb_bar


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """A week with its figures; `contact` holds a label and a cell for each kind, nothing for who may not see totals."""

    week: Week
    figures: WeekFigures
    contact: tuple[tuple[str, SafeString], ...]

    @property
    def warnings(self) -> list[str]:
        """What no bar shows."""
        return list(beside_the_bars(self.figures))


@dataclass(frozen=True)
class SeasonPage:
    calendar: SquadCalendar
    weeks: list[Week]
    figures: SeasonFigures

    @classmethod
    def of(cls, calendar: SquadCalendar) -> SeasonPage:
        weeks = calendar.weeks()
        figures = figures_of(calendar.squad, [week.monday for week in weeks], calendar.sessions, calendar.fixtures)
        return cls(calendar, weeks, figures)

    def lines(self, *, with_contact: bool) -> list[SeasonLine]:
        return [
            SeasonLine(week, figures, contact_cells(figures) if with_contact else ())
            for week in self.weeks
            for figures in [self.figures[week.monday]]
        ]

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


def contact_cells(figures: WeekFigures) -> tuple[tuple[str, SafeString], ...]:
    return tuple((kind_words(most.kind), contact_cell(most)) for most in figures.contact)


@lru_cache(maxsize=4096)
def contact_cell(most: Most) -> SafeString:
    """Minutes of the player who has most, the bar against the limit, the word where one is due; "" without minutes."""
    if not most.hundredths:
        return mark_safe("")
    told = against(most)
    bar = plumb_bar(
        most.minutes, most.limit.minutes if most.limit else None, f"{kind_words(most.kind)}: {told}",
        near=most.near_percent / 100,
    )  # fmt: skip
    return mark_safe(f'{bar} <span class="figure">{told}</span>{room_word(most)}')


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


def beside_the_bars(figures: WeekFigures) -> Iterator[str]:
    if figures.not_allowed:
        yield _("%(count)d above what they may do") % {"count": figures.not_allowed}
    if figures.too_many_days:
        yield _("%(count)d with full contact on too many days") % {"count": figures.too_many_days}
