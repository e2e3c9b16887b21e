"""The columns of a squad list: which header holds what, and how its cells read."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.cells import as_text, lost_letter, lost_letter_in
from shared.days import NUMBERS, day_in, refuse_month_first
from shared.tables import Cell, Row, Table, Unreadable
from squads.models import SizeBand
from squads.positions import read_positions

TITLES = {
    "key": gettext_lazy("reference"),
    "name": gettext_lazy("name"),
    "given_name": gettext_lazy("first name"),
    "family_name": gettext_lazy("family name"),
    "positions": gettext_lazy("position"),
    "other_positions": gettext_lazy("other positions"),
    "born": gettext_lazy("date of birth"),
    "joined": gettext_lazy("joined"),
    "seasons_played": gettext_lazy("seasons played"),
    "size_band": gettext_lazy("size band"),
}
HEADERS: dict[str, set[str]] = {
    "key": {
        *("reference", "ref", "ref no", "id", "player id", "member id", "member no", "member number", "key"),
        *("membership no", "membership number", "registration", "registration no", "registration number", "club no"),
    },
    "name": {"name", "full name", "fullname", "player", "player name", "players name"},
    "given_name": {"first name", "firstname", "forename", "given name", "first", "known as"},
    "family_name": {"surname", "last name", "lastname", "family name", "last"},
    "positions": {
        *("position", "positions", "pos", "main position", "playing position", "preferred position", "position s"),
        *("shirt", "shirt no", "shirt number", "jersey", "jersey number", "group", "unit", "position group"),
    },
    "other_positions": {
        *("other positions", "other position", "second position", "secondary position", "2nd position"),
        *("also plays", "cover", "covers", "can cover", "alternative position"),
    },
    "born": {"date of birth", "dob", "d o b", "born", "birth date", "birthdate", "birthday"},
    "joined": {"joined", "date joined", "joining date", "joined on", "member since", "start date"},
    "seasons_played": {"seasons", "seasons played", "years played", "years playing", "experience", "training age"},
    "size_band": {"size", "size band", "build"},
}
SIZES = {
    SizeBand.LIGHT: {"light", "l", "small", "s"},
    SizeBand.MIDDLE: {"middle", "m", "medium", "mid"},
    SizeBand.HEAVY: {"heavy", "h", "large", "big"},
}
MOST_SEASONS = 60
YOUNGEST, OLDEST = 4, 90


class Refusal(Exception):
    """A row that cannot be taken: the header of the column to blame ("" for the whole row) and the reason."""

    def __init__(self, column: str, reason: str) -> None:
        super().__init__(reason)
        self.column, self.reason = column, reason


@dataclass(frozen=True, slots=True)
class Columns:
    """The header of each field that the table has, and the headers that mean nothing here."""

    headers: dict[str, str]
    unused: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """What a row says of a player. None and "" mean that it says nothing."""

    number: int
    given_name: str
    family_name: str
    key: str = ""
    main_position: int | None = None
    other_positions: tuple[int, ...] = ()
    born: dt.date | None = None
    joined: dt.date | None = None
    seasons_played: int | None = None
    size_band: str = ""

    @property
    def name(self) -> str:
        return f"{self.given_name} {self.family_name}"


def columns_of(table: Table) -> Columns:
    """Raises Unreadable if two columns hold one field, if names are missing, or if months stand before days."""
    headers: dict[str, str] = {}
    for header in table.headers:
        field = field_of(header)
        if field in headers:
            raise Unreadable(
                _("The columns “%(one)s” and “%(two)s” both hold the %(field)s. Rename or remove one.")
                % {"one": headers[field], "two": header, "field": TITLES[field]}
            )
        if field:
            headers[field] = header
    if "name" not in headers and not {"given_name", "family_name"} <= headers.keys():
        raise Unreadable(
            _("No column for names was found. Head two “First name” and “Surname”, or one “Name”. Found: %(all)s.")
            % {"all": ", ".join(table.headers)}
        )
    for header in (headers[field] for field in ("born", "joined") if field in headers):
        refuse_month_first(table, header)
    return Columns(headers, tuple(header for header in table.headers if header not in headers.values()))


def field_of(header: str) -> str:
    """The field that a header means, "" for none. Case, dots, hyphens and what stands in brackets do not matter."""
    words = re.sub(r"\(.*?\)", " ", header.casefold())
    words = " ".join(re.sub(r"[^\w]+|_", " ", words.replace("'", "").replace("’", "")).split())
    return next((field for field, names in HEADERS.items() if words in names), "")


def entry_of(row: Row, columns: Columns, today: dt.date) -> Entry:
    """What a row says; raises Refusal at the first cell that cannot be taken."""
    if row.problem:
        raise Refusal(row.column, row.problem)
    read = Reader(row, columns.headers, today)
    given, family = read.names()
    main, others = read.positions()
    return Entry(
        number=row.number,
        given_name=given,
        family_name=family,
        key=read.short("key", 40),
        main_position=main,
        other_positions=others,
        born=read.field("born", read.birth_date) or None,
        joined=read.field("joined", read.joining_date) or None,
        seasons_played=read.seasons(),
        size_band=read.field("size_band", size_of),
    )


@dataclass(frozen=True, slots=True)
class Reader:
    """One row under its columns. Each method reads one field and names its column if that fails."""

    row: Row
    headers: dict[str, str]
    today: dt.date

    def text(self, field: str) -> str:
        return self.row.text(self.headers.get(field, ""))

    def field(self, field: str, parse: Callable[[Cell], Any]) -> Any:
        """The cell as `parse` reads it, or "" if it is empty."""
        header = self.headers.get(field, "")
        cell = self.row.cells.get(header, "")
        if as_text(cell) == "":
            return ""
        try:
            return parse(cell)
        except ValueError as error:
            raise Refusal(header, str(error)) from None

    def short(self, field: str, most: int) -> str:
        text = self.text(field)
        if len(text) > most:
            raise Refusal(self.headers[field], _("it is longer than %(most)d letters.") % {"most": most})
        return text

    def names(self) -> tuple[str, str]:
        """First and family name, from their own columns or else from the one that holds both."""
        given, family = self.short("given_name", 60), self.short("family_name", 60)
        if not (given or family) and "name" in self.headers:
            given, family = self.field("name", split_name) or ("", "")
        for field, name in (("given_name", given), ("family_name", family)):
            if not name:
                header = self.headers.get(field) or self.headers.get("name", "")
                raise Refusal(header, _("the %(field)s is missing.") % {"field": TITLES[field]})
            if lost_letter(name):
                header = self.headers.get(field) or self.headers["name"]
                raise Refusal(header, lost_letter_in(name))
        return given, family

    def positions(self) -> tuple[int | None, tuple[int, ...]]:
        """The main position, which is the first in its column, and all others."""
        main, *others = self.field("positions", positions_of) or [None]
        others += self.field("other_positions", positions_of) or []
        return main, tuple(dict.fromkeys(number for number in others if number != main))

    def seasons(self) -> int | None:
        found = self.field("seasons_played", seasons_of)
        return None if found == "" else found

    def birth_date(self, cell: Cell) -> dt.date:
        born = date_of(cell, self.today.year)
        if not YOUNGEST <= self.today.year - born.year <= OLDEST:
            raise ValueError(_("born in %(year)d? Check the year.") % {"year": born.year})
        return born

    def joining_date(self, cell: Cell) -> dt.date:
        return date_of(cell, self.today.year + 1)


def split_name(cell: Cell) -> tuple[str, str]:
    """ "Ann Ferris" and "Ferris, Ann"; of more than two names the first is the first name."""
    text = as_text(cell)
    if "," in text:
        family, _comma, given = (part.strip() for part in text.partition(","))
    else:
        given, _space, family = text.partition(" ")
    if max(len(given), len(family)) > 60:
        raise ValueError(_("it is longer than %(most)d letters.") % {"most": 60})
    return given, family


def positions_of(cell: Cell) -> list[int]:
    numbers = NUMBERS.fullmatch(as_text(cell))
    if isinstance(cell, dt.date) or (numbers and int(numbers[4]) > 15):
        raise ValueError(
            _("your spreadsheet made the date %(date)s of it. Format the column as text and write it again.")
            % {"date": as_text(cell)}
        )
    return read_positions(as_text(cell))


def date_of(cell: Cell, latest_year: int) -> dt.date:
    """A date cell, 2004-03-25, or 25/03/2004 with / . or - and the day before the month. A year of two digits is
    the last one that ends so, up to `latest_year`."""
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    text = as_text(cell)
    try:
        day = day_in(text, latest_year)
    except ValueError:
        raise ValueError(_("there is no day %(text)s. Write day, month, year.") % {"text": text}) from None
    if day is None:
        raise ValueError(_("“%(text)s” is no date. Write it like 25/03/2004 or 2004-03-25.") % {"text": text})
    return day


def seasons_of(cell: Cell) -> int:
    text = as_text(cell)
    if not re.fullmatch(r"\d{1,3}", text) or int(text) > MOST_SEASONS:
        raise ValueError(
            _("“%(text)s” is no number of seasons. Write a whole number up to %(most)d.")
            % {"text": text, "most": MOST_SEASONS}
        )
    return int(text)


def size_of(cell: Cell) -> str:
    text = as_text(cell).casefold()
    for band, words in SIZES.items():
        if text in words:
            return band.value
    raise ValueError(_("“%(text)s” is no size band. Write light, middle or heavy.") % {"text": text})
