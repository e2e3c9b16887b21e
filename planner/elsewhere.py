"""Contact in training elsewhere as a stretch of a player's week: declared minutes count in full."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict

from django.utils.translation import gettext as _

from planner.core.record import Source
from planner.core.totals import Stretch
from planner.days import Days, declared_between
from planner.record_models import Declared
from shared.core.contact import Kind, Level
from squads.core.eligibility import ceiling

ELSEWHERE = 0  # the key of no session


def declared_on(days: Days) -> dict[int, list[Stretch]]:
    """By player, in one query at most. It counts whatever somebody decided; above a decision it is in spite of it."""
    found: dict[int, list[Stretch]] = defaultdict(list)
    rows = days.declared
    if rows is None:
        rows = declared_between(days.squad, days.first, days.last).filter(player__in=days.players)
    for row in rows:
        if row.player_id in days.players:
            found[row.player_id].append(stretch_of(row, decided_level(days, row.player_id, row.day)))
    return found


def stretch_of(row: Declared, level: Level) -> Stretch:
    """All of its minutes are contact."""
    what = _("%(place)s, told by %(who)s") % {"place": row.get_place_display(), "who": row.declared_by}
    return Stretch(
        row.player_id,
        ELSEWHERE,
        0,
        row.day,
        what,
        Kind(row.kind),
        row.minutes,
        100,
        level,
        placed=False,
        aside=False,
        source=Source.DECLARED,
    )


def decided_level(days: Days, player: int, day: dt.date) -> Level:
    """By decisions alone: whoever is away from us may well play elsewhere."""
    return ceiling(day, decisions=[row.as_decision() for row in days.clearances[player]]).level
