"""Days as other programs write them in text: 2026-10-31, 31/10/2026, 31.10.26. The day comes before the month."""

from __future__ import annotations

import datetime as dt
import re

from django.utils.translation import gettext as _

from shared.tables import Table, Unreadable

ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?: 00:00(?::00)?)?")
NUMBERS = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})")
BEGINS_WITH_NUMBERS = re.compile(rf"{NUMBERS.pattern}\b")


def day_in(text: str, latest_year: int) -> dt.date | None:
    """The day that a text names; None if it names none. ValueError if the calendar has no such day.

    Spreadsheet programs shorten years to two digits: 04 is the last year that ends so, up to `latest_year`.
    """
    if iso := ISO.fullmatch(text):
        return dt.date(int(iso[1]), int(iso[2]), int(iso[3]))
    if found := NUMBERS.fullmatch(text):
        return dt.date(full_year(found[4], latest_year), int(found[3]), int(found[1]))
    return None


def full_year(digits: str, latest: int) -> int:
    return int(digits) if len(digits) == 4 else latest - (latest - int(digits)) % 100


def refuse_month_first(table: Table, header: str) -> None:
    """Raise Unreadable if a column gives itself away as American: with days above 12, and those always second.

    Its other cells would be taken for the wrong day without anybody noticing.
    """
    found = [(row, text, BEGINS_WITH_NUMBERS.match(text)) for row in table.rows if (text := row.text(header))]
    days = [(row, text, int(match[1]), int(match[3])) for row, text, match in found if match]
    told = next(((row, text) for row, text, first, second in days if first <= 12 < second <= 31), None)
    if told and not any(first > 12 for _row, _text, first, _second in days):
        raise Unreadable(
            _(
                "The column “%(header)s” has the month before the day: “%(text)s” in row %(row)d. Give its cells a "
                "format such as 2026-10-31 or 31/10/2026 and save the file again."
            )
            % {"header": header, "text": told[1], "row": told[0].number}
        )
