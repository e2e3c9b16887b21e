"""The plan in progress: what every player has got so far, kept exact while players come and go.

`shift` with sign +1 puts a player at a drill and with -1 takes him off; the two are exact inverses, so a
change is undone by doing it backwards and no state is ever copied.
"""

# Numba infers the types of kernels; annotations there would only repeat the tables above.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.flat import Flat
from planner.core.kernels.compiled import entry, kernel
from planner.core.kernels.wishes import count_wished, makes_row_too_long, may_run, unmet_cost

NOBODY = -1


class State(NamedTuple):
    cost: NDArray[np.int64]  # [1] all but evenness, x 10 000
    stations: NDArray[np.int64]  # [s] how many run
    drill: NDArray[np.int64]  # [s, k] what runs at station k
    head: NDArray[np.int64]  # [s, k] players there
    at: NDArray[np.int64]  # [s, p] his station, or -1
    session_runs: NDArray[np.int64]  # [n, d]
    week_runs: NDArray[np.int64]  # [w, d]
    got: NDArray[np.int64]  # [t] skill minutes x 100
    got_in_week: NDArray[np.int64]  # [u, w] the same of a weekly target
    load: NDArray[np.int64]  # [p, w] AU
    contact: NDArray[np.int64]  # [p, w, kind] minutes x 100, those spent before the block included
    full_on: NDArray[np.int64]  # [p, a] full-contact stations that day
    full_days: NDArray[np.int64]  # [p, w]
    rung_minutes: NDArray[np.int64]  # [p, r, a] on that day
    rung_behind: NDArray[np.int64]  # [p, r, a] that count on that day, done or planned
    contact_total: NDArray[np.int64]  # [p] minutes x 100 planned over the block
    block_runs: NDArray[np.int64]  # [d]; this and what follows is kept only where wishes are about runs
    day_runs: NDArray[np.int64]  # [a, d]
    theme_runs: NDArray[np.int64]  # [n, theme]
    order_runs: NDArray[np.int64]  # [s, 2] fresh drills, tiring drills
    favourite_runs: NDArray[np.int64]  # [f] runs that meet the favourite


def empty_state(flat: Flat) -> State:
    """The plan without stations; drills of locks are counted as runs from the start (H8)."""
    players, weeks = flat.spent.shape[:2]
    slots, drills = len(flat.slot_week), len(flat.rpe)
    days, rungs = len(flat.window_end), len(flat.rung_above)
    wide = max(1, int(flat.room.max(initial=0)))
    sessions = len(flat.room)
    state = State(
        cost=np.zeros(1, dtype=np.int64),
        stations=np.zeros(slots, dtype=np.int64),
        drill=np.zeros((slots, wide), dtype=np.int64),
        head=np.zeros((slots, wide), dtype=np.int64),
        at=np.full((slots, players), NOBODY, dtype=np.int64),
        session_runs=np.zeros((sessions, drills), dtype=np.int64),
        week_runs=np.zeros((weeks, drills), dtype=np.int64),
        got=np.zeros(len(flat.target_minutes), dtype=np.int64),
        got_in_week=np.zeros((len(flat.touch_cost), weeks), dtype=np.int64),
        load=np.zeros((players, weeks), dtype=np.int64),
        contact=flat.spent.copy(),
        full_on=np.zeros((players, days), dtype=np.int64),
        full_days=np.zeros((players, weeks), dtype=np.int64),
        rung_minutes=np.zeros((players, rungs, days), dtype=np.int64),
        rung_behind=flat.done_before.copy(),
        contact_total=np.zeros(players, dtype=np.int64),
        block_runs=np.zeros(drills, dtype=np.int64),
        day_runs=np.zeros((days, drills), dtype=np.int64),
        theme_runs=np.zeros((sessions, flat.wish.themes), dtype=np.int64),
        order_runs=np.zeros((slots, 2), dtype=np.int64),
        favourite_runs=np.zeros(len(flat.wish.favourite_weight), dtype=np.int64),
    )
    state.cost[0] = empty_cost(flat)
    for s, d in np.argwhere(flat.locked):
        book_run(flat, state, s, d, 1)
    return state


