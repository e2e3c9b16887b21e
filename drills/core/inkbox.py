"""What a browser needs to draw a diagram as `draw` does, and to say what may be drawn: plain data for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from drills.core import diagram, draw, glyphs, ink, pitch, strokes, telling
from drills.core.diagram import Kind, Way
from drills.core.symbols import LAYERS, SYMBOLS, Look

SIZES = (
    "WIDE", "HIGH", "NARROWEST", "LEAST_HALF", "MOST_HALF", "A_PLAYER", "EDGE", "ROUGH_EDGES", "PITCH_EDGE", "FOOT",
    "LETTERS", "DISC", "GRASS", "BARS",
)  # fmt: skip
STROKES = ("HEAD", "HEAD_HALF", "SHORTEST", "CORNER", "ZIG", "ZIG_STEP", "BAR_HALF", "BULGE", "CURVE_STEPS")
LIMITS = (
    "WIDEST", "LONGEST", "MOST_FRAMES", "MOST_OBJECTS", "MOST_PATHS", "MOST_POINTS", "MOST_ORDER", "NOTE_LENGTH",
    "LABEL_LENGTH", "LEAST_HANG", "MOST_HANG",
)  # fmt: skip


def inkbox() -> dict[str, Any]:
    """Sizes in units of the drawing, pitch in metres, symbols in halves of a player."""
    return {
        "sizes": _named(draw, SIZES) | _named(ink, ("PEN", "THIN", "FINE")),
        "strokes": _named(strokes, STROKES),
        "dashes": draw.DASHES,
        "glyphs": _named(glyphs, ("HEIGHT", "WIDTH", "GAP", "WIDTHS", "STROKES")),
        "shapes": {kind: asdict(symbol) | {"look": symbol.look.name} for kind, symbol in SYMBOLS.items()},
        "looks": {look.name: look.value for look in Look},
        "layers": list(LAYERS),
        "people": sorted(diagram.PEOPLE),
        "flat": sorted(kind for kind in Kind if not draw.stands_in_the_way(kind)),
        "starts": {way: sorted(diagram.STARTS[way]) for way in Way},
        "names": {kind: telling.NAMES[kind][0] for kind in Kind},
        "limits": _named(diagram, LIMITS),
        "pitch": _pitch(),
    }


def _pitch() -> dict[str, Any]:
    lines = [{"start": line.start, "end": line.end, "style": line.style, "mark": line.mark} for line in pitch.lines()]
    margins = {"touch": pitch.TOUCH_MARGIN, "goal": pitch.GOAL_MARGIN}
    return {"width": pitch.WIDTH, "length": pitch.LENGTH, "lines": lines} | margins


def _named(module: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(module, name) for name in names}
