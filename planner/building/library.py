"""The club's drills as the planning problem sees them: how many players a station takes, with what kit and grass."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _

from drills.models import Drill
from planner.building.house_rules import KIT_UNKNOWN, PLAYERS_A_COACH
from planner.building.nights import Nights
from planner.building.rows import Rows
from planner.core import problem as core
from planner.models import Session
from squads.models import Squad

Steps = Mapping[int, Mapping[int, int]]


def drill_id(key: int) -> str:
    return f"d{key}"


@dataclass(frozen=True)
class Library:
    """`sizes`: the largest station of each drill that can be planned; `left_out`: the others, with the reason."""

    drills: tuple[Drill, ...]
    sizes: Mapping[int, int]
    left_out: tuple[str, ...]
    steps: Steps

    @classmethod
    def of(cls, rows: Rows, nights: Nights) -> Library:
        """The current drills for the squad's age that fit at least one night and are not left out of the block."""
        ground = Ground.of(nights.open, rows.drills.values())
        wanted = (drill for drill in rows.drills.values() if drill.pk not in rows.left_out)
        offered = [drill for drill in wanted if is_offered(drill, rows.block.squad)]
        sizes = {drill.pk: most_players(drill, ground) for drill in offered}
        return cls(
            tuple(rows.drills.values()),
            {key: size for key, size in sizes.items() if size is not None},
            tuple(why_not(drill, ground) for drill in offered if sizes[drill.pk] is None),
            steps_of(offered),
        )

    def core_drills(self, standing: Collection[int]) -> list[core.Drill]:
        """The drills on offer, and those that stand somewhere although they are not."""
        return [
            station_drill(drill, self.sizes.get(drill.pk, drill.players_least), self.steps)
            for drill in self.drills
            if drill.pk in self.sizes or drill.pk in standing
        ]

    @cached_property
    def trained(self) -> set[str]:
        """Codes of the skills that some drill on offer trains."""
        return {
            entry.skill.code for drill in self.drills if drill.pk in self.sizes for entry in drill.skill_shares.all()
        }


def is_offered(drill: Drill, squad: Squad) -> bool:
    """Current, and not meant for older players than an age-grade squad has."""
    return drill.retired_on is None and (squad.age_from is None or drill.age_from <= squad.age_from)


@dataclass(frozen=True)
class Ground:
    """The most that any night has: square metres, and pieces of each kind of kit."""

    area: int
    kit: Mapping[str, int]

    @classmethod
    def of(cls, nights: Iterable[Session], drills: Iterable[Drill]) -> Ground:
        nights, kit = list(nights), {}
        for night in nights:
            for item, pieces in kit_of(night, drills).items():
                kit[item] = max(pieces, kit.get(item, 0))
        return cls(max((night.area for night in nights), default=0), kit)

    def holds(self, drill: Drill, players: int) -> bool:
        return drill.area(players) <= self.area and not self.lacks(drill, players)

    def lacks(self, drill: Drill, players: int) -> dict[str, int]:
        """Kit that the drill needs with that many players beyond what there is."""
        return {item: n for item, n in drill.kit_for(players).items() if n > self.kit.get(item, 0)}


def kit_of(night: Session, drills: Iterable[Drill]) -> dict[str, int]:
    """A night without any kit entered is not one without kit: there, kit is not counted."""
    if night.kit:
        return {item: pieces for item, pieces in night.kit.items() if pieces}
    return {line["item"]: KIT_UNKNOWN for drill in drills for line in drill.kit}


def most_players(drill: Drill, ground: Ground) -> int | None:
    """The largest station that a coach can watch and the ground holds; None if not even the smallest fits."""
    watched = PLAYERS_A_COACH * max(1, drill.coaches)
    sizes = range(min(drill.players_most, watched), drill.players_least - 1, -1)
    return next((size for size in sizes if ground.holds(drill, size)), None)


def why_not(drill: Drill, ground: Ground) -> str:
    """Why a drill without a possible size is left out, in words."""
    least = drill.players_least
    if lacking := ground.lacks(drill, least):
        item, pieces = next(iter(lacking.items()))
        return _("%(drill)s needs %(count)d %(item)s, the nights have %(have)d") % {
            "drill": drill,
            "count": pieces,
            "item": item.replace("_", " "),
            "have": ground.kit.get(item, 0),
        }
    if drill.area(least) > ground.area:
        return _("%(drill)s needs %(need)d m², the largest night has %(have)d") % {
            "drill": drill,
            "need": drill.area(least),
            "have": ground.area,
        }
    return _("%(drill)s needs %(least)d players, too many for its coaches to watch") % {"drill": drill, "least": least}


def steps_of(drills: Iterable[Drill]) -> Steps:
    """Ladder -> step -> rung from 1 without gaps: a ladder may miss steps, and drills may share one."""
    found: dict[int, set[int]] = {}
    for drill in drills:
        if drill.ladder_id is not None:
            found.setdefault(drill.ladder_id, set()).add(drill.step)
    return {ladder: {step: n for n, step in enumerate(sorted(steps), 1)} for ladder, steps in found.items()}


def rung_of(drill: Drill, steps: Steps) -> int | None:
    return steps.get(drill.ladder_id, {}).get(drill.step)


def station_drill(drill: Drill, most: int, steps: Steps) -> core.Drill:
    """Kit and grass are those of the largest station: the plan must hold whoever turns up. No station runs without
    an adult."""
    rung = rung_of(drill, steps)
    return core.Drill(
        id=drill_id(drill.pk),
        roles=tuple(drill.groups),
        needs=dict(drill.needs),
        players=(drill.players_least, most),
        minutes=(drill.minutes_least, drill.minutes_most),
        rpe=drill.rpe,
        kind=core.Contact(drill.kind),
        share=drill.contact_share / 100,
        skills=shares_of(drill),
        coaches=max(1, drill.coaches),
        area=max(1, drill.area(most)),
        kit=drill.kit_for(most),
        ladder=drill.ladder.code if rung else None,
        rung=rung or 1,
    )


def shares_of(drill: Drill) -> tuple[core.SkillShare, ...]:
    return tuple(
        core.SkillShare(entry.skill.code, entry.share / 100, tuple(entry.roles) if entry.roles else None)
        for entry in drill.skill_shares.all()
    )


def drill_as_run(drill: Drill, key: str, players: int, minutes: int, part: float = 1) -> core.Drill:
    """A station of a past night: it trains skills and makes load, and no rule of today can forbid it.

    Its contact and its ladder minutes are given facts of the players instead (`accrued`, `done`). Who was there for
    a `part` of the slot only has that part of its skills (to a hundredth) and of its RPE (rounded).
    """
    return core.Drill(
        id=key,
        roles=("all",),
        needs={},
        players=(players, players),
        minutes=(minutes, minutes),
        rpe=round(drill.rpe * part),
        kind=core.Contact.NONE,
        share=0,
        skills=tuple(replace(each, share=round(each.share * part, 2)) for each in shares_of(drill)),
    )