@entry
def empty_cost(flat):
    """Every wish unserved: the cost of the plan without stations."""
    cost = np.int64(0)
    for t in range(len(flat.target_minutes)):
        cost += short_cost(flat.target_weight[t], flat.target_minutes[t], np.int64(0))
    for u in range(len(flat.touch_cost)):
        for w in range(flat.touch_due.shape[1]):
            cost += flat.touch_cost[u] * flat.touch_due[u, w]
    for i in range(len(flat.band_low)):
        cost += band_cost(flat.band_low[i], flat.band_high[i], flat.band_weight[i], np.int64(0))
    return cost + 100 * flat.idle_weight * flat.attended + unmet_cost(flat)


@kernel
def short_cost(weight, minutes, got):
    """A missing minute costs its weight, and twice that below half of the target."""
    return weight * (max(minutes - got, 0) + max(minutes // 2 - got, 0))


@kernel
def band_cost(low, high, weight, load):
    return weight * (max(low - load, 0) + max(load - high, 0))


@kernel
def is_touched(got):
    return got >= 500


@kernel
def shift(flat, state, p, s, d, sign):
    """Put player p at drill d in slot s (sign +1) or take him off it (sign -1)."""
    minutes = flat.slot_minutes[s]
    w = flat.slot_week[s]
    change = shift_skills(flat, state, p, w, d, sign * minutes)
    change += shift_load(flat, state, p, w, sign * minutes * flat.rpe[d])
    change -= sign * 100 * flat.idle_weight * minutes
    state.cost[0] += change
    if flat.kind[d] > 0:
        shift_contact(flat, state, p, s, d, sign)
    if flat.rung[d] >= 0:
        shift_rung(flat, state, p, flat.rung[d], flat.slot_day[s], sign * minutes)


@kernel
def shift_skills(flat, state, p, w, d, minutes):
    change = np.int64(0)
    for i in range(flat.effect_first[p, d], flat.effect_first[p, d + 1]):
        t = flat.effect_target[i]
        more = flat.effect_share[i] * minutes
        weight, wanted, got = flat.target_weight[t], flat.target_minutes[t], state.got[t]
        change += short_cost(weight, wanted, got + more) - short_cost(weight, wanted, got)
        state.got[t] = got + more
        u = flat.target_touch[t]
        if u >= 0:
            in_week = state.got_in_week[u, w]
            change += flat.touch_cost[u] * (is_touched(in_week) - is_touched(in_week + more))
            state.got_in_week[u, w] = in_week + more
    return change


@kernel
def shift_load(flat, state, p, w, more):
    load = state.load[p, w]
    change = np.int64(0)
    for i in range(flat.band_first[p, w], flat.band_first[p, w + 1]):
        low, high, weight = flat.band_low[i], flat.band_high[i], flat.band_weight[i]
        change += band_cost(low, high, weight, load + more) - band_cost(low, high, weight, load)
    state.load[p, w] = load + more
    return change


@kernel
def shift_contact(flat, state, p, s, d, sign):
    w, a = flat.slot_week[s], flat.slot_day[s]
    minutes = sign * flat.slot_minutes[s] * flat.contact[d]
    state.contact[p, w, flat.kind[d]] += minutes
    state.contact_total[p] += minutes
    if flat.kind[d] == 3:
        before = state.full_on[p, a]
        state.full_on[p, a] = before + sign
        state.full_days[p, w] += (before + sign > 0) - (before > 0)


@kernel
def shift_rung(flat, state, p, r, a, minutes):
    state.rung_minutes[p, r, a] += minutes
    for b in range(a + 1, flat.window_end[a] + 1):
        state.rung_behind[p, r, b] += minutes


@kernel
def may_join(flat, state, p, s, d):
    """H1 (absence), H2 (roles), H5, H6, H7, H9 and H14 for a player who stands nowhere in the slot."""
    if not flat.allowed[s, p, d] or makes_row_too_long(flat, state, p, s, d):
        return False
    if flat.kind[d] > 0 and not has_contact_left(flat, state, p, s, d):
        return False
    return flat.below[d] < 0 or state.rung_behind[p, flat.below[d], flat.slot_day[s]] >= flat.ladder_minutes


@kernel
def has_contact_left(flat, state, p, s, d):
    w, kind = flat.slot_week[s], flat.kind[d]
    minutes = flat.slot_minutes[s] * flat.contact[d]
    if minutes > 0 and state.contact[p, w, kind] + minutes > flat.weekly_limit[kind]:
        return False
    if kind == 3 and state.full_on[p, flat.slot_day[s]] == 0:
        return state.full_days[p, w] < flat.full_days_limit
    return True


@kernel
def lost_footing(flat, state, p, r, first, last):
    """The first of these days on which he stands one rung up without enough minutes at rung r; -1 if none."""
    above = flat.rung_above[r]
    if above < 0:
        return -1
    for b in range(first, last + 1):
        if state.rung_minutes[p, above, b] > 0 and state.rung_behind[p, r, b] < flat.ladder_minutes:
            return b
    return -1


@kernel
def evenness(flat, state):
    """weight x (most - least contact minutes) over the comparable players of each role, x 10 000."""
    total = np.int64(0)
    for g in range(len(flat.group_first) - 1):
        least, most = np.int64(2**60), np.int64(0)
        for i in range(flat.group_first[g], flat.group_first[g + 1]):
            minutes = state.contact_total[flat.group_player[i]]
            least, most = min(least, minutes), max(most, minutes)
        total += most - least
    return flat.evenness_weight * total


@kernel
def whole_cost(flat, state):
    return state.cost[0] + evenness(flat, state)


@kernel
def keeps_needs(flat, state, s, k, leaver):
    """True if station k of slot s still has the players its drill needs when `leaver` has gone."""
    d = state.drill[s, k]
    for i in range(flat.need_first[d], flat.need_first[d + 1]):
        role = flat.need_role[i]
        if not flat.has_role[leaver, role]:
            continue
        have = -1
        for p in range(state.at.shape[1]):
            if state.at[s, p] == k and flat.has_role[p, role]:
                have += 1
        if have < flat.need_count[i]:
            return False
    return True


@kernel
def count_run(flat, state, s, d, sign):
    """Locked drills stay counted while their slot is rebuilt, so nobody else can take their turn."""
    if not flat.locked[s, d]:
        book_run(flat, state, s, d, sign)


@entry
def book_run(flat, state, s, d, sign):
    state.session_runs[flat.slot_session[s], d] += sign
    state.week_runs[flat.slot_week[s], d] += sign
    if flat.wish.about_runs:
        state.cost[0] += count_wished(flat, state, s, d, sign)


@kernel
def is_free_to_run(flat, state, s, d):
    """H8 and what coaches wish about runs, seen from an unlocked drill."""
    return (
        state.session_runs[flat.slot_session[s], d] == 0
        and state.week_runs[flat.slot_week[s], d] < flat.repeats_limit
        and (not flat.wish.about_runs or may_run(flat, state, s, d))
    )


@kernel
def open_station(flat, state, s, d):
    k = state.stations[s]
    state.stations[s] = k + 1
    state.drill[s, k] = d
    state.head[s, k] = 0
    count_run(flat, state, s, d, 1)
    return k


@kernel
def join(flat, state, s, p, k):
    state.at[s, p] = k
    state.head[s, k] += 1
    shift(flat, state, p, s, state.drill[s, k], 1)


@kernel
def leave(flat, state, s, p):
    k = state.at[s, p]
    state.at[s, p] = NOBODY
    state.head[s, k] -= 1
    shift(flat, state, p, s, state.drill[s, k], -1)
    return k


@kernel
def clear_slot(flat, state, s):
    for p in range(state.at.shape[1]):
        if state.at[s, p] >= 0:
            leave(flat, state, s, p)
    for k in range(state.stations[s]):
        count_run(flat, state, s, state.drill[s, k], -1)
    state.stations[s] = 0


@kernel
def copy_row(source, target):
    for i in range(len(source)):
        target[i] = source[i]
