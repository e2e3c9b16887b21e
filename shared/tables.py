"""Tables as other programs write them: CSV in the usual encodings and delimiters, and XLSX.

Everything that comes in by file passes here, so that each import speaks of rows as the user's own
program numbers them, and refuses what it cannot read in the same words.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shared import csvfile, workbook
from shared.cells import Cell, Limits, RawRow, Unreadable, as_text, column_letter

__all__ = ["Cell", "Limits", "Row", "Table", "Unreadable", "read_table"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row below the headers, numbered as a spreadsheet numbers it (the first row of the file is 1).

    `cells` holds a value for every header; an empty cell is "". A row that cannot be read has a `problem`
    in words and, where one cell is to blame, its header in `column`.
    """

    number: int
    cells: dict[str, Cell]
    problem: str = ""
    column: str = ""

    def text(self, header: str) -> str:
        """The cell as text, trimmed and with single spaces; dates as YYYY-MM-DD; "" if there is no such header."""
        return as_text(self.cells.get(header, ""))


@dataclass(frozen=True, slots=True)
class Table:
    """`origin` says how the file was read ("CSV, UTF-8, semicolons"), for a user who finds strange letters in it."""

    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    origin: str


def read_table(content: bytes, filename: str, *, sheet: str | None = None, limits: Limits | None = None) -> Table:
    """The table in a file, whose kind is told by its content. Raises Unreadable.

    The first row that is not empty holds the headers. Empty rows are passed over but keep their number.
    `sheet` names a sheet of a workbook; without it the first visible one that is not empty is read.
    """
    limits = limits or Limits()
    refuse_size(content, filename, limits)
    if workbook.looks_like(content):
        origin, raw = workbook.read(content, filename, sheet, limits)
    else:
        origin, raw = csvfile.read(content, filename)
    return under_headers(raw, filename, origin, limits)


def refuse_size(content: bytes, filename: str, limits: Limits) -> None:
    if not content.strip():
        raise Unreadable(_("“%(file)s” is empty. Choose the file that holds your table.") % {"file": filename})
    if len(content) > limits.bytes:
        raise Unreadable(
            _("“%(file)s” is larger than %(most).1f MB. Keep only the sheet with the table and try again.")
            % {"file": filename, "most": limits.bytes / 1_000_000}
        )


def under_headers(raw: Iterable[RawRow], filename: str, origin: str, limits: Limits) -> Table:
    filled = (row for row in raw if row.problem or any(cell != "" for cell in row.cells))
    first = next(filled, None)
    if first is None:
        raise Unreadable(_("“%(file)s” holds no rows. Choose the file that holds your table.") % {"file": filename})
    headers = headers_of(first, limits)
    rows = tuple(row_under(headers, row) for row in at_most(limits.rows, filled, filename))
    return Table(tuple(header for header in headers if header), rows, origin)


def at_most(most: int, rows: Iterator[RawRow], filename: str) -> Iterator[RawRow]:
    for count, row in enumerate(rows, start=1):
        if count > most:
            raise Unreadable(
                _("“%(file)s” has more than %(most)d rows. Split it into smaller files.")
                % {"file": filename, "most": most}
            )
        yield row


def headers_of(first: RawRow, limits: Limits) -> tuple[str, ...]:
    """The texts of the header row, "" where a column has none."""
    if first.problem:
        raise Unreadable(_("Row %(row)d: %(problem)s") % {"row": first.number, "problem": first.problem})
    headers = tuple(as_text(cell) for cell in first.cells)
    if len(headers) > limits.columns:
        raise Unreadable(
            _("The header row (row %(row)d) has more than %(most)d columns. Remove those that are not needed.")
            % {"row": first.number, "most": limits.columns}
        )
    counts = Counter(header.casefold() for header in headers if header)
    for header in headers:
        if counts[header.casefold()] > 1:
            raise Unreadable(
                _("The header “%(header)s” stands over more than one column in row %(row)d. Give each its own.")
                % {"header": header, "row": first.number}
            )
    return headers


def row_under(headers: tuple[str, ...], raw: RawRow) -> Row:
    cells = {header: cell for header, cell in zip(headers, padded(raw.cells, len(headers)), strict=False) if header}
    column = ""
    if raw.problem_at is not None and raw.problem_at < len(headers):
        column = headers[raw.problem_at]
    return Row(raw.number, cells, raw.problem or misfit(headers, raw), column)


def padded(cells: tuple[Cell, ...], width: int) -> tuple[Cell, ...]:
    return cells + ("",) * (width - len(cells))


def misfit(headers: tuple[str, ...], raw: RawRow) -> str:
    """What is wrong with the place of the cells of a row, in words; "" for nothing."""
    if raw.ragged and len(raw.cells) != len(headers):
        return _("it has %(cells)d cells and the header row %(headers)d. Look for a missing or extra delimiter.") % {
            "cells": len(raw.cells),
            "headers": len(headers),
        }
    for place, cell in enumerate(raw.cells):
        if cell != "" and (place >= len(headers) or not headers[place]):
            return _("cell %(letter)s%(row)d stands in a column without a header.") % {
                "letter": column_letter(place),
                "row": raw.number,
            }
    return ""
