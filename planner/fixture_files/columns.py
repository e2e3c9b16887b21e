"""Which column of a table of matches holds what: recognised by its header, or chosen by the person who imports."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.days import NUMBERS, refuse_month_first
from shared.tables import Table, Unreadable

TITLES = {
    "date": gettext_lazy("date"),
    "time": gettext_lazy("kick-off"),
    "opponent": gettext_lazy("opponent"),
    "side": gettext_lazy("home or away"),
    "home_team": gettext_lazy("home team"),
    "away_team": gettext_lazy("away team"),
    "competition": gettext_lazy("competition"),
    "venue": gettext_lazy("venue"),
    "reference": gettext_lazy("reference"),
    "state": gettext_lazy("state"),
}
# field -> headers that mean it, without case, blanks and marks; the first is the plain word for it
HEADERS = {
    "date": ("date", "matchdate", "fixturedate", "dateofmatch", "day", "when"),
    "time": ("kickoff", "ko", "kickofftime", "kotime", "time", "starttime", "start"),
    "opponent": ("opponent", "opponents", "opposition", "against", "versus", "vs", "v", "fixture", "match"),
    "side": ("homeaway", "homeoraway", "homeawayneutral", "ha", "hora", "side", "home"),
    "home_team": ("hometeam", "homeside", "homeclub"),
    "away_team": ("awayteam", "awayside", "awayclub", "visitors"),
    "competition": ("competition", "comp", "league", "cup", "division", "type"),
    "venue": ("venue", "ground", "location", "place", "pitch", "where"),
    "reference": ("uid", "reference", "ref", "matchid", "fixtureid", "id"),
    "state": ("status", "state"),
}


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


def reading_of(table: Table, chosen: Reading) -> Reading:
    """The choice if it is for such a table, else what the headers say. Raises ColumnsUnclear."""
    if chosen.fits(table):
        return chosen
    columns = recognised(table)
    refuse_missing(columns, table)
    try:
        refuse_month_first(table, columns["date"])
    except Unreadable as problem:
        raise ColumnsUnclear(str(problem)) from None
    return Reading(columns)


def recognised(table: Table) -> dict[str, str]:
    """field -> header. Raises ColumnsUnclear if two headers may mean one field and neither is the plain word for it."""
    found: dict[str, str] = {}
    for name, headers in meant(table).items():
        if len(headers) > 1 and plain(headers[0]) != HEADERS[name][0]:
            raise ColumnsUnclear(
                _("The columns “%(one)s” and “%(two)s” may both hold the %(field)s. Choose one of them.")
                % {"one": headers[0], "two": headers[1], "field": TITLES[name]}
            )
        found[name] = headers[0]
    return found


def meant(table: Table) -> dict[str, list[str]]:
    """field -> the headers that may mean it, the plainest word first."""
    found = {}
    for name, words in HEADERS.items():
        headers = sorted((h for h in table.headers if plain(h) in words), key=lambda h: words.index(plain(h)))
        if headers:
            found[name] = headers
    return found


def plain(header: str) -> str:
    return re.sub(r"[\W_]", "", header.casefold())


def refuse_missing(columns: Mapping[str, str], table: Table) -> None:
    missing = missing_in(columns)
    if missing:
        raise ColumnsUnclear(
            _(
                "There is no column “%(missing)s”. The header row has: %(headers)s. Name the columns date, opponent, "
                "and if you have them time, home/away, competition, venue, reference, status."
            )
            % {"missing": ", ".join(missing), "headers": ", ".join(table.headers)}
        )


def missing_in(columns: Mapping[str, str]) -> list[str]:
    """What no list of matches can do without: a date, and an opponent or both teams."""
    has_opponent = "opponent" in columns or {"home_team", "away_team"} <= columns.keys()
    return [*([] if "date" in columns else [_("date")]), *([] if has_opponent else [_("opponent")])]


def day_order_is_open(table: Table, header: str) -> bool:
    """Days are written in numbers, and none of them is above 12: 03/10 may be 3 October or 10 March."""
    found = [match for row in table.rows if (match := NUMBERS.match(row.text(header)))]
    return bool(found) and all(int(match[1]) <= 12 and int(match[3]) <= 12 for match in found)
