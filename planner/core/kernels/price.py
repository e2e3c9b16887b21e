"""Pricing: what the best plan could cost if coupled wishes and limits were bought and sold at given prices.

At any prices within their boxes the priced problem falls apart into single slots, and its optimum is a lower
bound on the cost of every plan (Lagrangian relaxation; M. L. Fisher, "The Lagrangian relaxation method for
solving integer programming problems", 1981). Minutes and costs are in plain units here.
"""

# Numba infers the types of kernels; annotations there would only repeat the tables below.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.flat import Flat
from planner.core.kernels.compiled import entry, kernel
from planner.core.kernels.tree import NEVER, best_stations, stands_at

Reals = NDArray[np.float64]
LEARN = 0.2  # how fast usual tolls follow those of the best sets


class Prices(NamedTuple):
    """Prices of what couples slots; the same shape holds what the slots used of each, and directions."""

    target: Reals  # [t] of a minute, 0 .. twice its weight
    touch: Reals  # [u, w] of a minute, 0 .. its weight
    band: Reals  # [i] of an AU, minus .. plus its weight
    contact: Reals  # [p, w, kind] of a contact minute, 0 or more
    ladder: Reals  # [p, r, s] of standing one rung above r in slot s, 0 or more
    repeat: Reals  # [w, d] of a run in a week, 0 or more
    session: Reals  # [n, d] of a run in a session, 0 or more
    need: Reals  # [option, k] reward for a player with the k-th role that the drill needs, 0 or more


class Steps(NamedTuple):
    """What the prices of ladder rows make of the rungs below, and where everybody stood at these prices."""

    credit: Reals  # [p, r, s] what standing at rung r in slot s is worth to days that build on it
    due: Reals  # [a] prices of one player's rung on each day
    stood: NDArray[np.int64]  # [p, s] drill, or -1


def prices(flat: Flat) -> Prices:
    players, weeks, kinds = flat.spent.shape
    drills = len(flat.rpe)
    return Prices(
        target=np.zeros(len(flat.target_minutes)),
        touch=np.zeros((len(flat.touch_cost), weeks)),
        band=np.zeros(len(flat.band_low)),
        contact=np.zeros((players, weeks, kinds)),
        ladder=np.zeros((players, len(flat.rung_above), len(flat.slot_week))),
        repeat=np.zeros((weeks, drills)),
        session=np.zeros((len(flat.room), drills)),
        need=np.zeros((len(flat.option), int(np.diff(flat.need_first).max(initial=0)))),
    )


def steps(flat: Flat) -> Steps:
    players, rungs, days = flat.done_before.shape
    slots = len(flat.slot_week)
    return Steps(
        credit=np.zeros((players, rungs, slots)),
        due=np.zeros(days),
        stood=np.full((players, slots), -1, dtype=np.int64),
    )


@kernel
def lacking(flat, p, r, a):
    """Minutes at rung r that the player still has to plan before day a to stand one rung above it."""
    return flat.ladder_minutes - flat.done_before[p, r, a]


@kernel
def step_share(flat, p, r, s, b):
    """The part of what he lacks on day b that slot s brings him at rung r; 0 if he lacks nothing."""
    missing = lacking(flat, p, r, b)
    return min(1.0, flat.slot_minutes[s] / missing) if missing > 0 else 0.0


@kernel
def credit_steps(flat, price, steps):
    """What the days that build on a slot pay for it."""
    for p in range(steps.credit.shape[0]):
        for r in range(steps.credit.shape[1]):
            owed = 0.0
            for b in range(len(steps.due)):
                steps.due[b] = 0.0
                for s in range(flat.day_first[b], flat.day_first[b + 1]):
                    steps.due[b] += price.ladder[p, r, s]
                owed += steps.due[b]
            for s in range(steps.credit.shape[2]):
                steps.credit[p, r, s] = credit_of(flat, steps, p, r, s) if owed > 0 else 0.0


@kernel
def credit_of(flat, steps, p, r, s):
    a, credit = flat.slot_day[s], 0.0
    for b in range(a + 1, flat.window_end[a] + 1):
        if steps.due[b] > 0:
            credit += steps.due[b] * step_share(flat, p, r, s, b)
    return credit


@kernel
def profit_of(flat, price, steps, p, s, d):
    """What a player at a drill earns at these prices, against standing idle."""
    minutes, w = flat.slot_minutes[s], flat.slot_week[s]
    profit = flat.idle_weight * minutes / 100.0
    for i in range(flat.effect_first[p, d], flat.effect_first[p, d + 1]):
        t = flat.effect_target[i]
        more = flat.effect_share[i] * minutes / 100.0
        profit += price.target[t] * more
        u = flat.target_touch[t]
        if u >= 0:
            profit += price.touch[u, w] * min(more, 5.0)
    for i in range(flat.band_first[p, w], flat.band_first[p, w + 1]):
        profit += price.band[i] * flat.rpe[d] * minutes
    if flat.kind[d] > 0:
        profit -= price.contact[p, w, flat.kind[d]] * minutes * flat.contact[d] / 100.0
    if flat.rung[d] >= 0:
        profit += steps.credit[p, flat.rung[d], s]
    if flat.below[d] >= 0:
        profit -= price.ladder[p, flat.below[d], s]
    return profit


