"""A proven lower bound on the cost of every plan of a problem, raised step by step.

Targets, weekly touches, load bands, contact limits, repeats, ladder minutes and needs by role get prices; at any
prices the slots fall apart, and what the best stations of each are worth gives a bound. Prices move by the volume
algorithm (F. Barahona and R. Anbil, "The volume algorithm", Mathematical Programming 87, 2000). Full-contact days,
evenness and wishes other than minutes and load are left out, which can only lower the bound.
"""

from __future__ import annotations

import numpy as np

from planner.core.flat import COST_SCALE, NO_LIMIT, Flags, Flat, Ints, Layout
from planner.core.kernels import price as kernels
from planner.core.kernels.price import Prices, Reals
from planner.core.kernels.tree import tree

TOUCH = 5.0  # minutes
SAFETY = 1e-6  # what rounding of the sums could add
DEAREST = 1e4  # no price is higher: one that nothing brings down would grow until rounding spoils the sums


class Bound:
    """Not safe for two threads at once."""

    mix = 0.3  # share of the newest direction in the averaged one
    pace, calm = 0.3, 0.01  # of Polyak's step at first, and what is left of that at the end
    slack, exact = 0.01, 0.03  # of a slot's worth at first, and what is left of that at the end

    def __init__(self, layout: Layout) -> None:
        flat = layout.flat
        self.flat = flat
        self.best = 0.0
        self.steps = 0
        self._slack = self.slack
        self._idle = float(flat.attended) * flat.idle_weight / 100
        self._reach = reachable(flat)
        self._open = open_options(flat)
        self._tree, self._steps = tree(flat), kernels.steps(flat)
        self._needed = needed(flat)
        self._price, self._used = kernels.prices(flat), kernels.prices(flat)
        self._scale, self._low, self._high = _boxes(flat)
        self._way: Prices | None = None
        self._start()

    def _start(self) -> None:
        """The share of their weights at which targets and touches start well: the best of a few."""
        worth = {share: self._at_share(share) for share in (0.2, 0.4, 0.6, 0.8, 1.0)}
        self.best = max(0.0, self._at_share(max(worth, key=worth.__getitem__)))

    def _at_share(self, share: float) -> float:
        self._price.target[:] = share * self.flat.target_weight / 100
        self._price.touch[:] = share / 2 * self._high.touch
        return self._evaluate()

    def step(self, goal: float, fraction: float) -> float:
        """Evaluate, then move the prices towards a bound of `goal`; gives the best bound so far.

        `fraction` of the time there is has gone: steps get shorter with it.
        """
        self._slack = self.slack * self.exact**fraction
        bound = self._evaluate()
        self.steps += 1
        self.best = max(self.best, bound)
        self._move(self.pace * self.calm**fraction * (max(goal, self.best * 1.001) - bound))
        return self.best

    def _evaluate(self) -> float:
        flat, price = self.flat, self._price
        worth = kernels.slots_worth(
            flat, self._reach, self._open, price, self._steps, self._tree, self._used, self._slack
        )
        return float(self._idle + wishes_at(flat, price) - limits_at(flat, price) - worth) - SAFETY

    def _move(self, missing: float) -> None:
        """Along the averaged direction, as far as what is missing asks (Polyak's step)."""
        now = self._directions()
        if self._way is None:
            self._way = now
        else:
            self._way = Prices(
                *(self.mix * new + (1 - self.mix) * old for new, old in zip(now, self._way, strict=True))
            )
        free = [
            np.where(((at <= low) & (way < 0)) | ((at >= high) & (way > 0)), 0.0, way)
            for at, way, low, high in zip(self._price, self._way, self._low, self._high, strict=True)
        ]
        length = sum(float((s * w * w).sum()) for s, w in zip(self._scale, free, strict=True))
        if length <= 0:
            return
        step = missing / length
        for price, way, scale, low, high in zip(self._price, free, self._scale, self._low, self._high, strict=True):
            np.clip(price + step * scale * way, low, high, out=price)

    def _directions(self) -> Prices:
        """A supergradient of the bound: what each wish still misses, each limit is exceeded by."""
        flat, price, used = self.flat, self._price, self._used
        full, half = flat.target_minutes / 100, flat.target_minutes / 200
        weight = flat.target_weight / 100
        room = np.maximum(flat.weekly_limit - flat.spent, 0) / 100
        return Prices(
            target=np.where(price.target > weight, half, full) - used.target,
            touch=(TOUCH - used.touch) * flat.touch_due,
            band=np.select(
                [price.band > 0, price.band < 0],
                [flat.band_low, flat.band_high],
                np.clip(used.band, flat.band_low, flat.band_high),
            )
            - used.band,
            contact=np.where(flat.weekly_limit < NO_LIMIT, used.contact - room, 0.0),
            ladder=used.ladder,
            repeat=used.repeat - repeats_left(flat),
            session=used.session - sessions_left(flat),
            need=np.where(used.need >= 0, self._needed - used.need, 0.0),
        )


