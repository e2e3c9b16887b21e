"""Who gets under a kick: the margin at each place where one may come down, and maps of the whole back field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drills.core.board.reach import Array, Runner, seconds_to
from drills.core.board.scene import Kick, Scene
from drills.core.board.verdict import Finding, Verdict, verdict


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of kick: seconds in the air, metres from where it is struck, and seconds that a bounce gives."""

    name: str
    hang: float
    near: float
    far: float
    bounce: float = 0.0


# Usual figures of ours, from the middle of what coaches name; only the box kick's hang time was found measured
# (3.3 to 4.8 s when it is contested). A long kick that nobody catches bounces for 0.8 s more.
KINDS = (
    Kind("chip", 1.9, 8, 15),
    Kind("box", 4.0, 8, 33),
    Kind("bomb", 4.5, 15, 30),
    Kind("cross", 3.2, 25, 45),
    Kind("long", 3.8, 40, 60, bounce=0.8),
)


@dataclass(frozen=True, slots=True)
class Cover:
    """`margin`: seconds that the best of the back field has in hand; `who` he is, by number."""

    kick: Kick
    who: int
    margin: float


def covered(scene: Scene) -> tuple[Cover, ...]:
    """The best man and his margin for each kick of the scene; empty without anybody in the back field."""
    men = scene.back_field
    if not men:
        return ()
    places = np.array([(man.x, man.y) for man in men])
    late = margins(places, [scene.runner(man) for man in men], scene.kicks)
    return tuple(
        Cover(kick, men[int(best)].number, float(row[best]))
        for kick, row, best in zip(scene.kicks, late, late.argmax(axis=-1), strict=True)
    )


def margins(places: Array, runners: Sequence[Runner], kicks: Sequence[Kick]) -> Array:
    """Seconds in hand of each man for each kick, shape (..., kicks, men), from `places` (..., men, 2), x and y."""
    found = []
    for kick in kicks:
        metres = np.hypot(places[..., 0] - kick.x, places[..., 1] - kick.y)
        taken = np.stack([seconds_to(metres[..., n], runner) for n, runner in enumerate(runners)], axis=-1)
        found.append(kick.seconds - taken)
    return np.stack(found, axis=-2) if found else np.zeros((*places.shape[:-2], 0, places.shape[-2]))


def kick_verdict(scene: Scene) -> Verdict:
    """P8: nobody has to be late."""
    slack = scene.book.margin_slack_seconds
    found = (
        Finding("P8", "margin", cover.margin, 0.0, slack=slack, who=cover.who, unit="s", at=cover.kick.name)
        for cover in covered(scene)
    )
    return verdict("P8", found, "no kicks" if scene.back_field else "nobody in the back field")


@dataclass(frozen=True)
class ReachMap:
    """Squares of a pitch seen from their middles. All arrays have shape (rows, columns), the own goal line first.

    `first`: seconds until the first man is there; `who`: his number; `margins`: by the name of each kind of kick
    seconds in hand, NaN where it does not come down.
    """

    step: float
    first: Array
    who: Array
    margins: Mapping[str, Array]


def reach_map(scene: Scene, kinds: Sequence[Kind] = KINDS, step: float = 1.0) -> ReachMap:
    """Over the whole pitch in squares of `step` metres. Raises ValueError with nobody in the back field."""
    men = scene.back_field
    if not men:
        raise ValueError("nobody stands in the back field")
    xs, ys = middles(scene.book.width, step), middles(scene.book.length, step)
    taken = np.stack([seconds_to(squares_from(xs, ys, man.x, man.y), scene.runner(man)) for man in men])
    best = taken.argmin(axis=0)
    first = np.take_along_axis(taken, best[None], axis=0)[0]
    struck = squares_from(xs, ys, *scene.ball)
    struck[ys > scene.ball[1]] = np.inf  # nobody kicks backwards
    by_kind = dict(lands(first, struck, kinds))
    return ReachMap(step, first, np.array([man.number for man in men])[best], by_kind)


def lands(first: Array, struck: Array, kinds: Sequence[Kind]) -> Iterator[tuple[str, Array]]:
    for kind in kinds:
        inside = (struck >= kind.near) & (struck <= kind.far)
        yield kind.name, np.where(inside, kind.hang + kind.bounce - first, np.nan)


def middles(metres: float, step: float) -> Array:
    return np.arange(0.0, metres, step) + step / 2


def squares_from(xs: Array, ys: Array, x: float, y: float) -> Array:
    """Metres from a place to the middle of each square."""
    return np.sqrt((xs[None, :] - x) ** 2 + (ys[:, None] - y) ** 2)
