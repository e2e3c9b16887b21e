"""Breaks from a CSV or XLSX list: one row each, with a name, a first day and, if it is longer, a last day."""

from __future__ import annotations

import datetime as dt

from django.utils.translation import gettext as _

from planner.break_files.columns import BREAKS, day_order_is_open
from planner.break_files.found import FoundBreak, FoundBreaks, day_in, found_break
from planner.columns import NOTHING_CHOSEN, Reading, columns_told
from planner.core.calendar import Stretch
from planner.fixture_files.found import Refusal, Refused, cut
from shared.tables import Row, read_table


def read(content: bytes, filename: str, season: Stretch, chosen: Reading = NOTHING_CHOSEN) -> FoundBreaks:
    """`chosen`: the columns that the squad chose for its lists. Raises Unreadable."""
    table = read_table(content, filename)
    reading = BREAKS.reading_of(table, chosen)
    return FoundBreaks(
        tuple(entry_of(row, reading, season) for row in table.rows),
        columns_told(table, reading),
        day_order_is_open=reading is not chosen and day_order_is_open(table, reading),
    )


def entry_of(row: Row, reading: Reading, season: Stretch) -> FoundBreak | Refusal:
    columns = reading.columns
    where, label = _("row %(row)d") % {"row": row.number}, row.text(columns["name"])
    try:
        if row.problem:
            raise Refused(row.problem, row.column)
        begins = day_at(row, columns["first"], reading, season)
        last = columns.get("last", "")
        ends = day_at(row, last, reading, season) if last and row.text(last) else begins
        return found_break(where, label, Stretch(begins, ends), season, row.text(columns.get("uid", "")))
    except Refused as refusal:
        return Refusal(where, cut(label, "opponent") or where, refusal.reason, refusal.column)


def day_at(row: Row, header: str, reading: Reading, season: Stretch) -> dt.date:
    try:
        return day_in(row.cells.get(header, ""), season, month_first=reading.month_first)
    except Refused as refusal:
        raise Refused(refusal.reason, header) from None
