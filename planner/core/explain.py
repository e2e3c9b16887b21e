"""Why a plan leaves a wish short, and why a drill stands where it does.

Everything is judged by single moves (planner.core.moves), one at a time: that nothing pays is no proof that no
better plan exists, and what a move would buy holds for that move alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

import numpy as np

from planner.core.bars import BUILT_ON, CEILING, DAYS, HARD_ROW, LADDER, UNFIT, WEEKLY
from planner.core.effects import Effects
from planner.core.grid import Bools, Floats, Ints
from planner.core.more_time import MoreTime, more_time
from planner.core.moves import Kind, Move, Moves
from planner.core.prices import Price, prices
from planner.core.problem import Problem, Station, Target
from planner.core.sheet import TOLERANCE
from planner.core.wish_bars import APART, BLOCK, NEW, ORDER, THEMES, UNITS

__all__ = ["Explanation", "MoreTime", "Offer", "Price", "Reason", "Short", "StationWhy", "explain"]


class Reason(StrEnum):
    """Why a player stays short of a skill; the first that holds, in this order.

    A place is a drill in a slot of a session that is not over. A better place is one where he would get more of
    the skill than where he stands in that slot.
    """

    NEVER_PRESENT = "never_present"  # he is absent from every slot that is left
    NO_DRILL = "no_drill"  # no drill trains it that fits his roles, a slot he attends, its kit and its numbers
    NO_TIME = "no_time"  # there is no better place: in each slot he already does what trains it most
    CEILING = "ceiling"  # every better place has more contact than he may do that day (H5)
    CONTACT_LIMIT = "contact_limit"  # each of the rest would take him past the week's minutes or days (H6, H7)
    LADDER = "ladder"  # each of the rest needs a rung that he has not earned by then (H9)
    HARD_ROW = "hard_row"  # each of the rest would be one hard slot in a row too many (H14)
    THEMES = "themes"  # of the moves that would take him to one, the best is kept out by a wish alone: the session
    NOTHING_NEW = "nothing_new"  # has its themes already (H11), nothing new may run (H12),
    FRESH_FIRST = "fresh_first"  # a fresh drill would come after a tiring one (H13),
    BLOCK = "block"  # the drill runs often enough in the block, or too near (H15),
    KEPT_APART = "kept_apart"  # he or another is kept apart from somebody there (H16),
    UNITS = "units"  # or the drill keeps to another unit (H17)
    NO_ROOM = "no_room"  # he could stand at one, but no single move that keeps every rule takes him there
    ONE_MOVE = "one_move"  # a move takes him to one and lowers the cost: the plan can be bettered by hand
    LOAD_BAND = "load_band"  # moves take him there, and without his load band one of them would lower the cost
    OTHERS_FIRST = "others_first"  # moves take him there, but each costs other wishes more than it gives


@dataclass(frozen=True, slots=True)
class Offer:
    """The cheapest single move to a better place: minutes of the skill it gives, and what it changes of the cost.

    `own` is the part of `change` that falls on the player himself; the rest falls on others.
    """

    move: Move
    minutes: float
    change: float
    own: float

    @property
    def others(self) -> float:
        return self.change - self.own


@dataclass(frozen=True, slots=True)
class Short:
    """A target that the plan does not reach. `offer` only for the reasons from ONE_MOVE on.

    `untouched`: weeks in which he trains but hardly touches a skill that he should touch weekly.
    """

    target: Target
    minutes: float
    reason: Reason
    offer: Offer | None = None

    @property
    def short(self) -> float:
        return self.target.minutes - self.minutes


@dataclass(frozen=True, slots=True)
class Trained:
    """What a station does for one skill: minutes off the shortfalls of so many players."""

    skill: str
    players: int
    minutes: float


@dataclass(frozen=True, slots=True)
class StationWhy:
    """Why a drill stands where it does.

    `without`: change of the cost if the station did not run. `runner_up`: the drill that could take its place
    with the same players at the least cost, keeping every rule, and `against` its change of the cost; None where
    none fits. `carries`: players who could not stand at a later rung without it.
    """

    station: Station
    is_locked: bool
    trained: tuple[Trained, ...]
    carries: int
    without: float
    runner_up: Move | None
    against: float


@dataclass(frozen=True)
class Explanation:
    """A plan's reasons, each worked out on first use."""

    problem: Problem
    stations: tuple[Station, ...]
    over: frozenset[str]

    @cached_property
    def effects(self) -> Effects:
        return Effects(self.problem, self.stations, self.over)

    @cached_property
    def moves(self) -> Moves:
        return Moves(self.effects)

    @cached_property
    def shorts(self) -> list[Short]:
        """In the order of the targets."""
        reached = ((target, self._minutes(target)) for target in self.problem.targets)
        return [self._short(target, minutes) for target, minutes in reached if target.minutes - minutes > TOLERANCE]

    @cached_property
    def prices(self) -> list[Price]:
        """What each rule that binds keeps out, the dearest first."""
        return prices(self.moves)

    @cached_property
    def more_time(self) -> list[MoreTime]:
        """What one more slot would buy in each session that is not over, the best first."""
        return more_time(self.problem, self.stations, self.over)

    def why(self, station: Station) -> StationWhy:
        """Raises KeyError if the plan has no such station."""
        if station not in self.stations:
            raise KeyError(station)
        slot, drill = self._at(station)
        crew = self._crew(station)
        effects, none = self.effects, self.effects.none
        move, against = self._runner_up(slot, drill)
        return StationWhy(
            station,
            is_locked=any((k.session, k.slot, k.drill) == (station.session, station.slot, station.drill)
                          for k in self.problem.locks),
            trained=tuple(self._trained(slot, drill, crew)),
            carries=int((effects.bars[crew, slot, none] & BUILT_ON > 0).sum()),
            without=float(effects.total[crew, slot, none].sum())
            + float(effects.evenness(effects.extra(crew, slot, none))[0])
            + self.moves.stations.wishes.removed(slot, drill),
            runner_up=move,
            against=against,
        )  # fmt: skip

    def _at(self, station: Station) -> tuple[int, int]:
        return self.effects.slot_at[station.session, station.slot], self.effects.drill_at[station.drill]

    def _crew(self, station: Station) -> Ints:
        return np.array([self.effects.player_at[player] for player in station.players], dtype=np.int64)

    def _runner_up(self, slot: int, drill: int) -> tuple[Move | None, float]:
        table = self.moves.table
        rows = np.nonzero((table.kind == Kind.SWAP) & (table.slot == slot) & (table.a == drill) & (table.bars == 0))[0]
        if not len(rows):
            return None, 0.0
        best = int(rows[np.argmin(table.change[rows])])
        return self.moves.move(table, best), float(table.change[best])

    def _trained(self, slot: int, drill: int, crew: Ints) -> Iterable[Trained]:
        """How much shorter the crew would be of each skill without the station, the most first."""
        found: dict[str, list[float]] = {}
        who = {self.effects.players[p].id: p for p in crew.tolist()}
        for target in self.problem.targets:
            if (p := who.get(target.player)) is not None:
                given = float(self.effects.minutes[slot] * self.effects.shares[target.skill][p, drill])
                now = self._minutes(target)
                eased = max(0.0, target.minutes - now + given) - max(0.0, target.minutes - now)
                if eased > TOLERANCE:
                    found.setdefault(target.skill, []).append(eased)
        trained = (Trained(skill, len(eased), sum(eased)) for skill, eased in found.items())
        return sorted(trained, key=lambda each: -each.minutes)

    def _minutes(self, target: Target) -> float:
        effects, p = self.effects, self.effects.player_at[target.player]
        return float((effects.minutes * effects.shares[target.skill][p, effects.at[p]]).sum())

    # Why short

    def _short(self, target: Target, minutes: float) -> Short:
        effects, p = self.effects, self.effects.player_at[target.player]
        shares, bars = effects.shares[target.skill][p], effects.bars[p]
        there = (effects.here[p] & effects.is_open)[:, None]
        gain = effects.minutes[:, None] * (shares - shares[effects.at[p]][:, None])
        if not there.any():
            return Short(target, minutes, Reason.NEVER_PRESENT)
        fitting = there & (shares > 0) & (bars & UNFIT == 0)
        if not fitting.any():
            return Short(target, minutes, Reason.NO_DRILL)
        better = fitting & (gain > TOLERANCE)
        for reason, stop in STOPS:
            if not better.any():
                return Short(target, minutes, reason)
            better = better & (bars & stop == 0)
        reached = better & np.isfinite(self._cheapest[p])
        if not reached.any():
            return Short(target, minutes, self._kept_out(p, better) if better.any() else LAST_STOP)
        return self._offered(target, minutes, p, reached, gain)

    def _kept_out(self, p: int, better: Bools) -> Reason:
        """What keeps out the best of the moves that take him to a better place, if a wish alone does."""
        offered = ((change, reason) for change, t, d, reason in self._wish_barred[p] if better[t, d])
        return min(offered, default=(0.0, Reason.NO_ROOM))[1]

    @cached_property
    def _wish_barred(self) -> dict[int, list[tuple[float, int, int, Reason]]]:
        """Player -> (change of the cost, slot, drill, reason) of the moves that only wishes keep out."""
        found: dict[int, list[tuple[float, int, int, Reason]]] = defaultdict(list)
        table = self.moves.table
        for row in np.nonzero((table.bars > 0) & (table.bars & ~sum(WISHES) == 0))[0].tolist():
            reason = next(reason for bit, reason in WISHES.items() if table.bars[row] & bit)
            for p, d in self.moves.all_crew(table, row):
                found[p].append((float(table.change[row]), int(table.slot[row]), d, reason))
        return found

    def _offered(self, target: Target, minutes: float, p: int, reached: Bools, gain: Floats) -> Short:
        cost = np.where(reached, self._cheapest[p], np.inf)
        t, d = np.unravel_index(int(np.argmin(cost)), cost.shape)
        own = float(self.effects.total[p, t, d])
        move = self.moves.move(self.moves.table, int(self._cheapest_row[p, t, d]))
        offer = Offer(move, float(gain[t, d]), float(cost[t, d]), own)
        without_band = np.where(reached, cost - self.effects.own.band[p], np.inf)
        if cost[t, d] < -TOLERANCE:
            reason = Reason.ONE_MOVE
        else:
            reason = Reason.LOAD_BAND if without_band.min() < -TOLERANCE else Reason.OTHERS_FIRST
        return Short(target, minutes, reason, offer)

    @cached_property
    def _cheapest(self) -> Floats:
        """(players, slots, drills + 1): the least change of the cost by a move that keeps every rule; inf: none."""
        return self._best[0]

    @cached_property
    def _cheapest_row(self) -> Ints:
        return self._best[1]

    @cached_property
    def _best(self) -> tuple[Floats, Ints]:
        table, shape = self.moves.table, self.effects.total.shape
        row, p, d = self._placed
        order = np.argsort(-table.change[row], kind="stable")  # the cheapest is written last and stays
        row, p, d = row[order], p[order], d[order]
        change, which = np.full(shape, np.inf), np.full(shape, -1, dtype=np.int64)
        change[p, table.slot[row], d] = table.change[row]
        which[p, table.slot[row], d] = row
        return change, which

    @property
    def _placed(self) -> tuple[Ints, Ints, Ints]:
        """(row, player, drill) of everyone whom a move places, for the moves that keep every rule."""
        table, free = self.moves.table, np.nonzero(self.moves.table.bars == 0)[0]
        single, pairs = free[table.crew[free] < 0], free[table.q[free] >= 0]
        crews = free[table.crew[free] >= 0]
        sizes = [len(self.moves.crews[crew]) for crew in table.crew[crews]]
        many = np.repeat(crews, sizes)
        who = [self.moves.crews[crew] for crew in table.crew[crews]]
        return (
            np.concatenate([single, pairs, many]),
            np.concatenate([table.p[single], table.q[pairs], *who]),
            np.concatenate([table.b[single], table.a[pairs], table.b[many]]),
        )


STOPS = (
    (Reason.NO_TIME, CEILING),
    (Reason.CEILING, WEEKLY | DAYS),
    (Reason.CONTACT_LIMIT, LADDER),
    (Reason.LADDER, HARD_ROW),
)
LAST_STOP = Reason.HARD_ROW
WISHES = {
    THEMES: Reason.THEMES,
    NEW: Reason.NOTHING_NEW,
    ORDER: Reason.FRESH_FIRST,
    BLOCK: Reason.BLOCK,
    APART: Reason.KEPT_APART,
    UNITS: Reason.UNITS,
}


def explain(problem: Problem, stations: Iterable[Station], over: Collection[str] = ()) -> Explanation:
    """The reasons of a plan that keeps every rule (others make no sense); `over`: sessions that stay as they were."""
    return Explanation(problem, tuple(replace(station) for station in stations), frozenset(over))
