"""The pendulum of the back three and the sweeping half-back: rules P1 to P7 and H1 to H5.

Everything is measured as if the ball lay left or in the middle; a scene with the ball on the right is looked at in
the mirror. The places of the back field are arrays of any shape, so that one scene and a thousand tries of it are
measured by the same lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from drills.core.board.book import Range
from drills.core.board.reach import Array, seconds_to
from drills.core.board.ruck import difference
from drills.core.board.scene import BACK_THREE, FULL_BACK, HALF_BACK, LEFT_WING, RIGHT_WING, Scene, Side, other
from drills.core.board.verdict import INFINITY, Finding, Verdict, verdict

NEAR_WING, FAR_WING = LEFT_WING, RIGHT_WING  # in the mirror, the ball is never on the right


@dataclass(frozen=True)
class Back:
    """Who stands in the back field, by number, and where: `places` has shape (..., men, 2), x and depth in metres."""

    numbers: tuple[int, ...]
    places: Array

    @classmethod
    def of(cls, scene: Scene) -> Back:
        men = scene.back_field
        places = np.array([(man.x, scene.depth(man)) for man in men], dtype=np.float64).reshape(len(men), 2)
        return cls(tuple(man.number for man in men), places)

    def __contains__(self, number: int) -> bool:
        return number in self.numbers

    def x(self, number: int) -> Array:
        return np.asarray(self.places[..., self.numbers.index(number), 0])

    def depth(self, number: int) -> Array:
        return np.asarray(self.places[..., self.numbers.index(number), 1])

    @property
    def has_all_three(self) -> bool:
        return all(number in self for number in BACK_THREE)


@dataclass(frozen=True)
class Measure:
    """As a finding, with one value for each try. `who` is as in the mirror."""

    rule: str
    what: str
    who: int | None
    value: Array
    low: float = -INFINITY
    high: float = INFINITY
    slack: float = 0.0
    unit: str = "m"

    @property
    def over(self) -> Array:
        """How far outside of what is wanted; 0 inside."""
        return np.maximum(np.maximum(self.low - self.value, self.value - self.high), 0.0)


def looked_at(scene: Scene) -> Scene:
    """The scene, or its mirror image if the ball is on the right."""
    return scene.mirrored() if scene.side is Side.RIGHT else scene


def back_field(scene: Scene) -> Iterator[Verdict]:
    """P1 to P6, H1 and H5 by where the back field stands; then P7 and H2 to H4."""
    seen = looked_at(scene)
    back = Back.of(seen)
    found = list(measures(seen, back))
    swap = other if scene.side is Side.RIGHT else int
    for rule in ("P1", "P2", "P3", "P4", "P5", "P6", "H1", "H5"):
        mine = (finding_of(measure, swap) for measure in found if measure.rule == rule)
        yield verdict(rule, mine, why_not(rule, seen, back))
    yield swing(scene)
    yield from half_back(scene)


def finding_of(measure: Measure, swap: type[int] | object) -> Finding:
    who = swap(measure.who) if measure.who is not None else None  # type: ignore[operator]
    return Finding(
        measure.rule, measure.what, float(measure.value), measure.low, measure.high, measure.slack, who, measure.unit
    )


def why_not(rule: str, seen: Scene, back: Back) -> str:
    if not back.has_all_three and rule in ("P1", "P2", "P3", "P4", "P5", "P6"):
        return "back three incomplete"
    if rule in ("P2", "P3"):
        return "ball in the middle"
    if rule == "P4":
        return "ball near a touch line"
    if rule == "P6":
        return "half-back in the line" if lifted(seen) else "own 22"
    if rule == "H1":
        return "half-back in the line" if seen.half_back_is_in_line or seen.zone == "A" else "no sweeper"
    return "other zone"


def measures(seen: Scene, back: Back) -> Iterator[Measure]:
    """All that is measured of places in the back field, with the ball left or in the middle."""
    if back.has_all_three:
        yield from players_deep(seen, back)
        yield from swung(seen, back) if seen.side is Side.LEFT else level(seen, back)
        yield from connected(seen, back)
        yield from never_flat(seen, back)
    yield from sweeping(seen, back)
    yield from sweepers(seen, back)


def lifted(seen: Scene) -> bool:
    """The half-back is in the line between the 22 and halfway: the full back lifts, the far wing drops (H3)."""
    return seen.zone == "B" and seen.half_back_is_in_line and seen.sweeper == HALF_BACK


def players_deep(seen: Scene, back: Back) -> Iterator[Measure]:
    depths = seen.book.depths[seen.zone]
    deep = sum((back.depth(number) >= depths.deep_from).astype(np.float64) for number in BACK_THREE)
    yield Measure("P1", "players deep", None, np.asarray(deep), depths.deep_count, unit="")


def swung(seen: Scene, back: Back) -> Iterator[Measure]:
    """P2 and P3: the ball near the left touch line."""
    book, depths, slack = seen.book, seen.book.depths[seen.zone], seen.book.place_slack
    near, deep, far = NEAR_WING, FULL_BACK, FAR_WING
    yield Measure("P2", "depth", near, back.depth(near), *depths.near_wing, slack)
    yield Measure("P2", "from touch", near, near_wing_across(seen, back), *book.near_wing_from_touch, slack)
    yield Measure("P2", "behind near wing", deep, back.depth(deep) - back.depth(near), 0.0, slack=slack)
    across = back.x(deep) - seen.ball[0]
    if lifted(seen):
        yield Measure("H3", "depth", deep, back.depth(deep), *book.lifted_full_back, slack)
        yield Measure("H3", "from ball", deep, np.abs(across), 0.0, book.lifted_from_ball, slack)
        yield Measure("H3", "depth", far, back.depth(far), *book.lowered_far_wing, slack)
    else:
        yield Measure("P2", "depth", deep, back.depth(deep), *full_back_depth(seen), slack)
        yield Measure("P2", "inside ball", deep, across, *book.full_back_from_ball, slack)
        yield Measure("P3", "depth", far, back.depth(far), *depths.far_wing, slack)
    yield Measure("P3", "from touch", far, book.width - back.x(far), *book.far_wing_from_touch, slack)


def near_wing_across(seen: Scene, back: Back) -> Array:
    """Metres from touch; level with the last attacker is as good as the least that is wanted."""
    x, (least, _most) = back.x(NEAR_WING), seen.book.near_wing_from_touch
    if not seen.attackers:
        return x
    last = min(place[0] for place in seen.attackers)
    return np.where(np.abs(x - last) <= seen.book.place_slack, least, x)


def full_back_depth(seen: Scene) -> Range:
    """In his own 22 he never stands behind the goal line, unless the line is so near to it that he must."""
    least, most = seen.book.depths[seen.zone].full_back
    return (least, min(most, max(seen.line, least))) if seen.zone == "A" else (least, most)


def level(seen: Scene, back: Back) -> Iterator[Measure]:
    """P4: the ball in the middle."""
    book, depths, slack = seen.book, seen.book.depths[seen.zone], seen.book.place_slack
    off_centre = np.abs(back.x(FULL_BACK) - book.width / 2)
    if lifted(seen):
        across = np.abs(back.x(FULL_BACK) - seen.ball[0])
        yield Measure("H3", "depth", FULL_BACK, back.depth(FULL_BACK), *book.lifted_full_back, slack)
        yield Measure("H3", "from ball", FULL_BACK, across, 0.0, book.lifted_from_ball, slack)
    else:
        yield Measure("P4", "depth", FULL_BACK, back.depth(FULL_BACK), *full_back_depth(seen), slack)
    yield Measure("P4", "off centre", FULL_BACK, off_centre, 0.0, book.full_back_off_centre, slack)
    for wing, across in ((LEFT_WING, back.x(LEFT_WING)), (RIGHT_WING, book.width - back.x(RIGHT_WING))):
        yield Measure("P4", "from touch", wing, across, *book.wings_from_touch, slack)
        yield Measure("P4", "depth", wing, back.depth(wing), *depths.wings, slack)
    apart = np.abs(back.depth(LEFT_WING) - back.depth(RIGHT_WING))
    yield Measure("P4", "wings level", None, apart, 0.0, book.wings_level, slack)


def connected(seen: Scene, back: Back) -> Iterator[Measure]:
    book, slack = seen.book, seen.book.place_slack
    wide = seen.side is Side.LEFT
    for wing in (LEFT_WING, RIGHT_WING):
        most = (book.full_back_to_near_wing if wing == NEAR_WING else book.full_back_to_far_wing) if wide else None
        gap = np.abs(back.x(FULL_BACK) - back.x(wing))
        yield Measure("P5", "to full back", wing, gap, 0.0, most or book.full_back_to_wing, slack)


def never_flat(seen: Scene, back: Back) -> Iterator[Measure]:
    if seen.zone == "A" or lifted(seen):
        return
    wings = (FAR_WING,) if seen.side is Side.LEFT else (LEFT_WING, RIGHT_WING)
    for wing in wings:
        deeper = back.depth(FULL_BACK) - back.depth(wing)
        yield Measure("P6", "deeper than wing", wing, deeper, seen.book.deeper_than_wing, slack=seen.book.deeper_slack)


def sweeping(seen: Scene, back: Back) -> Iterator[Measure]:
    """H1: one man behind the ruck."""
    sweep, who, book = seen.book.depths[seen.zone].sweep, seen.sweeper, seen.book
    if sweep is None or who not in back or who in BACK_THREE:
        return
    across, slack = back.x(who) - seen.ball[0], book.place_slack
    yield Measure("H1", "depth", who, back.depth(who), *sweep, slack)
    yield Measure("H1", "from ball", who, np.abs(across), 0.0, book.sweeper_from_ball, slack)
    if min(seen.ball[0], book.width - seen.ball[0]) <= book.open_side_from_touch:
        yield Measure("H1", "open side", who, across * seen.open_side, 0.0, slack=slack)


def sweepers(seen: Scene, back: Back) -> Iterator[Measure]:
    """H5, between the 22 and halfway: two sweepers keep apart, and with none the full back is not deep."""
    sweep, book = seen.book.depths[seen.zone].sweep, seen.book
    if seen.zone != "B" or sweep is None:
        return
    men = [man for man in seen.defenders if man.number not in BACK_THREE and is_in_sweep(seen, seen.depth(man))]
    xs = sorted(man.x for man in men)
    for left, right in pairwise(xs):
        yield Measure("H5", "sweepers apart", None, np.asarray(right - left), book.sweepers_apart)
    if len(men) == 1:
        yield Measure("H5", "sweepers", None, np.asarray(1.0), 1.0, unit="")
    if not men and FULL_BACK in back:
        yield Measure("H5", "alone", FULL_BACK, back.depth(FULL_BACK), high=book.full_back_alone)


def is_in_sweep(seen: Scene, depth: float) -> bool:
    sweep, slack = seen.book.depths[seen.zone].sweep, seen.book.place_slack
    return sweep is not None and max(sweep[0] - slack, seen.book.front_depth) < depth <= sweep[1] + slack


def swing(scene: Scene) -> Verdict:
    """P7: each of the back three is at his next place when the ball is played there."""
    if scene.next is None:
        return verdict("P7", (), "no next moment")
    book, after = scene.book, scene.next
    late = []
    for number, (x, y) in after.places:
        man = scene.man(number)
        if man is not None and number in BACK_THREE:
            taken = float(seconds_to(np.hypot(x - man.x, y - man.y), scene.runner(man)))
            late.append(
                Finding("P7", "in place after", taken, high=after.seconds, slack=book.swing_slack_seconds,
                        who=number, unit="s")
            )  # fmt: skip
    return verdict("P7", late, "nobody moves")


def half_back(scene: Scene) -> Iterator[Verdict]:
    """H2 to H4: when the half-back belongs in the line, and what makes up for him."""
    seen = looked_at(scene)
    half = seen.man(HALF_BACK)
    found = [Finding("H2", "in the line", float(seen.half_back_is_in_line), 1.0, who=HALF_BACK, unit="")]
    asked = half is not None and draws_in(seen)
    yield verdict(
        "H2", found if asked else (), "half-back not on the board" if half is None else "nothing draws him in"
    )
    back = Back.of(seen)
    swap = other if scene.side is Side.RIGHT else int
    lift = [finding_of(m, swap) for m in measures(seen, back) if m.rule == "H3"]
    yield verdict("H3", lift, "half-back sweeps or is made up for")
    away = back_in_sweep(seen) if lifted(seen) and half else []
    yield verdict("H4", away, "half-back sweeps or is made up for")


def draws_in(seen: Scene) -> bool:
    """His own 22, or an overload on the open side."""
    overloaded = bool(seen.attackers) and difference(seen, seen.open_side) <= seen.book.overload
    return seen.zone == "A" or overloaded


def back_in_sweep(seen: Scene) -> list[Finding]:
    """H4: from the line back to the least depth of the sweep, straight behind him."""
    half, sweep, book = seen.man(HALF_BACK), seen.book.depths[seen.zone].sweep, seen.book
    if half is None or sweep is None:
        return []
    gone = float(seconds_to(max(sweep[0] - seen.depth(half), 0.0), seen.runner(half)))
    most, slack = book.back_in_sweep_seconds, book.back_in_sweep_slack_seconds
    return [Finding("H4", "back after", gone, high=most, slack=slack, who=HALF_BACK, unit="s")]
