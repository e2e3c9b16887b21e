"""What a plan costs: the sum of what is wished for and not met, in six named parts (lower is better)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from planner.core.problem import Ceiling, Problem, Station
from planner.core.sheet import TOLERANCE, Sheet

TOUCH_MINUTES = 5  # fewer minutes of a skill in a week are no touch, and a missed touch costs as many
BAND_UNIT = 10  # AU outside a band that weigh as much as one minute short


@dataclass(frozen=True, slots=True)
class Cost:
    """The parts of the cost; all are weighted and none is negative."""

    shortfall: float = 0
    touch: float = 0
    band: float = 0
    idle: float = 0
    evenness: float = 0
    wishes: float = 0

    @property
    def total(self) -> float:
        return self.shortfall + self.touch + self.band + self.idle + self.evenness + self.wishes


def cost(problem: Problem, stations: Iterable[Station]) -> Cost:
    sheet = Sheet.of(problem, stations)
    gained = skill_minutes(sheet)
    return Cost(
        shortfall(problem, gained), touch(problem, gained), band(sheet), idle(sheet), evenness(sheet), wishes(sheet)
    )


Gained = dict[tuple[str, str], dict[int, float]]


def skill_minutes(sheet: Sheet) -> Gained:
    """(player, skill) -> week -> slot minutes x the player's share of the skill."""
    gained: Gained = defaultdict(lambda: defaultdict(float))
    for player in sheet.problem.players:
        for run in sheet.once_each(player.id):
            for entry in run.drill.skills:
                if entry.counts_for(player):
                    gained[player.id, entry.skill][run.week] += run.minutes * entry.share
    return gained


def shortfall(problem: Problem, gained: Gained) -> float:
    """Every minute short of a target, and each of them twice below half of it."""
    return sum(
        target.weight * (max(0, target.minutes - total) + max(0, target.minutes / 2 - total))
        for target in problem.targets
        for total in [sum(gained[target.player, target.skill].values())]
    )


def touch(problem: Problem, gained: Gained) -> float:
    """Weeks of a weekly target in which the player trains but hardly touches the skill."""
    there = weeks_there(problem)
    return sum(
        target.weight * TOUCH_MINUTES
        for target in problem.targets
        if target.weekly
        for week in there[target.player]
        if gained[target.player, target.skill].get(week, 0) < TOUCH_MINUTES - TOLERANCE
    )


def weeks_there(problem: Problem) -> dict[str, list[int]]:
    """The weeks in which each player is not absent from every session."""
    week_of = {session.id: problem.week_of(session.id) for session in problem.sessions}
    return {
        player.id: sorted({week for session, week in week_of.items() if problem.attends(player.id, session)})
        for player in problem.players
    }


def weekly_load(sheet: Sheet) -> dict[tuple[str, int], int]:
    """(player, week) -> AU of the planned slots."""
    load: dict[tuple[str, int], int] = defaultdict(int)
    for player in sheet.of_player:
        for run in sheet.once_each(player):
            load[player, run.week] += run.load
    return load


def band(sheet: Sheet) -> float:
    """Load below or above the band of a player's week."""
    load = weekly_load(sheet)
    return sum(
        band.weight * (max(0, band.low - at) + max(0, at - band.high)) / BAND_UNIT
        for band in sheet.problem.bands
        for at in [load.get((band.player, band.week), 0)]
    )


def idle(sheet: Sheet) -> float:
    """Minutes that players attend without standing at a station.

    A slot that somebody misses counts as one without a station: it costs the same whatever the plan.
    """
    busy = {
        (player, run.station.session, run.station.slot)
        for player, runs in sheet.of_player.items()
        for run in runs
        if sheet.problem.attends(player, run.session.id)
    }
    present = sum(
        sum(session.slots)
        for session in sheet.problem.sessions
        for player in sheet.problem.players
        if sheet.problem.attends(player.id, session.id)
    )
    at_work = sum(sheet.problem.session(session).slots[slot] for _, session, slot in busy)
    return sheet.problem.idle_weight * (present - at_work)


def evenness(sheet: Sheet) -> float:
    """Contact of the whole block, most less least among the comparable players of each role named."""
    wish, total = sheet.problem.evenness, 0.0
    for role in wish.roles:
        contact = [contact_minutes(sheet, player) for player in comparable(sheet.problem, role)]
        if len(contact) > 1:
            total += wish.weight * (max(contact) - min(contact))
    return total


def contact_minutes(sheet: Sheet, player: str) -> float:
    """Planned contact minutes of every kind over the block."""
    return sum(run.contact_minutes for run in sheet.once_each(player))


def comparable(problem: Problem, role: str) -> list[str]:
    """The players of the role who are cleared for full contact about as often as the most available one."""
    full = {
        player.id: sum(problem.ceiling(player.id, session.id) is Ceiling.FULL for session in problem.sessions)
        for player in problem.players
        if role in player.roles
    }
    return [player for player, times in full.items() if times and 4 * times >= 3 * max(full.values())]


def wishes(sheet: Sheet) -> float:
    """Runs of drills and favourites of coaches that are wished for and missing."""
    return sum(weight * times for weight, times in unmet(sheet))


def unmet(sheet: Sheet) -> Iterator[tuple[float, int]]:
    """(weight, how often it is not met) of each wish that a drill runs."""
    times = Counter(run.drill.id for run in sheet.runs)
    run_in = {(run.session.id, run.drill.id) for run in sheet.runs}
    for drill in sheet.problem.drills:
        yield drill.repeats.weight, max(0, drill.repeats.least - times[drill.id])
    for wish in sheet.problem.favourites:
        missed = [s for s in wish.sessions if not any((s, drill) in run_in for drill in wish.drills)]
        yield wish.weight, len(missed)
