"""What a player sees of his own training on his own page: what he said of it, and what he was trained in.

His numbers, his minutes, their product and its sum for a week; no ratio, no target, no drill, nobody else.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils import timezone

from drills.models import Skill
from planner.core.exposure import figures
from planner.core.load import Deviation
from planner.core.totals import monday_of
from planner.ledger_loads import LoadDay, ShownWeek, loads_of
from planner.ledger_skills import spells_of, trained_by, unconfirmed_spells
from planner.own import WEEK, WEEKS_BACK
from planner.unconfirmed import Open
from squads.models import Player


@dataclass(frozen=True)
class OwnLoadWeek:
    """`days` are those on which he did something, or of which nobody has told yet."""

    week: ShownWeek
    days: tuple[LoadDay, ...]


@dataclass(frozen=True)
class OwnTraining:
    """`weeks`: the newest first. `skills`: name, minutes, and how many of these are of nights that nobody has confirmed
    in 48 hours; the most first."""

    weeks: tuple[OwnLoadWeek, ...]
    skills: tuple[tuple[str, float, float], ...]


def own_training(player: Player, today: dt.date) -> OwnTraining:
    """The last four weeks, this one included, in six queries, and those of `Open.of` where a night has not been
    confirmed in 48 hours; his squad and club should be fetched with him."""
    first_monday = monday_of(today) - (WEEKS_BACK - 1) * WEEK
    still_open = Open.of(player.squad, first_monday, today, timezone.now(), only=player)
    loads = loads_of(player, first_monday, first_monday, today, today, Deviation.POPULATION, still_open)
    weeks = (OwnLoadWeek(week, tuple(day for day in week.days if day.did or day.lacks)) for week in loads.latest_first)
    return OwnTraining(tuple(weeks), tuple(own_skills(player, first_monday, today, still_open)))


def own_skills(player: Player, first: dt.date, today: dt.date, still_open: Open) -> list[tuple[str, float, float]]:
    confirmed = spells_of(player, trained_by(player, first, today))
    found = figures((*confirmed, *unconfirmed_spells(player, still_open.took)), {}, first).values()
    names = dict(Skill.objects.of(player.squad.club).values_list("code", "name"))
    rows = ((names.get(each.name, each.name), each.minutes, each.unconfirmed) for each in found)
    return sorted(rows, key=lambda row: (-row[1], row[0]))
