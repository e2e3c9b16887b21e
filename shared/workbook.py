"""XLSX: the cells of one sheet, after a look at what the archive would unpack to."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from typing import Any

import openpyxl
from django.utils.translation import gettext as _

from shared.cells import Cell, Limits, RawRow, Unreadable, column_letter

ZIP, OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
MOST_UNPACKED = 40_000_000
MOST_PARTS = 500
LAST_ROW = 1_048_576


def looks_like(content: bytes) -> bool:
    return content.startswith((ZIP, OLE))


def read(content: bytes, filename: str, sheet: str | None, limits: Limits) -> tuple[str, Iterator[RawRow]]:
    """How the file was read, in words, and its rows. Raises Unreadable."""
    refuse_other_kinds(content, filename)
    try:
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
        found = chosen(book, sheet, limits)
    except Unreadable:
        raise
    except Exception as error:  # the parser meets broken files with a dozen kinds of error, all saying one thing
        raise Unreadable(
            _("“%(file)s” is a damaged workbook. Open it in your spreadsheet program and save it again as XLSX.")
            % {"file": filename}
        ) from error
    if found is None:
        raise Unreadable(_("“%(file)s” holds no filled sheet. Choose the file with your table.") % {"file": filename})
    title, rows = found
    return _("XLSX, sheet “%(sheet)s”") % {"sheet": title}, iter(rows)


def refuse_other_kinds(content: bytes, filename: str) -> None:
    """Old or locked workbooks, other archives, and archives that unpack to far more than a table."""
    if content.startswith(OLE):
        raise Unreadable(ole_message(content) % {"file": filename})
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = {part.filename: part.file_size for part in archive.infolist()}
    except zipfile.BadZipFile:
        raise Unreadable(
            _("“%(file)s” is cut off or damaged. Fetch it again, or save it again as XLSX.") % {"file": filename}
        ) from None
    if "xl/workbook.xml" not in parts:
        raise Unreadable(
            _("“%(file)s” is no XLSX workbook. Save the table as XLSX or CSV and try again.") % {"file": filename}
        )
    if sum(parts.values()) > MOST_UNPACKED or len(parts) > MOST_PARTS:
        raise Unreadable(
            _("“%(file)s” unpacks to far more than a table. Copy the table alone into a new workbook.")
            % {"file": filename}
        )


def ole_message(content: bytes) -> str:
    if "EncryptedPackage".encode("utf-16-le") in content:
        return _("“%(file)s” is locked with a password. Save it without one and try again.")
    return _("“%(file)s” is in an old workbook format. Save it as XLSX or CSV and try again.")


def chosen(book: Any, sheet: str | None, limits: Limits) -> tuple[str, list[RawRow]] | None:
    """Title and rows of the sheet that was named, or of the first visible one with anything in it."""
    if sheet is not None and sheet not in book.sheetnames:
        raise Unreadable(
            _("There is no sheet “%(sheet)s”. The workbook has: %(sheets)s.")
            % {"sheet": sheet, "sheets": ", ".join(book.sheetnames)}
        )
    for page in book.worksheets:
        if page.title == sheet or (sheet is None and page.sheet_state == "visible"):
            rows = list(raw_rows(page, limits))
            if rows:
                return page.title, rows
    return None


def raw_rows(page: Any, limits: Limits) -> Iterator[RawRow]:
    """The rows with anything in them. One beyond the limits is kept, so that the limit can be told."""
    page.reset_dimensions()  # some programs write a wrong one
    kept = 0
    for number, cells in enumerate(page.iter_rows(max_row=LAST_ROW, max_col=limits.columns + 1), start=1):
        row = raw_row(number, cells)
        if row.cells:
            yield row
            kept += 1
        if kept > limits.rows + 1:
            return


def raw_row(number: int, cells: tuple[Any, ...]) -> RawRow:
    values = [plain(cell.value) for cell in cells]
    while values and values[-1] == "":
        values.pop()
    for place, cell in enumerate(cells):
        if cell.data_type == "e":
            problem = _("cell %(letter)s%(row)d holds the error %(error)s") % {
                "letter": column_letter(place),
                "row": number,
                "error": cell.value,
            }
            return RawRow(number, tuple(values), problem=problem, problem_at=place)
    return RawRow(number, tuple(values))


def plain(value: Any) -> Cell:
    """Dates without a time as dates, whole numbers as int, spans of time and the like as text."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return value.date()
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, (int, float, dt.date, dt.time)):
        return value
    return str(value)
