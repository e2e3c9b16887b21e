"""The map of the back field as a drawing: where a kick is covered, nearly covered or open, and lines of equal time.

Squares of one sort that touch are drawn as one, so that a whole pitch is a few hundred strokes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from drills.core.board.kicks import ReachMap
from drills.core.board.reach import Array
from drills.core.board.scene import Place
from drills.core.strokes import number, path_data

Mask: TypeAlias = NDArray[np.bool_]
LEVELS = (0.0, 1.0, 2.0)  # seconds in hand at which a line is drawn
HELD, NEAR, OPEN = "held", "near", "open"
HATCHES = {  # around a field of 12 units; what is covered has none
    NEAR: "M-2 6L6 -2M0 12L12 0M6 14L14 6",
    OPEN: "M-2 6L6 -2M0 12L12 0M6 14L14 6M6 -2L14 6M0 0L12 12M-2 6L6 14",
}
LETTER = 15.0  # units high
MINUS = "−"
At = Callable[[Place], Place]


@dataclass(frozen=True, slots=True)
class Block:
    """Squares that are drawn as one: rows and columns from the first to before the last."""

    foot: int
    head: int
    left: int
    right: int


def bands(margins: Array, slack: float) -> dict[str, Mask]:
    """Which squares are covered, which are late by no more than `slack` seconds, and which by more."""
    known = ~np.isnan(margins)
    value = np.where(known, margins, 0.0)
    return {
        HELD: known & (value >= 0),
        NEAR: known & (value < 0) & (value >= -slack),
        OPEN: known & (value < -slack),
    }


def blocks(mask: Mask) -> list[Block]:
    """The squares of a mask, merged along rows, and rows of equal runs merged upwards."""
    rows: dict[int, set[tuple[int, int]]] = {}
    for row, left, right in runs(mask):
        rows.setdefault(row, set()).add((left, right))
    done: list[Block] = []
    growing: dict[tuple[int, int], int] = {}
    for row in range(len(mask) + 1):
        here = rows.get(row, set())
        done += [Block(growing.pop(run), row, *run) for run in sorted(growing.keys() - here)]
        growing |= dict.fromkeys(here - growing.keys(), row)
    return done


def runs(mask: Mask) -> list[tuple[int, int, int]]:
    """Each run of true along a row: the row, its first column and one past its last."""
    edges = np.diff(np.pad(mask.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    rows, starts = np.nonzero(edges == 1)
    return list(zip(rows.tolist(), starts.tolist(), np.nonzero(edges == -1)[1].tolist(), strict=True))


def line_at(margins: Array, level: float) -> Iterator[tuple[Place, Place]]:
    """Pieces, in squares, of the border between squares at or above a level and squares below it."""
    known = ~np.isnan(margins)
    above = known & (np.where(known, margins, -np.inf) >= level)
    below = known & ~above
    up = (above[1:] & below[:-1]) | (below[1:] & above[:-1])
    yield from (((a, row + 1), (b, row + 1)) for row, a, b in runs(up))
    across = ((above[:, 1:] & below[:, :-1]) | (below[:, 1:] & above[:, :-1])).T
    yield from (((column + 1, a), (column + 1, b)) for column, a, b in runs(across))


def drawn(found: ReachMap, kind: str, slack: float, at: At) -> str:
    """SVG of the map for one kind of kick; `at` turns x and y in metres into places of the drawing."""
    margins, step = found.margins[kind], found.step

    def placed(x: float, y: float) -> Place:
        return at((x * step, y * step))

    parts = ['<g class="relief">']
    for name, mask in bands(margins, slack).items():
        data = "".join(rectangle(block, placed) for block in blocks(mask))
        if data:
            parts += [f'<path class="{name}" d="{data}"/>']
            parts += [f'<path class="hatch" fill="url(#hatch-{name})" d="{data}"/>'] if name in HATCHES else []
    for level in LEVELS:
        pieces = list(line_at(margins, level))
        data = "".join(path_data([placed(*a), placed(*b)]) for a, b in pieces)
        parts += [f'<path class="equal" d="{data}"/>'] if data else []
        parts += list(names(pieces, level, placed))
    return "".join([*parts, "</g>"])


def rectangle(block: Block, placed: Callable[[float, float], Place]) -> str:
    (left, foot), (right, head) = placed(block.left, block.foot), placed(block.right, block.head)
    return f"M{number(left)},{number(head)}H{number(right)}V{number(foot)}H{number(left)}Z"


def names(
    pieces: Sequence[tuple[Place, Place]], level: float, placed: Callable[[float, float], Place]
) -> Iterator[str]:
    """The seconds of a line, once, on its longest level piece."""
    flat = [(b[0] - a[0], a, b) for a, b in pieces if a[1] == b[1]]
    if flat:
        _long, a, b = max(flat)
        x, y = placed((a[0] + b[0]) / 2, a[1])
        yield text(seconds(level), x, y + LETTER * 0.35)


def seconds(value: float, digits: int = 0) -> str:
    """ "+1 s", "0 s"; with two digits "-0.40 s" """
    value = round(value, digits)
    sign = "+" if value > 0 else MINUS if value < 0 else ""
    return f"{sign}{abs(value):.{digits}f} s"


def text(words: str, x: float, y: float, *, anchor: str = "middle") -> str:
    common = f'x="{number(x)}" y="{number(y)}" font-size="{LETTER:g}" text-anchor="{anchor}"'
    return f'<text class="halo" {common}>{words}</text><text {common}>{words}</text>'


def patterns() -> str:
    """The hatches, for the head of a drawing."""
    made = (
        f'<pattern id="hatch-{name}" width="12" height="12" patternUnits="userSpaceOnUse"><path d="{data}"/></pattern>'
        for name, data in HATCHES.items()
    )
    return f"<defs>{''.join(made)}</defs>"
