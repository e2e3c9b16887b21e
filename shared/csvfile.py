"""CSV: find the encoding and the delimiter, and read rows by RFC 4180 with the numbers a spreadsheet would show."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shared.cells import RawRow, Unreadable

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
BYTE_ORDER_MARKS = [
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
]
SAMPLE_ROWS = 50
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


@dataclass(frozen=True, slots=True)
class Reading:
    """The rows under one delimiter; `error` says where the quotation marks stopped making sense."""

    delimiter: str
    rows: list[list[str]]
    error: str = ""

    @property
    def width(self) -> int:
        return next((len(row) for row in self.rows if row), 0)

    @property
    def fit(self) -> tuple[float, int]:
        """How well the delimiter explains the rows: first the share as wide as the first, then that width."""
        filled = [row for row in self.rows[:SAMPLE_ROWS] if row]
        if self.width < 2:
            return (0.0, self.width)
        return (sum(len(row) == self.width for row in filled) / len(filled), self.width)


def read(content: bytes, filename: str) -> tuple[str, Iterator[RawRow]]:
    """How the file was read, in words, and its rows. Raises Unreadable."""
    text, encoding = decoded(content, filename)
    refuse_controls(text, filename)
    refuse_markup(text, filename)
    reading = best_reading(text)
    if reading.error:
        raise Unreadable(_("“%(file)s”: %(error)s") % {"file": filename, "error": reading.error})
    return f"CSV, {encoding}, {_(DELIMITERS[reading.delimiter])}", raw_rows(reading.rows)


def decoded(content: bytes, filename: str) -> tuple[str, str]:
    """The text and the name of its encoding.

    Without a byte order mark UTF-8 proves itself; what is not UTF-8 is taken for Windows-1252, the default
    of the spreadsheet programs in question. Statistics cannot do better on a list of thirty names.
    """
    codec, name = encoding_of(content)
    try:
        return content.decode(codec), name
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        raise Unreadable(
            _("“%(file)s” has letters in an unknown encoding near row %(row)d. Save it again as “CSV UTF-8”.")
            % {"file": filename, "row": row}
        ) from None


def encoding_of(content: bytes) -> tuple[str, str]:
    for mark, codec, name in BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return codec, name
    if looks_like_utf16(content):
        return ("utf-16-be" if content[0] == 0 else "utf-16-le"), "UTF-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", "Windows-1252"
    return "utf-8", "UTF-8"


def looks_like_utf16(content: bytes) -> bool:
    """UTF-16 without its mark: every other byte of Western text is zero."""
    sample = content[:400]
    return len(sample) > 3 and max(sample[::2].count(0), sample[1::2].count(0)) > 0.4 * len(sample)


def refuse_controls(text: str, filename: str) -> None:
    found = CONTROL.search(text)
    if found:
        raise Unreadable(
            _("“%(file)s” is not a table: line %(line)d holds the control character %(code)s. Save it as CSV or XLSX.")
            % {"file": filename, "line": text.count("\n", 0, found.start()) + 1, "code": f"U+{ord(found[0]):04X}"}
        )


def refuse_markup(text: str, filename: str) -> None:
    """Some programs save a web page or XML under the name of a table."""
    if text.lstrip().startswith("<"):
        raise Unreadable(
            _("“%(file)s” is a web page or XML, not a table. Open it in your spreadsheet program and save it as XLSX.")
            % {"file": filename}
        )


def best_reading(text: str) -> Reading:
    """The delimiter under which most rows are as wide as the header; `sep=;` in the first line settles it."""
    told = re.match(r"sep=([,;\t])\r?\n", text, re.IGNORECASE)
    if told:
        return reading_with(told[1], text[told.end() :])
    return max((reading_with(delimiter, text) for delimiter in DELIMITERS), key=lambda reading: reading.fit)


def reading_with(delimiter: str, text: str) -> Reading:
    rows: list[list[str]] = []
    try:
        rows.extend(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        error = _("the quotation marks in or after row %(row)d do not close. Mend them, or save the table as XLSX.")
        return Reading(delimiter, rows, error % {"row": len(rows) + 1})
    return Reading(delimiter, rows)


def raw_rows(rows: list[list[str]]) -> Iterator[RawRow]:
    """Columns that are empty from top to bottom at the right edge are left out, as are the cells of empty rows."""
    width = max((filled_width(row) for row in rows), default=0)
    for number, row in enumerate(rows, start=1):
        yield RawRow(number, tuple(cell.strip() for cell in row[: max(width, filled_width(row))]), ragged=True)


def filled_width(row: list[str]) -> int:
    return max((place for place, cell in enumerate(row, start=1) if cell.strip()), default=0)
