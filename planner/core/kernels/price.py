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
from planner.core.kernels.compiled import kernel

Reals = NDArray[np.float64]
MOST_NODES = 100_000  # of one slot's tree; beyond that what is still open bounds it


class Prices(NamedTuple):
    """Prices of what couples slots; the same shape holds what the slots used of each, and directions."""

    target: Reals  # [t] of a minute, 0 .. twice its weight
    touch: Reals  # [u, w] of a minute, 0 .. its weight
    band: Reals  # [i] of an AU, minus .. plus its weight
    contact: Reals  # [p, w, kind] of a contact minute, 0 or more
    repeat: Reals  # [w, d] of a run in a week, 0 or more
    session: Reals  # [n, d] of a run in a session, 0 or more
    crowd: Reals  # [option] of a place at the station; below 0: a reward for filling it


class Tree(NamedTuple):
    """Branch and bound over the stations of one slot; a row for each station chosen so far."""

    profit: Reals  # [i, p] of option i for player p
    fixed: Reals  # [i] of running it at all
    cover: Reals  # [depth, p] the best that the chosen stations offer a player
    worth: Reals  # [depth] of the chosen stations
    left: NDArray[np.int64]  # [depth, resource]
    order: NDArray[np.int64]  # [depth, j] options, most worth first
    more: Reals  # [depth, j] what each adds
    listed: NDArray[np.int64]  # [depth] how many options are in order
    next: NDArray[np.int64]  # [depth] the one to try next
    chosen: NDArray[np.int64]  # [depth] option
    best: NDArray[np.int64]  # [0] how many, then the options of the best set


def prices(flat: Flat) -> Prices:
    players, weeks, kinds = flat.spent.shape
    drills = len(flat.rpe)
    return Prices(
        target=np.zeros(len(flat.target_minutes)),
        touch=np.zeros((len(flat.touch_cost), weeks)),
        band=np.zeros(len(flat.band_low)),
        contact=np.zeros((players, weeks, kinds)),
        repeat=np.zeros((weeks, drills)),
        session=np.zeros((len(flat.room), drills)),
        crowd=np.zeros(len(flat.option)),
    )


def tree(flat: Flat) -> Tree:
    players, drills = flat.allowed.shape[1:]
    deep = max(1, int(flat.room.max(initial=0))) + 1
    return Tree(
        profit=np.zeros((drills, players)),
        fixed=np.zeros(drills),
        cover=np.zeros((deep, players)),
        worth=np.zeros(deep),
        left=np.zeros((deep, flat.use.shape[1]), dtype=np.int64),
        order=np.zeros((deep, drills), dtype=np.int64),
        more=np.zeros((deep, drills)),
        listed=np.zeros(deep, dtype=np.int64),
        next=np.zeros(deep, dtype=np.int64),
        chosen=np.zeros(deep, dtype=np.int64),
        best=np.zeros(deep + 1, dtype=np.int64),
    )


@kernel
def profit_of(flat, price, p, s, d):
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
    return profit


@kernel
def place_cost(flat, price, i, d):
    """What a station that runs takes in or owes: its most places at their price, its fewest at their reward."""
    crowd = price.crowd[i]
    return crowd * flat.most[d] if crowd > 0 else crowd * flat.fewest[d]


@kernel
def weigh_slot(flat, reach, price, tree, s):
    first = flat.option_first[s]
    n, w = flat.slot_session[s], flat.slot_week[s]
    for i in range(flat.option_first[s + 1] - first):
        d = flat.option[first + i]
        free = not flat.locked[s, d]
        tree.fixed[i] = place_cost(flat, price, first + i, d)
        if free:
            tree.fixed[i] -= price.repeat[w, d] + price.session[n, d]
        for p in range(flat.present.shape[1]):
            if reach[s, p, d]:
                tree.profit[i, p] = profit_of(flat, price, p, s, d) - price.crowd[first + i]
            else:
                tree.profit[i, p] = -1e9


