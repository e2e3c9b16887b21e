"""One straight line: rules L1 to L8."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from drills.core.board.reach import Array
from drills.core.board.scene import Call, Defender, Moment, Scene
from drills.core.board.verdict import Finding, Verdict, verdict

TOO_FEW = "fewer than three in the line"
NOBODY = "nobody in the line"


@dataclass(frozen=True, slots=True)
class Fit:
    """The straight line with the least squares of y over x: its tilt in degrees, and how far each is off it."""

    tilt: float
    off: Array


def fit(xs: Sequence[float], ys: Sequence[float]) -> Fit:
    """`off` is measured square to the line, shape (men,), positive for who is ahead. Needs two different x."""
    slope, at_zero = np.polyfit(np.asarray(xs), np.asarray(ys), 1)
    off = (np.asarray(ys) - at_zero - slope * np.asarray(xs)) / math.hypot(1.0, slope)
    return Fit(math.degrees(math.atan(slope)), off)


def outwards(scene: Scene) -> list[tuple[Defender, ...]]:
    """The line left and right of the ball, each from the ball outwards."""
    x, men = scene.ball[0], scene.front
    left = tuple(man for man in reversed(men) if man.x < x)
    return [left, tuple(man for man in men if man.x >= x)]


def line(scene: Scene) -> Iterator[Verdict]:
    men = scene.front
    whole = fit([m.x for m in men], [m.y for m in men]) if len({man.x for man in men}) >= 3 else None
    yield verdict("L1", onside(scene), "no offside line" if men else NOBODY)
    yield verdict("L2", straight(scene, whole), TOO_FEW)
    yield verdict("L3", steps(scene), TOO_FEW)
    yield verdict("L4", ahead(scene), TOO_FEW)
    yield verdict("L5", tilt(scene, whole), TOO_FEW)
    yield verdict("L6", gaps(scene), TOO_FEW)
    yield verdict("L7", inside(scene), "no attackers")
    yield verdict("L8", last_man(scene), "no attackers")


def onside(scene: Scene) -> Iterator[Finding]:
    if scene.offside is not None:
        for man in scene.front:
            yield Finding("L1", "beyond offside", max(man.y - scene.offside, 0.0), high=0.0, who=man.number)


def straight(scene: Scene, whole: Fit | None) -> Iterator[Finding]:
    if whole is not None:
        most = scene.book.straight_set if scene.moment is Moment.SET else scene.book.straight_moving
        for man, off in zip(scene.front, whole.off, strict=True):
            yield Finding("L2", "off the line", abs(float(off)), high=most, who=man.number)


def tilt(scene: Scene, whole: Fit | None) -> Iterator[Finding]:
    if whole is not None:
        drifts = Call.DRIFT in scene.calls
        most = scene.book.tilt_drift_degrees if drifts else scene.book.tilt_set_degrees
        yield Finding("L5", "tilt", whole.tilt, -most, most, unit="degrees")


def steps(scene: Scene) -> Iterator[Finding]:
    for one, next_ in pairwise(scene.front):
        step = next_.y - one.y
        yield Finding("L3", "step", step, -scene.book.step, scene.book.step, scene.book.step_slack, next_.number)


def ahead(scene: Scene) -> Iterator[Finding]:
    """L4: nobody is far ahead of the man inside him, unless they jam."""
    most = scene.book.ahead_in_jam if Call.JAM in scene.calls else scene.book.ahead
    for men in outwards(scene):
        for inner, outer in pairwise(men):
            yield Finding("L4", "ahead of inside", outer.y - inner.y, high=most, who=outer.number)


def gaps(scene: Scene) -> Iterator[Finding]:
    """L6: each gap at most so many times the one inside it; the mean of all tells a stretched line."""
    widths: list[float] = []
    for men in outwards(scene):
        mine = [abs(outer.x - inner.x) for inner, outer in pairwise(men)]
        for man, (within, without) in zip(men[2:], pairwise(mine), strict=False):
            most = within * scene.book.gap_growth
            yield Finding("L6", "gap", without, high=most, who=man.number)
        widths += mine
    if widths:
        stretched = scene.book.stretched_gap
        yield Finding("L6", "mean gap", float(np.mean(widths)), high=stretched, slack=math.inf)


def inside(scene: Scene) -> Iterator[Finding]:
    """L7: each stands inside his own attacker, counted from the ball outwards on each side."""
    book, x = scene.book, scene.ball[0]
    for side, men in zip((-1, 1), outwards(scene), strict=True):
        theirs = sorted((p for p in scene.attackers if (p[0] - x) * side >= 0), key=lambda place: abs(place[0] - x))
        outer = list(men)[len(men) - min(len(men), len(theirs)) :]  # spare men stand nearest to the ball
        for man, place in zip(outer, theirs[-len(outer) :] if outer else [], strict=False):
            within = (place[0] - man.x) * side
            yield Finding("L7", "inside attacker", within, *book.inside_attacker, book.inside_slack, man.number)


def last_man(scene: Scene) -> Iterator[Finding]:
    """L8: on each side where they have anybody, the outermost is near the touch line or their last man."""
    book = scene.book
    for side, men in zip((-1, 1), outwards(scene), strict=True):
        theirs = [place[0] for place in scene.attackers if (place[0] - scene.ball[0]) * side >= 0]
        if not men or not theirs:
            continue
        x = men[-1].x
        to_touch = x if side < 0 else book.width - x
        beyond = max((other - x) * side for other in theirs)
        outside = min(to_touch, max(beyond, 0.0))
        yield Finding("L8", "outside last man", outside, 0.0, book.last_man, book.last_man_slack, men[-1].number)
