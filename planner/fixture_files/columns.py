"""What the columns of a list of matches can hold."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.columns import ListOf
from shared.days import NUMBERS
from shared.tables import Table


def missing_in(columns: Mapping[str, str]) -> list[str]:
    """What no list of matches can do without: a date, and an opponent or both teams."""
    has_opponent = "opponent" in columns or {"home_team", "away_team"} <= columns.keys()
    return [*([] if "date" in columns else [_("date")]), *([] if has_opponent else [_("opponent")])]


MATCHES = ListOf(
    titles={
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
    },
    headers={
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
    },
    missing=missing_in,
    days=("date",),
    advice=(
        gettext_lazy(
            "Name the columns date, opponent, and if you have them time, home/away, competition, venue, reference, "
            "status."
        ),
        gettext_lazy("Home team and away team together stand for an opponent."),
    ),
)


def day_order_is_open(table: Table, header: str) -> bool:
    """Days are written in numbers, and none of them is above 12: 03/10 may be 3 October or 10 March."""
    found = [match for row in table.rows if (match := NUMBERS.match(row.text(header)))]
    return bool(found) and all(int(match[1]) <= 12 and int(match[3]) <= 12 for match in found)
