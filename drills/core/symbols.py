"""What stands on the grass, each as a symbol around its place: our own set, told apart by shape without colour.

Every size is in halves of a player's symbol (`half`, in units of the drawing).
"""

from __future__ import annotations

from collections.abc import Callable

from drills.core.diagram import Kind
from drills.core.ink import INK, PAPER, PAPER_EDGE, PEN, box, letters, stroke
from drills.core.strokes import number, path_data, point


def _attacker(x: float, y: float, half: float, label: str) -> str:
    ring = f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(half)}" {PAPER} {INK} stroke-width="{PEN}"/>'
    return ring + label_on(label, x, y, half)


def _defender(x: float, y: float, half: float, label: str) -> str:
    """A plumb bob: a flat top, a short neck for the string, and a pointed foot."""
    neck, top, waist, foot = half * 0.3, y - half * 0.9, y + half * 0.45, y + half * 1.35
    outline = [
        (x - neck, top - half * 0.3),
        (x + neck, top - half * 0.3),
        (x + neck, top),
        (x + half, top),
        (x + half, waist),
        (x, foot),
        (x - half, waist),
        (x - half, top),
        (x - neck, top),
    ]
    body = f'<path d="{path_data(outline)}Z" fill="currentColor"/>'
    return body + label_on(label, x, y - half * 0.15, half, paper=True)


def _ball(x: float, y: float, half: float, label: str) -> str:
    tall, wide = half * 0.62, half * 0.42
    data = f"M{point((x, y - tall))}Q{point((x + 2 * wide, y))} {point((x, y + tall))}Q{point((x - 2 * wide, y))} "
    return f'<path d="{data}{point((x, y - tall))}Z" fill="currentColor" {PAPER_EDGE} stroke-width="2"/>'


def _cone(x: float, y: float, half: float, label: str) -> str:
    size = half * 0.55
    data = path_data([(x, y - size), (x + size, y + size * 0.8), (x - size, y + size * 0.8)])
    return f'<path d="{data}Z" {PAPER} {INK} stroke-width="{number(PEN * 0.8)}" stroke-linejoin="round"/>'


def _bag(x: float, y: float, half: float, label: str) -> str:
    return box(x, y, half * 0.75, half * 1.25, 3) + letters("B", x, y, half * 1.1, PEN * 0.9)


def _shield(x: float, y: float, half: float, label: str) -> str:
    return box(x, y, half * 1.25, half * 0.7, half * 0.7) + letters("S", x, y, half * 0.85, PEN * 0.85)


def _ruck(x: float, y: float, half: float, label: str) -> str:
    gap, wide = half * 0.38, half * 1.15
    bars = path_data([(x - wide, y - gap), (x + wide, y - gap)]) + path_data([(x - wide, y + gap), (x + wide, y + gap)])
    return stroke(bars, half * 0.36)


def _coach(x: float, y: float, half: float, label: str) -> str:
    size = half * 1.25
    data = path_data([(x, y - size), (x + size, y), (x, y + size), (x - size, y)])
    outline = f'<path d="{data}Z" {PAPER} {INK} stroke-width="{PEN}" stroke-linejoin="round"/>'
    return outline + letters("C", x, y, half * 0.95, PEN * 0.9)


SYMBOLS: dict[Kind, Callable[[float, float, float, str], str]] = {
    Kind.ATTACKER: _attacker,
    Kind.DEFENDER: _defender,
    Kind.BALL: _ball,
    Kind.CONE: _cone,
    Kind.BAG: _bag,
    Kind.SHIELD: _shield,
    Kind.RUCK: _ruck,
    Kind.COACH: _coach,
}

# Half the width and height of each symbol in halves of a player, its pen included.
EXTENTS: dict[Kind, tuple[float, float]] = {
    Kind.ATTACKER: (1.15, 1.15),
    Kind.DEFENDER: (1.05, 1.4),
    Kind.BALL: (0.6, 0.75),
    Kind.CONE: (0.7, 0.7),
    Kind.BAG: (0.9, 1.4),
    Kind.SHIELD: (1.4, 0.85),
    Kind.RUCK: (1.2, 0.6),
    Kind.COACH: (1.4, 1.4),
}
LAYERS = (Kind.CONE, Kind.RUCK, Kind.BAG, Kind.SHIELD, Kind.COACH, Kind.ATTACKER, Kind.DEFENDER, Kind.BALL)


def label_on(label: str, x: float, y: float, half: float, *, paper: bool = False) -> str:
    height = half * {0: 1, 1: 1.1, 2: 0.95}.get(len(label), 0.68)
    return letters(label, x, y, height, max(height * 0.17, 2.2), paper=paper) if label else ""
