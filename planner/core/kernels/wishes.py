"""What coaches wish for, seen from a drill that may run (H11 to H13, H15) and a player who may join (H14, H16, H17).

Locked drills are counted as runs from the start, so nobody else takes what they will need.
"""

# Numba infers the types of kernels; annotations there would only repeat the tables of flat_wishes.py.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

import numpy as np

from planner.core.flat_wishes import (
    FIRST,
    FRESH,
    GAP,
    KNOWN,
    LAST,
    LEAST,
    MOST,
    NOTHING_NEW,
    THEME,
    THEMES_MOST,
    TIRING,
    UNITS,
    WEIGHT,
)
from planner.core.kernels.compiled import kernel


@kernel
def unmet_cost(flat):
    """What the wishes cost while nothing runs, x 10 000."""
    cost = np.int64(0)
    for d in range(len(flat.wish.drill)):
        cost += 100 * flat.wish.drill[d, WEIGHT] * flat.wish.drill[d, LEAST]
    for f in range(len(flat.wish.favourite_weight)):
        cost += 100 * flat.wish.favourite_weight[f]
    return cost


@kernel
def count_wished(flat, state, s, d, sign):
    """Book a run of drill d in slot s (sign +1) or strike it out (-1); gives the change of the cost."""
    wish, n = flat.wish, flat.slot_session[s]
    least, before = wish.drill[d, LEAST], state.block_runs[d]
    change = 100 * wish.drill[d, WEIGHT] * (max(least - before - sign, 0) - max(least - before, 0))
    state.block_runs[d] = before + sign
    state.day_runs[flat.slot_day[s], d] += sign
    state.order_runs[s, 0] += sign * wish.drill[d, FRESH]
    state.order_runs[s, 1] += sign * wish.drill[d, TIRING]
    if wish.drill[d, THEME] >= 0:
        state.theme_runs[n, wish.drill[d, THEME]] += sign
    for f in range(wish.favourite_first[n], wish.favourite_first[n + 1]):
        if wish.favourite_drill[f, d]:
            runs = state.favourite_runs[f]
            state.favourite_runs[f] = runs + sign
            if runs == 0 or runs + sign == 0:
                change -= 100 * sign * wish.favourite_weight[f]
    return change


@kernel
def run_gain(flat, state, s, d, drafted, many):
    """What a run of drill d in slot s saves of the wishes beside the first `many` drills of a draft, x 10 000."""
    wish, n = flat.wish, flat.slot_session[s]
    gain = np.int64(0)
    if state.block_runs[d] < wish.drill[d, LEAST]:
        gain += 100 * wish.drill[d, WEIGHT]
    for f in range(wish.favourite_first[n], wish.favourite_first[n + 1]):
        if wish.favourite_drill[f, d] and state.favourite_runs[f] == 0 and not has_favourite(flat, f, drafted, many):
            gain += 100 * wish.favourite_weight[f]
    return gain


@kernel
def has_favourite(flat, f, drafted, many):
    for k in range(many):  # noqa: SIM110 - numba has no any()
        if flat.wish.favourite_drill[f, drafted[k]]:
            return True
    return False


@kernel
def may_run(flat, state, s, d):
    """H11, H12, H13 and H15 for one more station of drill d in slot s."""
    if state.block_runs[d] >= flat.wish.drill[d, MOST]:
        return False
    return (
        theme_fits(flat, state, s, d)
        and is_known(flat, state, s, d)
        and is_in_order(flat, state, s, d)
        and keeps_gap(flat, state, s, d)
    )


@kernel
def themes_left(flat, state, n):
    """H11: how many more themes session n may have."""
    left = flat.wish.session[n, THEMES_MOST]
    for theme in range(state.theme_runs.shape[1]):
        if state.theme_runs[n, theme] > 0:
            left -= 1
    return left


