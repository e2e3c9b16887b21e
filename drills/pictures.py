"""The drawing of a drill as a page shows it: each frame with its note, and the same in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from drills.core import diagram, draw, legend, telling
from drills.core.inkbox import inkbox
from drills.diagram_words import words
from drills.models import Drill


@dataclass(frozen=True, slots=True)
class Picture:
    """One frame. `says` tells who does what, `stands` where each thing is."""

    number: int
    note: str
    drawing: SafeString
    says: Sequence[str]
    stands: Sequence[str]


def pictures(drill: Drill) -> list[Picture]:
    """The frames of a drill in their order; none for a drill that nobody has drawn."""
    if drill.diagram is None:
        return []
    drawn = diagram.read(drill.diagram)
    return [
        Picture(
            number=place + 1,
            note=frame.note,
            drawing=mark_safe(draw.svg(drawn, place, ident=f"frame-{place + 1}")),
            says=list(telling.actions(frame)),
            stands=telling.places(drawn, place),
        )
        for place, frame in enumerate(drawn.frames)
    ]


def played(drill: Drill) -> dict[str, Any] | None:
    """What the browser needs to play the drawing of a drill; None for one that nobody has drawn."""
    if drill.diagram is None:
        return None
    return {"diagram": drill.diagram, "inkbox": inkbox(), "words": words("frame_of", "play", "stop")}


def signs() -> list[tuple[SafeString, str, str]]:
    """The legend: each symbol, its name and what it means."""
    return [(mark_safe(entry.drawing), entry.name, entry.meaning) for entry in legend.legend()]
