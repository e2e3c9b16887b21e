"""What the columns of a list of breaks can hold."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.columns import ListOf, Reading
from shared.tables import Table

NUMBERS = re.compile(r"(\d{1,2})[./-](\d{1,2})(?:\.|[./-](?:\d{4}|\d{2}))?")


def missing_in(columns: Mapping[str, str]) -> list[str]:
    return [word for field, word in (("name", _("name")), ("first", _("first day"))) if field not in columns]


BREAKS = ListOf(
    titles={
        "name": gettext_lazy("name"),
        "first": gettext_lazy("first day"),
        "last": gettext_lazy("last day"),
        "uid": gettext_lazy("reference"),
    },
    headers={
        "name": (
            "name", "why", "break", "holiday", "title", "event", "subject", "summary", "description", "what", "term",
        ),
        "first": ("firstday", "first", "from", "start", "startdate", "starts", "begins", "begin", "date", "day"),
        "last": ("lastday", "last", "to", "until", "end", "enddate", "ends", "till"),
        "uid": ("uid", "reference", "ref", "id"),
    },
    missing=missing_in,
    days=("first", "last"),
    advice=(
        gettext_lazy("Name the columns name, first day and last day."),
        gettext_lazy("Without a last day each break is one day."),
    ),
)  # fmt: skip


def day_order_is_open(table: Table, reading: Reading) -> bool:
    """Days are written in numbers, and none of them is above 12, so that the month may stand first."""
    headers = [reading.columns[name] for name in BREAKS.days if name in reading.columns]
    texts = (row.text(header) for row in table.rows for header in headers)
    found = [match for text in texts if (match := NUMBERS.fullmatch(text))]
    return bool(found) and all(int(match[1]) <= 12 and int(match[2]) <= 12 for match in found)
