"""Annealing by ruin and rebuild: empty a few slots, staff them afresh, keep the change or take it back."""

# Numba infers the types of kernels; annotations there would only repeat the tables above.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.flat import Flat
from planner.core.kernels.chance import accepts, below, fraction
from planner.core.kernels.compiled import entry, kernel
from planner.core.kernels.rebuild import fits_in, rebuild
from planner.core.kernels.regroup import regroup
from planner.core.kernels.state import (
    clear_slot,
    copy_row,
    count_run,
    is_free_to_run,
    join,
    keeps_needs,
    leave,
    lost_footing,
    may_join,
    open_station,
    whole_cost,
)
from planner.core.kernels.wishes import is_known, is_still_known, may_share

MOST_RUINED = 2  # slots at once
NEAR = 5  # slots: about a session to either side


class Undo(NamedTuple):
    """The slots of a change as they were, and players taken off elsewhere because of it."""

    slots: NDArray[np.int64]  # [0] how many, then the slots
    stations: NDArray[np.int64]  # [i]
    drill: NDArray[np.int64]  # [i, k]
    at: NDArray[np.int64]  # [i, p]
    dropped: NDArray[np.int64]  # [0, 0] how many, then rows of slot, player, station


class Pace(NamedTuple):
    """How a round goes about it."""

    skip: float  # share of the drills that a rebuild passes over
    pairs: float  # share of the rounds that rebuild two slots
    moves: int  # small moves of single players after each rebuild
    cooler: float  # their temperature, against that of rebuilds


class Best(NamedTuple):
    """The best plan so far. Slots that differ from it are listed, so that keeping a better one copies only them."""

    cost: NDArray[np.int64]  # [1]
    stations: NDArray[np.int64]
    drill: NDArray[np.int64]
    at: NDArray[np.int64]
    stale: NDArray[np.uint8]  # [s]
    listed: NDArray[np.int64]  # [0] how many, then the slots


def undo(flat: Flat, wide: int) -> Undo:
    players = flat.present.shape[1]
    return Undo(
        slots=np.zeros(MOST_RUINED + 1, dtype=np.int64),
        stations=np.zeros(MOST_RUINED, dtype=np.int64),
        drill=np.zeros((MOST_RUINED, wide), dtype=np.int64),
        at=np.zeros((MOST_RUINED, players), dtype=np.int64),
        dropped=np.zeros((players * 8 + 2, 3), dtype=np.int64),
    )


def best(flat: Flat, wide: int) -> Best:
    slots, players = flat.present.shape
    return Best(
        cost=np.full(1, 2**62, dtype=np.int64),
        stations=np.zeros(slots, dtype=np.int64),
        drill=np.zeros((slots, wide), dtype=np.int64),
        at=np.full((slots, players), -1, dtype=np.int64),
        stale=np.zeros(slots, dtype=np.uint8),
        listed=np.zeros(slots + 1, dtype=np.int64),
    )


@kernel
def mark_stale(best, s):
    if not best.stale[s]:
        best.stale[s] = 1
        best.listed[0] += 1
        best.listed[best.listed[0]] = s


@kernel
def keep_if_best(flat, state, best):
    cost = whole_cost(flat, state)
    if cost >= best.cost[0]:
        return False
    best.cost[0] = cost
    for i in range(1, best.listed[0] + 1):
        s = best.listed[i]
        best.stale[s] = 0
        best.stations[s] = state.stations[s]
        copy_row(state.drill[s], best.drill[s])
        copy_row(state.at[s], best.at[s])
    best.listed[0] = 0
    return True


@kernel
def restore_slot(flat, state, s, stations, drill, at):
    """Make slot s what the arguments say."""
    clear_slot(flat, state, s)
    for k in range(stations):
        open_station(flat, state, s, drill[k])
    for p in range(len(at)):
        if at[p] >= 0:
            join(flat, state, s, p, at[p])


@kernel
def ruin(flat, state, undo, s):
    """Empty slot s, remembering it."""
    i = undo.slots[0]
    undo.slots[0] = i + 1
    undo.slots[i + 1] = s
    undo.stations[i] = state.stations[s]
    copy_row(state.drill[s], undo.drill[i])
    copy_row(state.at[s], undo.at[i])
    clear_slot(flat, state, s)


