"""The patterns that are on a squad's weeks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from planner.core.calendar import monday_of
from planner.core.pattern import Pattern
from planner.pattern_models import WeekPattern
from squads.models import Squad

Patterns = Mapping[dt.date, Pattern]


def patterns_on(squad: Squad, first: dt.date, last: dt.date) -> dict[dt.date, Pattern]:
    """By the Mondays of the weeks that hold one of the days."""
    rows = WeekPattern.objects.filter(squad=squad, monday__range=(monday_of(first), last))
    return {row.monday: row.figures for row in rows}
