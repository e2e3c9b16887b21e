"""Breaks from a CSV or XLSX list: one row each, with a name, a first day and, if it is longer, a last day."""

from __future__ import annotations

import datetime as dt

from django.utils.translation import gettext as _

from planner.break_files.found import FoundBreak, FoundBreaks, day_in, found_break
from planner.core.calendar import Stretch
from planner.fixture_files.columns import plain
from planner.fixture_files.found import Refusal, Refused, cut
from shared.days import refuse_month_first
from shared.tables import Row, Table, Unreadable, read_table

# field -> headers that mean it, without case, blanks and marks; the first is the plain word for it
HEADERS = {
    "name": ("name", "why", "break", "holiday", "title", "event", "subject", "summary", "description", "what", "term"),
    "first": ("firstday", "first", "from", "start", "startdate", "starts", "begins", "begin", "date", "day"),
    "last": ("lastday", "last", "to", "until", "end", "enddate", "ends", "till"),
    "uid": ("uid", "reference", "ref", "id"),
}


def read(content: bytes, filename: str, season: Stretch) -> FoundBreaks:
    """Raises Unreadable."""
    table = read_table(content, filename)
    columns = columns_of(table)
    for field in ("first", "last"):
        if field in columns:
            refuse_month_first(table, columns[field])
    return FoundBreaks(tuple(entry_of(row, columns, season) for row in table.rows), table.origin)


def columns_of(table: Table) -> dict[str, str]:
    """field -> header; of two that may mean it the plainer word."""
    by_word = {plain(header): header for header in reversed(table.headers)}
    found = {field: next((by_word[word] for word in words if word in by_word), "") for field, words in HEADERS.items()}
    missing = [word for field, word in (("name", _("name")), ("first", _("first day"))) if not found[field]]
    if missing:
        raise Unreadable(
            _(
                "There is no column “%(missing)s”. The header row has: %(headers)s. Name the columns name, first day "
                "and last day."
            )
            % {"missing": ", ".join(missing), "headers": ", ".join(table.headers)}
        )
    return {field: header for field, header in found.items() if header}


def entry_of(row: Row, columns: dict[str, str], season: Stretch) -> FoundBreak | Refusal:
    where, label = _("row %(row)d") % {"row": row.number}, row.text(columns["name"])
    try:
        if row.problem:
            raise Refused(row.problem, row.column)
        begins = day_at(row, columns["first"], season)
        last = columns.get("last", "")
        ends = day_at(row, last, season) if last and row.text(last) else begins
        return found_break(where, label, Stretch(begins, ends), season, row.text(columns.get("uid", "")))
    except Refused as refusal:
        return Refusal(where, cut(label, "opponent") or where, refusal.reason, refusal.column)


def day_at(row: Row, header: str, season: Stretch) -> dt.date:
    try:
        return day_in(row.cells.get(header, ""), season)
    except Refused as refusal:
        raise Refused(refusal.reason, header) from None
