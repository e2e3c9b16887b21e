"""One annealing run over a planning problem: the state, the best plan so far, and steps to improve it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np

from planner.core.flat import COST_SCALE, Ints, Layout
from planner.core.kernels import anneal as kernels
from planner.core.kernels.anneal import Pace
from planner.core.kernels.chance import dice
from planner.core.kernels.rebuild import bench
from planner.core.kernels.state import empty_state
from planner.core.problem import Station

# Measured on the public instances; docs/planner.md has the figures. Small moves are cooler than rebuilds:
# one player's cost is at stake, not that of a slot full of them.
PACE = Pace(skip=0.5, pairs=0.03, moves=30, cooler=0.05)


class Snapshot(NamedTuple):
    """A plan as arrays."""

    stations: Ints  # [s] how many run
    drill: Ints  # [s, k]
    at: Ints  # [s, p] station, or -1


class Search:
    """Not safe for two threads at once; several searches may share one layout."""

    def __init__(
        self,
        layout: Layout,
        seed: int,
        start: Sequence[Station] = (),
        free: Iterable[int] | None = None,
        pace: Pace = PACE,
    ) -> None:
        """`start` is a plan to begin with; only the `free` slots (all, if none are given) change afterwards."""
        flat = layout.flat
        self.layout, self.flat = layout, flat
        self._state = empty_state(flat)
        self._wide = self._state.drill.shape[1]
        self._work = bench(flat)
        self._undo = kernels.undo(flat, self._wide)
        self._best = kernels.best(flat, self._wide)
        self._dice = dice(seed)
        self._picked = np.zeros(kernels.MOST_RUINED, dtype=np.int64)
        self._unstaffed = np.zeros(len(flat.slot_week), dtype=np.int64)
        self._free = np.arange(len(flat.slot_week)) if free is None else np.array(sorted(free), dtype=np.int64)
        self._pace = pace
        self.rounds = 0
        self._seat(start)

    @property
    def cost(self) -> float:
        """Cost of the best plan so far."""
        return float(self._best.cost[0]) / COST_SCALE

    @property
    def unstaffed(self) -> list[int]:
        """Slots whose locked stations found no players."""
        return [int(s) for s in np.flatnonzero(self._unstaffed)]

    def _seat(self, start: Sequence[Station]) -> None:
        """The wanted plan as far as the rules allow, with locked stations, then every free slot that is empty."""
        kernels.begin(
            self.flat, self._state, self._work, self._best, self._dice,
            *self._wanted(start), self._free, self._unstaffed,
        )  # fmt: skip

    def _wanted(self, start: Sequence[Station]) -> Snapshot:
        slots, players = self.flat.present.shape
        stations = np.zeros(slots, dtype=np.int64)
        drill = np.zeros((slots, self._wide), dtype=np.int64)
        at = np.full((slots, players), -1, dtype=np.int64)
        for station in start:
            s = self.layout.slots[station.session, station.slot]
            k = stations[s]
            if k < self._wide:
                stations[s] += 1
                drill[s, k] = self.layout.drills[station.drill]
                at[s, [self.layout.players[p] for p in station.players]] = k
        return Snapshot(stations, drill, at)

    def improve(self, rounds: int, temperature: float) -> bool:
        """So many rounds at a temperature in units of cost; gives whether the best plan improved."""
        self.rounds += rounds
        if not (len(self._free) and self.flat.allowed.size):
            return False  # nothing to choose, and nothing for the kernels to draw lots from
        before = self._best.cost[0]
        kernels.anneal(
            self.flat, self._state, self._work, self._undo, self._best, self._dice,
            self._free, self._picked, self._pace, temperature * COST_SCALE, rounds,
        )  # fmt: skip
        return bool(self._best.cost[0] < before)

    def snapshot(self) -> Snapshot:
        """A copy of the best plan so far, for another thread to read."""
        best = self._best
        return Snapshot(best.stations.copy(), best.drill.copy(), best.at.copy())

    def current(self) -> tuple[Station, ...]:
        """The plan that the search is at, which may be worse than the best."""
        return self.stations(Snapshot(self._state.stations, self._state.drill, self._state.at))

    def totals(self) -> dict[str, list[Any]]:
        """Every running sum of the current plan by name, whatever the order of stations in a slot."""
        order = ("stations", "drill", "head", "at")
        return {name: field.tolist() for name, field in self._state._asdict().items() if name not in order}

    def stations(self, plan: Snapshot | None = None) -> tuple[Station, ...]:
        """A plan with its names; the best so far if none is given."""
        best = plan or self.snapshot()
        players, drills = list(self.layout.players), list(self.layout.drills)
        named = []
        for (session, slot), s in self.layout.slots.items():
            for k in range(best.stations[s]):
                there = tuple(players[p] for p in np.flatnonzero(best.at[s] == k))
                named.append(Station(session, slot, drills[best.drill[s, k]], there))
        return tuple(named)
