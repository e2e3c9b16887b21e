"""Where the back field should stand: the places with the best worst margin, no rule more broken than now.

The search moves one man at a time by steps that grow smaller, from where they stand and from the middle of what the
rules want, and keeps what is better. It begins with the places it was given, so that what it ends with breaks no
rule more, and its worst margin is no less. Where that leaves a rule broken, the places that mend it are a second
answer, with what they cost.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drills.core.board.back_field import Back, Measure, looked_at, measures
from drills.core.board.kicks import Cover, covered, margins
from drills.core.board.reach import Array, Runner
from drills.core.board.scene import Defender, Place, Scene, Side
from drills.core.board.usual import wanted

STEPS = (8.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.1)  # metres
FINEST = 0.1
ROUNDS = 12  # at most, for each step
REFUSED = 1e6  # more than any rule is overrun
BEARINGS = np.array([(np.cos(a), np.sin(a)) for a in np.arange(8) * np.pi / 4])


@dataclass(frozen=True, slots=True)
class Move:
    who: int
    start: Place  # x and y
    end: Place

    @property
    def metres(self) -> float:
        return float(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]))


@dataclass(frozen=True)
class Advice:
    """`moves`: who should go where. `before` and `after` hold the margin of each kick, in the scene's order.

    `after` may be less for one kick: closing one corner opens another.
    """

    scene: Scene
    moves: tuple[Move, ...]
    before: tuple[Cover, ...]
    after: tuple[Cover, ...]

    @property
    def costs(self) -> tuple[tuple[Cover, Cover], ...]:
        """Kicks that are covered later than before."""
        return tuple((b, a) for b, a in zip(self.before, self.after, strict=True) if a.margin < b.margin - 0.005)


@dataclass(frozen=True)
class Worth:
    """How good tries are: how far the rules are overrun in all, then the worst margin. Arrays of one try each."""

    over: Array
    worst: Array

    def best(self) -> int:
        return int(np.lexsort((-self.worst, np.round(self.over, 6)))[0])

    def at(self, n: int) -> tuple[float, float]:
        return round(float(self.over[n]), 6), -float(self.worst[n])


@dataclass(frozen=True)
class Search:
    """Tries of one scene, which is seen in the mirror if the ball is on the right."""

    seen: Scene
    men: tuple[Defender, ...]
    runners: tuple[Runner, ...]
    limits: tuple[tuple[float, float], ...]  # of each measure: what is no more broken than where they stand now
    least: float  # the worst margin to keep, in seconds

    @classmethod
    def of(cls, seen: Scene, rules_first: bool) -> Search:
        men = seen.back_field
        limits = tuple(tolerated(measure) for measure in measures(seen, Back.of(seen)))
        now = min((cover.margin for cover in covered(seen)), default=0.0)
        return cls(seen, men, tuple(map(seen.runner, men)), limits, -np.inf if rules_first else now)

    @property
    def start(self) -> Array:
        """x and depth of each man, shape (men, 2)."""
        return Back.of(self.seen).places

    def worth(self, tries: Array) -> Worth:
        """Of places of shape (tries, men, 2)."""
        back = Back(tuple(man.number for man in self.men), tries)
        over, floor = np.zeros(len(tries)), np.zeros(len(tries))
        for measure, (low, high) in zip(measures(self.seen, back), self.limits, strict=True):
            over += measure.over
            floor += np.maximum(np.maximum(low - measure.value, measure.value - high), 0.0)
        on_grass = np.stack([tries[..., 0], self.seen.line - tries[..., 1]], axis=-1)
        late = margins(on_grass, self.runners, self.seen.kicks)
        worst = late.max(axis=-1).min(axis=-1) if self.seen.kicks else np.zeros(len(tries))
        refused = (floor > 1e-9) | (worst < self.least - 1e-9) | self.off_pitch(tries)
        return Worth(over + REFUSED * refused, worst)

    def off_pitch(self, tries: Array) -> Array:
        x, y = tries[..., 0], self.seen.line - tries[..., 1]
        outside = (x < 0) | (x > self.seen.book.width) | (y < 0) | (tries[..., 1] < 0)
        return np.asarray(outside.any(axis=-1))

    def improved(self, places: Array) -> Array:
        """As good as moving one man at a time makes it."""
        best = self.worth(places[None]).at(0)
        for step in STEPS:
            for _round in range(ROUNDS):
                tries = around(places, step)
                worth = self.worth(tries)
                n = worth.best()
                if worth.at(n) >= best:
                    break
                best, places = worth.at(n), tries[n]
        return places


def tolerated(measure: Measure) -> tuple[float, float]:
    """What the rule wants, and as far beyond as it is now."""
    return min(measure.low, float(measure.value)), max(measure.high, float(measure.value))


def around(places: Array, step: float) -> Array:
    """Every man moved by the step in each of eight directions, and then all of them together."""
    alone = [moved(places, n, step) for n in range(len(places))]
    return np.concatenate([*alone, places + step * BEARINGS[:, None, :]])


def moved(places: Array, n: int, step: float) -> Array:
    tries = np.repeat(places[None], len(BEARINGS), axis=0)
    tries[:, n] += step * BEARINGS
    return tries


def advise(scene: Scene, *, rules_first: bool = False) -> Advice:
    """Where the back field of a scene should stand. Nobody moves if nothing is better.

    `rules_first`: the rules are mended even where that costs the worst margin something.
    """
    seen = looked_at(scene)
    search = Search.of(seen, rules_first)
    if not search.men:
        return Advice(scene, (), (), ())
    starts = [search.start, *by_the_book(search)]
    ends = np.stack([search.start, *(told(search.improved(start), search.start) for start in starts)])
    found = ends[search.worth(ends).best()]
    better = seen.with_places(
        (man.number, (float(x), seen.line - float(depth))) for man, (x, depth) in zip(search.men, found, strict=True)
    )
    after = better.mirrored() if scene.side is Side.RIGHT else better
    return Advice(scene, tuple(moves(scene, after)), covered(scene), covered(after))


def told(places: Array, start: Array) -> Array:
    """As a coach can say it: to a tenth of a metre, and whoever would move by less than that stays."""
    stays = np.hypot(*np.moveaxis(places - start, -1, 0)) < FINEST
    return np.where(stays[:, None], start, np.round(places, 1))


def by_the_book(search: Search) -> Iterator[Array]:
    """The middle of what the rules want of each man who is measured by himself."""
    places, middles = search.start.copy(), wanted(search.seen)
    for n, man in enumerate(search.men):
        if man.number in middles:
            x, y = middles[man.number]
            places[n] = (x, search.seen.line - y)
    yield places


def moves(scene: Scene, after: Scene) -> Iterator[Move]:
    for man in scene.back_field:
        there = after.man(man.number)
        if there is not None and (there.x, there.y) != (man.x, man.y):
            yield Move(man.number, (man.x, man.y), (round(there.x, 6), round(there.y, 6)))
