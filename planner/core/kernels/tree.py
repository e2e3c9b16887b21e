"""The best stations of one slot: branch and bound over the drills that fit it.

A set of stations is worth what its players earn there. At given tolls, the prices of a place at each station, that
worth is submodular: what a station adds to a small set limits what it adds to a larger one. Each set that may be the
best gets tolls of its own, so that its stations are neither too full nor too empty.
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
NEVER = -1e9  # the profit of a player who may not stand there
SWEEPS = 2  # over the tolls of a set
MOST_NODES = 100_000  # of one slot's tree; beyond that what is still open bounds it


class Tree(NamedTuple):
    """Branch and bound over the stations of one slot; a row for each station chosen so far.

    A toll is the price of a place at a station; below 0 it is a reward for filling one.
    """

    usual: Reals  # [option] toll at the sets that were best so far
    profit: Reals  # [i, p] of option i for player p, before any toll
    fixed: Reals  # [i] of running it at all, without tolls
    net: Reals  # [i, p] profit less the usual toll
    cover: Reals  # [depth, p] the best that the chosen stations offer a player, at usual tolls
    worth: Reals  # [depth] of the chosen stations, at usual tolls
    toll: Reals  # [k] of the k-th chosen station
    margin: Reals  # [p] what he earns more at one station than elsewhere
    left: NDArray[np.int64]  # [depth, resource]
    order: NDArray[np.int64]  # [depth, j] options, most worth first
    more: Reals  # [depth, j] what each adds
    listed: NDArray[np.int64]  # [depth] how many options are in order
    next: NDArray[np.int64]  # [depth] the one to try next
    chosen: NDArray[np.int64]  # [depth] option
    best: NDArray[np.int64]  # [0] how many, then the options of the best set
    best_toll: Reals  # [k] of its k-th station


def tree(flat: Flat) -> Tree:
    players, drills = flat.allowed.shape[1:]
    deep = max(1, int(flat.room.max(initial=0))) + 1
    return Tree(
        usual=np.zeros(len(flat.option)),
        profit=np.zeros((drills, players)),
        fixed=np.zeros(drills),
        net=np.zeros((drills, players)),
        cover=np.zeros((deep, players)),
        worth=np.zeros(deep),
        toll=np.zeros(deep),
        margin=np.zeros(players),
        left=np.zeros((deep, flat.use.shape[1]), dtype=np.int64),
        order=np.zeros((deep, drills), dtype=np.int64),
        more=np.zeros((deep, drills)),
        listed=np.zeros(deep, dtype=np.int64),
        next=np.zeros(deep, dtype=np.int64),
        chosen=np.zeros(deep, dtype=np.int64),
        best=np.zeros(deep + 1, dtype=np.int64),
        best_toll=np.zeros(deep),
    )


@kernel
def places_cost(flat, d, toll):
    """What a station takes in or owes: its most places at their toll, its fewest at their reward."""
    return toll * flat.most[d] if toll > 0 else toll * flat.fewest[d]


@kernel
def added(profit, cover):
    """What a station adds to those chosen: everybody who earns more there moves there."""
    total = 0.0
    for p in range(len(cover)):
        total += max(profit[p] - cover[p], 0.0)
    return total


@kernel
def station_worth(flat, tree, s, depth, i):
    """What option i adds to the set at `depth`, at usual tolls."""
    at = flat.option_first[s] + i
    places = places_cost(flat, flat.option[at], tree.usual[at])
    return tree.fixed[i] + places + added(tree.net[i], tree.cover[depth])


@kernel
def take_station(flat, tree, s, depth, i):
    """Add option i to the set at `depth`; the row below holds the result."""
    d = flat.option[flat.option_first[s] + i]
    tree.chosen[depth] = i
    tree.worth[depth + 1] = tree.worth[depth] + station_worth(flat, tree, s, depth, i)
    for p in range(tree.cover.shape[1]):
        tree.cover[depth + 1, p] = max(tree.net[i, p], tree.cover[depth, p])
    for k in range(tree.left.shape[1]):
        tree.left[depth + 1, k] = tree.left[depth, k] - flat.use[d, k]


@kernel
def set_margins(tree, many, k):
    """What each player earns more at the k-th of so many chosen stations than elsewhere, before its toll."""
    for p in range(len(tree.margin)):
        elsewhere = 0.0
        for j in range(many):
            if j != k:
                elsewhere = max(elsewhere, tree.profit[tree.chosen[j], p] - tree.toll[j])
        tree.margin[p] = tree.profit[tree.chosen[k], p] - elsewhere


@kernel
def sort_margins(margin):
    """Largest first."""
    for p in range(1, len(margin)):
        value, q = margin[p], p
        while q > 0 and margin[q - 1] < value:
            margin[q] = margin[q - 1]
            q -= 1
        margin[q] = value


@kernel
def best_toll(margin, fewest, most):
    """The toll at which the station is filled as it may be: between the last who stands there and the next."""
    wanting = 0
    for p in range(len(margin)):
        wanting += margin[p] > 0
    if fewest <= wanting <= most:
        return 0.0
    sort_margins(margin)
    if wanting > most:
        return (margin[most - 1] + margin[most]) / 2 if most > 0 else margin[0]
    if fewest > len(margin):
        return NEVER
    return (margin[fewest - 1] + min(0.0, margin[fewest])) / 2 if fewest < len(margin) else margin[fewest - 1]


@kernel
def settled_worth(flat, tree, s, many, goal):
    """No staffing of the chosen stations within their fewest and most is worth more.

    Tolls of this set are lowered or raised in turn, each to its best; it stops where the worth is no more than `goal`.
    """
    first = flat.option_first[s]
    for k in range(many):
        tree.toll[k] = tree.usual[first + tree.chosen[k]]
    for _ in range(SWEEPS):
        for k in range(many):
            d = flat.option[first + tree.chosen[k]]
            set_margins(tree, many, k)
            tree.toll[k] = best_toll(tree.margin, flat.fewest[d], flat.most[d])
        worth = worth_at_tolls(flat, tree, s, many)
        if worth <= goal:
            break
    return worth


@kernel
def worth_at_tolls(flat, tree, s, many):
    worth = 0.0
    for k in range(many):
        i = tree.chosen[k]
        worth += tree.fixed[i] + places_cost(flat, flat.option[flat.option_first[s] + i], tree.toll[k])
    for p in range(len(tree.margin)):
        earns = 0.0
        for k in range(many):
            earns = max(earns, tree.profit[tree.chosen[k], p] - tree.toll[k])
        worth += earns
    return worth


@kernel
def try_set(flat, tree, s, many, best, goal):
    """Keep the chosen stations if they are worth more than `goal`; gives the worth of the best set so far."""
    worth = settled_worth(flat, tree, s, many, goal)
    if worth <= goal:
        return best
    tree.best[0] = many
    for k in range(many):
        tree.best[k + 1] = tree.chosen[k]
        tree.best_toll[k] = tree.toll[k]
    return worth


@kernel
def has_means(flat, tree, depth, d):
    for k in range(tree.left.shape[1]):  # noqa: SIM110 - numba has no all()
        if flat.use[d, k] > tree.left[depth, k]:
            return False
    return True


@kernel
def rank_option(flat, tree, s, depth, i):
    """Put option i in its place among those that may come next, if it fits.

    One that takes worth away is listed too: it may leave a set whose own best tolls make more of it.
    """
    d = flat.option[flat.option_first[s] + i]
    more = station_worth(flat, tree, s, depth, i)
    if not has_means(flat, tree, depth, d):
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
    first = tree.next[depth]
    if first >= tree.listed[depth]:
        return -np.inf
    total = tree.worth[depth] + tree.more[depth, first]
    for j in range(first + 1, min(first + room - depth, tree.listed[depth])):
        total += max(0.0, tree.more[depth, j])
    return total


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
        best_others += max(0.0, tree.more[depth, k])
    for k in range(first, last):
        if best_others + tree.more[depth, k] <= goal:
            break
        rank_option(flat, tree, s, depth + 1, tree.order[depth, k])


@kernel
def last_station(flat, tree, s, depth, best, slack):
    """Try each option that may lift the set at `depth` above the best; it is full with one more."""
    for k in range(tree.next[depth - 1], tree.listed[depth - 1]):
        goal = above(best, slack)
        if tree.worth[depth] + tree.more[depth - 1, k] <= goal:
            break
        i = tree.order[depth - 1, k]
        if not has_means(flat, tree, depth, flat.option[flat.option_first[s] + i]):
            continue
        if tree.worth[depth] + station_worth(flat, tree, s, depth, i) > goal:
            tree.chosen[depth] = i
            best = try_set(flat, tree, s, depth + 1, best, goal)
    return best


@kernel
def above(best, slack):
    """Sets worth no more than this are not looked for."""
    return best + slack * abs(best) + 1e-9


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
    depth, nodes = root, 0
    best = try_set(flat, tree, s, root, NEVER, -np.inf)
    while depth >= root:
        goal = above(best, slack)
        if room <= depth or outlook(tree, depth, room) <= goal:
            depth -= 1
            continue
        if nodes >= MOST_NODES:
            return open_limit(tree, root, depth, room, goal)
        nodes += 1
        i = tree.order[depth, tree.next[depth]]
        tree.next[depth] += 1
        take_station(flat, tree, s, depth, i)
        if tree.worth[depth + 1] > goal:
            best = try_set(flat, tree, s, depth + 1, best, goal)
        if depth + 2 == room:
            best = last_station(flat, tree, s, depth + 1, best, slack)
        elif depth + 2 < room:
            list_below(flat, tree, s, depth, room, above(best, slack))
            depth += 1
    return above(best, slack)


@kernel
def stands_at(tree, p, k):
    """True if the k-th of the best stations is where player p earns most; the first of equals has him."""
    profit = tree.profit[tree.best[k], p] - tree.best_toll[k - 1]
    if profit <= 0:
        return False
    for other in range(1, tree.best[0] + 1):
        rival = tree.profit[tree.best[other], p] - tree.best_toll[other - 1]
        if rival > profit or (rival == profit and other < k):
            return False
    return True
