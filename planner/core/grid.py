"""A plan laid out as arrays over (player, slot, drill), to look at every place of every player at once.

The last drill index stands for no station at all. Slots count through the sessions in their order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from planner.core.problem import Contact, Drill, Player, Problem, Session, Station
from planner.core.sheet import TOLERANCE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class Grid:
    """`over` names the sessions that nothing can change any more; a player stands at one station of a slot."""

    def __init__(self, problem: Problem, stations: Iterable[Station], over: Collection[str] = ()) -> None:
        self.problem, self.stations = problem, tuple(stations)
        self.players, self.drills = problem.players, problem.drills
        self.slots: list[tuple[Session, int]] = [(s, n) for s in problem.sessions for n in range(len(s.slots))]
        self.player_at = {player.id: i for i, player in enumerate(self.players)}
        self.drill_at = {drill.id: i for i, drill in enumerate(self.drills)}
        self.slot_at = {(session.id, n): i for i, (session, n) in enumerate(self.slots)}
        self.none = len(self.drills)
        self.minutes = np.array([session.slots[n] for session, n in self.slots], dtype=np.int64)
        self.week = np.array([problem.week_of(session.id) for session, _ in self.slots], dtype=np.int64)
        self.day = np.array([session.date.toordinal() for session, _ in self.slots], dtype=np.int64)
        self.is_open = np.array([session.id not in over for session, _ in self.slots], dtype=bool)
        self.here = self._table(lambda player, session: problem.attends(player.id, session.id))
        for player, row in problem.misses.items():
            for name, missed in row.items():
                self.here[self.player_at[player], [self.slot_at[name, slot] for slot in missed]] = False
        self.at = np.full((len(self.players), len(self.slots)), self.none, dtype=np.int64)
        for station in self.stations:
            slot, drill = self.slot_at[station.session, station.slot], self.drill_at[station.drill]
            self.at[[self.player_at[player] for player in station.players], slot] = drill

    def _table(self, holds: Callable[[Player, Session], bool]) -> Bools:
        rows = [[holds(player, session) for session, _ in self.slots] for player in self.players]
        return np.array(rows, dtype=bool).reshape(len(self.players), len(self.slots))

    # What the drills are to the players

    @cached_property
    def shares(self) -> dict[str, Floats]:
        """Skill -> (players, drills + 1): the part of the minutes that counts, nought without a station."""
        found: dict[str, Floats] = defaultdict(lambda: np.zeros((len(self.players), self.none + 1)))
        for d, drill in enumerate(self.drills):
            for entry in drill.skills:
                counts = [entry.counts_for(player) for player in self.players]
                found[entry.skill][counts, d] += entry.share
        return found

    @cached_property
    def contact(self) -> Floats:
        """(slots, drills + 1): contact minutes of each drill in each slot."""
        shares = np.array([0 if drill.kind is Contact.NONE else drill.share for drill in self.drills] + [0.0])
        return np.outer(self.minutes, shares)

    @cached_property
    def fits(self) -> Bools:
        """(players, slots, drills + 1): whom the drill is for, in a slot where enough of them could run it."""
        roles = np.array([[player.has(drill.roles) for drill in self.drills] for player in self.players], dtype=bool)
        roles = roles.reshape(len(self.players), self.none)
        lone = np.array([[self._runs_alone(d, s, n) for d in self.drills] for s, n in self.slots], dtype=bool)
        may = roles[:, None, :] & self.here[:, :, None] & self.below_ceiling[:, :, :-1]
        enough = may.sum(0) >= np.array([drill.players[0] for drill in self.drills])
        for d, drill in enumerate(self.drills):
            for role, wanted in drill.all_needs().items():
                enough[:, d] &= may[self.has_role(role), :, d].sum(0) >= wanted
        runs = (lone.reshape(len(self.slots), self.none) & enough) | self.running[:, :-1]
        fits = np.ones((len(self.players), len(self.slots), self.none + 1), dtype=bool)
        fits[:, :, :-1] = roles[:, None, :] & runs
        return fits

    def _runs_alone(self, drill: Drill, session: Session, slot: int) -> bool:
        return (
            drill.minutes[0] <= session.slots[slot] <= drill.minutes[1]
            and session.stations >= 1
            and drill.coaches <= session.coaches
            and drill.area <= session.area + TOLERANCE
            and all(n <= session.kit.get(item, 0) for item, n in drill.kit.items())
            and self.problem.limits.repeats_per_week != 0
        )

    @cached_property
    def running(self) -> Bools:
        """(slots, drills + 1): what the plan runs where."""
        runs = np.zeros((len(self.slots), self.none + 1), dtype=bool)
        for station in self.stations:
            runs[self.slot_at[station.session, station.slot], self.drill_at[station.drill]] = True
        return runs

    @cached_property
    def below_ceiling(self) -> Bools:
        kinds = list(Contact)
        of_drill = np.array([kinds.index(drill.kind) for drill in self.drills] + [0], dtype=np.int64)
        by_kind = [self._table(partial(self._may, kind)) for kind in kinds]
        may = np.stack(by_kind, axis=2)[:, :, of_drill]
        may[:, :, self.none] = True
        return may

    def _may(self, kind: Contact, player: Player, session: Session) -> bool:
        return self.problem.ceiling(player.id, session.id).allows(kind)

    def has_role(self, role: str) -> Bools:
        return np.array([role in player.roles for player in self.players], dtype=bool)

    def of_kind(self, kind: Contact) -> Bools:
        """(drills + 1,): which drills are of the kind of contact."""
        return np.array([drill.kind is kind for drill in self.drills] + [False], dtype=bool)
