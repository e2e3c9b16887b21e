"""Diagrams as SVG: the same drawing for page, phone and paper, in ink and paper colour only.

A drawing is at most WIDE by HIGH units; ten units are a millimetre when it is set 45 mm wide, as on a card.
Symbols keep a least size in those units whatever the area measures, so that they stay legible there; things
that then overlap are for the author to move. Ink is `currentColor`, paper is white by attribute and takes the
page's own colour by the class `paper`. The same diagram always gives the same text.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from drills.core import glyphs, pitch, telling
from drills.core.diagram import PEOPLE, Diagram, Frame, Kind, Place, Thing, Trail, Way
from drills.core.ink import FINE, PAPER_EDGE, PEN, THIN, document, filled, haloed, letters, stroke
from drills.core.strokes import (
    Route,
    along,
    arrow,
    bar,
    bent,
    length_of,
    number,
    path_data,
    rounded,
    sideways,
    trimmed,
    zigzag,
)
from drills.core.symbols import LAYERS, SYMBOLS, drawn

WIDE, HIGH = 450.0, 600.0
NARROWEST = 200.0  # a drawing of a thin strip keeps room for its scale
LEAST_HALF, MOST_HALF = 17.0, 24.0  # half the width of a player's symbol
A_PLAYER = 0.9  # metres: half a player's symbol where the scale allows it
EDGE = 8.0  # beyond the symbol of a player who stands on the edge
ROUGH_EDGES = 60.0  # both edges, before the size of a symbol is known
PITCH_EDGE = 34.0  # room for the names of pitch lines
FOOT = 30.0  # the band below, for the scale
BARS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20)  # metres that a scale bar may be long
A_ROW = 3
GRASS = 1.8  # a line of the pitch is finer than a path
LETTERS = 20.0  # height of type for words on a drawing
DASHES = {
    "edge": ' stroke-dasharray="2 8"',
    "broken": ' stroke-dasharray="8 8"',
    "pass": ' stroke-dasharray="8 7" stroke-linecap="butt"',
    "kick": ' stroke-dasharray="26 12" stroke-linecap="butt"',
    "line": ' stroke-dasharray="0.1 9"',
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """How metres become units: `scale` units a metre, `half` half the width of a player's symbol."""

    scale: float
    half: float
    left: float
    top: float
    width: float
    height: float
    length: float  # of the area, metres

    def at(self, place: Place) -> Place:
        x, y = place
        return self.left + x * self.scale, self.top + (self.length - y) * self.scale

    def held(self, place: Place, half_width: float, half_height: float) -> Place:
        """The nearest place at which something of that size lies within the drawing."""
        x, y = place
        return (
            min(max(x, half_width + 1), self.width - half_width - 1),
            min(max(y, half_height + 1), self.height - half_height - 1),
        )


def sheet(diagram: Diagram, halves: tuple[float, float] = (LEAST_HALF, MOST_HALF)) -> Sheet:
    """The measures of every frame of a diagram; `halves`: the least and most that half a symbol is wide."""
    rough = min((WIDE - ROUGH_EDGES) / diagram.width, (HIGH - ROUGH_EDGES - FOOT) / diagram.length)
    half = min(max(A_PLAYER * rough, halves[0]), halves[1])
    edge = half + EDGE
    left = max(edge, PITCH_EDGE) if diagram.corner else edge
    scale = min((WIDE - left - edge) / diagram.width, (HIGH - 2 * edge - FOOT) / diagram.length)
    width = left + diagram.width * scale + edge
    height = 2 * edge + diagram.length * scale + FOOT
    spare = max(0.0, NARROWEST - width)
    return Sheet(scale, half, left + spare / 2, edge, round(width + spare, 1), round(height, 1), diagram.length)


def svg(diagram: Diagram, frame: int = 0, *, ident: str = "", on: Sheet | None = None, under: str = "") -> str:
    """One frame. With `ident`, unique on its page, title and description are named by ids; without, there are none.

    `on`: other measures than usual; `under`: SVG in those measures that lies below everything.
    """
    on = on or sheet(diagram)
    words = telling.title(diagram, frame), telling.frame_in_words(diagram, frame)
    return document(on.width, on.height, under + "".join(_frame(diagram, frame, on)), *words, ident)


