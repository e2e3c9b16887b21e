"""Which column of a list holds what: recognised by its header, or chosen by the person who imports."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from shared.days import refuse_month_first
from shared.tables import Table, Unreadable


class ColumnsUnclear(Unreadable):
    """The table can be read once somebody says which column holds what."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What somebody chose for tables with these headers: field -> header, and whether months stand before days."""

    columns: Mapping[str, str] = field(default_factory=dict)
    month_first: bool = False

    def fits(self, table: Table) -> bool:
        return bool(self.columns) and set(self.columns.values()) <= set(table.headers)


NOTHING_CHOSEN = Reading()


@dataclass(frozen=True)
class ListOf:
    """What lists of one kind can hold.

    `titles`: field -> its name. `headers`: field -> headers that mean it, without case, blanks and marks; the first is
    the plain word for it. `missing`: names of what no such list can do without. `days`: fields that hold days.
    `advice`: two sentences of what to do about missing columns, for whoever writes the list and whoever chooses.
    """

    titles: Mapping[str, str]
    headers: Mapping[str, tuple[str, ...]]
    missing: Callable[[Mapping[str, str]], list[str]]
    days: tuple[str, ...]
    advice: tuple[str, str]

    def reading_of(self, table: Table, chosen: Reading) -> Reading:
        """The choice if it is for such a table, else what the headers say. Raises ColumnsUnclear."""
        if chosen.fits(table):
            return chosen
        columns = self.recognised(table)
        self.refuse_missing(columns, table)
        try:
            for name in self.days:
                if name in columns:
                    refuse_month_first(table, columns[name])
        except Unreadable as problem:
            raise ColumnsUnclear(str(problem)) from None
        return Reading(columns)

    def recognised(self, table: Table) -> dict[str, str]:
        """field -> header. Raises ColumnsUnclear if two may mean one field and neither is the plain word for it."""
        found: dict[str, str] = {}
        for name, headers in self.meant(table).items():
            if len(headers) > 1 and plain(headers[0]) != self.headers[name][0]:
                raise ColumnsUnclear(
                    _("The columns “%(one)s” and “%(two)s” may both hold the %(field)s. Choose one of them.")
                    % {"one": headers[0], "two": headers[1], "field": self.titles[name]}
                )
            found[name] = headers[0]
        return found

    def meant(self, table: Table) -> dict[str, list[str]]:
        """field -> the headers that may mean it, the plainest word first."""
        found = {}
        for name, words in self.headers.items():
            headers = sorted((h for h in table.headers if plain(h) in words), key=lambda h: words.index(plain(h)))
            if headers:
                found[name] = headers
        return found

    def refuse_missing(self, columns: Mapping[str, str], table: Table) -> None:
        if missing := self.missing(columns):
            told = {"missing": ", ".join(missing), "headers": ", ".join(table.headers)}
            words = _("There is no column “%(missing)s”. The header row has: %(headers)s.") % told
            raise ColumnsUnclear(f"{words} {self.advice[0]}")


def plain(header: str) -> str:
    return re.sub(r"[\W_]", "", header.casefold())


def columns_told(table: Table, reading: Reading) -> str:
    """How the table was read, and which of its columns were not."""
    unread = [header for header in table.headers if header not in reading.columns.values()]
    if not unread:
        return table.origin
    return _("%(origin)s; columns not read: %(columns)s") % {"origin": table.origin, "columns": ", ".join(unread)}
