"""Targets that nothing in the block can serve, found before a run."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from planner.core import words as say
from planner.core.problem import Drill, Lock, Player, Problem, Target
from planner.core.reach import Reach
from planner.core.words import Words


@dataclass(frozen=True, slots=True)
class Unserved:
    """A target that no plan gives a single minute, and why; `text` is one sentence."""

    target: Target
    text: str


def unserved(problem: Problem, words: Words | None = None) -> list[Unserved]:
    reach, words = Reach(problem), words or Words(problem)
    wished = (target for target in problem.targets if target.minutes or target.weekly)
    return [Unserved(target, text) for target in wished if (text := _why(reach, target, words))]


def _why(reach: Reach, target: Target, words: Words) -> str | None:
    """Why nothing serves the target; None when something does."""
    problem, player = reach.problem, reach.problem.player(target.player)
    who, skill = words.player(player.id), words.other(target.skill)
    slots = ((session.id, slot) for session in problem.sessions for slot in range(len(session.slots)))
    if not any(problem.is_there(player.id, session, slot) for session, slot in slots):
        return f"{who} is absent from every session."
    drills = [drill for drill in problem.drills if drill.share_for(player, target.skill) > 0]
    if not drills:
        return f"No drill trains {skill} for {who}."
    obstacles: Counter[str] = Counter()
    for drill in drills:
        if (obstacle := _obstacle(reach, player, drill)) is None:
            return None
        obstacles[obstacle] += 1
    why = (f"{OBSTACLES[rule]} ({say.count(n, 'drill')})" for rule, n in sorted(obstacles.items()))
    return f"Nothing can train {skill} for {who}: {', '.join(why)}."


# In the order in which they are met: a drill that gets further in some slot is named with what stops it there.
OBSTACLES = {
    "H4": "no slot of the right length",
    "H3": "not enough stations, coaches, area or kit",
    "H8": "no repeats allowed",
    "H15": "no runs allowed in the block",
    "H11": "no themes allowed in the session",
    "H12": "new to the squad wherever it could run",
    "H1": "not there whenever it could run",
    "H2": "not for the player's roles",
    "H5": "above the player's contact ceiling",
    "H6": "above the weekly contact limit",
    "H7": "no day of full contact allowed",
    "H14": "too hard for any slot",
    "H9": "the rung below out of reach",
    "short": "too few players who could stand there",
}


def _obstacle(reach: Reach, player: Player, drill: Drill) -> str | None:
    """What stops the drill for this player in the slot where it gets furthest; None where nothing does."""
    order, furthest = list(OBSTACLES), "H4"
    for session in reach.problem.sessions:
        for slot in range(len(session.slots)):
            met = _met(reach, player, Lock(session.id, slot, drill.id))
            if met is None:
                return None
            furthest = max(furthest, met, key=order.index)
    return furthest


def _met(reach: Reach, player: Player, place: Lock) -> str | None:
    bar = reach.slot_bar(place) or reach.player_bar(player.id, place)
    if bar is not None:
        return bar.rule
    return "short" if reach.short_of(place) else None
