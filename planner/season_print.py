"""A season on one page of paper: a row for each week, in the largest type in which all of them fit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from planner.calendar_days import Entry, Week
from planner.core.totals import LIMITED, WeekLimits
from planner.models import Fixture
from planner.season_figures import WeekFigures
from planner.season_view import SeasonPage
from shared.charts import kind_drawing, kind_words
from shared.printing import Overfull, PrintingRefused, typeset

TEMPLATE = "season.typ"


@dataclass(frozen=True, slots=True)
class Paper:
    """Landscape, in mm; `sizes` are points of type, tried from the largest on. Below the last nothing is printed."""

    name: str
    width: int
    height: int
    sizes: tuple[float, ...]


# Seven points are the least on A4. On A3, which hangs on a wall, nine.
PAPERS = {
    "a4": Paper("A4", 297, 210, (12, 11.5, 11, 10.5, 10, 9.5, 9, 8.5, 8, 7.5, 7)),
    "a3": Paper("A3", 420, 297, (18, 17, 16, 15, 14.5, 14, 13.5, 13, 12.5, 12, 11.5, 11, 10.5, 10, 9.5, 9)),
}


def season_pdf(page: SeasonPage, paper: Paper) -> bytes:
    """A tagged PDF; the same season always gives the same bytes. Raises what shared.printing raises."""
    try:
        return typeset(TEMPLATE, season_data(page, paper))
    except Overfull as error:
        raise PrintingRefused(too_small(paper)) from error


def too_small(paper: Paper) -> str:
    words = {"paper": paper.name, "least": paper.sizes[-1]}
    told = _("The season does not fit on one side of %(paper)s in type of %(least)g pt.") % words
    return f"{told} {_('Print it on A3.') if paper.name == 'A4' else _('Shorten its longest names.')}"


def season_data(page: SeasonPage, paper: Paper) -> dict[str, Any]:
    """Everything on the paper, in words."""
    season, squad = page.calendar.season, page.calendar.squad
    days = _("%(first)s to %(last)s") % {
        "first": date_format(season.first_day, "j F Y"),
        "last": date_format(season.last_day, "j F Y"),
    }
    return {
        "lang": (get_language() or "en").split("-")[0],
        "width": paper.width,
        "height": paper.height,
        "sizes": paper.sizes,
        "title": _("%(squad)s, season %(season)s") % {"squad": squad, "season": season},
        "beside": f"{squad.club}, {days}",
        "heads": [_("Week"), _("Days"), _("Phase"), _("Matches"), _("Nights"), _("No training"), _("Pattern")],
        "kinds": [{"mark": kind_drawing(kind), "words": kind_words(kind)} for kind in LIMITED],
        "rows": rows(page),
        "foot": foot(page),
    }


def foot(page: SeasonPage) -> list[str]:
    return [
        _("Square: match, solid at home, empty away."),
        _("Contact: limits in minutes a week for each player, by the rules and patterns in force; – means no limit."),
        *sources(page.figures.values()),
        _("Your union's regulations decide. Printed on %(day)s: bin older prints.")
        % {"day": date_format(page.calendar.today, "j F Y")},
    ]


def sources(figures: Iterable[WeekFigures]) -> list[str]:
    """Each document from which a limit comes, once."""
    found = (limit.source for week in figures for limit in week.limits.by_kind.values() if not limit.is_of_pattern)
    return [f"{source}." for source in dict.fromkeys(found)]


def rows(page: SeasonPage) -> list[dict[str, Any]]:
    """A phase is named in its first week; `begins` draws a line above it."""
    made, before = [], ""
    for week in page.weeks:
        phase = ", ".join(week.phases)
        made.append(row(week, page.figures[week.monday]) | {"phase": phase, "begins": phase != before})
        before = phase
    return made


def row(week: Week, figures: WeekFigures) -> dict[str, Any]:
    return {
        "number": str(week.number),
        "days": f"{date_format(week.monday, 'j M')} – {date_format(week.sunday, 'j M')}",
        "matches": [match(entry) for entry in week.entries if entry.is_match],
        "nights": [night(entry) for entry in week.entries if not entry.is_match],
        "off": ", ".join(week.breaks),
        "limits": limits(figures.limits),
        "pattern": figures.pattern,
    }


def match(entry: Entry) -> dict[str, Any]:
    fixture: Fixture = entry.row
    return {
        "home": fixture.home,
        "off": entry.is_off,
        "text": " ".join(part for part in (date_format(fixture.day, "D j"), entry.text, entry.state) if part),
    }


def night(entry: Entry) -> dict[str, Any]:
    """Its weekday, day and time."""
    text = f"{date_format(entry.row.day, 'D j')} {entry.text.split(' ')[0]}"
    return {"off": entry.is_off, "text": f"{text} {entry.state}".strip()}


def limits(found: WeekLimits) -> list[str]:
    return ["–" if (most := found.minutes(kind)) is None else str(most) for kind in LIMITED]
