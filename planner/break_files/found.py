"""What a list or a calendar says about breaks, before it is compared with those of the season."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from planner.core.breaks import days_without_year, within
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.fixture_files.found import LONGEST_KEY, Refusal, Refused
from planner.fixture_files.table import DAY_FIRST, MONTH_FIRST, WEEKDAY_FIRST, day_and_clock
from planner.models import Break as BreakRow
from shared.cells import Cell, as_text, lost_letter, lost_letter_in

LONGEST_NAME = BreakRow._meta.get_field("name").max_length
FOUR_YEARS = 4  # in which every day of the calendar comes, but for a century that is no leap year


@dataclass(frozen=True, slots=True)
class FoundBreak:
    where: str
    gap: Break


@dataclass(frozen=True, slots=True)
class FoundBreaks:
    """In their order. `origin`: how it was read, in words. `outside`: how many lie outside the season.

    `day_order_is_open`: its days are numbers that make sense with the month first, too, and nobody said which it is.
    """

    entries: tuple[FoundBreak | Refusal, ...]
    origin: str
    outside: int = 0
    day_order_is_open: bool = False


def found_break(where: str, name: str, days: Stretch, season: Stretch, uid: str = "") -> FoundBreak:
    """The part of it within the season. Raises Refused."""
    name = " ".join(name.split())
    if not name:
        raise Refused(_("it has no name. Say why there is no training."))
    if lost_letter(name):
        raise Refused(lost_letter_in(shortened(name)))
    if days.last < days.first:
        raise Refused(_("it ends before it begins. Check both days."))
    part = within(days, season)
    if part is None:
        raise Refused(outside_told(days.first, season))
    return FoundBreak(where, Break(shortened(name), part, uid[:LONGEST_KEY]))


def shortened(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def outside_told(day: dt.date, season: Stretch) -> str:
    return _("%(day)s lies outside the season (%(first)s to %(last)s). Check the year.") % {
        "day": day.isoformat(),
        "first": season.first.isoformat(),
        "last": season.last.isoformat(),
    }


def day_in(cell: Cell, season: Stretch, *, month_first: bool = False) -> dt.date:
    """A day with its year, or without one where the season has that day once."""
    text = "" if isinstance(cell, dt.date) else WEEKDAY_FIRST.sub("", as_text(cell))
    days = days_without_year(text, season, month_first=month_first)
    if len(days) == 1:
        return days[0]
    if days:
        raise Refused(_("“%(text)s” comes more than once in the season. Write its year.") % {"text": text[:40]})
    years = replace(
        season,
        first=dt.date(season.first.year - FOUR_YEARS, 1, 1),
        last=dt.date(season.last.year + FOUR_YEARS, 12, 31),
    )
    if days_without_year(text, years, month_first=month_first):
        raise Refused(_("the season has no day “%(text)s”") % {"text": text[:40]})
    return day_and_clock(cell, MONTH_FIRST if month_first else DAY_FIRST)[0]
