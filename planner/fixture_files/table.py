"""Matches from a CSV or XLSX list: one row a match, under headers that clubs and leagues use.

Either a column “opponent” with a column “home/away”, or columns “home team” and “away team” of which one names
the club. A row without a reference is recognised by its day and opponent.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Sequence
from functools import partial

from django.utils.translation import gettext as _

from planner.columns import Reading, columns_told
from planner.core.calendar import at_wall_time
from planner.fixture_files.columns import MATCHES, day_order_is_open
from planner.fixture_files.found import FoundFile, FoundMatch, Refusal, Refused, Wanted, cut, no_season_has
from planner.fixture_files.summary import is_ours, read_summary
from planner.models import FixtureState
from shared.cells import Cell, as_text, lost_letter, lost_letter_in
from shared.tables import Row, read_table

HOME = {"h", "home", "yes", "y", "true", "1"}
AWAY = {"a", "away", "no", "n", "false", "0", "neutral"}
STATES = {
    "": None,
    "planned": FixtureState.PLANNED,
    "confirmed": FixtureState.PLANNED,
    "scheduled": FixtureState.PLANNED,
    "postponed": FixtureState.POSTPONED,
    "cancelled": FixtureState.CANCELLED,
    "canceled": FixtureState.CANCELLED,
}
NOT_KNOWN_YET = {"", "tbc", "tba", "tbd", "?", "-", "–"}
IN_LETTERS = ("%d %b %Y", "%d %B %Y", "%b %d, %Y", "%B %d, %Y")
DAY_FIRST = ("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d/%m/%y", "%d.%m.%y", *IN_LETTERS)
MONTH_FIRST = ("%m/%d/%Y", "%m.%d.%Y", "%m-%d-%Y", "%m/%d/%y", "%m.%d.%y", *IN_LETTERS)
WEEKDAY_FIRST = re.compile(r"^(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.IGNORECASE)
CLOCK_LAST = re.compile(r"^(.*\d),?\s+(\d{1,2}[:.]\d{2}(?::\d{2})?(?:\s*[ap]\.?m\.?)?)$", re.IGNORECASE)
CLOCK = re.compile(r"^(\d{1,2})(?:[:.h](\d{2}))?(?::\d{2})?\s*([ap])?\.?m?\.?$|^(\d{2})(\d{2})$", re.IGNORECASE)


def read(content: bytes, filename: str, wanted: Wanted) -> FoundFile:
    """The matches of a table. Raises Unreadable."""
    table = read_table(content, filename)
    reading = MATCHES.reading_of(table, wanted.reading)
    entries = tuple(entry_of(RowOfMatch(row, reading, wanted)) for row in table.rows)
    open_order = reading is not wanted.reading and day_order_is_open(table, reading.columns["date"])
    return FoundFile(entries, columns_told(table, reading), is_table=True, day_order_is_open=open_order)


class RowOfMatch:
    """A row under the columns that were recognised."""

    def __init__(self, row: Row, reading: Reading, wanted: Wanted) -> None:
        self.row, self.columns, self.wanted = row, reading.columns, wanted
        self.day_formats = MONTH_FIRST if reading.month_first else DAY_FIRST

    @property
    def where(self) -> str:
        return _("row %(row)d") % {"row": self.row.number}

    @property
    def label(self) -> str:
        told = (self.text(field) for field in ("date", "opponent", "home_team", "away_team"))
        return cut(" ".join(filter(None, told)), "opponent") or self.where

    def cell(self, field: str) -> Cell:
        return self.row.cells.get(self.columns.get(field, ""), "")

    def text(self, field: str) -> str:
        return as_text(self.cell(field))

    def read(self, field: str, reader: Callable[[Cell], object]) -> object:
        """The cell through a reader; a complaint of the reader names the column."""
        try:
            return reader(self.cell(field))
        except Refused as refusal:
            raise Refused(refusal.reason, self.columns.get(field, "")) from None


def entry_of(row: RowOfMatch) -> FoundMatch | Refusal:
    try:
        if row.row.problem:
            raise Refused(row.row.problem, row.row.column)
        return match_of(row)
    except Refused as refusal:
        return Refusal(row.where, row.label, refusal.reason, refusal.column)


def match_of(row: RowOfMatch) -> FoundMatch:
    day, clock = row.read("date", partial(day_and_clock, formats=row.day_formats))
    clock = row.read("time", clock_in) or clock
    if not row.wanted.has(day):
        raise Refused(no_season_has(day, row.wanted), row.columns["date"])
    opponent, home = teams_of(row) if "home_team" in row.columns and "away_team" in row.columns else side_of(row)
    return FoundMatch(
        row.where,
        row.text("reference"),
        day,
        at_wall_time(day, clock, row.wanted.zone) if clock else None,
        cut(opponent, "opponent"),
        home,
        cut(row.text("competition"), "competition"),
        cut(row.text("venue"), "venue_words"),
        row.read("state", state_in),
    )


def side_of(row: RowOfMatch) -> tuple[str, bool | None]:
    if not row.text("opponent"):
        raise Refused(_("it names no opponent"), row.columns.get("opponent", ""))
    opponent, home = read_summary(row.read("opponent", team_in), row.wanted.club)
    told = row.read("side", home_in)
    return opponent, home if told is None else told


def teams_of(row: RowOfMatch) -> tuple[str, bool | None]:
    home_team, away_team = row.read("home_team", team_in), row.read("away_team", team_in)
    at_home, away = (is_ours(team, row.wanted.club) for team in (home_team, away_team))
    if not (home_team and away_team) or at_home == away:
        raise Refused(
            _("one of the two teams must be “%(club)s”, the other the opponent") % {"club": row.wanted.club},
            row.columns["home_team"],
        )
    return (away_team if at_home else home_team), at_home


def team_in(cell: Cell) -> str:
    name = as_text(cell)
    if lost_letter(name):
        raise Refused(lost_letter_in(cut(name, "opponent")))
    return name


def day_and_clock(cell: Cell, formats: Sequence[str]) -> tuple[dt.date, dt.time | None]:
    """A date, with the time that some programs keep in the same cell."""
    if isinstance(cell, dt.datetime):
        return cell.date(), cell.time()
    if isinstance(cell, dt.date):
        return cell, None
    text = WEEKDAY_FIRST.sub("", as_text(cell))
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        pass
    else:
        if moment.tzinfo is not None:
            raise Refused(_("“%(text)s” names a zone. Write the time at the ground without one.") % {"text": text[:40]})
        return moment.date(), moment.time() if len(text) > len("2026-10-10") else None
    return day_with_clock_behind(text, formats)


def day_with_clock_behind(text: str, formats: Sequence[str]) -> tuple[dt.date, dt.time | None]:
    """31/10/2026, 31 Oct 2026, 31/10/26 14:30, 31/10/2026 2:30 pm."""
    parted = CLOCK_LAST.match(text)
    for form in formats:
        try:
            day = dt.datetime.strptime(parted[1] if parted else text, form).date()
        except ValueError:
            continue
        return day, clock_in(parted[2]) if parted else None
    raise Refused(_("“%(text)s” is no date. Write 2026-10-31 or 31/10/2026.") % {"text": text[:40]})


def clock_in(cell: Cell) -> dt.time | None:
    """A time of day; None while the kick-off is not known."""
    if isinstance(cell, dt.datetime):
        return cell.time()
    if isinstance(cell, dt.time):
        return cell
    text = as_text(cell).casefold()
    if text in NOT_KNOWN_YET:
        return None
    found = CLOCK.match(text)
    try:
        return clock_of(found) if found else dt.time.fromisoformat(text)
    except ValueError:
        raise Refused(_("“%(text)s” is no time of day. Write 14:30.") % {"text": text[:40]}) from None


def clock_of(found: re.Match[str]) -> dt.time:
    hour, minute = int(found[1] or found[4]), int(found[2] or found[5] or 0)
    if found[3]:
        if not 1 <= hour <= 12:
            raise ValueError
        hour = hour % 12 + (12 if found[3].lower() == "p" else 0)
    return dt.time(hour, minute)


def home_in(cell: Cell) -> bool | None:
    word = as_text(cell).casefold()
    if word in NOT_KNOWN_YET:
        return None
    if word not in HOME | AWAY:
        raise Refused(_("“%(text)s” is neither home nor away") % {"text": word[:40]})
    return word in HOME


def state_in(cell: Cell) -> FixtureState | None:
    word = as_text(cell).casefold()
    if word not in STATES:
        raise Refused(
            _("“%(text)s” is no state of a match. Write planned, postponed or cancelled, or leave it empty.")
            % {"text": word[:40]}
        )
    return STATES[word]
