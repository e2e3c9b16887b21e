"""The season strip: minutes of each skill family over the weeks of a season, drawn for page and paper.

Each family has a row of its own, so that nothing hangs on a colour. Phases stand above, matches below, and today
is a plumb line. The same figures stand in a table, and the drawing says in words what it shows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from drills.models import Family
from planner.calendar_words import DayNames
from planner.core.words import number

LEFT, STEP, BAR, ROW, HEAD = 150, 20, 14, 34, 40  # px; a row holds a bar of at most ROW - 6
MATCH_ROW, FOOT = 18, 20


@dataclass(frozen=True, slots=True)
class StripWeek:
    """`minutes` by family; `home` and `away`: how many matches; `phase`: its name where one begins, else ""."""

    number: int
    monday: dt.date
    minutes: Mapping[str, float]
    home: int
    away: int
    phase: str
    holds_today: bool

    @property
    def total(self) -> float:
        return sum(self.minutes.values())


@dataclass(frozen=True)
class Strip:
    weeks: Sequence[StripWeek]

    @property
    def has_minutes(self) -> bool:
        return any(week.total for week in self.weeks)

    @cached_property
    def most(self) -> float:
        """Minutes of the highest bar; all families share one scale."""
        return max((much for week in self.weeks for much in week.minutes.values()), default=0)

    @property
    def highest(self) -> str:
        return shown(self.most)

    @property
    def table(self) -> SafeString:
        """The same figures as rows of a table."""
        names = DayNames()
        return mark_safe("".join(f"<tr{_today(week)}>{_head(week, names)}{_cells(week)}</tr>" for week in self.weeks))

    @property
    def families(self) -> list[str]:
        return [str(family.label) for family in Family]

    @property
    def words(self) -> list[str]:
        """What the drawing shows, a sentence for each family."""
        return [self._of(family) for family in Family]

    def _of(self, family: Family) -> str:
        fullest = max(self.weeks, key=lambda week: week.minutes.get(family, 0))
        much = fullest.minutes.get(family, 0)
        if not much:
            return _("%(family)s: nothing planned.") % {"family": family.label}
        told = {
            "family": family.label,
            "weeks": sum(1 for week in self.weeks if week.minutes.get(family)),
            "of": len(self.weeks),
            "all": shown(sum(week.minutes.get(family, 0) for week in self.weeks)),
            "most": shown(much),
            "number": fullest.number,
        }
        text = _("%(family)s: %(all)s min in %(weeks)d of %(of)d weeks, most in week %(number)d with %(most)s min.")
        return text % told

    @property
    def drawing(self) -> SafeString:
        width, height = LEFT + STEP * len(self.weeks) + 8, self._bottom + MATCH_ROW + FOOT
        title = escape(_("Planned minutes of each skill family, week by week"))
        inside = "".join((*self._families(), *map(self._week, range(len(self.weeks))), self._today()))
        label = f'<text x="0" y="{self._bottom + 14}">{escape(_("Matches"))}</text>'
        return mark_safe(
            f'<svg class="strip" viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img">'
            f"<title>{title}</title><desc>{escape(' '.join(self.words))}</desc>{label}{inside}</svg>"
        )

    @property
    def _bottom(self) -> int:
        return HEAD + ROW * len(Family)

    def _families(self) -> list[str]:
        right = LEFT + STEP * len(self.weeks)
        return [
            f'<text x="0" y="{HEAD + ROW * (place + 1) - 8}">{escape(family.label)}</text>'
            f'<path class="ground" stroke="#000" stroke-width=".4" d="M0 {HEAD + ROW * (place + 1)}H{right}"/>'
            for place, family in enumerate(Family)
        ]

    def _week(self, place: int) -> str:
        week, x = self.weeks[place], LEFT + STEP * place
        parts = [self._bar(x, HEAD + ROW * (row + 1), week.minutes.get(family, 0)) for row, family in enumerate(Family)]
        if week.phase:
            parts.append(
                f'<path class="edge" stroke="#000" d="M{x} 4V{self._bottom}"/>'
                f'<text x="{x + 3}" y="{14 + 13 * self._step_down(place)}">{escape(week.phase)}</text>'
            )
        parts += self._matches(x, week)
        parts.append(f'<text class="week-number" x="{x + 2}" y="{self._bottom + MATCH_ROW + 14}">{week.number}</text>')
        return "".join(parts)

    def _step_down(self, place: int) -> int:
        """Names of phases that begin close to each other stand on two lines in turn."""
        return sum(1 for week in self.weeks[:place] if week.phase) % 2

    def _bar(self, x: int, foot: int, much: float) -> str:
        if not much:
            return ""
        height = max(1.0, (ROW - 6) * much / self.most)
        return f'<rect class="bar" x="{x + 2}" y="{foot - height:.1f}" width="{BAR}" height="{height:.1f}"/>'

    def _matches(self, x: int, week: StripWeek) -> list[str]:
        """A solid square at home, an empty one away; further ones of the week to the right, narrower."""
        marks = ["home"] * week.home + ["away"] * week.away
        wide = min(10, BAR // max(len(marks), 1))
        return [
            f'<rect class="{mark}" stroke="#000" fill="{"#000" if mark == "home" else "none"}" '
            f'x="{x + 3 + place * wide}" y="{self._bottom + 5}" width="{wide - 1}" height="9"/>'
            for place, mark in enumerate(marks)
        ]

    def _today(self) -> str:
        place = next((place for place, week in enumerate(self.weeks) if week.holds_today), None)
        if place is None:
            return ""
        x, foot = LEFT + STEP * place + 9, self._bottom + 2
        return (
            f'<path class="line" stroke="#000" stroke-width="1.5" d="M{x} 30V{foot}"/>'
            f'<path class="weight" d="M{x - 4} {foot}h8l-4 7z"/>'
            f'<text class="today" x="{x + 4}" y="{HEAD}">{escape(_("today"))}</text>'
        )


def _today(week: StripWeek) -> str:
    return ' class="today"' if week.holds_today else ""


def _head(week: StripWeek, names: DayNames) -> str:
    return f'<th scope="row">{week.number} <span class="soft">{names.in_year(week.monday)}</span></th>'


def _cells(week: StripWeek) -> str:
    minutes = (*(week.minutes.get(family, 0) for family in Family), week.total)
    return "".join(f'<td class="number">{shown(much)}</td>' for much in minutes)


def shown(minutes: float) -> str:
    """Whole minutes; a little is not none."""
    return "–" if not minutes else number(max(1, round(minutes)))