@kernel
def take_back(flat, state, undo):
    for j in range(undo.dropped[0, 0], 0, -1):
        join(flat, state, undo.dropped[j, 0], undo.dropped[j, 1], undo.dropped[j, 2])
    undo.dropped[0, 0] = 0
    for i in range(undo.slots[0]):
        clear_slot(flat, state, undo.slots[i + 1])
    for i in range(undo.slots[0]):
        s = undo.slots[i + 1]
        restore_slot(flat, state, s, undo.stations[i], undo.drill[i], undo.at[i])


@kernel
def drop(flat, state, undo, s, p):
    """Take p off his station in slot s if it does without him; remembers it."""
    k = state.at[s, p]
    d = state.drill[s, k]
    j = undo.dropped[0, 0] + 1
    if (
        flat.pinned[s, p] >= 0
        or state.head[s, k] <= flat.fewest[d]
        or j >= len(undo.dropped)
        or not keeps_needs(flat, state, s, k, p)
    ):
        return False
    undo.dropped[0, 0] = j
    undo.dropped[j, 0], undo.dropped[j, 1], undo.dropped[j, 2] = s, p, k
    leave(flat, state, s, p)
    return True


@kernel
def drop_from_rung(flat, state, undo, p, r, a):
    """Take p off his stations of rung r on day a; False if one of them cannot spare him."""
    for s in range(flat.day_first[a], flat.day_first[a + 1]):
        k = state.at[s, p]
        if k >= 0 and flat.rung[state.drill[s, k]] == r and not drop(flat, state, undo, s, p):
            return False
    return True


@kernel
def regain_footing(flat, state, undo, p, r, a):
    """Take p off later stations that built on rung r of day a and lost it; False if one cannot spare him.

    Each station that he leaves may have carried a higher one in turn, on any day to come, so the check
    climbs the ladder as long as a rung has lost something.
    """
    last = flat.window_end[a]
    while r >= 0:
        b = lost_footing(flat, state, p, r, a + 1, last)
        if b < 0:
            return True
        above = flat.rung_above[r]
        while b >= 0:
            if not drop_from_rung(flat, state, undo, p, above, b):
                return False
            b = lost_footing(flat, state, p, r, b + 1, last)
        r, last = above, len(flat.window_end) - 1
    return True


@kernel
def mend_ladders(flat, state, undo):
    """H9 after a change: who lost minutes at a rung must not stand higher on their strength."""
    for i in range(undo.slots[0]):
        a = flat.slot_day[undo.slots[i + 1]]
        for p in range(undo.at.shape[1]):
            k = undo.at[i, p]
            if k >= 0:
                r = flat.rung[undo.drill[i, k]]
                if r >= 0 and not regain_footing(flat, state, undo, p, r, a):
                    return False
    return True


@kernel
def keeps_known(flat, state, undo):
    """H12 after a change: what no longer runs must not have been what made a later run known."""
    if flat.wish.about_runs:
        for i in range(undo.slots[0]):
            for k in range(undo.stations[i]):
                if not is_still_known(flat, state, undo.drill[i, k]):
                    return False
    return True


@kernel
def pick_slots(free, picked, pairs, dice):
    """One of the free slots, or with chance `pairs` two that lie close, which share limits and bands."""
    i = below(dice, len(free))
    picked[0] = free[i]
    if fraction(dice) >= pairs:
        return 1
    near = i - NEAR + below(dice, 2 * NEAR + 1)
    picked[1] = free[min(max(near, 0), len(free) - 1)]
    return 1 + (picked[1] != picked[0])


@kernel
def ruin_and_rebuild(flat, state, work, undo, best, picked, n, skip, temperature, dice):
    """One step of the search; gives whether it was kept."""
    before = whole_cost(flat, state)
    undo.slots[0] = 0
    undo.dropped[0, 0] = 0
    for i in range(n):
        ruin(flat, state, undo, picked[i])
    built = True
    for i in range(n):
        built = built and rebuild(flat, state, work, picked[i], skip, False, dice)
    built = built and keeps_known(flat, state, undo) and mend_ladders(flat, state, undo)
    if built and accepts(dice, whole_cost(flat, state) - before, temperature):
        for i in range(n):
            mark_stale(best, picked[i])
        for j in range(1, undo.dropped[0, 0] + 1):
            mark_stale(best, undo.dropped[j, 0])
        return True
    take_back(flat, state, undo)
    return False


