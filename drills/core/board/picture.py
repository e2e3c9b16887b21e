"""The board as a drawing: the pitch with everybody on it, over the map of one kind of kick."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from drills.core import draw
from drills.core.board import relief
from drills.core.board.as_diagram import View, as_diagram, window
from drills.core.board.cover import meetings
from drills.core.board.kicks import covered, reach_map
from drills.core.board.relief import LETTER, seconds, text
from drills.core.board.scene import Place, Scene
from drills.core.diagram import Diagram
from drills.core.ink import INK, THIN

HALVES = (12.0, 12.0)  # units: half a man, small enough that a line of men is no heap
BESIDE = 11.0  # units from a landing place to its words
DOT = 5.0


@dataclass(frozen=True)
class Picture:
    """`under` lies below the men: the map, the words of the landing places, where runners are met."""

    diagram: Diagram
    on: draw.Sheet
    under: str

    def svg(self, ident: str = "") -> str:
        return draw.svg(self.diagram, 0, ident=ident, on=self.on, under=self.under)


def picture(scene: Scene, view: View = View.WIDE, kind: str = "") -> Picture:
    """`kind`: the kick whose map is drawn, by name; none without."""
    shown = window(scene, view)
    diagram = as_diagram((scene,), shown)
    on = draw.sheet(diagram, HALVES)

    def at(place: Place) -> Place:
        return on.at((place[0] - shown.left, place[1] - shown.foot))

    wide = view is View.WIDE
    mapped = relief.patterns() + clipped(scene, on, kind, at) if kind and wide and scene.back_field else ""
    return Picture(diagram, on, mapped + "".join(landings(scene, at) if wide else ()) + "".join(met(scene, at)))


def clipped(scene: Scene, on: draw.Sheet, kind: str, at: relief.At) -> str:
    """The map, cut off where the drawing ends."""
    (left, foot), (right, head) = on.at((0, 0)), on.at((scene.book.width, on.length))
    size = f'width="{right - left:.1f}" height="{foot - head:.1f}"'
    frame = f'<clipPath id="grass-edge"><rect x="{left:.1f}" y="{head:.1f}" {size}/></clipPath>'
    drawn = relief.drawn(reach_map(scene), kind, scene.book.margin_slack_seconds, at)
    return f'{frame}<g clip-path="url(#grass-edge)">{drawn}</g>'


def landings(scene: Scene, at: relief.At) -> Iterator[str]:
    """Beside each place where a kick comes down: its name, and the seconds in hand."""
    for cover in covered(scene):
        x, y = at((cover.kick.x, cover.kick.y))
        left = cover.kick.x < scene.book.width / 2
        x += BESIDE if left else -BESIDE
        yield text(escape(cover.kick.name), x, y - 2, anchor="start" if left else "end")
        yield text(f"{cover.who}: {seconds(cover.margin, 2)}", x, y + LETTER - 2, anchor="start" if left else "end")


def met(scene: Scene, at: relief.At) -> Iterator[str]:
    """Where each runner is met first, and by whom."""
    for carrier in scene.carriers:
        first = next(iter(meetings(scene, carrier)), None)
        if first and first.place and first.seconds is not None:
            x, y = at(first.place)
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{DOT}" fill="none" {INK} stroke-width="{THIN}"/>'
            yield text(f"{first.who}: {round(first.seconds, 2):g} s", x, y + LETTER + DOT)
