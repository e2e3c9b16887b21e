"""Small moves: one player to another station of his slot, or two players who change places."""

# Numba infers the types of kernels; annotations there would only repeat the tables of state.py.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

from planner.core.kernels.chance import accepts, below
from planner.core.kernels.compiled import kernel
from planner.core.kernels.state import join, leave, lost_footing, may_join, whole_cost
from planner.core.kernels.wishes import may_share


@kernel
def meets_needs(flat, state, s, k):
    """H2 of a station: its least number and the roles that its drill needs."""
    d = state.drill[s, k]
    if state.head[s, k] < flat.fewest[d]:
        return False
    for i in range(flat.need_first[d], flat.need_first[d + 1]):
        have = 0
        for p in range(state.at.shape[1]):
            have += state.at[s, p] == k and flat.has_role[p, flat.need_role[i]]
        if have < flat.need_count[i]:
            return False
    return True


@kernel
def keeps_footing(flat, state, s, p, d):
    """H9 for later days after p has left drill d in slot s."""
    r, a = flat.rung[d], flat.slot_day[s]
    return r < 0 or lost_footing(flat, state, p, r, a + 1, flat.window_end[a]) < 0


@kernel
def member(state, s, k, dice):
    """A player of station k, drawn by lot."""
    left = below(dice, state.head[s, k])
    for p in range(state.at.shape[1]):
        if state.at[s, p] == k:
            if left == 0:
                return p
            left -= 1
    return -1


@kernel
def regroup(flat, state, s, temperature, dice):
    """Try one small move in slot s; gives whether it was kept."""
    p = below(dice, flat.present.shape[1])
    stations = state.stations[s]
    if stations == 0 or not flat.present[s, p] or flat.pinned[s, p] >= 0:
        return False
    here = state.at[s, p]
    there = below(dice, stations)
    if there == here or not flat.allowed[s, p, state.drill[s, there]]:
        return False
    q = -1
    full = state.head[s, there] >= flat.most[state.drill[s, there]]
    bare = here >= 0 and state.head[s, here] <= flat.fewest[state.drill[s, here]]
    if full or bare or (here >= 0 and below(dice, 2) == 0):
        q = member(state, s, there, dice)
        if q < 0 or flat.pinned[s, q] >= 0:
            return False
        if here >= 0 and not flat.allowed[s, q, state.drill[s, here]]:
            return False
    return change_places(flat, state, s, p, here, q, there, temperature, dice)


@kernel
def change_places(flat, state, s, p, here, q, there, temperature, dice):
    """Move p from station `here` (-1: idle) to `there`, and q, unless -1, the other way; or take it back."""
    before = whole_cost(flat, state)
    if here >= 0:
        leave(flat, state, s, p)
    if q >= 0:
        leave(flat, state, s, q)
    moved_p = may_join(flat, state, p, s, state.drill[s, there]) and may_share(flat, state, p, s, there)
    if moved_p:
        join(flat, state, s, p, there)
    moved_q = moved_p and q >= 0 and here >= 0 and may_join(flat, state, q, s, state.drill[s, here])
    moved_q = moved_q and may_share(flat, state, q, s, here)
    if moved_q:
        join(flat, state, s, q, here)
    good = moved_p and (moved_q or q < 0 or here < 0)
    good = good and accepts(dice, whole_cost(flat, state) - before, temperature)
    if good and here >= 0:
        good = meets_needs(flat, state, s, here) and keeps_footing(flat, state, s, p, state.drill[s, here])
    if good and q >= 0:
        good = meets_needs(flat, state, s, there) and keeps_footing(flat, state, s, q, state.drill[s, there])
    if good:
        return True
    if moved_p:
        leave(flat, state, s, p)
    if moved_q:
        leave(flat, state, s, q)
    if here >= 0:
        join(flat, state, s, p, here)
    if q >= 0:
        join(flat, state, s, q, there)
    return False
