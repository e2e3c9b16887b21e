"""Where a plan leaves each player: skills against targets, load against bands, contact against limits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from planner.core.cost import TOUCH_MINUTES, Gained, skill_minutes, weekly_load, weeks_there
from planner.core.problem import Band, Contact, Player, Problem, Station, Target
from planner.core.sheet import TOLERANCE, Sheet


@dataclass(frozen=True, slots=True)
class SkillTally:
    """Minutes of a skill with a target; `untouched` are the weeks that a weekly target misses."""

    skill: str
    minutes: float
    target: int
    untouched: tuple[int, ...]

    @property
    def short(self) -> float:
        return max(0, self.target - self.minutes)


@dataclass(frozen=True, slots=True)
class LoadTally:
    """Planned load of a week in AU against its band; None where the week has no band."""

    week: int
    load: int
    low: int | None
    high: int | None

    @property
    def outside(self) -> int:
        """AU below (negative) or above (positive) the band."""
        if self.low is not None and self.load < self.low:
            return self.load - self.low
        return max(0, self.load - self.high) if self.high is not None else 0


@dataclass(frozen=True, slots=True)
class ContactTally:
    """Contact minutes of a kind in a week; `limit` None: nothing binds."""

    week: int
    kind: Contact
    planned: float
    accrued: float
    limit: float | None

    @property
    def total(self) -> float:
        return self.planned + self.accrued

    @property
    def left(self) -> float | None:
        """Minutes until the limit; negative beyond it."""
        return None if self.limit is None else self.limit - self.total


@dataclass(frozen=True, slots=True)
class FullDaysTally:
    """Days of a week with planned full contact."""

    week: int
    days: int
    limit: int | None


@dataclass(frozen=True, slots=True)
class PlayerTally:
    """One player's totals; every week of the block has an entry of each kind."""

    player: str
    skills: tuple[SkillTally, ...]
    loads: tuple[LoadTally, ...]
    contact: tuple[ContactTally, ...]
    full_days: tuple[FullDaysTally, ...]


def tally(problem: Problem, stations: Iterable[Station]) -> tuple[PlayerTally, ...]:
    """The totals of each player, in the order of the problem."""
    sheet = Sheet.of(problem, stations)
    skills, loads = _skills(problem, skill_minutes(sheet)), _loads(sheet)
    return tuple(
        PlayerTally(
            player.id,
            tuple(skills[player.id]),
            tuple(loads[player.id]),
            tuple(_contact(sheet, player)),
            tuple(_full_days(sheet, player.id)),
        )
        for player in problem.players
    )


def _skills(problem: Problem, gained: Gained) -> dict[str, list[SkillTally]]:
    tallies, there = defaultdict(list), weeks_there(problem)
    for target in problem.targets:
        minutes = gained[target.player, target.skill]
        untouched = tuple(_untouched(target, minutes, there[target.player]))
        tallies[target.player].append(SkillTally(target.skill, sum(minutes.values()), target.minutes, untouched))
    return tallies


def _untouched(target: Target, minutes: dict[int, float], weeks: Iterable[int]) -> Iterable[int]:
    if not target.weekly:
        return ()
    return (week for week in weeks if minutes.get(week, 0) < TOUCH_MINUTES - TOLERANCE)


def _loads(sheet: Sheet) -> dict[str, list[LoadTally]]:
    load, tallies = weekly_load(sheet), {}
    bands: dict[tuple[str, int], Band] = {(band.player, band.week): band for band in sheet.problem.bands}
    for player in sheet.problem.players:
        tallies[player.id] = [
            LoadTally(week, load.get((player.id, week), 0), band.low if band else None, band.high if band else None)
            for week in range(sheet.problem.weeks)
            for band in [bands.get((player.id, week))]
        ]
    return tallies


def _contact(sheet: Sheet, player: Player) -> Iterable[ContactTally]:
    planned: dict[tuple[int, Contact], float] = defaultdict(float)
    for run in sheet.once_each(player.id):
        planned[run.week, run.drill.kind] += run.contact_minutes
    limits = sheet.problem.limits.weekly
    for week in range(sheet.problem.weeks):
        for kind in (Contact.CONTROLLED, Contact.SET_PIECE, Contact.FULL):
            spent = player.spent(week, kind)
            yield ContactTally(week, kind, planned.get((week, kind), 0), spent, limits.get(kind))


def _full_days(sheet: Sheet, player: str) -> Iterable[FullDaysTally]:
    days: dict[int, set[date]] = defaultdict(set)
    for run in sheet.once_each(player):
        if run.drill.kind is Contact.FULL:
            days[run.week].add(run.session.date)
    limit = sheet.problem.limits.full_days_per_week
    return (FullDaysTally(week, len(days.get(week, ())), limit) for week in range(sheet.problem.weeks))