@entry
def anneal(flat, state, work, undo, best, dice, free, picked, pace, temperature, rounds):
    """So many rounds over the free slots at one temperature (cost x 10 000); gives how many were kept."""
    kept = 0
    for _ in range(rounds):
        n = pick_slots(free, picked, pace.pairs, dice)
        if ruin_and_rebuild(flat, state, work, undo, best, picked, n, pace.skip, temperature, dice):
            kept += 1
            keep_if_best(flat, state, best)
        if pace.moves > 0:
            regroup_some(flat, state, best, free, pace.moves, temperature * pace.cooler, dice)
            keep_if_best(flat, state, best)
    return kept


@kernel
def regroup_some(flat, state, best, free, moves, temperature, dice):
    for _ in range(moves):
        s = free[below(dice, len(free))]
        if regroup(flat, state, s, temperature, dice):
            mark_stale(best, s)


@kernel
def seat_plan(flat, state, work, stations, drill, at, unstaffed, dice):
    """Seat a wanted plan slot by slot in time order, as much of it as the rules allow.

    Players who may not stand where the plan wants them are left out, and a station that is then below its
    least number or its needs is closed. A slot that misses a locked station is staffed afresh with its locked
    ones alone, at once, because later rungs build on what happens here; it is marked where that fails.
    """
    for s in range(len(flat.slot_week)):
        copy_row(flat.have[flat.slot_session[s]], work.left)
        for k in range(stations[s]):
            room = state.stations[s] < flat.room[flat.slot_session[s]]
            if room and may_open(flat, state, work, s, drill[s, k]):
                seat_station(flat, state, work, s, k, drill[s, k], at)
        unstaffed[s] = 0
        if not holds_locks(flat, state, s):
            clear_slot(flat, state, s)
            unstaffed[s] = not rebuild(flat, state, work, s, 0.0, True, dice)


@kernel
def may_open(flat, state, work, s, d):
    if not is_option(flat, s, d) or not fits_in(flat, work, d):
        return False
    if flat.locked[s, d]:
        return is_known(flat, state, s, d)
    return is_free_to_run(flat, state, s, d)


@kernel
def is_option(flat, s, d):
    for i in range(flat.option_first[s], flat.option_first[s + 1]):  # noqa: SIM110 - numba has no any()
        if flat.option[i] == d:
            return True
    return False


@kernel
def seat_station(flat, state, work, s, wanted, d, at):
    k = open_station(flat, state, s, d)
    for p in range(at.shape[1]):
        fits = at[s, p] == wanted and state.head[s, k] < flat.most[d]
        if fits and may_join(flat, state, p, s, d) and may_share(flat, state, p, s, k):
            join(flat, state, s, p, k)
    if is_staffed(flat, state, s, k):
        for i in range(len(work.left)):
            work.left[i] -= flat.use[d, i]
        return
    for p in range(at.shape[1]):
        if state.at[s, p] == k:
            leave(flat, state, s, p)
    count_run(flat, state, s, d, -1)
    state.stations[s] = k


@kernel
def is_staffed(flat, state, s, k):
    """H2 and H10 of one station: the least number, the needs, and whom a lock puts there."""
    d = state.drill[s, k]
    for p in range(state.at.shape[1]):
        if flat.pinned[s, p] == d and state.at[s, p] != k:
            return False
    for i in range(flat.need_first[d], flat.need_first[d + 1]):
        have = 0
        for p in range(state.at.shape[1]):
            have += state.at[s, p] == k and flat.has_role[p, flat.need_role[i]]
        if have < flat.need_count[i]:
            return False
    return state.head[s, k] >= flat.fewest[d]


@kernel
def holds_locks(flat, state, s):
    for d in range(flat.locked.shape[1]):
        runs = False
        for k in range(state.stations[s]):
            runs |= state.drill[s, k] == d
        if flat.locked[s, d] and not runs:
            return False
    return True


@entry
def begin(flat, state, work, best, dice, stations, drill, at, free, unstaffed):
    """Seat a wanted plan, staff the free slots that stand empty, in time order, and keep that as the best."""
    seat_plan(flat, state, work, stations, drill, at, unstaffed, dice)
    for s in free:
        if state.stations[s] == 0:
            rebuild(flat, state, work, s, 0.0, False, dice)
    for s in range(len(flat.slot_week)):
        mark_stale(best, s)
    keep_if_best(flat, state, best)