@kernel
def added(profit, cover):
    """What a station adds to those chosen: everybody who earns more there moves there."""
    total = 0.0
    for p in range(len(cover)):
        total += max(profit[p] - cover[p], 0.0)
    return total


@kernel
def take_station(flat, tree, s, depth, i):
    """Add option i to the set at `depth`; the row below holds the result."""
    d = flat.option[flat.option_first[s] + i]
    tree.chosen[depth] = i
    total = tree.worth[depth] + tree.fixed[i]
    for p in range(tree.cover.shape[1]):
        here = tree.cover[depth, p]
        total += max(tree.profit[i, p] - here, 0.0)
        tree.cover[depth + 1, p] = max(tree.profit[i, p], here)
    tree.worth[depth + 1] = total
    for k in range(tree.left.shape[1]):
        tree.left[depth + 1, k] = tree.left[depth, k] - flat.use[d, k]


@kernel
def has_means(flat, tree, depth, d):
    for k in range(tree.left.shape[1]):  # noqa: SIM110 - numba has no all()
        if flat.use[d, k] > tree.left[depth, k]:
            return False
    return True


@kernel
def rank_option(flat, tree, s, depth, i):
    """Put option i in its place among those that may come next, if it fits and adds anything."""
    d = flat.option[flat.option_first[s] + i]
    more = tree.fixed[i] + added(tree.profit[i], tree.cover[depth])
    if more <= 1e-9 or not has_means(flat, tree, depth, d):
        return
    k = tree.listed[depth]
    while k > 0 and tree.more[depth, k - 1] < more:
        tree.more[depth, k] = tree.more[depth, k - 1]
        tree.order[depth, k] = tree.order[depth, k - 1]
        k -= 1
    tree.more[depth, k] = more
    tree.order[depth, k] = i
    tree.listed[depth] += 1


@kernel
def start_tree(flat, open_to, tree, s):
    """Locked stations stand at the root; gives their number."""
    depth = 0
    tree.worth[0] = 0.0
    tree.cover[0, :] = 0.0
    for k in range(tree.left.shape[1]):
        tree.left[0, k] = flat.have[flat.slot_session[s], k]
    first, last = flat.option_first[s], flat.option_first[s + 1]
    for i in range(last - first):
        if flat.locked[s, flat.option[first + i]] and depth < tree.cover.shape[0] - 1:
            take_station(flat, tree, s, depth, i)
            depth += 1
    tree.listed[depth] = 0
    tree.next[depth] = 0
    for i in range(last - first):
        if open_to[first + i]:
            rank_option(flat, tree, s, depth, i)
    return depth


@kernel
def outlook(tree, depth, room):
    """No set that goes on from here is worth more: each addition is worth less the more stations there are."""
    total = tree.worth[depth]
    for j in range(tree.next[depth], min(tree.next[depth] + room - depth, tree.listed[depth])):
        total += tree.more[depth, j]
    return total


@kernel
def note_best(tree, depth, last):
    for k in range(depth):
        tree.best[k + 1] = tree.chosen[k]
    tree.best[0] = depth
    if last >= 0:
        tree.best[0] = depth + 1
        tree.best[depth + 1] = last


@kernel
def list_below(flat, tree, s, depth, room, goal):
    """Options for the row below `depth`, without those that cannot lift a set above `goal`.

    What an option adds to a smaller set, it adds at most to a larger one.
    """
    tree.listed[depth + 1] = 0
    tree.next[depth + 1] = 0
    first, last = tree.next[depth], tree.listed[depth]
    best_others = tree.worth[depth + 1]
    for k in range(first, min(first + room - depth - 2, last)):
        best_others += tree.more[depth, k]
    for k in range(first, last):
        if best_others + tree.more[depth, k] <= goal:
            break
        rank_option(flat, tree, s, depth + 1, tree.order[depth, k])


