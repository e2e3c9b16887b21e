"""What each player saves at each option of an empty slot; it does not depend on where the others stand."""

# Numba infers the types of kernels; annotations there would only repeat the tables of the state.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

import numpy as np

from planner.core.kernels.compiled import kernel
from planner.core.kernels.state import band_cost, has_contact_left
from planner.core.kernels.wishes import makes_row_too_long

BARRED = np.int64(-(2**50))  # a gain that no sum brings back


@kernel
def weigh_gains(flat, state, work, s, options, evenly):
    """gain[i, p] for every option and player, the slot being empty; BARRED for who may not stand there."""
    weigh_groups(flat, state, work, evenly)
    for p in range(flat.present.shape[1]):
        if flat.present[s, p]:
            weigh_bands(flat, state, work, p, s)
            for i in range(options):
                d = work.option[i]
                if work.unit[i] >= 0 and flat.wish.unit[p, d] >= 0 and flat.wish.unit[p, d] != work.unit[i]:
                    work.gain[i, p] = BARRED
                else:
                    work.gain[i, p] = gain_of(flat, state, work, p, s, d)
        else:
            for i in range(options):
                work.gain[i, p] = BARRED


@kernel
def gain_of(flat, state, work, p, s, d):
    if not flat.allowed[s, p, d] or makes_row_too_long(flat, state, p, s, d):
        return BARRED
    low = flat.below[d]
    if low >= 0 and state.rung_behind[p, low, flat.slot_day[s]] < flat.ladder_minutes:
        return BARRED
    gain = work.band_gain[flat.rpe[d]]
    if flat.kind[d] > 0:
        if not has_contact_left(flat, state, p, s, d):
            return BARRED
        gain += evenness_gain(flat, state, work, p, flat.slot_minutes[s] * flat.contact[d])
    return gain + skill_gain(flat, state, p, s, d)


@kernel
def skill_gain(flat, state, p, s, d):
    """Shortfall saved, and the weekly touch pro rata: half of a touch is worth building on."""
    gain = np.int64(0)
    minutes = flat.slot_minutes[s]
    for i in range(flat.effect_first[p, d], flat.effect_first[p, d + 1]):
        t = flat.effect_target[i]
        more = flat.effect_share[i] * minutes
        missing = flat.target_minutes[t] - state.got[t]
        half = missing - flat.target_minutes[t] // 2
        if missing > 0:
            gain += flat.target_weight[t] * (min(missing, more) + max(min(half, more), 0))
        u = flat.target_touch[t]
        if u >= 0:
            untouched = 500 - state.got_in_week[u, flat.slot_week[s]]
            if untouched > 0:
                gain += flat.touch_cost[u] * min(untouched, more) // 500
    return gain


@kernel
def weigh_bands(flat, state, work, p, s):
    """What each RPE saves in the load bands, with the idle minutes that any drill saves."""
    w, minutes = flat.slot_week[s], flat.slot_minutes[s]
    work.band_gain[:] = 100 * flat.idle_weight * minutes
    load = state.load[p, w]
    for i in range(flat.band_first[p, w], flat.band_first[p, w + 1]):
        low, high, weight = flat.band_low[i], flat.band_high[i], flat.band_weight[i]
        before = band_cost(low, high, weight, load)
        for rpe in range(1, 11):
            work.band_gain[rpe] += before - band_cost(low, high, weight, load + rpe * minutes)


@kernel
def weigh_groups(flat, state, work, evenly):
    """Least, next to least and most contact of each group; not `evenly`, bounds at which nobody's contact counts."""
    for g in range(len(flat.group_first) - 1):
        least, second, most = np.int64(2**60), np.int64(2**60), np.int64(0)
        for i in range(flat.group_first[g], flat.group_first[g + 1]):
            minutes = state.contact_total[flat.group_player[i]]
            most = max(most, minutes)
            if minutes < least:
                least, second = minutes, least
            else:
                second = min(second, minutes)
        if not evenly:
            least, second, most = np.int64(-1), np.int64(-1), np.int64(2**60)
        work.group[g, 0], work.group[g, 1], work.group[g, 2] = least, second, most


@kernel
def evenness_gain(flat, state, work, p, minutes):
    """Seen alone: the one with least contact closes the gap, the one with most widens it."""
    gain = np.int64(0)
    had = state.contact_total[p]
    for g in range(len(flat.group_first) - 1):
        for i in range(flat.group_first[g], flat.group_first[g + 1]):
            if flat.group_player[i] == p:
                if had == work.group[g, 0]:
                    gain += min(work.group[g, 1], had + minutes) - had
                gain -= max(had + minutes - work.group[g, 2], 0)
    return flat.evenness_weight * gain
