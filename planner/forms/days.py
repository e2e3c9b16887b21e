"""Days as the addresses of pages name them."""

from __future__ import annotations

import datetime as dt

from planner.core.reading import YEARS


def day_asked(text: str) -> dt.date | None:
    """The day of `?day=2026-10-05`, by ISO 8601; None for anything else and for a year out of reach."""
    try:
        day = dt.date.fromisoformat(text) if len(text) == 10 else None
    except ValueError:
        return None
    return day if day and day.year in YEARS else None
