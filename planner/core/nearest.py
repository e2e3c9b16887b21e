"""The day, or the month, that an address means: as it is written, or the nearest that there is."""

from __future__ import annotations

import calendar
import datetime as dt
import re

WRITTEN = re.compile(r"(\d{4})-(\d{1,2})(?:-(\d{1,2}))?", re.ASCII)
FIRST_YEAR, LAST_YEAR = 2000, 2100


def nearest_day(text: str, otherwise: dt.date) -> dt.date:
    """2026-10-05 is that day and 2026-10 its first; 2026-13-40 is 31 December 2026. What names no day is `otherwise`.

    Years below 2000 and above 2100 become these, as in the forms of the calendar.
    """
    found = WRITTEN.fullmatch(text)
    if not found:
        return otherwise
    year, month, day = int(found[1]), int(found[2]), int(found[3] or 1)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return dt.date(FIRST_YEAR, 1, 1) if year < FIRST_YEAR else dt.date(LAST_YEAR, 12, 31)
    month = within(month, 1, 12)
    return dt.date(year, month, within(day, 1, calendar.monthrange(year, month)[1]))


def within(number: int, least: int, most: int) -> int:
    return max(least, min(number, most))


def names_a_day(text: str) -> bool:
    """Whether the text is a day or a month that there is, within the years of the calendar."""
    found = WRITTEN.fullmatch(text)
    if not found:
        return False
    day = nearest_day(text, dt.date.min)
    return (day.year, day.month, day.day) == (int(found[1]), int(found[2]), int(found[3] or 1))


def month_of(day: dt.date) -> tuple[dt.date, dt.date]:
    """Its first and its last day."""
    return day.replace(day=1), day.replace(day=calendar.monthrange(day.year, day.month)[1])


def months_between(first: dt.date, last: dt.date) -> list[dt.date]:
    """The first days of the months that these days touch."""
    count = 12 * (last.year - first.year) + last.month - first.month + 1
    return [month_after(first, n) for n in range(count)]


def month_after(day: dt.date, months: int = 1) -> dt.date:
    """The first day of the month that comes so many months after the day's own."""
    number = 12 * day.year + day.month - 1 + months
    return dt.date(number // 12, number % 12 + 1, 1)
