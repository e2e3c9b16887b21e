"""What the readers of files share: cells, raw rows, limits, and the one error that speaks to the user."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

Cell = str | int | float | bool | dt.date | dt.datetime | dt.time
MOST_BYTES = 2_000_000
MOST_ROWS = 5_000
MOST_COLUMNS = 100


class Unreadable(Exception):
    """A file that cannot be read. The message tells its user what, where, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Limits:
    bytes: int = MOST_BYTES
    rows: int = MOST_ROWS
    columns: int = MOST_COLUMNS


@dataclass(frozen=True, slots=True)
class RawRow:
    """A row as its reader found it: no trailing empty cells, not yet under headers. `ragged`: it should be as wide
    as the header row, as in a CSV, where a missing delimiter shifts all cells behind it."""

    number: int
    cells: tuple[Cell, ...]
    ragged: bool = False
    problem: str = ""
    problem_at: int | None = None


def as_text(cell: Cell) -> str:
    """A cell as text: whole numbers without a decimal point, dates and times by ISO 8601, single spaces."""
    if isinstance(cell, bool):
        return _("yes") if cell else _("no")
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ", timespec="minutes")
    if isinstance(cell, dt.date):
        return cell.isoformat()
    if isinstance(cell, dt.time):
        return cell.isoformat(timespec="minutes")
    return re.sub(r"\s+", " ", str(cell)).strip()


def lost_letter(text: str) -> bool:
    """Whether a program put a question mark for a letter that its encoding lacks: “?ukas” for “Łukas”."""
    return re.search(r"\ufffd|\?(?=[^\W\d_])|(?<=[^\W\d_])\?", text) is not None


def lost_letter_in(text: str) -> str:
    """The reason for a refusal, in words."""
    return _("“%(text)s” has lost a letter. Save the list as “CSV UTF-8” or XLSX, or write it without the mark.") % {
        "text": text
    }


def column_letter(place: int) -> str:
    """The name of a column counted from 0 as spreadsheets write it: A … Z, AA …"""
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(65 + rest) + name
    return name


def harmless(text: str) -> str:
    """For a cell of a file that we write: a spreadsheet would take one that begins like this for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text