def wishes_at(flat: Flat, price: Prices) -> float:
    """The least that each wish costs when its minutes are paid for at these prices."""
    full, weight = flat.target_minutes / 100, flat.target_weight / 100
    below = np.minimum(price.target, weight) * full
    above = np.maximum(price.target - weight, 0) * full / 2
    bands = np.where(price.band > 0, price.band * flat.band_low, price.band * flat.band_high)
    touches = (price.touch * flat.touch_due).sum() * TOUCH
    return float((below + above).sum() + touches + bands.sum())


def limits_at(flat: Flat, price: Prices) -> float:
    """What the room within the limits is worth at these prices."""
    room = np.maximum(np.minimum(flat.weekly_limit, NO_LIMIT) - flat.spent, 0) / 100
    contact = (price.contact * room).sum()
    repeat = (price.repeat * repeats_left(flat)).sum()
    return float(contact + repeat + (price.session * sessions_left(flat)).sum())


def needed(flat: Flat) -> Reals:
    """[option, k] players wanted of the k-th role that the drill needs; 0 where it needs fewer roles."""
    wanted = np.zeros_like(kernels.prices(flat).need)
    for i, d in enumerate(flat.option):
        counts = flat.need_count[flat.need_first[d] : flat.need_first[d + 1]]
        wanted[i, : len(counts)] = counts
    return wanted


def repeats_left(flat: Flat) -> Reals:
    """[w, d] runs of a week beside those that locks ask for; a block without the limit has room for all."""
    taken = np.zeros((flat.spent.shape[1], len(flat.rpe)))
    for s, d in np.argwhere(flat.locked):
        taken[flat.slot_week[s], d] += 1
    return np.maximum(min(flat.repeats_limit, len(flat.slot_week)) - taken, 0)


def sessions_left(flat: Flat) -> Reals:
    """[n, d] 1 where the drill may still run, 0 where a lock has taken its one turn."""
    left = np.ones((len(flat.room), len(flat.rpe)))
    for s, d in np.argwhere(flat.locked):
        left[flat.slot_session[s], d] = 0
    return left


def open_options(flat: Flat) -> Flags:
    """[option] 1 for drills that may join the locked ones of their slot."""
    slot = np.repeat(np.arange(len(flat.slot_week)), np.diff(flat.option_first))
    session, week = sessions_left(flat)[flat.slot_session], repeats_left(flat)[flat.slot_week]
    return ((session[slot, flat.option] > 0) & (week[slot, flat.option] > 0)).astype(np.uint8)


def reachable(flat: Flat) -> Flags:
    """[s, p, d] allowed, and the rung below within reach if he did nothing else on the days before."""
    reach: Flags = flat.allowed & can_run(flat)[:, None, :]
    behind = flat.done_before.copy()
    asks, rungs = np.flatnonzero(flat.below >= 0), np.unique(flat.rung[flat.rung >= 0])
    for a in range(len(flat.window_end)):
        slots = slice(flat.day_first[a], flat.day_first[a + 1])
        ready = behind[:, flat.below[asks], a] >= flat.ladder_minutes
        reach[slots, :, asks] &= ready
        for n in np.unique(flat.slot_session[slots]):
            for r in rungs:
                behind[:, r, a + 1 : flat.window_end[a] + 1] += _most_minutes(flat, reach, n, r)[:, None]
    return reach


def can_run(flat: Flat) -> Flags:
    """[s, d] 1 for drills that a lock wants there, or that fit the slot and still have a turn."""
    slot = np.repeat(np.arange(len(flat.slot_week)), np.diff(flat.option_first))
    runs = flat.locked.copy()
    runs[slot, flat.option] |= open_options(flat)
    return runs


def _most_minutes(flat: Flat, reach: Flags, n: int, r: int) -> Ints:
    """[p] at rung r in session n: the longest slots, as many as the rung has drills, for each runs only once."""
    slots = slice(flat.session_first[n], flat.session_first[n + 1])
    can = reach[slots][:, :, flat.rung == r]
    turns = can.any(axis=0).sum(axis=1)
    minutes = np.sort(can.any(axis=2) * flat.slot_minutes[slots, None], axis=0)[::-1]
    most: Ints = np.where(np.arange(len(minutes))[:, None] < turns, minutes, 0).sum(axis=0)
    return most


def _boxes(flat: Flat) -> tuple[Prices, Prices, Prices]:
    """How far a price moves for each unit of its direction, and between which values it stays.

    The scales make a price travel about its whole range when its direction is of its usual size.
    """
    like = kernels.prices(flat)
    weight, band = flat.target_weight / 100, flat.band_weight / COST_SCALE
    touch = flat.touch_due * flat.touch_cost[:, None] / COST_SCALE / TOUCH
    none, dearest = (Prices(*(np.full_like(field, x) for field in like)) for x in (0.0, DEAREST))
    scale = Prices(
        target=weight / np.maximum(flat.target_minutes / 100, 1),
        touch=touch / TOUCH,
        band=band / np.maximum(flat.band_high, 1),
        contact=np.full_like(like.contact, 0.1),
        ladder=np.full_like(like.ladder, 8.0),
        repeat=np.full_like(like.repeat, 10.0),
        session=np.full_like(like.session, 10.0),
        need=np.full_like(like.need, 3.0),
    )
    low = none._replace(band=-band)
    return scale, low, dearest._replace(target=2 * weight, touch=touch, band=band)
