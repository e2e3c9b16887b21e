"""The rules about a station: numbers and roles, room in the session, repeats; and who could best run a new one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from planner.core.effects import Effects
from planner.core.grid import Bools, Floats, Ints
from planner.core.problem import Drill, Session
from planner.core.sheet import TOLERANCE
from planner.core.wish_bars import LAST_BIT, WishBars

# What stands in the way of a station; the bits below these are those of a player (planner.core.bars), and those
# between REPEATS and RESOURCE are a coach's wishes (planner.core.wish_bars).
SIZE = 256  # a station would have too many, too few, or not the roles that it needs (H2, H17)
ONCE = 512  # the drill runs in that session already (H8)
REPEATS = 1024  # the drill runs in as many slots of the week as it may (H8)
RESOURCE = 2 * LAST_BIT  # the first of: stations, coaches, area, each kind of kit (H3)


class Crews:
    """Who may leave, come to, swap or open a station; arrays by player or by drill."""

    def __init__(self, effects: Effects) -> None:
        self.effects, self.problem = effects, effects.problem
        self.wishes = WishBars(effects)

    @cached_property
    def leaving(self) -> Ints:
        """(players, slots): SIZE where his station could not go on without him."""
        leaving = np.zeros(self.effects.at.shape, dtype=np.int64)
        for station in self.effects.stations:
            slot, drill = self.effects.slot_at[station.session, station.slot], self.problem.drill(station.drill)
            who = [self.effects.player_at[player] for player in station.players]
            if len(who) <= drill.players[0]:
                leaving[who, slot] = SIZE
            for role, wanted in drill.all_needs().items():
                having = [p for p in who if self.has_role[role][p]]
                if len(having) <= wanted:
                    leaving[having, slot] = SIZE
        return leaving

    def unmet(self, drill: int, there: Ints, goes: Ints, comes: Ints) -> Ints:
        """SIZE where the station would lack a role that it needs."""
        unmet = np.zeros(len(goes), dtype=np.int64)
        for role, wanted in self.effects.drills[drill].all_needs().items() if drill < self.effects.none else ():
            has = self.has_role[role]
            unmet |= np.where(has[there].sum() - has[goes] + has[comes].astype(int) < wanted, SIZE, 0)
        return unmet

    def manned(self, drill: Drill, crew: Ints | Sequence[int]) -> bool:
        return all(self.has_role[role][crew].sum() >= wanted for role, wanted in drill.all_needs().items())

    @cached_property
    def has_role(self) -> dict[str, Bools]:
        roles = {role for drill in self.effects.drills for role in drill.all_needs()}
        return {role: self.effects.has_role(role) for role in roles}

    @cached_property
    def least(self) -> Ints:
        return np.array([drill.players[0] for drill in self.effects.drills], dtype=np.int64)

    @cached_property
    def most(self) -> Ints:
        return np.array([drill.players[1] for drill in self.effects.drills], dtype=np.int64)

    @cached_property
    def needy(self) -> Bools:
        return np.array([bool(drill.all_needs()) for drill in self.effects.drills], dtype=bool)

    @cached_property
    def locked(self) -> Bools:
        locked = np.zeros_like(self.effects.running)
        for lock in self.problem.locks:
            locked[self.effects.slot_at[lock.session, lock.slot], self.effects.drill_at[lock.drill]] = True
        return locked

    # Room and repeats

    @cached_property
    def kit(self) -> list[str]:
        return sorted({item for drill in self.effects.drills for item in drill.kit})

    @cached_property
    def uses(self) -> Floats:
        """(drills, resources): stations, coaches, area, then each kind of kit."""
        rows = [[1, d.coaches, d.area, *(d.kit.get(item, 0) for item in self.kit)] for d in self.effects.drills]
        return np.array(rows, dtype=float).reshape(self.effects.none, 3 + len(self.kit))

    def has(self, session: Session) -> Floats:
        kit = (session.kit.get(item, 0) for item in self.kit)
        return np.array([session.stations, session.coaches, session.area, *kit], dtype=float)

    def lacking(self, slot: int, without: int | None) -> Floats:
        """(drills, resources): how much too little the session has for the drill beside the others of the slot."""
        runs = self.effects.running[slot, :-1].copy()
        if without is not None:
            runs[without] = False
        used: Floats = self.uses[runs].sum(0)
        return used + self.uses - self.has(self.effects.slots[slot][0])

    def slot_bars(self, slot: int, without: int | None) -> Ints:
        """(drills,): what keeps each drill from running there, in place of `without` or as one more."""
        lacking = self.lacking(slot, without) > TOLERANCE
        bits = RESOURCE << np.arange(lacking.shape[1], dtype=np.int64)
        bars: Ints = np.where(lacking, bits, 0).sum(1)
        runs, effects = self.effects.running, self.effects
        session = [n for n, (s, _) in enumerate(effects.slots) if s.id == effects.slots[slot][0].id]
        once, often = runs[session].sum(0)[:-1], runs[effects.week == effects.week[slot]].sum(0)[:-1]
        bars = bars | np.where(once > 0, ONCE, 0) | self.wishes.slot_bars(slot, without)
        most = self.problem.limits.repeats_per_week
        return bars if most is None else bars | np.where(often + 1 > most, REPEATS, 0)

    # A new station

    def promising(self, slot: int, free: Bools, among: Bools) -> list[int]:
        """The drills that could save something there, by what each free player would save by himself."""
        effects = self.effects
        gain = np.where(free[:, None] & (effects.bars[:, slot, :-1] == 0), effects.total[:, slot, :-1], 0)
        saved = np.cumsum(np.sort(np.minimum(gain, 0), axis=0), axis=0)
        most = np.minimum(self.most, len(saved)) - 1
        best = np.where(most >= 0, saved[np.maximum(most, 0), np.arange(effects.none)], 0)
        runs = effects.running[slot, :-1]
        return [int(d) for d in np.argsort(best, kind="stable") if best[d] < -TOLERANCE and among[d] and not runs[d]]

    def crew(self, slot: int, d: int, free: Bools) -> Ints | None:
        """The players for whom the drill does most, enough to run it; None if they cannot be spared.

        Of a drill that keeps units to themselves it is the unit for which it does most.
        """
        crews = (self._crew(slot, d, free & unit) for unit in self.wishes.units(d))
        total = self.effects.total[:, slot, d]
        return min((c for c in crews if c is not None), key=lambda c: float(total[c].sum()), default=None)

    def _crew(self, slot: int, d: int, free: Bools) -> Ints | None:
        effects, drill = self.effects, self.effects.drills[d]
        foes = self.wishes.foes(d)
        may = np.nonzero(free & (effects.bars[:, slot, d] == 0))[0]
        by_gain = may[np.argsort(effects.total[may, slot, d], kind="stable")].tolist()
        spare = Spare(self, slot)
        chosen: list[int] = []
        for role, wanted in drill.all_needs().items():
            for p in [p for p in by_gain if self.has_role[role][p]][:wanted]:
                if p not in chosen and not foes[p, chosen].any() and spare.take(p):
                    chosen.append(p)
        for p in by_gain:
            if p in chosen or len(chosen) >= drill.players[1] or foes[p, chosen].any():
                continue
            if (len(chosen) < drill.players[0] or effects.total[p, slot, d] < -TOLERANCE) and spare.take(p):
                chosen.append(p)
        fits = drill.players[0] <= len(chosen) <= drill.players[1] and self.manned(drill, chosen)
        return np.array(sorted(chosen), dtype=np.int64) if fits and chosen else None


class Spare:
    """How many each station of a slot can still give away."""

    def __init__(self, crews: Crews, slot: int) -> None:
        self.crews, self.slot = crews, slot
        self.left = {
            int(d): np.nonzero(crews.effects.at[:, slot] == d)[0].tolist()
            for d in np.nonzero(crews.effects.running[slot])[0]
        }

    def take(self, p: int) -> bool:
        """Whether the player could go; if so he is gone."""
        d = int(self.crews.effects.at[p, self.slot])
        if d == self.crews.effects.none:
            return True
        drill, stay = self.crews.effects.drills[d], [q for q in self.left[d] if q != p]
        if len(stay) < drill.players[0] or not self.crews.manned(drill, stay):
            return False
        self.left[d] = stay
        return True
