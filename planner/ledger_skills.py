"""What a player was trained in: minutes of each skill against his group's target, and the rungs that he has passed.

Confirmed nights count, and those that nobody has confirmed in 48 hours as they were planned, marked as such. What was
planned for nights that have begun since stands beside it. A rung is passed on confirmed nights alone.
"""

from __future__ import annotations

import datetime as dt
import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from django.db.models import OuterRef, QuerySet, Subquery, TextField, Value
from django.db.models.functions import Cast, Concat

from drills.models import Family, Skill
from planner.core.exposure import SkillFigure, Spell, figures, target_over
from planner.core.ladder import RungFigure, Stood, rungs
from planner.core.record import Took
from planner.models import GroupTarget, Place
from planner.record_models import Presence
from squads.models import Player

Shares = Iterable[tuple[str, int, Iterable[str] | None]]  # code, per cent, and the roles that it is for


@dataclass(frozen=True, slots=True)
class SkillLine:
    """`planned`: minutes of nights that are open and not yet 48 hours over; `weeks`: since the last day, None where
    there is none."""

    name: str
    family: str
    figure: SkillFigure
    weeks: int | None
    planned: float = 0

    @property
    def urgency(self) -> tuple[int, float, str]:
        """What was longest left alone first; what the group is to get before what it need not."""
        since = self.weeks if self.weeks is not None else 10_000
        return (0 if self.figure.target else 1, -since, self.figure.name)


class Trained(NamedTuple):
    """A stretch of a confirmed night; `skills` as their text, since many stretches share it."""

    day: dt.date
    minutes: int
    rung: str
    skills: str
    ladder: str
    by: str


class Wanted(NamedTuple):
    """A skill of the club's, and the minutes in four weeks that a group should get of it."""

    code: str
    name: str
    family: str
    minutes: int | None
    retired: dt.date | None


def trained_by(player: Player, first: dt.date, last: dt.date) -> list[Trained]:
    there = confirmed_stretches(first, last).filter(player=player, line__account__drill__isnull=False)
    ladder = "line__account__drill__ladder__"
    rows = there.values_list(
        "line__account__session__day",
        "minutes",
        "line__rung",
        Cast("line__account__skills", TextField()),
        Concat(f"{ladder}code", Value(" "), f"{ladder}name"),
        "line__account__by_name",
    )
    return [Trained(*row) for row in rows]


def confirmed_stretches(first: dt.date, last: dt.date) -> QuerySet[Presence]:
    return Presence.objects.filter(
        line__account__session__day__range=(first, last),
        line__account__session__cancelled=False,
        line__account__session__confirmations__number=1,
        line__account__replaced_by__isnull=True,
    ).order_by()


def wanted_of(player: Player) -> list[Wanted]:
    """Every skill of the club, in one query."""
    target = GroupTarget.objects.filter(squad=player.squad_id, group=player.group, skill=OuterRef("pk"))
    rows = Skill.objects.of(player.squad.club).annotate(minutes=Subquery(target.values("minutes")[:1]))
    return [Wanted(*row) for row in rows.values_list("code", "name", "family", "minutes", "retired_on")]


def planned_for(player: Player, nights: Collection[int]) -> dict[str, float]:
    """Minutes of each skill that were planned for him on these nights, in one query; none where there are none."""
    places = Place.objects.filter(player=player, slot__session__in=nights, station__drill__skill_shares__isnull=False)
    found: dict[str, float] = defaultdict(float)
    shares = "station__drill__skill_shares__"
    rows = places.order_by().values_list("slot__minutes", f"{shares}skill__code", f"{shares}share", f"{shares}roles")
    for minutes, code, share, roles in rows:
        for skill, much in skill_minutes(minutes, [(code, share, roles)], player.roles):
            found[skill] += much
    return found


def skill_minutes(minutes: int, shares: Shares, roles: frozenset[str]) -> Iterator[tuple[str, float]]:
    """As planner.core.record.Took.skill_minutes has it."""
    for code, share, wanted in shares:
        if not wanted or roles & set(wanted):
            yield code, minutes * share / 100


@lru_cache(maxsize=4096)
def shares_in(text: str) -> tuple[tuple[str, int, tuple[str, ...]], ...]:
    """The skills of an account."""
    return tuple((each["skill"], each["share"], tuple(each["roles"] or ())) for each in json.loads(text))


def spells_of(player: Player, rows: Iterable[Trained]) -> Iterator[Spell]:
    roles = player.roles
    for row in rows:
        for code, much in skill_minutes(row.minutes, shares_in(row.skills), roles):
            yield Spell(player.pk, row.day, code, much)


def unconfirmed_spells(player: Player, took: Iterable[Took]) -> Iterator[Spell]:
    roles = player.roles
    for each in took:
        shares = ((skill.code, skill.share, skill.groups) for skill in each.block.card.skills)
        for code, much in skill_minutes(each.minutes, shares, roles):
            yield Spell(player.pk, each.day, code, much, is_confirmed=False)


def skill_lines(
    spells: Iterable[Spell], wanted: Iterable[Wanted], planned: Mapping[str, float], first: dt.date, last: dt.date
) -> list[SkillLine]:
    """Against the targets of the weeks from `first` to `last`; what was longest left alone first. Skills that nobody
    asks for and nobody trained are left out."""
    skills = {each.code: each for each in wanted}
    weeks = -(-((last - first).days + 1) // 7)
    targets = {
        code: target_over(each.minutes, weeks) for code, each in skills.items() if each.minutes and not each.retired
    }
    found = figures(spells, dict.fromkeys(planned, 0.0) | targets, first)
    lines = (line_of(figure, skills.get(code), planned.get(code, 0), last) for code, figure in found.items())
    return sorted(lines, key=lambda line: line.urgency)


def line_of(figure: SkillFigure, skill: Wanted | None, planned: float, day: dt.date) -> SkillLine:
    """A code that is no skill of the club any more stands under itself."""
    name = f"{figure.name} {skill.name}" if skill else figure.name
    family = str(Family(skill.family).label) if skill else ""
    return SkillLine(name, family, figure, figure.weeks_since(day), planned)


def rungs_of(rows: Iterable[Trained], needed: int, days: int) -> list[RungFigure]:
    """By ladder and from the lowest up, as far as the rows reach back."""
    sums: dict[tuple[str, str, dt.date], int] = defaultdict(int)
    by: dict[tuple[str, str, dt.date], str] = {}
    for row in rows:
        if row.ladder.strip():
            sums[row.ladder, row.rung, row.day] += row.minutes
            by[row.ladder, row.rung, row.day] = row.by
    return rungs((Stood(*key, minutes, by[key]) for key, minutes in sums.items()), needed, days)
