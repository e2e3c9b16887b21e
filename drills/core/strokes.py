"""Plane geometry of drawn paths: lengths, corners, arrows. All in the units of the drawing, y down."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

Place = tuple[float, float]
Route = list[Place]

HEAD, HEAD_HALF = 15.0, 8.0  # an arrow head
SHORTEST = 14.0  # what stays of a path however close its ends are
CORNER = 25.0
ZIG, ZIG_STEP = 7.0, 9.0
BAR_HALF = 13.0
BULGE, CURVE_STEPS = 0.2, 12


def number(value: float) -> str:
    """A coordinate as the drawing writes it: a tenth of a unit is enough."""
    return "0" if (shown := f"{value:.1f}".removesuffix(".0")) == "-0" else shown


def point(place: Place) -> str:
    return f"{number(place[0])},{number(place[1])}"


def path_data(route: Sequence[Place]) -> str:
    first, *others = route
    return f"M{point(first)}" + "".join(f"L{point(place)}" for place in others)


def length_of(route: Sequence[Place]) -> float:
    return sum(math.dist(one, other) for one, other in pairwise(route))


def along(route: Route, share: float) -> Place:
    """The place after that share of the whole length."""
    return _walked(route, share * length_of(route))[0]


def sideways(route: Route, share: float, off: float) -> Place:
    """A place `off` to the right of the path, or to its left if negative, after a share of its length."""
    (x, y), leg = _walked(route, share * length_of(route))
    dx, dy = _direction(*leg)
    return x - dy * off, y + dx * off


def trimmed(route: Route, from_start: float, from_end: float) -> Route:
    """The route without its first and last part; some of it always stays."""
    whole = length_of(route)
    off = from_start + from_end
    spare = max(0.0, whole - SHORTEST)
    share = min(1.0, spare / off) if off else 0.0
    return _part(route, from_start * share, whole - from_end * share)


def arrow(route: Route) -> tuple[Route, Route]:
    """The shaft, ending where the head begins, and the corners of the head."""
    head = min(HEAD, length_of(route) * 0.9)
    shaft = _part(route, 0.0, length_of(route) - head)
    (x, y), tip = shaft[-1], route[-1]
    dx, dy = _direction((x, y), tip)
    half = HEAD_HALF * head / HEAD
    return shaft, [tip, (x - dy * half, y + dx * half), (x + dy * half, y - dx * half)]


def bar(route: Route) -> Route:
    """A short line across the end."""
    (x, y), (dx, dy) = route[-1], _direction(route[-2], route[-1])
    return [(x - dy * BAR_HALF, y + dx * BAR_HALF), (x + dy * BAR_HALF, y - dx * BAR_HALF)]


def rounded(route: Route) -> str:
    """Path data with each corner taken as a bend."""
    data = f"M{point(route[0])}"
    for before, corner, after in zip(route, route[1:], route[2:], strict=False):
        bend = min(CORNER, math.dist(before, corner) / 2, math.dist(corner, after) / 2)
        data += f"L{point(_towards(corner, before, bend))}Q{point(corner)} {point(_towards(corner, after, bend))}"
    return data + f"L{point(route[-1])}"


def zigzag(route: Route) -> Route:
    """The route with teeth to both sides, straight at either end."""
    whole = length_of(route)
    teeth = int(whole / ZIG_STEP) - 1
    if teeth < 2:
        return route
    inner = []
    for tooth in range(1, teeth + 1):
        off = ZIG if tooth % 2 else -ZIG
        inner.append(sideways(route, tooth / (teeth + 1), off))
    return [route[0], *inner, route[-1]]


def bent(route: Route, held: Callable[[Place], Place]) -> Route:
    """A straight route as a bow to its left; `held` keeps the top of the bow where it may be."""
    (x1, y1), (x2, y2) = route[0], route[-1]
    dx, dy = x2 - x1, y2 - y1
    cx, cy = held(((x1 + x2) / 2 + dy * BULGE, (y1 + y2) / 2 - dx * BULGE))
    steps = (step / CURVE_STEPS for step in range(CURVE_STEPS + 1))
    return [
        (
            (1 - t) ** 2 * x1 + 2 * t * (1 - t) * cx + t**2 * x2,
            (1 - t) ** 2 * y1 + 2 * t * (1 - t) * cy + t**2 * y2,
        )
        for t in steps
    ]


def _walked(route: Route, far: float) -> tuple[Place, tuple[Place, Place]]:
    """The place after `far` units, and the leg on which it lies."""
    for start, end in pairwise(route):
        leg = math.dist(start, end)
        if far <= leg:
            return _towards(start, end, far), (start, end)
        far -= leg
    return route[-1], (route[-2], route[-1])


def _part(route: Route, begin: float, end: float) -> Route:
    """What lies between two distances from the start."""
    walked, inner = 0.0, []
    for start, stop in pairwise(route):
        walked += math.dist(start, stop)
        if begin < walked < end:
            inner.append(stop)
    return [_walked(route, begin)[0], *inner, _walked(route, end)[0]]


def _towards(start: Place, end: Place, far: float) -> Place:
    dx, dy = _direction(start, end)
    return start[0] + dx * far, start[1] + dy * far


def _direction(start: Place, end: Place) -> Place:
    length = math.dist(start, end) or 1.0
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length
