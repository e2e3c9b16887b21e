"""What one more slot would buy in each session: filled station by station, judged by the independent cost."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

import numpy as np

from planner.core.check import breaches, cost
from planner.core.effects import Effects
from planner.core.grid import Bools, Floats, Ints
from planner.core.moves import Moves
from planner.core.problem import Problem, Session, Station
from planner.core.sheet import TOLERANCE

EXTRA = 12  # minutes
MOST = 5  # sessions told


@dataclass(frozen=True, slots=True)
class MoreTime:
    """A slot of EXTRA minutes at the end of a session, and the stations that would pay most in it.

    `change` of the whole cost, players who stand idle in the new slot counted; `eased`: minutes off the
    shortfalls of the players, by player. An estimate: a fresh search with the slot may gain more.
    """

    session: str
    stations: tuple[Station, ...]
    change: float
    eased: dict[str, float]

    def relaxed(self, problem: Problem) -> Problem:
        return longer(problem, {self.session})


def longer(problem: Problem, sessions: Collection[str]) -> Problem:
    """The problem with a slot more in these sessions. Who misses the last slot of one misses what comes after it."""
    return replace(
        problem,
        sessions=tuple(replace(s, slots=(*s.slots, EXTRA)) if s.id in sessions else s for s in problem.sessions),
        misses={
            player: {name: _to_the_end(slots, problem.session(name)) for name, slots in row.items()}
            for player, row in problem.misses.items()
        },
    )


def _to_the_end(missed: tuple[int, ...], session: Session) -> tuple[int, ...]:
    after = len(session.slots)
    return (*missed, after) if after - 1 in missed else missed


def more_time(problem: Problem, stations: Iterable[Station], over: Collection[str] = ()) -> list[MoreTime]:
    """The best first, at most MOST; sessions in which a slot would only cost are left out."""
    stations = tuple(stations)
    sessions = [session for session in problem.sessions if session.id not in over]
    moves = Moves(Effects(longer(problem, {s.id for s in sessions}), stations, over))
    fillings = sorted((_filled(moves, session) for session in sessions), key=lambda filling: filling.estimate)
    before = cost(problem, stations).total
    judged = (_judged(filling, problem, stations, before) for filling in fillings[:MOST])
    return sorted((each for each in judged if each), key=lambda each: each.change)


@dataclass(frozen=True, slots=True)
class Filling:
    """The stations for the new slot of a session; `estimate` of the change leaves evenness out."""

    session: str
    stations: tuple[Station, ...]
    estimate: float
    eased: dict[str, float]


def _filled(moves: Moves, session: Session) -> Filling:
    effects, slot = moves.effects, moves.effects.slot_at[session.id, len(session.slots)]
    free, left, added = effects.here[:, slot].copy(), moves.stations.has(session), list[Station]()
    estimate, eased = moves.problem.idle_weight * EXTRA * int(free.sum()), dict[str, float]()
    while (best := _next(moves, slot, free, left, {station.drill for station in added})) is not None:
        d, crew = best
        names = tuple(effects.players[p].id for p in crew)
        added.append(Station(session.id, len(session.slots), effects.drills[d].id, names))
        eased |= {name: effects.eased(p, slot, d) for name, p in zip(names, crew.tolist(), strict=True)}
        estimate += float(effects.total[crew, slot, d].sum())
        free[crew], left = False, left - moves.stations.uses[d]
    gains = {name: minutes for name, minutes in eased.items() if minutes > TOLERANCE}
    return Filling(session.id, tuple(added), estimate, gains)


def _judged(filling: Filling, problem: Problem, stations: tuple[Station, ...], before: float) -> MoreTime | None:
    """By the referee and the independent cost."""
    looser, after = longer(problem, {filling.session}), (*stations, *filling.stations)
    change = cost(looser, after).total - before
    if change > -TOLERANCE or breaches(looser, after):
        return None
    return MoreTime(filling.session, filling.stations, change, filling.eased)


def _next(moves: Moves, slot: int, free: Bools, left: Floats, taken: Collection[str]) -> tuple[int, Ints] | None:
    """The drill, and its crew of players still free, that saves most in what is left of the slot's room."""
    effects = moves.effects
    room = (moves.stations.uses <= left + TOLERANCE).all(1) & (moves.stations.slot_bars(slot, None) == 0)
    room &= np.array([drill.id not in taken for drill in effects.drills], dtype=bool)
    for d in moves.stations.promising(slot, free, room):
        if (crew := moves.stations.crew(slot, d, free)) is not None:
            return d, crew
    return None
