"""Days as a coach says them."""

from __future__ import annotations

import datetime as dt


def days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def spoken(day: dt.date, seen_from: dt.date) -> str:
    """A date as a coach says it; the year only where it is another one."""
    year = "" if day.year == seen_from.year else f" {day.year}"
    return f"{day.day} {day:%b}{year}"
