"""Every single change of a plan that a coach could make by hand, what it would change of the cost, what bars it.

Four kinds: a player joins another station of the slot (or leaves off standing idle), two players change
places, a station runs another drill with the same players, a station more is opened.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cached_property

import numpy as np

from planner.core.bars import LOCKED
from planner.core.crews import SIZE, Crews
from planner.core.effects import Effects
from planner.core.grid import Bools, Floats, Ints
from planner.core.problem import Station

COLUMNS = ("kind", "slot", "p", "q", "a", "b", "crew", "bars")


class Kind(IntEnum):
    JOIN = 0
    EXCHANGE = 1
    SWAP = 2
    OPEN = 3


@dataclass(frozen=True, slots=True)
class Move:
    """`players` come to `drill` from `leaves` (None: idle, or for OPEN from anywhere); `other` takes their place."""

    kind: Kind
    session: str
    slot: int
    drill: str
    players: tuple[str, ...]
    leaves: str | None = None
    other: str | None = None

    def applied(self, stations: Iterable[Station]) -> tuple[Station, ...]:
        """The plan after the move."""
        after = tuple(self._changed(station) if self._concerns(station) else station for station in stations)
        new = (Station(self.session, self.slot, self.drill, self.players),) if self.kind is Kind.OPEN else ()
        return after + new

    def _concerns(self, station: Station) -> bool:
        return (station.session, station.slot) == (self.session, self.slot)

    def _changed(self, station: Station) -> Station:
        if self.kind is Kind.SWAP:
            return replace(station, drill=self.drill) if station.drill == self.leaves else station
        stay = tuple(player for player in station.players if player not in {*self.players, self.other})
        if station.drill == self.drill:
            return replace(station, players=(*stay, *self.players))
        if station.drill == self.leaves and self.other is not None:
            return replace(station, players=(*stay, self.other))
        return replace(station, players=stay)


@dataclass(frozen=True, slots=True)
class Table:
    """Moves as columns of equal length. `a` is the drill left and `b` the drill come to; -1: nobody, nothing.

    `change`: of the whole cost, negative is better. `bars`: bits of the rules in the way, 0 if it keeps them
    all. `crew`: index into `Moves.crews` of all who move, for SWAP and OPEN.
    """

    kind: Ints
    slot: Ints
    p: Ints
    q: Ints
    a: Ints
    b: Ints
    crew: Ints
    bars: Ints
    change: Floats

    def where(self, rows: Bools | Ints) -> Table:
        return Table(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def __len__(self) -> int:
        return len(self.kind)


class Moves:
    """All moves in the slots that are still open."""

    def __init__(self, effects: Effects) -> None:
        self.effects, self.problem, self.stations = effects, effects.problem, Crews(effects)
        self.crews: list[Ints] = []
        self._blocks: list[tuple[Ints, Floats]] = []

    @cached_property
    def table(self) -> Table:
        for slot in np.nonzero(self.effects.is_open)[0]:
            self._slot(int(slot))
        if not self._blocks:
            return Table(**{name: np.zeros(0, dtype=np.int64) for name in COLUMNS}, change=np.zeros(0))
        whole = np.concatenate([block for block, _ in self._blocks], axis=1)
        change = np.concatenate([change for _, change in self._blocks])
        return Table(**dict(zip(COLUMNS, whole, strict=True)), change=change)

    def _slot(self, slot: int) -> None:
        running = np.nonzero(self.effects.running[slot])[0].tolist()
        there = {drill: np.nonzero(self.effects.at[:, slot] == drill)[0] for drill in running}
        idle = np.nonzero((self.effects.at[:, slot] == self.effects.none) & self.effects.here[:, slot])[0]
        for n, drill in enumerate(running):
            self._join(slot, drill, there[drill])
            self._exchange(slot, self.effects.none, idle, drill, there[drill])
            for other in running[n + 1 :]:
                self._exchange(slot, drill, there[drill], other, there[other])
            self._swap(slot, drill, there[drill])
        self._open(slot)

    def _add(self, kind: Kind, slot: int, change: Floats, **columns: Ints | int) -> None:
        block = np.full((8, change.size), -1, dtype=np.int64)
        block[0], block[1] = kind, slot
        for name, column in columns.items():
            block[COLUMNS.index(name)] = column
        self._blocks.append((block, change))

    # The four kinds

    def _join(self, slot: int, drill: int, there: Ints) -> None:
        effects = self.effects
        who = np.nonzero(effects.here[:, slot] & (effects.at[:, slot] != drill))[0]
        if not len(who):
            return
        full = SIZE if len(there) >= effects.drills[drill].players[1] else 0
        bars = effects.bars[who, slot, drill] | self.stations.leaving[who, slot] | full
        bars |= self.stations.wishes.sharing(drill, there, who)
        extra = np.zeros((len(who), len(effects.players)))
        extra[np.arange(len(who)), who] = self._contact_step(slot, who, drill)
        change = effects.total[who, slot, drill] + effects.evenness(extra)
        self._add(Kind.JOIN, slot, change, p=who, a=effects.at[who, slot], b=drill, bars=bars)

    def _contact_step(self, slot: int, who: Ints, drill: int) -> Floats:
        contact = self.effects.contact[slot]
        return np.asarray(contact[drill] - contact[self.effects.at[who, slot]])

    def _exchange(self, slot: int, a: int, at_a: Ints, b: int, at_b: Ints) -> None:
        """Everyone at `a` (which may be none: idle) with everyone at `b`."""
        effects = self.effects
        if not len(at_a) or not len(at_b):
            return
        p, q = np.repeat(at_a, len(at_b)), np.tile(at_b, len(at_a))
        bars = effects.bars[p, slot, b] | effects.bars[q, slot, a] | self.stations.unmet(a, at_a, p, q)
        bars |= self.stations.unmet(b, at_b, q, p)
        bars |= self.stations.wishes.sharing(b, at_b, p, q) | self.stations.wishes.sharing(a, at_a, q, p)
        step = effects.contact[slot, b] - effects.contact[slot, a]
        change = effects.total[p, slot, b] + effects.total[q, slot, a]
        if step:
            extra = np.zeros((len(p), len(effects.players)))
            extra[np.arange(len(p)), p], extra[np.arange(len(p)), q] = step, -step
            change = change + effects.evenness(extra)
        self._add(Kind.EXCHANGE, slot, change, p=p, q=q, a=a, b=b, bars=bars)

    def _swap(self, slot: int, drill: int, there: Ints) -> None:
        effects = self.effects
        if not len(there):
            return
        bars = np.bitwise_or.reduce(effects.bars[there, slot, :-1], axis=0) | self.stations.slot_bars(slot, drill)
        bars |= np.where((self.stations.least <= len(there)) & (len(there) <= self.stations.most), 0, SIZE)
        for d in np.nonzero(self.stations.needy)[0]:
            bars[d] |= 0 if self.stations.manned(effects.drills[d], there) else SIZE
        if self.stations.locked[slot, drill]:
            bars |= LOCKED
        bars |= self.stations.wishes.crew_bars(there) | self.stations.wishes.carried(slot, drill)
        change = effects.total[there, slot, :-1].sum(0) + self.stations.wishes.change(slot, drill)
        change = change + effects.evenness(effects.extra(there, slot, np.arange(effects.none)))
        others = np.arange(effects.none) != drill
        self.crews.append(there)
        self._add(
            Kind.SWAP,
            slot,
            change[others],
            a=drill,
            b=np.nonzero(others)[0],
            crew=len(self.crews) - 1,
            bars=bars[others],
        )

    def _open(self, slot: int) -> None:
        """The best crew for each drill that would pay, drawn from those who can be spared."""
        bars, effects = self.stations.slot_bars(slot, None), self.effects
        free = np.where(effects.here[:, slot] & (self.stations.leaving[:, slot] == 0), True, False)
        for d in self.stations.promising(slot, free, (bars & (bars - 1)) == 0):
            crew = self.stations.crew(slot, d, free)
            if crew is None:
                continue
            change = effects.total[crew, slot, d].sum() + effects.evenness(effects.extra(crew, slot, d))
            change = change + self.stations.wishes.change(slot, None)[d]
            self.crews.append(crew)
            row = {"b": d, "crew": len(self.crews) - 1, "bars": bars[d]}
            self._add(Kind.OPEN, slot, change, **row)

    def all_crew(self, table: Table, row: int) -> list[tuple[int, int]]:
        """(player, drill) of everyone whom the move places."""
        if table.crew[row] >= 0:
            return [(int(p), int(table.b[row])) for p in self.crews[table.crew[row]]]
        pairs = [(int(table.p[row]), int(table.b[row]))]
        return [*pairs, (int(table.q[row]), int(table.a[row]))] if table.q[row] >= 0 else pairs

    def move(self, table: Table, row: int) -> Move:
        effects, kind = self.effects, Kind(int(table.kind[row]))
        session, slot = effects.slots[table.slot[row]]
        names = [player.id for player in effects.players]
        ids = [*(drill.id for drill in effects.drills), None, None]  # index none, and -1
        who = [int(table.p[row])] if table.crew[row] < 0 else self.crews[table.crew[row]].tolist()
        drill = ids[table.b[row]]
        assert drill is not None
        return Move(
            kind,
            session.id,
            slot,
            drill,
            tuple(names[p] for p in who),
            leaves=ids[table.a[row]],
            other=names[table.q[row]] if table.q[row] >= 0 else None,
        )
