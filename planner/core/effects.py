"""What it would change of the cost if one player stood at another drill in one slot.

The cost of planner.core.cost, split into what falls on one player alone and evenness, which several share.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.core.bars import Rules
from planner.core.cost import BAND_UNIT, TOUCH_MINUTES, comparable
from planner.core.grid import Floats, Grid, Ints
from planner.core.problem import Player, Target
from planner.core.sheet import TOLERANCE


@dataclass(frozen=True, slots=True)
class Own:
    """Change of a player's own part of the cost, each array (players, slots, drills + 1)."""

    shortfall: Floats
    touch: Floats
    band: Floats
    idle: Floats

    @property
    def total(self) -> Floats:
        return self.shortfall + self.touch + self.band + self.idle

    def parts(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.shortfall, self.touch, self.band, self.idle


class Effects(Grid):
    """The grid of a plan that breaks no rule, with what each change of one place would bring."""

    @cached_property
    def own(self) -> Own:
        """Against standing where he stands now; nonsense where he is absent."""
        shape = (len(self.players), len(self.slots), self.none + 1)
        own = Own(*(np.zeros(shape) for _ in range(4)))
        for p, player in enumerate(self.players):
            own.shortfall[p], own.touch[p] = self._skills(p, player)
            own.band[p] = self._band(p, player)
        weight = self.problem.idle_weight * self.minutes
        own.idle[:, :, self.none] += weight
        own.idle[:] -= (weight * (self.at == self.none))[:, :, None]
        return own

    @cached_property
    def total(self) -> Floats:
        return self.own.total

    def _skills(self, p: int, player: Player) -> tuple[Floats, Floats]:
        shortfall = np.zeros((len(self.slots), self.none + 1))
        touch = np.zeros_like(shortfall)
        for target in (t for t in self.problem.targets if t.player == player.id):
            shares = self.shares[target.skill][p]
            now = self.minutes * shares[self.at[p]]
            step = self.minutes[:, None] * shares - now[:, None]
            shortfall += target.weight * (_short(now.sum() + step, target.minutes) - _short(now.sum(), target.minutes))
            if target.weekly:
                by_week = np.bincount(self.week, now, self.problem.weeks)[self.week][:, None]
                missed = (by_week + step < TOUCH_MINUTES - TOLERANCE).astype(float)
                touch += target.weight * TOUCH_MINUTES * (missed - (by_week < TOUCH_MINUTES - TOLERANCE))
        return shortfall, touch

    def _band(self, p: int, player: Player) -> Floats:
        rpe = np.array([drill.rpe for drill in self.drills] + [0], dtype=np.int64)
        now = self.minutes * rpe[self.at[p]]
        step = self.minutes[:, None] * rpe - now[:, None]
        load = np.bincount(self.week, now, self.problem.weeks)
        change = np.zeros((len(self.slots), self.none + 1))
        for band in (b for b in self.problem.bands if b.player == player.id):
            those, before = self.week == band.week, load[band.week]
            for at, sign in ((before + step[those], 1), (before, -1)):
                outside = np.maximum(0, band.low - at) + np.maximum(0, at - band.high)
                change[those] += sign * band.weight * outside / BAND_UNIT
        return change

    def eased(self, p: int, slot: int, drill: int) -> float:
        """Minutes off the player's shortfalls, all skills together, by standing at that drill in the slot."""
        eased = 0.0
        for target in self._targets.get(self.players[p].id, ()):
            shares = self.shares[target.skill][p]
            now = float((self.minutes * shares[self.at[p]]).sum())
            after = now + float(self.minutes[slot] * (shares[drill] - shares[self.at[p, slot]]))
            eased += max(0.0, target.minutes - now) - max(0.0, target.minutes - after)
        return eased

    @cached_property
    def _targets(self) -> dict[str, list[Target]]:
        found: dict[str, list[Target]] = defaultdict(list)
        for target in self.problem.targets:
            found[target.player].append(target)
        return found

    @cached_property
    def rules(self) -> Rules:
        return Rules(self)

    @property
    def bars(self) -> Ints:
        return self.rules.bars

    # The wish that concerns several players at once

    @cached_property
    def _groups(self) -> list[Ints]:
        roles = self.problem.evenness.roles
        groups = [[self.player_at[player] for player in comparable(self.problem, role)] for role in roles]
        return [np.array(group, dtype=np.int64) for group in groups if len(group) > 1]

    @cached_property
    def _contact_of(self) -> Floats:
        contact: Floats = self.contact[np.arange(len(self.slots)), self.at].sum(1)
        return contact

    def evenness(self, extra: Floats) -> Floats:
        """Change of the cost of evenness for each row of `extra`: contact minutes more for each player."""
        change: Floats = np.zeros(len(extra))
        if not self.problem.evenness.weight or not extra.any():
            return change
        for group in self._groups:
            change += np.ptp(self._contact_of[group] + extra[:, group], axis=1) - np.ptp(self._contact_of[group])
        change *= self.problem.evenness.weight
        return change

    def extra(self, players: Sequence[int] | Ints, slot: int, drills: int | Ints) -> Floats:
        """Contact minutes more for these players at that drill (each of these drills, a row each)."""
        drills = np.atleast_1d(np.asarray(drills))
        extra = np.zeros((len(drills), len(self.players)))
        now = self.contact[slot, self.at[players, slot]]
        extra[:, players] = self.contact[slot, drills][:, None] - now
        return extra


def _short(minutes: Floats, wanted: int) -> Floats:
    return np.maximum(0, wanted - minutes) + np.maximum(0, wanted / 2 - minutes)
