"""Figures and capitals as strokes, so that a drawing needs no font and reads the same on every machine.

Each sign is drawn by hand on a field 6 high and, unless WIDTHS says otherwise, 4 wide; y runs down.
"""

from __future__ import annotations

import re

HEIGHT, WIDTH, GAP = 6.0, 4.0, 1.9
WIDTHS = {" ": 1.6, ".": 0.4, "I": 0.6, "M": 5.0, "O": 4.8, "W": 5.4, "m": 4.8, "s": 2.6, "×": 3.2, "1": 2.2}
STROKES = {
    "0": "M2,0C3.3,0 4,1.2 4,3C4,4.8 3.3,6 2,6C.7,6 0,4.8 0,3C0,1.2 .7,0 2,0Z",
    "1": "M0,1.4L1.8,0L1.8,6",
    "2": "M.1,1.6C.3,.5 1.1,0 2,0C3.1,0 3.9,.7 3.9,1.8C3.9,3.1 2.4,4 0,6L4,6",
    "3": "M.2,.9C.6,.3 1.2,0 2,0C3.1,0 3.8,.6 3.8,1.5C3.8,2.4 3.1,2.9 1.5,2.9C3.2,2.9 4,3.5 4,4.4"
    "C4,5.4 3.2,6 2,6C1.1,6 .4,5.7 0,5",
    "4": "M3.1,6L3.1,0L0,4.3L4.1,4.3",
    "5": "M3.7,0L.6,0L.3,2.8C.8,2.4 1.3,2.2 2,2.2C3.2,2.2 4,3 4,4.1C4,5.2 3.2,6 2,6C1.1,6 .4,5.7 0,5",
    "6": "M3.6,.6C3.2,.2 2.7,0 2.2,0C.8,0 0,1.3 0,3.4C0,5 .8,6 2,6C3.2,6 4,5.2 4,4.1"
    "C4,3 3.2,2.4 2.1,2.4C1.1,2.4 .3,3 0,3.9",
    "7": "M0,0L4,0L1.5,6",
    "8": "M2,2.8C.9,2.8 .3,2.2 .3,1.4C.3,.6 .9,0 2,0C3.1,0 3.7,.6 3.7,1.4C3.7,2.2 3.1,2.8 2,2.8C.7,2.8 0,3.5 0,4.4"
    "C0,5.4 .7,6 2,6C3.3,6 4,5.4 4,4.4C4,3.5 3.3,2.8 2,2.8Z",
    "9": "M.4,5.4C.8,5.8 1.3,6 1.8,6C3.2,6 4,4.7 4,2.6C4,1 3.2,0 2,0C.8,0 0,.8 0,1.9"
    "C0,3 .8,3.6 1.9,3.6C2.9,3.6 3.7,3 4,2.1",
    "A": "M0,6L2,0L4,6M.7,4L3.3,4",
    "B": "M0,0L0,6L2.2,6C3.3,6 4,5.4 4,4.4C4,3.5 3.3,2.9 2.2,2.9L0,2.9M2.1,2.9"
    "C3,2.9 3.6,2.3 3.6,1.5C3.6,.6 3,0 2,0L0,0",
    "C": "M4,1.2C3.6,.4 2.9,0 2.1,0C.8,0 0,1.2 0,3C0,4.8 .8,6 2.1,6C2.9,6 3.6,5.6 4,4.8",
    "D": "M0,0L0,6L1.6,6C3.1,6 4,4.9 4,3C4,1.1 3.1,0 1.6,0Z",
    "E": "M3.8,0L0,0L0,6L3.8,6M0,2.9L3,2.9",
    "F": "M3.8,0L0,0L0,6M0,2.9L3,2.9",
    "G": "M3.8,1.1C3.5,.4 2.9,0 2.1,0C.8,0 0,1.2 0,3C0,4.8 .8,6 2.1,6C3.3,6 4,5.2 4,3.3L2.4,3.3",
    "H": "M0,0L0,6M4,0L4,6M0,2.9L4,2.9",
    "I": "M.3,0L.3,6",
    "J": "M3.4,0L3.4,4.2C3.4,5.4 2.8,6 1.8,6C.9,6 .3,5.5 .1,4.6",
    "K": "M0,0L0,6M3.9,0L0,3.7M1.4,2.4L4,6",
    "L": "M0,0L0,6L3.7,6",
    "M": "M0,6L0,0L2.5,4L5,0L5,6",
    "N": "M0,6L0,0L4,6L4,0",
    "O": "M2.4,0C3.9,0 4.8,1.2 4.8,3C4.8,4.8 3.9,6 2.4,6C.9,6 0,4.8 0,3C0,1.2 .9,0 2.4,0Z",
    "P": "M0,6L0,0L2.1,0C3.3,0 4,.7 4,1.7C4,2.8 3.3,3.4 2.1,3.4L0,3.4",
    "Q": "M2,0C3.3,0 4,1.2 4,3C4,4.8 3.3,6 2,6C.7,6 0,4.8 0,3C0,1.2 .7,0 2,0ZM2.5,4.3L4.2,6.4",
    "R": "M0,6L0,0L2.1,0C3.3,0 4,.7 4,1.7C4,2.7 3.3,3.3 2.1,3.3L0,3.3M2.1,3.3L4,6",
    "S": "M3.7,.9C3.3,.3 2.7,0 2,0C.9,0 .2,.6 .2,1.5C.2,3.4 4,2.5 4,4.5C4,5.4 3.2,6 2.1,6C1.2,6 .4,5.6 0,4.9",
    "T": "M0,0L4,0M2,0L2,6",
    "U": "M0,0L0,3.8C0,5.2 .8,6 2,6C3.2,6 4,5.2 4,3.8L4,0",
    "V": "M0,0L2,6L4,0",
    "W": "M0,0L1.3,6L2.7,1L4.1,6L5.4,0",
    "X": "M0,0L4,6M4,0L0,6",
    "Y": "M0,0L2,3L4,0M2,3L2,6",
    "Z": "M0,0L4,0L0,6L4,6",
    "m": "M0,2L0,6M0,3.2C.3,2.4 .9,2 1.4,2C2.1,2 2.4,2.4 2.4,3.2L2.4,6M2.4,3.2C2.7,2.4 3.3,2 3.8,2"
    "C4.5,2 4.8,2.4 4.8,3.2L4.8,6",
    "s": "M2.5,2.6C2.2,2.2 1.8,2 1.3,2C.6,2 .1,2.4 .1,3C.1,4.3 2.6,3.7 2.6,5C2.6,5.6 2,6 1.3,6C.7,6 .3,5.8 0,5.4",
    "×": "M0,2.2L3.2,5.4M3.2,2.2L0,5.4",
    ".": "M.1,5.9L.3,5.9",
    " ": "",
}
PAIR = re.compile(r"(-?[\d.]+),(-?[\d.]+)")


def width(text: str, height: float) -> float:
    """How wide a text of these signs is when set `height` high."""
    return (sum(WIDTHS.get(sign, WIDTH) for sign in text) + GAP * (len(text) - 1)) * height / HEIGHT


def strokes(text: str, x: float, y: float, height: float) -> str:
    """Path data of a text centred on (x, y). Only signs of STROKES; stroke it, do not fill it."""
    size, left, top = height / HEIGHT, x - width(text, height) / 2, y - height / 2
    data = []
    for sign in text:
        data.append(placed(STROKES[sign], left, top, size))
        left += (WIDTHS.get(sign, WIDTH) + GAP) * size
    return "".join(data)


def placed(data: str, left: float, top: float, size: float) -> str:
    """Path data made around (0, 0), set at a place in a size."""

    def moved(pair: re.Match[str]) -> str:
        return f"{left + float(pair[1]) * size:.1f},{top + float(pair[2]) * size:.1f}"

    return PAIR.sub(moved, data)