@kernel
def last_station(flat, tree, s, depth, goal):
    """The option that lifts the set at `depth` above `goal` by itself, or -1; more[depth, 0] is what it adds."""
    found = -1
    first = tree.next[depth - 1]
    for k in range(first, tree.listed[depth - 1]):
        if tree.worth[depth] + tree.more[depth - 1, k] <= goal:
            break
        i = tree.order[depth - 1, k]
        worth = tree.worth[depth] + tree.fixed[i] + added(tree.profit[i], tree.cover[depth])
        if worth > goal and has_means(flat, tree, depth, flat.option[flat.option_first[s] + i]):
            goal, found = worth, i
    tree.more[depth, 0] = goal - tree.worth[depth]
    return found


@kernel
def open_limit(tree, root, depth, room, best):
    """An upper bound while the rows from root to depth still have options to try."""
    for row in range(root, depth + 1):
        best = max(best, outlook(tree, row, room))
    return best


@kernel
def best_stations(flat, open_to, tree, s, slack):
    """The set of stations worth most in slot s, left in tree.best; gives an upper bound on the worth of any.

    Sets that are better by less than the share `slack` are not looked for.
    """
    room = min(flat.room[flat.slot_session[s]], tree.cover.shape[0] - 1)
    root = start_tree(flat, open_to, tree, s)
    best, depth, nodes = tree.worth[root], root, 0
    note_best(tree, root, -1)
    while depth >= root:
        goal = best + slack * abs(best) + 1e-9
        if room <= depth or tree.next[depth] >= tree.listed[depth] or outlook(tree, depth, room) <= goal:
            depth -= 1
            continue
        if nodes >= MOST_NODES:
            return open_limit(tree, root, depth, room, goal)
        nodes += 1
        i = tree.order[depth, tree.next[depth]]
        worth = tree.worth[depth] + tree.more[depth, tree.next[depth]]
        tree.next[depth] += 1
        if worth > best:
            best = worth
            note_best(tree, depth, i)
            goal = best + slack * abs(best) + 1e-9
        if depth + 1 < room:
            take_station(flat, tree, s, depth, i)
        if depth + 2 == room:
            last = last_station(flat, tree, s, depth + 1, goal)
            if last >= 0:
                best = tree.worth[depth + 1] + tree.more[depth + 1, 0]
                note_best(tree, depth + 1, last)
        elif depth + 2 < room:
            list_below(flat, tree, s, depth, room, goal)
            depth += 1
    return best + slack * abs(best) + 1e-9


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
def use_slot(flat, tree, used, s):
    """Count what the best stations of slot s use; `crowd` holds players beyond the most or short of the fewest."""
    first, n, w = flat.option_first[s], flat.slot_session[s], flat.slot_week[s]
    for k in range(1, tree.best[0] + 1):
        i = tree.best[k]
        d = flat.option[first + i]
        heads = 0
        for p in range(flat.present.shape[1]):
            if stands_at(tree, p, k):
                heads += 1
                use_player(flat, used, p, s, d)
        used.crowd[first + i] = heads
        if not flat.locked[s, d]:
            used.repeat[w, d] += 1
            used.session[n, d] += 1


@kernel
def stands_at(tree, p, k):
    """True if the k-th of the best stations is where player p earns most; the first of equals has him."""
    profit = tree.profit[tree.best[k], p]
    if profit <= 0:
        return False
    for other in range(1, tree.best[0] + 1):
        rival = tree.profit[tree.best[other], p]
        if rival > profit or (rival == profit and other < k):
            return False
    return True


@kernel
def clear_prices(prices):
    prices.target[:] = 0.0
    prices.touch[:] = 0.0
    prices.band[:] = 0.0
    prices.contact[:] = 0.0
    prices.repeat[:] = 0.0
    prices.session[:] = 0.0
    prices.crowd[:] = -1.0  # not running


@kernel
def slots_worth(flat, reach, open_to, price, tree, used, slack):
    """What the best stations of all slots are worth at these prices, and what they use."""
    clear_prices(used)
    total = 0.0
    for s in range(len(flat.slot_week)):
        weigh_slot(flat, reach, price, tree, s)
        total += best_stations(flat, open_to, tree, s, slack)
        use_slot(flat, tree, used, s)
    return total
