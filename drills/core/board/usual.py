"""A scene to begin with: everybody in the middle of what the book wants, and the kicks that usually come.

It is a start to move people from, not the one right answer: `advice` looks for better places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from drills.core.board.back_field import FAR_WING, NEAR_WING, full_back_depth, lifted, looked_at
from drills.core.board.book import Book, Range
from drills.core.board.scene import (
    BACK_THREE,
    FULL_BACK,
    HALF_BACK,
    LEFT_WING,
    RIGHT_WING,
    Defender,
    Kick,
    Place,
    Ruck,
    Scene,
    Side,
    other,
)

GUARD, BODYGUARD, THIRD = 0.5, 2.2, 4.7  # metres outside the edge of the ruck, within R1 to R3
GAPS = (3.0, 3.5, 4.0, 4.5, 5.0)  # from the third man outwards, growing as L6 wants
BEHIND = 0.3  # metres behind the hindmost foot
IN_RUCK = (6, 7)
SHORT_SIDE, OPEN_SIDE = (1, 2), (3, 4, 5, 8, 10, 12, 13)
NARROW = 4.0  # metres of grass on which no second man fits beside the guard
HANGS = (  # name, metres across from the ball towards the open side, depth, seconds in the air, bounce
    ("chip", 8, 10, 1.9, 0.0),
    ("box", -4, 22, 4.0, 0.0),
)
CORNERS = (  # name, x with the ball on the left, depth, seconds in the air, bounce
    ("near corner", 4, 35, 3.6, 0.8),
    ("middle", 35, 40, 3.8, 0.8),
    ("far corner", 64, 38, 4.0, 0.8),
    ("flat cross-kick", 66, 10, 3.4, 0.0),
)


def laid_out(book: Book, ball: float, line: float, *, half_back_in: bool = False, whole: bool = True) -> Scene:
    """Fifteen (or, with `whole` off, the back field alone) around a ruck, `ball` metres from the left touch line.

    In his own 22 the half-back stands in the line whatever is asked.
    """
    half_back_in = half_back_in or book.depths[book.zone(line)].sweep is None
    ruck = Ruck(ball, line, inside=IN_RUCK if whole else ())
    empty = Scene((ball, line), line, (), offside=line, ruck=ruck, book=book)
    if not whole:  # nobody is there to guard it
        empty = replace(empty, offside=None, ruck=None)
    front = dict(front_line(empty, half_back_in=half_back_in)) if whole else {}
    if half_back_in and not whole:
        front[HALF_BACK] = (ball + empty.open_side * (ruck.half_width + THIRD), line - BEHIND)
    start = replace(empty, defenders=stood(front))
    back = {number: place for number, place in wanted(start).items() if number not in front}
    everybody = replace(start, defenders=stood(front | back))
    return replace(everybody, kicks=tuple(usual_kicks(everybody)))


def stood(places: Mapping[int, Place]) -> tuple[Defender, ...]:
    return tuple(Defender(number, round(x, 1), round(y, 1)) for number, (x, y) in sorted(places.items()))


def front_line(scene: Scene, *, half_back_in: bool) -> Iterator[tuple[int, Place]]:
    """Guards, bodyguards, the third man, and the rest outwards on the open side; two are in the ruck."""
    assert scene.ruck is not None
    x, side, y = scene.ruck.x, scene.open_side, scene.line - BEHIND
    yield from ((number, (x + offset, y)) for number, offset in zip(IN_RUCK, (-0.3, 0.3), strict=True))
    short_grass = min(scene.ball[0], scene.book.width - scene.ball[0]) - scene.ruck.half_width
    beside = SHORT_SIDE if short_grass > NARROW else SHORT_SIDE[:1]
    for number, out in zip(beside, (GUARD, BODYGUARD), strict=False):
        yield number, (x - side * (scene.ruck.half_width + out), y)
    outer = [*OPEN_SIDE[:4], HALF_BACK, *OPEN_SIDE[4:]] if half_back_in else list(OPEN_SIDE)
    far, gaps = 0.0, iter(GAPS)
    for place, number in enumerate([*outer, *SHORT_SIDE[len(beside) :]]):
        far = (GUARD, BODYGUARD, THIRD)[place] if place < 3 else far + next(gaps, GAPS[-1])
        if far < scene.book.width - short_grass - 2:
            yield number, (x + side * (scene.ruck.half_width + far), y)


def wanted(scene: Scene) -> dict[int, Place]:
    """x and y of the back three and the sweeper in the middle of what the rules want of each.

    Nobody sweeps in zone A, where the half-back should and stands in the line, or where a wing is named for it.
    """
    seen = looked_at(scene)
    found = dict(swung(seen) if seen.side is Side.LEFT else level(seen))
    sweep = seen.book.depths[seen.zone].sweep
    if sweep and sweeps(seen):
        found[seen.sweeper] = (seen.ball[0] + 3.0 * seen.open_side, middle(sweep))
    if seen is not scene:
        found = {other(n): (scene.book.width - x, depth) for n, (x, depth) in found.items()}
    return {n: (round(x, 1), round(max(scene.line - depth, 0.0), 1)) for n, (x, depth) in found.items()}


def sweeps(seen: Scene) -> bool:
    """The half-back unless he stands in the line, or a deputy; a wing has a place of his own."""
    return not seen.half_back_is_in_line if seen.sweeper == HALF_BACK else seen.sweeper not in BACK_THREE


def swung(seen: Scene) -> Iterator[tuple[int, Place]]:
    """The ball near the left touch line. The three stay connected: who is too far off comes nearer within his range."""
    book, depths, ball = seen.book, seen.book.depths[seen.zone], seen.ball[0]
    lift = lifted(seen)
    across = book.full_back_from_ball
    near_x = middle(book.near_wing_from_touch)
    far_x = book.width - middle(book.far_wing_from_touch)
    deep_x = ball + middle(across)
    if deep_x - near_x > book.full_back_to_near_wing:
        near_x = min(deep_x - book.full_back_to_near_wing, book.near_wing_from_touch[1])
        deep_x = max(near_x + book.full_back_to_near_wing, ball + across[0])
    if far_x - deep_x > book.full_back_to_far_wing:
        far_x = max(deep_x + book.full_back_to_far_wing, book.width - book.far_wing_from_touch[1])
        deep_x = min(max(far_x - book.full_back_to_far_wing, deep_x), ball + across[1])
    # Near his own goal line he is almost in the line: behind it, so that he is no part of its gaps.
    near_depth = min(max(middle(depths.near_wing), book.front_depth + BEHIND), depths.near_wing[1])
    yield NEAR_WING, (near_x, near_depth)
    yield FULL_BACK, (deep_x, middle(book.lifted_full_back if lift else full_back_depth(seen)))
    yield FAR_WING, (far_x, middle(book.lowered_far_wing if lift else depths.far_wing))


def level(seen: Scene) -> Iterator[tuple[int, Place]]:
    """The ball in the middle."""
    book, depths = seen.book, seen.book.depths[seen.zone]
    lift = lifted(seen)
    off = min(max(seen.ball[0] - book.width / 2, -book.full_back_off_centre), book.full_back_off_centre)
    deep_x = book.width / 2 + (off if lift else 0.0)
    aside = max(middle(book.wings_from_touch), book.width / 2 - book.full_back_to_wing)
    yield LEFT_WING, (aside, middle(depths.wings))
    yield FULL_BACK, (deep_x, middle(book.lifted_full_back if lift else full_back_depth(seen)))
    yield RIGHT_WING, (book.width - aside, middle(depths.wings))


def middle(wanted: Range) -> float:
    return sum(wanted) / 2


def usual_kicks(scene: Scene) -> Iterator[Kick]:
    """A kick for each part of the back field; one that would come down behind the goal line is left out."""
    right, width = scene.side is Side.RIGHT, scene.book.width
    for name, across, depth, hang, bounce in HANGS:
        x = min(max(scene.ball[0] + across * scene.open_side, 2.0), width - 2.0)
        if depth <= scene.line:
            yield Kick(name, round(x, 1), scene.line - depth, hang, bounce)
    for name, x, depth, hang, bounce in CORNERS:
        if depth <= scene.line:
            yield Kick(name, width - x if right else float(x), scene.line - depth, hang, bounce)
