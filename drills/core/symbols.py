"""What stands on the grass, each as a symbol around its place: our own set, told apart by shape without colour.

The symbols are data, so that the browser draws the very same ones while a diagram is edited.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from drills.core.diagram import Kind
from drills.core.glyphs import placed
from drills.core.ink import INK, PAPER, PAPER_EDGE, PEN, letters
from drills.core.strokes import number


class Look(StrEnum):
    """How the outline of a symbol is inked."""

    HOLLOW = f"{PAPER} {INK}"
    SOLID = 'fill="currentColor"'
    EDGED = f'fill="currentColor" {PAPER_EDGE}'
    BARS = f'fill="none" {INK} stroke-linecap="round"'


@dataclass(frozen=True, slots=True)
class Symbol:
    """One symbol around (0, 0). Its path data are in halves of a player's symbol, y down.

    `extent` is half its width and height in the same halves, its pen included. The pen is `pen` units wide and
    `pen_grows` halves more. `sign` is a letter always on it, `sign_height` halves high. The number of a player
    stands `label_drop` halves below the middle, in paper colour if `label_paper`.
    """

    data: str
    extent: tuple[float, float]
    look: Look
    pen: float = PEN
    pen_grows: float = 0.0
    sign: str = ""
    sign_height: float = 0.0
    sign_pen: float = PEN * 0.9
    label_drop: float = 0.0
    label_paper: bool = False


SYMBOLS: dict[Kind, Symbol] = {
    Kind.ATTACKER: Symbol(
        "M0,-1C.552,-1 1,-.552 1,0C1,.552 .552,1 0,1C-.552,1 -1,.552 -1,0C-1,-.552 -.552,-1 0,-1Z",
        (1.15, 1.15),
        Look.HOLLOW,
    ),
    # A plumb bob: a flat top, a short neck for the string, and a pointed foot.
    Kind.DEFENDER: Symbol(
        "M-.3,-1.2L.3,-1.2L.3,-.9L1,-.9L1,.45L0,1.35L-1,.45L-1,-.9L-.3,-.9Z",
        (1.05, 1.4),
        Look.SOLID,
        pen=0.0,
        label_drop=-0.15,
        label_paper=True,
    ),
    Kind.BALL: Symbol("M0,-.62Q.84,0 0,.62Q-.84,0 0,-.62Z", (0.6, 0.75), Look.EDGED, pen=2.0),
    Kind.CONE: Symbol("M0,-.55L.55,.44L-.55,.44Z", (0.7, 0.7), Look.HOLLOW, pen=PEN * 0.8),
    Kind.BAG: Symbol(
        "M-.61,-1.25L.61,-1.25Q.75,-1.25 .75,-1.11L.75,1.11Q.75,1.25 .61,1.25"
        "L-.61,1.25Q-.75,1.25 -.75,1.11L-.75,-1.11Q-.75,-1.25 -.61,-1.25Z",
        (0.9, 1.4),
        Look.HOLLOW,
        sign="B",
        sign_height=1.1,
    ),
    Kind.SHIELD: Symbol(
        "M-.55,-.7L.55,-.7C.937,-.7 1.25,-.387 1.25,0C1.25,.387 .937,.7 .55,.7"
        "L-.55,.7C-.937,.7 -1.25,.387 -1.25,0C-1.25,-.387 -.937,-.7 -.55,-.7Z",
        (1.4, 0.85),
        Look.HOLLOW,
        sign="S",
        sign_height=0.85,
        sign_pen=PEN * 0.85,
    ),
    Kind.RUCK: Symbol(
        "M-1.15,-.38L1.15,-.38M-1.15,.38L1.15,.38", (1.2, 0.6), Look.BARS, pen=0.0, pen_grows=0.36
    ),
    Kind.COACH: Symbol(
        "M0,-1.25L1.25,0L0,1.25L-1.25,0Z", (1.4, 1.4), Look.HOLLOW, sign="C", sign_height=0.95
    ),
}  # fmt: skip
LAYERS = (Kind.CONE, Kind.RUCK, Kind.BAG, Kind.SHIELD, Kind.COACH, Kind.ATTACKER, Kind.DEFENDER, Kind.BALL)


def drawn(kind: Kind, x: float, y: float, half: float, label: str = "") -> str:
    """The symbol at a place, `half` being half the width of a player's."""
    symbol = SYMBOLS[kind]
    pen = number(symbol.pen + symbol.pen_grows * half)
    data = placed(symbol.data, x, y, half)
    body = f'<path d="{data}" {symbol.look} stroke-width="{pen}" stroke-linejoin="round"/>'
    if symbol.sign:
        return body + letters(symbol.sign, x, y, half * symbol.sign_height, symbol.sign_pen)
    return body + _label(label, x, y + half * symbol.label_drop, half, paper=symbol.label_paper)


def _label(label: str, x: float, y: float, half: float, *, paper: bool) -> str:
    height = half * {0: 1, 1: 1.1, 2: 0.95}.get(len(label), 0.68)
    return letters(label, x, y, height, max(height * 0.17, 2.2), paper=paper) if label else ""
