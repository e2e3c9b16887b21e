"""Which hard rules keep a player from leaving his place for another, and by how much each is missed.

One bit stands for one rule. What concerns the station he goes to or leaves is told in planner.core.moves.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from planner.core.grid import Bools, Floats, Grid, Ints
from planner.core.problem import Contact
from planner.core.sheet import TOLERANCE

UNFIT = 1  # his roles, the length of the slot, what the session has, too few who could stand there
CEILING = 2  # more contact than he may do that day (H5)
WEEKLY = 4  # his contact minutes of the week (H6)
DAYS = 8  # his days of full contact in the week (H7)
LADDER = 16  # minutes at the rung below (H9)
BUILT_ON = 32  # a later rung of his own builds on what he does there now (H9)
LOCKED = 64  # a lock keeps him, or the station, where it is (H10)
HARD_ROW = 128  # one hard slot in a row too many (H14)


class Rules:
    """The rules about one player, at every place; arrays are (players, slots, drills + 1)."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid

    @cached_property
    def bars(self) -> Ints:
        """(players, slots, drills + 1): the bits of the rules that keep him from leaving his place for that one."""
        stops = (
            (UNFIT, ~self.grid.fits),
            (CEILING, ~self.grid.below_ceiling),
            (WEEKLY, self.beyond_weekly > TOLERANCE),
            (DAYS, self.beyond_days > 0),
            (LADDER, self.rung_lacks > 0),
            (BUILT_ON, self._built_on),
            (LOCKED, self._held[:, :, None]),
            (HARD_ROW, self._too_many_hard),
        )
        bars = np.zeros(self.grid.fits.shape, dtype=np.int64)
        for bit, stands in stops:
            bars |= bit * stands.astype(np.int64)
        return bars

    @cached_property
    def beyond_weekly(self) -> Floats:
        """Contact minutes past the limit of the week that he would have with the drill in the slot."""
        beyond = np.zeros((len(self.grid.players), len(self.grid.slots), self.grid.none + 1))
        now = self.grid.contact[np.arange(len(self.grid.slots)), self.grid.at]
        for kind, limit in self.grid.problem.limits.weekly.items():
            of_kind = self.grid.of_kind(kind)
            mine = np.where(of_kind[self.grid.at], now, 0)
            for p, player in enumerate(self.grid.players):
                spent = [player.spent(week, kind) for week in range(self.grid.problem.weeks)]
                before = (np.bincount(self.grid.week, mine[p], self.grid.problem.weeks) + spent)[self.grid.week] - mine[
                    p
                ]
                after = before[:, None] + self.grid.contact
                beyond[p] = np.where(of_kind & (self.grid.contact > TOLERANCE), after - limit, beyond[p])
        return np.maximum(0, beyond)

    @cached_property
    def beyond_days(self) -> Ints:
        """Days of full contact past the limit of the week, with the drill in the slot."""
        beyond = np.zeros((len(self.grid.players), len(self.grid.slots), self.grid.none + 1), dtype=np.int64)
        most, full = self.grid.problem.limits.full_days_per_week, self.grid.of_kind(Contact.FULL)
        if most is None:
            return beyond
        for p in range(len(self.grid.players)):
            mine = full[self.grid.at[p]]
            for t in range(len(self.grid.slots)):
                others = mine & (self.grid.week == self.grid.week[t])
                others[t] = False
                days = len({*self.grid.day[others].tolist(), int(self.grid.day[t])})
                beyond[p, t, full] = max(0, days - most)
        return beyond

    @cached_property
    def _rungs(self) -> dict[tuple[str, int], Bools]:
        """(ladder, rung) -> which drills are of it."""
        keys = {(drill.ladder, drill.rung) for drill in self.grid.drills if drill.ladder is not None}
        return {
            (ladder, rung): np.array([(d.ladder, d.rung) == (ladder, rung) for d in self.grid.drills] + [False])
            for ladder, rung in keys
            if ladder is not None
        }

    @cached_property
    def _fresh(self) -> Bools:
        """(slots, slots): whether minutes at the second count for a rung at the first."""
        rule = self.grid.problem.limits.ladder
        gone = self.grid.day[:, None] - self.grid.day
        return (gone >= 1) & (gone <= (rule.days if rule else 0))

    def _had(self, ladder: str, rung: int) -> Ints:
        """(players, slots): minutes at the rung that count on the day of the slot."""
        rule = self.grid.problem.limits.ladder
        assert rule is not None
        drills = self._rungs.get((ladder, rung), np.zeros(self.grid.none + 1, dtype=bool))
        had = np.where(drills[self.grid.at], self.grid.minutes, 0) @ self._fresh.T.astype(np.int64)
        for p, player in enumerate(self.grid.players):
            for done in player.done:
                if (done.ladder, done.rung) == (ladder, rung):
                    gone = self.grid.day - done.date.toordinal()
                    had[p] += np.where((gone >= 1) & (gone <= rule.days), done.minutes, 0)
        return had

    @cached_property
    def rung_lacks(self) -> Ints:
        """Minutes at the rung below that he lacks for the drill in the slot."""
        lacks = np.zeros((len(self.grid.players), len(self.grid.slots), self.grid.none + 1), dtype=np.int64)
        if (rule := self.grid.problem.limits.ladder) is not None:
            for (ladder, rung), drills in self._rungs.items():
                if rung > 1:
                    lacks[:, :, drills] = np.maximum(0, rule.minutes - self._had(ladder, rung - 1))[:, :, None]
        return lacks

    @cached_property
    def _built_on(self) -> Bools:
        """Places that would take from a later rung of his the minutes it rests on."""
        shaken = np.zeros((len(self.grid.players), len(self.grid.slots), self.grid.none + 1), dtype=bool)
        if (rule := self.grid.problem.limits.ladder) is None:
            return shaken
        for (ladder, rung), drills in self._rungs.items():
            below = self._rungs.get((ladder, rung - 1))
            if below is None:
                continue
            slack = self._had(ladder, rung - 1) - rule.minutes
            for p, later in zip(*np.nonzero(drills[self.grid.at]), strict=True):
                rests = self._fresh[later] & below[self.grid.at[p]] & (self.grid.minutes > slack[p, later])
                shaken[p, rests] |= ~below
        return shaken

    @cached_property
    def _too_many_hard(self) -> Bools:
        """Places that would be one hard slot in a row too many."""
        grid, rule = self.grid, self.grid.problem.hard_row
        if rule is None:
            return np.zeros((1, 1, 1), dtype=bool)
        hard = np.array([drill.rpe >= rule.rpe for drill in grid.drills] + [False], dtype=bool)
        stands = hard[grid.at]
        before, after = np.zeros(stands.shape, dtype=np.int64), np.zeros(stands.shape, dtype=np.int64)
        for t in range(1, len(grid.slots)):
            if grid.slots[t][1] > 0 and grid.slots[t][1] not in grid.slots[t][0].breaks:
                before[:, t] = np.where(stands[:, t - 1], before[:, t - 1] + 1, 0)
        for t in range(len(grid.slots) - 2, -1, -1):
            if grid.slots[t + 1][1] > 0 and grid.slots[t + 1][1] not in grid.slots[t + 1][0].breaks:
                after[:, t] = np.where(stands[:, t + 1], after[:, t + 1] + 1, 0)
        too_many: Bools = (before + 1 + after > rule.most)[:, :, None] & hard
        return too_many

    @cached_property
    def _held(self) -> Bools:
        """(players, slots): who is locked where he stands."""
        held = np.zeros((len(self.grid.players), len(self.grid.slots)), dtype=bool)
        for lock in self.grid.problem.locks:
            held[
                [self.grid.player_at[player] for player in lock.players], self.grid.slot_at[lock.session, lock.slot]
            ] = True
        return held
