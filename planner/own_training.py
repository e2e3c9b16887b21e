"""What a player sees of his own training on his own page: what he said of it, and what he was trained in.

His numbers, his minutes, their product and its sum for a week; no ratio, no target, no drill, nobody else.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from drills.models import Skill
from planner.core.load import Deviation
from planner.core.totals import monday_of
from planner.ledger_loads import LoadDay, ShownWeek, loads_of
from planner.ledger_skills import spells_of, trained_by
from planner.own import WEEK, WEEKS_BACK
from squads.models import Player


@dataclass(frozen=True)
class OwnLoadWeek:
    """`days` are those on which he did something, or of which nobody has told yet."""

    week: ShownWeek
    days: tuple[LoadDay, ...]


@dataclass(frozen=True)
class OwnTraining:
    """`weeks`: the newest first. `skills`: name and minutes of confirmed nights, the most first."""

    weeks: tuple[OwnLoadWeek, ...]
    skills: tuple[tuple[str, float], ...]


def own_training(player: Player, today: dt.date) -> OwnTraining:
    """The last four weeks, this one included, in six queries; his squad and club should be fetched with him."""
    first_monday = monday_of(today) - (WEEKS_BACK - 1) * WEEK
    loads = loads_of(player, first_monday, first_monday, today, today, Deviation.POPULATION)
    weeks = (OwnLoadWeek(week, tuple(day for day in week.days if day.did or day.lacks)) for week in loads.latest_first)
    return OwnTraining(tuple(weeks), tuple(own_skills(player, first_monday, today)))


def own_skills(player: Player, first: dt.date, today: dt.date) -> list[tuple[str, float]]:
    minutes: dict[str, float] = defaultdict(float)
    for spell in spells_of(player, trained_by(player, first, today)):
        minutes[spell.skill] += spell.minutes
    names = dict(Skill.objects.of(player.squad.club).values_list("code", "name"))
    return sorted(((names.get(code, code), much) for code, much in minutes.items()), key=lambda row: (-row[1], row[0]))