@kernel
def needs_cost(flat, price, i, d):
    """What a station owes for the roles that it needs."""
    cost = 0.0
    for k in range(flat.need_first[d + 1] - flat.need_first[d]):
        cost += price.need[i, k] * flat.need_count[flat.need_first[d] + k]
    return cost


@kernel
def needs_reward(flat, price, i, d, p):
    """What a player earns for his roles at a station that needs them."""
    reward = 0.0
    for k in range(flat.need_first[d + 1] - flat.need_first[d]):
        if price.need[i, k] > 0 and flat.has_role[p, flat.need_role[flat.need_first[d] + k]]:
            reward += price.need[i, k]
    return reward


@kernel
def weigh_slot(flat, reach, price, steps, tree, s):
    first = flat.option_first[s]
    n, w = flat.slot_session[s], flat.slot_week[s]
    for i in range(flat.option_first[s + 1] - first):
        d = flat.option[first + i]
        free = not flat.locked[s, d]
        tree.fixed[i] = -needs_cost(flat, price, first + i, d)
        if free:
            tree.fixed[i] -= price.repeat[w, d] + price.session[n, d]
        for p in range(flat.present.shape[1]):
            if reach[s, p, d]:
                reward = needs_reward(flat, price, first + i, d, p)
                tree.profit[i, p] = profit_of(flat, price, steps, p, s, d) + reward
            else:
                tree.profit[i, p] = NEVER
            tree.net[i, p] = tree.profit[i, p] - tree.usual[first + i]


@kernel
def use_player(flat, used, p, s, d):
    """Count what a player at a drill uses of everything that has a price."""
    minutes, w = flat.slot_minutes[s], flat.slot_week[s]
    for i in range(flat.effect_first[p, d], flat.effect_first[p, d + 1]):
        t = flat.effect_target[i]
        more = flat.effect_share[i] * minutes / 100.0
        used.target[t] += more
        u = flat.target_touch[t]
        if u >= 0:
            used.touch[u, w] += min(more, 5.0)
    for i in range(flat.band_first[p, w], flat.band_first[p, w + 1]):
        used.band[i] += flat.rpe[d] * minutes
    used.contact[p, w, flat.kind[d]] += minutes * flat.contact[d] / 100.0


@kernel
def use_needs(flat, used, i, d, p):
    for k in range(flat.need_first[d + 1] - flat.need_first[d]):
        used.need[i, k] += flat.has_role[p, flat.need_role[flat.need_first[d] + k]]


@kernel
def use_steps(flat, steps, used):
    """Rows of a ladder: 1 for standing one rung above, less what the player has earned for it."""
    for p in range(steps.stood.shape[0]):
        for s in range(steps.stood.shape[1]):
            d = steps.stood[p, s]
            if d >= 0 and flat.below[d] >= 0 and lacking(flat, p, flat.below[d], flat.slot_day[s]) > 0:
                used.ladder[p, flat.below[d], s] += 1.0
            if d >= 0 and flat.rung[d] >= 0:
                earn_step(flat, used, p, flat.rung[d], s)


@kernel
def earn_step(flat, used, p, r, s):
    a = flat.slot_day[s]
    for b in range(a + 1, flat.window_end[a] + 1):
        share = step_share(flat, p, r, s, b)
        for later in range(flat.day_first[b], flat.day_first[b + 1]):
            used.ladder[p, r, later] -= share


@kernel
def use_slot(flat, tree, steps, used, s):
    """Count what the best stations of slot s use; `need` holds those there with the roles needed."""
    steps.stood[:, s] = -1
    first, n, w = flat.option_first[s], flat.slot_session[s], flat.slot_week[s]
    for k in range(1, tree.best[0] + 1):
        i = tree.best[k]
        d = flat.option[first + i]
        used.need[first + i, :] = 0.0
        for p in range(flat.present.shape[1]):
            if stands_at(tree, p, k):
                use_player(flat, used, p, s, d)
                use_needs(flat, used, first + i, d, p)
                steps.stood[p, s] = d
        tree.usual[first + i] += LEARN * (tree.best_toll[k - 1] - tree.usual[first + i])
        if not flat.locked[s, d]:
            used.repeat[w, d] += 1
            used.session[n, d] += 1


@kernel
def clear_prices(prices):
    prices.target[:] = 0.0
    prices.touch[:] = 0.0
    prices.band[:] = 0.0
    prices.contact[:] = 0.0
    prices.ladder[:] = 0.0
    prices.repeat[:] = 0.0
    prices.session[:] = 0.0
    prices.need[:] = -1.0  # not running


@entry
def slots_worth(flat, reach, open_to, price, steps, tree, used, slack):
    """What the best stations of all slots are worth at these prices, and what they use."""
    clear_prices(used)
    credit_steps(flat, price, steps)
    total = 0.0
    for s in range(len(flat.slot_week)):
        weigh_slot(flat, reach, price, steps, tree, s)
        total += best_stations(flat, open_to, tree, s, slack)
        use_slot(flat, tree, steps, used, s)
    use_steps(flat, steps, used)
    return total
