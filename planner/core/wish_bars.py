"""A coach's wishes seen from a single change of a plan: what they bar (H11 to H13, H15 to H17) and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np

from planner.core.effects import Effects
from planner.core.grid import Bools, Floats, Ints
from planner.core.problem import Contact, Keep, Repeats, Session

THEMES = 2048  # the session has its themes already (H11)
NEW = 4096  # the drill would be new where nothing new may run (H12)
ORDER = 8192  # a fresh drill would come after a tiring one (H13)
BLOCK = 16384  # the drill runs often enough in the block, or too near (H15)
APART = 32768  # two who are kept apart would meet (H16)
UNITS = 65536  # two units would meet (H17)
CARRIED = 131072  # a later run is known only because of the drill that would go (H12)
LAST_BIT = CARRIED


class WishBars:
    """Arrays are by player or by drill; everything is nought where nothing is wished."""

    def __init__(self, effects: Effects) -> None:
        self.effects, self.problem = effects, effects.problem
        self.drills = effects.drills
        self.runs = effects.running[:, :-1]

    # A drill in a slot

    def slot_bars(self, slot: int, without: int | None) -> Ints:
        """(drills,): which wishes keep each drill out of the slot, in place of `without` or as one more."""
        session, n = self.effects.slots[slot]
        bars = np.zeros(len(self.drills), dtype=np.int64)
        if session.themes_most is not None:
            bars |= np.where(self._theme_too_many(session, slot, without), THEMES, 0)
        if session.nothing_new:
            before = self.effects.day < self.effects.day[slot]
            bars |= np.where(self._known | self.runs[before].any(0), 0, NEW)
        if self.problem.order is not None:
            first = slot - n
            tired = self.runs[first:slot][:, self._tiring].any()
            fresh_later = self.runs[slot + 1 : first + len(session.slots)][:, self._fresh].any()
            bars |= np.where((self._fresh & tired) | (self._tiring & fresh_later), ORDER, 0)
        return bars | self._block_bars(slot)

    def _theme_too_many(self, session: Session, slot: int, without: int | None) -> Bools:
        first = slot - self.effects.slots[slot][1]
        runs = self.runs[first : first + len(session.slots)].copy()
        if without is not None:
            runs[slot - first, without] = False
        there = {self.drills[d].theme for d in np.nonzero(runs.any(0))[0]} - {None}
        is_full = len(there) >= (session.themes_most or 0)
        return np.array([d.theme is not None and d.theme not in there and is_full for d in self.drills], dtype=bool)

    def _block_bars(self, slot: int) -> Ints:
        bars, often = np.zeros(len(self.drills), dtype=np.int64), self.runs.sum(0)
        for d, drill in enumerate(self.drills):
            days = np.abs(self.effects.day[self.runs[:, d]] - self.effects.day[slot])
            too_near = ((days > 0) & (days < drill.repeats.gap_days)).any()
            if too_near or (drill.repeats.most is not None and often[d] >= drill.repeats.most):
                bars[d] = BLOCK
        return bars

    def carried(self, slot: int, drill: int) -> int:
        """CARRIED where some later run of the drill in the slot is known only because of this one."""
        if self._known[drill]:
            return 0
        left = self.runs[:, drill].copy()
        left[slot] = False
        first = left & (self.effects.day == self.effects.day[left].min(initial=2**40))
        return CARRIED if (first & self._nothing_new).any() else 0

    @cached_property
    def _nothing_new(self) -> Bools:
        return np.array([session.nothing_new for session, _ in self.effects.slots], dtype=bool)

    @cached_property
    def _known(self) -> Bools:
        return np.array([drill.id in self.problem.known for drill in self.drills], dtype=bool)

    @cached_property
    def _fresh(self) -> Bools:
        return np.array([drill.fresh for drill in self.drills], dtype=bool)

    @cached_property
    def _tiring(self) -> Bools:
        rpe = self.problem.order.tiring_rpe if self.problem.order else 11
        return np.array([drill.rpe >= rpe for drill in self.drills], dtype=bool)

    # Company at a station

    def units(self, d: int) -> list[Bools]:
        """(players,) for each unit of a drill that keeps them to themselves: who may stand with it; else everybody."""
        of = self._unit[d]
        return [(of < 0) | (of == unit) for unit in range(max(1, int(of.max(initial=-1)) + 1))]

    @cached_property
    def _unit(self) -> Ints:
        """(drills, players): the unit of each at a drill that keeps units to themselves, or -1."""
        unit = np.full((len(self.drills), len(self.effects.players)), -1, dtype=np.int64)
        for d, drill in enumerate(self.drills):
            if drill.units is not None and drill.units.keep is Keep.TOGETHER:
                of = [drill.units.of(player) for player in self.effects.players]
                unit[d] = [-1 if role is None else drill.units.roles.index(role) for role in of]
        return unit

    def foes(self, d: int) -> Bools:
        """(players, players): who may not stand with whom at the drill (H16)."""
        always, in_contact = self._foes
        return always if self.drills[d].kind is Contact.NONE else in_contact

    @cached_property
    def _foes(self) -> tuple[Bools, Bools]:
        """Without contact, and in it."""
        size = len(self.effects.players)
        always, in_contact = np.zeros((size, size), dtype=bool), np.zeros((size, size), dtype=bool)
        for pair in self.problem.apart:
            a, b = (self.effects.player_at[player] for player in pair.players)
            in_contact[a, b] = in_contact[b, a] = True
            if not pair.contact_only:
                always[a, b] = always[b, a] = True
        return always, in_contact

    def _strangers(self, d: int) -> Bools:
        """(players, players): who is of another unit (H17)."""
        of = self._unit[d]
        strangers: Bools = (of[:, None] >= 0) & (of >= 0) & (of[:, None] != of)
        return strangers

    def sharing(self, d: int, there: Ints, comes: Ints, goes: Ints | None = None) -> Ints:
        """For each who comes to a station of d, with those there but the one who goes: APART, UNITS or neither."""
        bars = np.zeros(len(comes), dtype=np.int64)
        for bit, barred in self._barred(d):
            met = barred[comes][:, there].sum(1)
            met = met if goes is None else met - barred[comes, goes]
            bars |= np.where(met > 0, bit, 0)
        return bars

    def _barred(self, d: int) -> Iterator[tuple[int, Bools]]:
        """APART and UNITS with the pairs that they keep from the drill, where there are any."""
        if self.problem.apart and d < len(self.drills):
            yield APART, self.foes(d)
        if d < len(self.drills) and self.drills[d].units is not None:
            yield UNITS, self._strangers(d)

    def crew_bars(self, crew: Ints) -> Ints:
        """(drills,): APART and UNITS where these players cannot share a station of the drill."""
        bars = np.zeros(len(self.drills), dtype=np.int64)
        for d in range(len(self.drills)):
            for bit, barred in self._barred(d):
                bars[d] |= bit if barred[np.ix_(crew, crew)].any() else 0
        return bars

    # The cost

    def change(self, slot: int, without: int | None) -> Floats:
        """(drills,): change of their cost if the drill ran in the slot, in place of `without` or as one more."""
        often, repeats = self.runs.sum(0), [drill.repeats for drill in self.drills]
        step = [_lacking(wish, often[d] + 1) - _lacking(wish, often[d]) for d, wish in enumerate(repeats)]
        change = np.array(step, dtype=float).reshape(len(self.drills))
        if without is not None:
            change += _lacking(repeats[without], often[without] - 1) - _lacking(repeats[without], often[without])
        for weight, wanted in self._favourites.get(self.effects.slots[slot][0].id, ()):
            left: Bools = self._here(slot) & wanted
            now = left.any()
            if without is not None:
                left[without] = False
            change += weight * (float(now) - (wanted | left.any()))
        return change

    def removed(self, slot: int, drill: int) -> float:
        """Change of the cost of wishes if the drill did not run in the slot."""
        repeats, often = self.drills[drill].repeats, self.runs[:, drill].sum()
        change = _lacking(repeats, often - 1) - _lacking(repeats, often)
        for weight, wanted in self._favourites.get(self.effects.slots[slot][0].id, ()):
            left: Bools = self._here(slot) & wanted
            now = left.any()
            left[drill] = False
            change += weight * (float(now) - float(left.any()))
        return float(change)

    def _here(self, slot: int) -> Bools:
        """(drills,): what runs in the session of the slot."""
        session, n = self.effects.slots[slot]
        here: Bools = self.runs[slot - n : slot - n + len(session.slots)].max(axis=0, initial=False)
        return here

    @cached_property
    def _favourites(self) -> dict[str, list[tuple[float, Bools]]]:
        found: dict[str, list[tuple[float, Bools]]] = {}
        for wish in self.problem.favourites:
            wanted = np.array([drill.id in wish.drills for drill in self.drills], dtype=bool)
            for session in wish.sessions:
                found.setdefault(session, []).append((wish.weight, wanted))
        return found


def _lacking(wish: Repeats, runs: int) -> float:
    return wish.weight * max(0, wish.least - int(runs))