def strip(diagram: Diagram, *, ident: str = "") -> str:
    """All frames in one drawing, three to a row, each with its number."""
    on, count = sheet(diagram), len(diagram.frames)
    across, rows = min(count, A_ROW), -(-count // A_ROW)
    parts = []
    for place in range(count):
        x, y = place % A_ROW * on.width, place // A_ROW * on.height
        drawn = "".join(_frame(diagram, place, on))
        parts.append(f'<g transform="translate({number(x)} {number(y)})">{drawn}</g>')
    told = " ".join(
        f"{telling.title(diagram, place)}. {telling.frame_in_words(diagram, place)}" for place in range(count)
    )
    title = f"Diagram in {count} frames" if count > 1 else telling.title(diagram, 0)
    return document(on.width * across, on.height * rows, "".join(parts), title, told, ident)


def _frame(diagram: Diagram, index: int, on: Sheet) -> Iterator[str]:
    """Back to front: the grass, what lies on it, who goes where, who stands there, and the numbers on top."""
    frame = diagram.frames[index]
    yield from _ground(diagram, on)
    if len(diagram.frames) > 1:
        yield _frame_number(index, on)
    things = sorted(frame.things, key=lambda thing: LAYERS.index(thing.kind))
    trails = [(trail, _route(frame, trail, on)) for trail in frame.trails]
    yield from (_drawn_thing(frame, thing, on) for thing in things if thing.kind not in PEOPLE | {Kind.BALL})
    yield from (TRAILS[trail.kind](route) for trail, route in trails)
    yield from (_drawn_thing(frame, thing, on) for thing in things if thing.kind in PEOPLE | {Kind.BALL})
    crowd = [on.at(thing.place) for thing in frame.things]
    for trail, route in trails:
        yield from _words_on(trail, route, on, crowd)


def _ground(diagram: Diagram, on: Sheet) -> Iterator[str]:
    (left, foot), (right, head) = on.at((0, 0)), on.at((diagram.width, diagram.length))
    corners = [(left, foot), (left, head), (right, head), (right, foot)]
    if diagram.corner is None:
        yield stroke(path_data(corners) + "Z", FINE)
    else:
        yield stroke(path_data(corners) + "Z", FINE, DASHES["edge"])
        for line in pitch.lines_within(*diagram.corner, diagram.width, diagram.length):
            yield from _pitch_line(line, on)
    yield from _scale_bar(on)


def _scale_bar(on: Sheet) -> Iterator[str]:
    """A bar of known length below the drawing: an area may hold more than the grid that is set out."""
    metres = max((length for length in BARS if length * on.scale <= 0.4 * on.width), default=BARS[0])
    text, long, y = f"{metres:g} m", metres * on.scale, on.height - FOOT / 2 - 2
    wide = glyphs.width(text, 17)
    left = (on.width - long - 10 - wide) / 2
    ends = [path_data([(x, y - 5), (x, y + 5)]) for x in (left, left + long)]
    yield stroke(path_data([(left, y), (left + long, y)]) + "".join(ends), THIN)
    yield letters(text, left + long + 10 + wide / 2, y, 17, THIN)


def _pitch_line(line: pitch.Line, on: Sheet) -> Iterator[str]:
    start, end = on.at(line.start), on.at(line.end)
    if line.style is pitch.Style.POST:
        yield f'<circle cx="{number(start[0])}" cy="{number(start[1])}" r="5" fill="currentColor"/>'
        return
    dashes = "" if line.style is pitch.Style.SOLID else DASHES["broken"]
    yield stroke(path_data([start, end]), GRASS, dashes)
    if line.mark:
        at = (on.left - 17, start[1]) if line.across else (start[0], on.top + on.length * on.scale + 16)
        x, y = on.held(at, glyphs.width(line.mark, 14) / 2, 7)
        yield letters(line.mark, x, y, 14, THIN)


def _frame_number(index: int, on: Sheet) -> str:
    text = f"{index + 1}"
    return letters(text, max(10, glyphs.width(text, 20) / 2 + 3), on.height - FOOT / 2 - 2, 20, PEN)


# Things, each drawn around its place.


def _drawn_thing(frame: Frame, thing: Thing, on: Sheet) -> str:
    x, y = on.at(thing.place)
    if thing.kind is Kind.BALL and any(
        other.kind in PEOPLE and length_of([on.at(other.place), (x, y)]) < on.half for other in frame.things
    ):
        x, y = x + on.half, y + on.half * 0.6  # in hand: beside the number, not on it
    x, y = on.held((x, y), *(on.half * part for part in SYMBOLS[thing.kind].extent))
    return drawn(thing.kind, x, y, on.half, thing.label)


# Paths.


def _route(frame: Frame, trail: Trail, on: Sheet) -> Route:
    """The places of a path in units, from the edge of the symbol it leaves to the edge of the one it meets."""
    route = [on.at(place) for place in frame.route(trail)]
    if trail.kind is Way.LINE:
        return route
    if trail.kind is Way.KICK and len(route) == 2:
        route = bent(route, lambda place: on.held(place, 8, 8))
    starter = frame.thing(trail.start or "")
    met = [_reach(other, on) for other in frame.things if other is not starter and _meets(other, route[-1], on)]
    return trimmed(route, _reach(starter, on) + 4, max(met, default=0.0) and max(met) + 4)


def _meets(thing: Thing, end: Place, on: Sheet) -> bool:
    return stands_in_the_way(thing.kind) and length_of([on.at(thing.place), end]) < _reach(thing, on)


def stands_in_the_way(kind: Kind) -> bool:
    """True if a path ends at the edge of such a thing; one goes on to a ball, a cone or a ruck."""
    return kind not in (Kind.BALL, Kind.CONE, Kind.RUCK)


def _reach(thing: Thing, on: Sheet) -> float:
    return on.half * max(SYMBOLS[thing.kind].extent)


def _run(route: Route) -> str:
    shaft, head = arrow(route)
    return stroke(rounded(shaft), PEN) + filled(head)


def _carry(route: Route) -> str:
    shaft, head = arrow(route)
    return stroke(path_data(zigzag(shaft)), PEN) + filled(head)


def _pass(route: Route) -> str:
    shaft, head = arrow(route)
    return stroke(rounded(shaft), PEN, DASHES["pass"]) + filled(head)


def _kick(route: Route) -> str:
    shaft, head = arrow(route)
    return stroke(rounded(shaft), PEN, DASHES["kick"]) + filled(head)


def _tackle(route: Route) -> str:
    return stroke(rounded(route), PEN) + stroke(path_data(bar(route)), PEN * 1.6)


def _line(route: Route) -> str:
    return stroke(path_data(route), PEN * 1.1, DASHES["line"])


TRAILS: dict[Way, Callable[[Route], str]] = {
    Way.RUN: _run,
    Way.CARRY: _carry,
    Way.PASS: _pass,
    Way.KICK: _kick,
    Way.TACKLE: _tackle,
    Way.LINE: _line,
}
DISC = 13.0


def _words_on(trail: Trail, route: Route, on: Sheet, crowd: Route) -> Iterator[str]:
    """Its order on a small disc, the hang time of a kick, and its label."""
    if trail.order is not None:
        yield disc(trail.order, route, on, crowd)
    if trail.hang is not None:
        text = f"K {trail.hang:g} s"
        half = glyphs.width(text, 18) / 2
        x, y = on.held(sideways(route, 0.6, -half - 8), half, 9)
        yield haloed(text, x, y, 18)
    if trail.label:
        yield _words(trail.label, route, on, at_start=trail.kind is Way.LINE)


def disc(order: int, route: Route, on: Sheet, crowd: Route) -> str:
    """On the path if it is long enough to go on to both sides, otherwise beside it, where fewer things crowd."""
    x, y = along(route, 0.42) if length_of(route) > 5 * DISC else _beside(route, on, crowd)
    x, y = on.held((x, y), DISC + 2, DISC + 2)
    text, height = f"{order}", 15.0 if order < 10 else 11.0
    circle = f'cx="{number(x)}" cy="{number(y)}" r="{DISC:g}"'
    ring = f'<circle {circle} fill="currentColor" {PAPER_EDGE} stroke-width="2.5"/>'
    return ring + letters(text, x, y, height, 3, paper=True)


def _beside(route: Route, on: Sheet, crowd: Route) -> Place:
    """A place off the middle of a path, on its right unless there is clearly more room on its left."""
    off = on.half + DISC * 0.7
    right, left = (on.held(sideways(route, 0.5, side * off), DISC + 2, DISC + 2) for side in (1, -1))
    return left if _room(left, crowd) > _room(right, crowd) + 1 else right


def _room(place: Place, crowd: Route) -> float:
    return min((math.dist(place, other) for other in crowd), default=0.0)


def _words(label: str, route: Route, on: Sheet, *, at_start: bool) -> str:
    half = len(label) * LETTERS * 0.3
    place = (route[0][0] + half + 4, route[0][1] - 12) if at_start else sideways(route, 0.62, -14)
    x, y = on.held(place, half, LETTERS / 2)
    common = f'x="{number(x)}" y="{number(y + LETTERS * 0.35)}" font-size="{LETTERS:g}" text-anchor="middle"'
    text = escape(label)
    return (
        f'<text {common} {PAPER_EDGE} fill="none" stroke-width="6" aria-hidden="true">{text}</text>'
        f'<text {common} fill="currentColor">{text}</text>'
    )
