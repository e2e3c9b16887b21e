"""The ball is moved across: where the back field is at each moment on its way, and whether it gets there in time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from drills.core.board.reach import distance, seconds_to
from drills.core.board.scene import BACK_THREE, Defender, Moment, Next, Place, Scene
from drills.core.board.usual import usual_kicks, wanted

ON_THE_WAY = 0.5  # of the time that the ball takes


@dataclass(frozen=True)
class Instant:
    """So many seconds after the ball is moved; `late`: who is not yet where he should be, by number."""

    seconds: float
    scene: Scene
    late: tuple[int, ...]


def next_by_the_book(scene: Scene, ball: float, seconds: float) -> Next:
    """The back three, and whoever sweeps unless he is in the line, in the middle of what the rules want there."""
    there = replace(scene, ball=(ball, scene.line))
    swing = {*BACK_THREE, scene.sweeper} - {man.number for man in scene.front}
    places = ((number, (x, y)) for number, (x, y) in wanted(there).items() if number in swing and scene.man(number))
    return Next((ball, scene.line), seconds, tuple(sorted(places)))


def instants(scene: Scene) -> tuple[Instant, ...]:
    """Now, half-way, when the ball is played on, and, if somebody is late, when the last man is there."""
    if scene.next is None:
        return ()
    last = max((taken(scene, number, place) for number, place in scene.next.places), default=0.0)
    times = [0.0, ON_THE_WAY * scene.next.seconds, scene.next.seconds]
    if last > scene.next.seconds + 0.005:
        times.append(last)
    return tuple(Instant(seconds, at(scene, seconds), tuple(late(scene, seconds))) for seconds in times)


def at(scene: Scene, seconds: float) -> Scene:
    """Everybody where he has come by then. Only the back field is followed: ruck and offside stay behind.

    The kicks are those that usually come from where the ball is, if the scene has any.
    """
    after = scene.next
    if after is None or seconds <= 0:
        return replace(scene, next=None)
    share = min(seconds / after.seconds, 1.0) if after.seconds else 1.0
    ball = tuple(round(a + share * (b - a), 1) for a, b in zip(scene.ball, after.ball, strict=True))
    moved = scene.with_places((number, place) for number, place in under_way(scene, seconds))
    moment = Moment.MOVING if share < 1 else scene.moment
    there = replace(moved, ball=(ball[0], ball[1]), ruck=None, offside=None, next=None, moment=moment)
    return replace(there, kicks=tuple(usual_kicks(there)) if scene.kicks else ())


def under_way(scene: Scene, seconds: float) -> Iterator[tuple[int, Place]]:
    """On the straight way to his next place, as far as he gets."""
    assert scene.next is not None
    for number, (x, y) in scene.next.places:
        man = scene.man(number)
        if man is not None:
            whole = float(np.hypot(x - man.x, y - man.y))
            share = min(float(distance(seconds, scene.runner(man))) / whole, 1.0) if whole else 1.0
            yield number, (man.x + share * (x - man.x), man.y + share * (y - man.y))


def late(scene: Scene, seconds: float) -> Iterator[int]:
    assert scene.next is not None
    yield from (number for number, place in scene.next.places if taken(scene, number, place) > seconds + 1e-6)


def taken(scene: Scene, number: int, place: Place) -> float:
    """Seconds until the man is at that place; 0 for one who is not on the board."""
    man = scene.man(number)
    return float(seconds_to(way(man, place), scene.runner(man))) if man else 0.0


def way(man: Defender, place: Place) -> float:
    return float(np.hypot(place[0] - man.x, place[1] - man.y))
