"""The pitch: its sizes and its lines in metres.

x runs from the defence's left touchline to its right, y from the goal line it defends up the pitch.
Sizes and lines: World Rugby, Laws of the Game, Law 1 (The Ground). The lines, their distances and the
posts were compared with a public authority's guide to sports dimensions that repeats the law; that the
in-goal may be 6 to 22 m deep, and that a pitch may be 94 to 100 m by 68 to 70 m, is from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

WIDTH, LENGTH = 70.0, 100.0
TWENTY_TWO, HALF_WAY = 22.0, LENGTH / 2
TEN = 10.0  # from half way
NEAR_TOUCH, FAR_TOUCH = 5.0, 15.0
FIVE = 5.0  # from a goal line
IN_GOAL = 10.0  # our drawing; the law lets it be 6 to 22 m
POSTS = 5.6  # between the insides of the posts

# How far a drawing may reach beyond touch and beyond a goal line: room for those who wait.
TOUCH_MARGIN, GOAL_MARGIN = 5.0, 12.0

Place = tuple[float, float]


class Style(StrEnum):
    """How a line is painted on the grass."""

    SOLID = "solid"
    BROKEN = "broken"
    POST = "post"


@dataclass(frozen=True, slots=True)
class Line:
    """One straight line; `mark` is the short sign at the edge of a drawing that names it, if it has one."""

    name: str
    start: Place
    end: Place
    style: Style
    mark: str = ""

    @property
    def across(self) -> bool:
        """True for a line from touch to touch, parallel to the goal lines."""
        return self.start[1] == self.end[1]


@cache
def lines() -> tuple[Line, ...]:
    """Every line of Law 1 on a pitch of 70 x 100 m with in-goals of 10 m.

    The short dashes 5 m in front of a goal line are drawn as one broken line: it is the line teams train on.
    """
    return (*_half(defended=True), *_half(defended=False), _across("half-way line", HALF_WAY, Style.SOLID, "50"))


def lines_within(left: float, foot: float, width: float, length: float) -> list[Line]:
    """The parts of all lines inside a rectangle whose lower left corner is (left, foot), moved so that it is (0, 0)."""
    cut = (_cut(line, left, foot, left + width, foot + length) for line in lines())
    return [_moved(line, left, foot) for line in cut if line]


def _half(*, defended: bool) -> list[Line]:
    def up(y: float) -> float:
        return y if defended else LENGTH - y

    whose = "own" if defended else "far"
    found = [
        _across(f"{whose} dead-ball line", up(-IN_GOAL), Style.SOLID),
        _across(f"{whose} goal line", up(0), Style.SOLID, "0"),
        _across(f"{whose} 5 m line", up(FIVE), Style.BROKEN, "5", inset=NEAR_TOUCH),
        _across(f"{whose} 22 m line", up(TWENTY_TWO), Style.SOLID, "22"),
        _across(f"{whose} 10 m line", up(HALF_WAY - TEN), Style.BROKEN, "10"),
    ]
    for side, x in (("left", 0.0), ("right", WIDTH)):
        found.append(Line(f"{side} touchline", (x, up(-IN_GOAL)), (x, HALF_WAY), Style.SOLID))
    for from_touch in (NEAR_TOUCH, FAR_TOUCH):
        for x in (from_touch, WIDTH - from_touch):
            mark = f"{from_touch:g}"
            found.append(Line(f"{mark} m from touch", (x, up(FIVE)), (x, HALF_WAY), Style.BROKEN, mark))
    posts = [((WIDTH + side * POSTS) / 2, up(0)) for side in (-1, 1)]
    return [*found, *(Line(f"{whose} post", post, post, Style.POST) for post in posts)]


def _across(name: str, y: float, style: Style, mark: str = "", inset: float = 0.0) -> Line:
    return Line(name, (inset, y), (WIDTH - inset, y), style, mark)


def _cut(line: Line, left: float, foot: float, right: float, head: float) -> Line | None:
    """What of an upright or level line lies in the rectangle; None if it only touches a corner or misses."""
    (x1, x2), (y1, y2) = sorted((line.start[0], line.end[0])), sorted((line.start[1], line.end[1]))
    if x2 < left or x1 > right or y2 < foot or y1 > head:
        return None
    start, end = (max(x1, left), max(y1, foot)), (min(x2, right), min(y2, head))
    return None if start == end and line.style is not Style.POST else _with(line, start, end)


def _moved(line: Line, left: float, foot: float) -> Line:
    (x1, y1), (x2, y2) = line.start, line.end
    return _with(line, (round(x1 - left, 2), round(y1 - foot, 2)), (round(x2 - left, 2), round(y2 - foot, 2)))


def _with(line: Line, start: Place, end: Place) -> Line:
    return Line(line.name, start, end, line.style, line.mark)