@kernel
def theme_fits(flat, state, s, d):
    theme, n = flat.wish.drill[d, THEME], flat.slot_session[s]
    return theme < 0 or state.theme_runs[n, theme] > 0 or themes_left(flat, state, n) > 0


@kernel
def is_known(flat, state, s, d):
    """H12: where nothing new may run, the drill is known or runs on an earlier day."""
    if not flat.wish.session[flat.slot_session[s], NOTHING_NEW] or flat.wish.drill[d, KNOWN]:
        return True
    for b in range(flat.slot_day[s]):  # noqa: SIM110 - numba has no any()
        if state.day_runs[b, d] > 0:
            return True
    return False


@kernel
def is_still_known(flat, state, d):
    """H12 for all runs of drill d: the first day on which it runs may not be one of nothing new."""
    if flat.wish.drill[d, KNOWN]:
        return True
    for a in range(len(state.day_runs)):
        if state.day_runs[a, d] > 0:
            for s in range(flat.day_first[a], flat.day_first[a + 1]):
                n = flat.slot_session[s]
                if flat.wish.session[n, NOTHING_NEW] and state.session_runs[n, d] > 0:
                    return False
            return True
    return True


@kernel
def is_in_order(flat, state, s, d):
    """H13: nothing tiring before a fresh drill, nothing fresh after a tiring one."""
    n = flat.slot_session[s]
    if flat.wish.drill[d, FRESH]:
        for t in range(flat.session_first[n], s):
            if state.order_runs[t, 1] > 0:
                return False
    if flat.wish.drill[d, TIRING]:
        for t in range(s + 1, flat.session_first[n + 1]):
            if state.order_runs[t, 0] > 0:
                return False
    return True


@kernel
def keeps_gap(flat, state, s, d):
    """H15: no run on another day that is too near."""
    gap, a = flat.wish.drill[d, GAP], flat.slot_day[s]
    if gap <= 1:
        return True
    for b in range(len(flat.wish.day)):
        if b != a and state.day_runs[b, d] > 0 and abs(flat.wish.day[a] - flat.wish.day[b]) < gap:
            return False
    return True


@kernel
def is_hard_at(flat, state, p, t):
    """True if p stands at a hard drill in slot t, or will because a lock puts him there."""
    d = flat.pinned[t, p]
    if d < 0:
        k = state.at[t, p]
        if k < 0:
            return False
        d = state.drill[t, k]
    return flat.rpe[d] >= flat.wish.hard_rpe


@kernel
def makes_row_too_long(flat, state, p, s, d):
    """H14: drill d in slot s would be one hard slot in a row too many for p."""
    if flat.rpe[d] < flat.wish.hard_rpe:
        return False
    length, t = 1, s - 1
    while t >= flat.wish.row[s, FIRST] and is_hard_at(flat, state, p, t):
        length += 1
        t -= 1
    t = s + 1
    while t <= flat.wish.row[s, LAST] and is_hard_at(flat, state, p, t):
        length += 1
        t += 1
    return length > flat.wish.hard_most


@kernel
def has_foe(flat, there, k, p, d):
    """H16: somebody whom p is kept apart from stands at station k of drill d; `there` says who stands where."""
    for i in range(flat.wish.foe_first[p], flat.wish.foe_first[p + 1]):
        if there[flat.wish.foe[i]] == k and (flat.kind[d] > 0 or not flat.wish.foe_in_contact[i]):
            return True
    return False


@kernel
def may_share(flat, state, p, s, k):
    """H16 and H17 for player p at station k of slot s with those who stand there."""
    d = state.drill[s, k]
    if has_foe(flat, state.at[s], k, p, d):
        return False
    if flat.wish.drill[d, UNITS] > 0 and flat.wish.unit[p, d] >= 0:
        for q in range(state.at.shape[1]):
            if state.at[s, q] == k and flat.wish.unit[q, d] >= 0 and flat.wish.unit[q, d] != flat.wish.unit[p, d]:
                return False
    return True
