"""Diagrams as SVG: the same drawing for page, phone and paper, in ink and paper colour only.

A drawing is at most WIDE by HIGH units; ten units are a millimetre when it is set 45 mm wide, as on a card.
Symbols keep a least size in those units whatever the area measures, so that they stay legible there; things
that then overlap are for the author to move. Ink is `currentColor`, paper is white by attribute and takes the
page's own colour by the class `paper`. The same diagram always gives the same text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from drills.core import glyphs, pitch, telling
from drills.core.diagram import PEOPLE, Diagram, Frame, Kind, Place, Thing, Trail, Way
from drills.core.strokes import (
    Route,
    along,
    arrow,
    bar,
    bent,
    length_of,
    number,
    path_data,
    point,
    rounded,
    sideways,
    trimmed,
    zigzag,
)

WIDE, HIGH = 450.0, 600.0
LEAST_HALF, MOST_HALF = 17.0, 24.0  # half the width of a player's symbol
A_PLAYER = 0.9  # metres: half a player's symbol where the scale allows it
EDGE = 8.0  # beyond the symbol of a player who stands on the edge
FOOT = 30.0  # the band below, for the size of the area
A_ROW = 3
PEN, THIN, FINE = 4.0, 2.5, 1.5
LETTERS = 20.0  # height of type for words on a drawing


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


def sheet(diagram: Diagram) -> Sheet:
    """The measures of every frame of a diagram."""
    rough = min((WIDE - 60) / diagram.width, (HIGH - 60 - FOOT) / diagram.length)
    half = min(max(A_PLAYER * rough, LEAST_HALF), MOST_HALF)
    edge = half + EDGE
    left = max(edge, 34.0) if diagram.corner else edge
    scale = min((WIDE - left - edge) / diagram.width, (HIGH - 2 * edge - FOOT) / diagram.length)
    width = left + diagram.width * scale + edge
    height = 2 * edge + diagram.length * scale + FOOT
    return Sheet(scale, half, left, edge, round(width, 1), round(height, 1), diagram.length)


def svg(diagram: Diagram, frame: int = 0, *, ident: str = "") -> str:
    """One frame. With `ident`, unique on its page, title and description are named by ids; without, there are none."""
    on = sheet(diagram)
    words = telling.title(diagram, frame), telling.frame_in_words(diagram, frame)
    return _svg(on.width, on.height, "".join(_frame(diagram, frame, on)), *words, ident)


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
    return _svg(on.width * across, on.height * rows, "".join(parts), title, told, ident)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the legend: the symbol, what it is called, and what it says."""

    drawing: str
    name: str
    meaning: str


def legend() -> list[Entry]:
    """Every symbol with its words, in the order in which a coach meets them."""
    return [*_legend_of_things(), *_legend_of_trails(), *_legend_of_marks()]


def symbol(kind: Kind, label: str = "") -> str:
    """One symbol alone, on a square of 60 units."""
    return _svg(60, 60, SYMBOLS[kind](30, 30, 22, label), telling.NAMES[kind][0], "", "")


def _svg(width: float, height: float, body: str, title: str, desc: str, ident: str) -> str:
    named = f' aria-labelledby="{ident}-t" aria-describedby="{ident}-d"' if ident else ""
    id_t, id_d = (f' id="{ident}-t"', f' id="{ident}-d"') if ident else ("", "")
    told = f"<desc{id_d}>{escape(desc)}</desc>" if desc else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="diagram" viewBox="0 0 {number(width)} {number(height)}"'
        f' role="img"{named}><title{id_t}>{escape(title)}</title>{told}{body}</svg>'
    )


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
    for trail, route in trails:
        yield from _words_on(trail, route, on)


def _ground(diagram: Diagram, on: Sheet) -> Iterator[str]:
    (left, foot), (right, head) = on.at((0, 0)), on.at((diagram.width, diagram.length))
    corners = [(left, foot), (left, head), (right, head), (right, foot)]
    if diagram.corner is None:
        yield _stroke(path_data(corners) + "Z", FINE)
    else:
        yield _stroke(path_data(corners) + "Z", FINE, ' stroke-dasharray="2 8"')
        for line in pitch.lines_within(*diagram.corner, diagram.width, diagram.length):
            yield from _pitch_line(line, on)
    size = f"{diagram.width:g} × {diagram.length:g} m"
    yield _letters(size, (left + right) / 2, on.height - FOOT / 2 - 2, 17, THIN)


def _pitch_line(line: pitch.Line, on: Sheet) -> Iterator[str]:
    start, end = on.at(line.start), on.at(line.end)
    if line.style is pitch.Style.POST:
        yield f'<circle class="ink" cx="{number(start[0])}" cy="{number(start[1])}" r="5" fill="currentColor"/>'
        return
    yield _stroke(path_data([start, end]), THIN, "" if line.style is pitch.Style.SOLID else ' stroke-dasharray="10 7"')
    if line.mark:
        at = (on.left - 17, start[1]) if line.across else (start[0], on.top + on.length * on.scale + 16)
        x, y = on.held(at, glyphs.width(line.mark, 14) / 2, 7)
        yield _letters(line.mark, x, y, 14, THIN)


def _frame_number(index: int, on: Sheet) -> str:
    text = f"{index + 1}"
    return _letters(text, max(10, glyphs.width(text, 20) / 2 + 3), on.height - FOOT / 2 - 2, 20, PEN)


# Things, each drawn around its place.


def _drawn_thing(frame: Frame, thing: Thing, on: Sheet) -> str:
    x, y = on.at(thing.place)
    if thing.kind is Kind.BALL and any(
        other.kind in PEOPLE and length_of([on.at(other.place), (x, y)]) < on.half for other in frame.things
    ):
        x, y = x + on.half, y + on.half * 0.6  # in hand: beside the number, not on it
    x, y = on.held((x, y), *(on.half * part for part in EXTENTS[thing.kind]))
    return SYMBOLS[thing.kind](x, y, on.half, thing.label)


def _attacker(x: float, y: float, half: float, label: str) -> str:
    ring = f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(half)}" {PAPER} {INK} stroke-width="{PEN}"/>'
    return ring + _label(label, x, y, half)


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
    body = f'<path class="ink" d="{path_data(outline)}Z" fill="currentColor"/>'
    return body + _label(label, x, y - half * 0.15, half, paper=True)


def _ball(x: float, y: float, half: float, label: str) -> str:
    tall, wide = half * 0.62, half * 0.42
    data = f"M{point((x, y - tall))}Q{point((x + 2 * wide, y))} {point((x, y + tall))}Q{point((x - 2 * wide, y))} "
    return f'<path d="{data}{point((x, y - tall))}Z" fill="currentColor" {PAPER_EDGE} stroke-width="2"/>'


def _cone(x: float, y: float, half: float, label: str) -> str:
    size = half * 0.55
    data = path_data([(x, y - size), (x + size, y + size * 0.8), (x - size, y + size * 0.8)])
    return f'<path d="{data}Z" {PAPER} {INK} stroke-width="{number(PEN * 0.8)}" stroke-linejoin="round"/>'


def _bag(x: float, y: float, half: float, label: str) -> str:
    return _box(x, y, half * 0.75, half * 1.25, 3) + _letters("B", x, y, half * 1.1, PEN * 0.9)


def _shield(x: float, y: float, half: float, label: str) -> str:
    return _box(x, y, half * 1.25, half * 0.7, half * 0.7) + _letters("S", x, y, half * 0.85, PEN * 0.85)


def _ruck(x: float, y: float, half: float, label: str) -> str:
    gap, wide = half * 0.38, half * 1.15
    bars = path_data([(x - wide, y - gap), (x + wide, y - gap)]) + path_data([(x - wide, y + gap), (x + wide, y + gap)])
    return _stroke(bars, half * 0.36)


def _coach(x: float, y: float, half: float, label: str) -> str:
    size = half * 1.25
    data = path_data([(x, y - size), (x + size, y), (x, y + size), (x - size, y)])
    outline = f'<path d="{data}Z" {PAPER} {INK} stroke-width="{PEN}" stroke-linejoin="round"/>'
    return outline + _letters("C", x, y, half * 0.95, PEN * 0.9)


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
    solid = thing.kind not in (Kind.BALL, Kind.CONE, Kind.RUCK)
    return solid and length_of([on.at(thing.place), end]) < _reach(thing, on)


def _reach(thing: Thing, on: Sheet) -> float:
    return on.half * max(EXTENTS[thing.kind])


def _run(route: Route) -> str:
    shaft, head = arrow(route)
    return _stroke(rounded(shaft), PEN) + _filled(head)


def _carry(route: Route) -> str:
    shaft, head = arrow(route)
    return _stroke(path_data(zigzag(shaft)), PEN) + _filled(head)


def _pass(route: Route) -> str:
    shaft, head = arrow(route)
    return _stroke(rounded(shaft), PEN, ' stroke-dasharray="8 7" stroke-linecap="butt"') + _filled(head)


def _kick(route: Route) -> str:
    shaft, head = arrow(route)
    return _stroke(rounded(shaft), PEN, ' stroke-dasharray="26 12" stroke-linecap="butt"') + _filled(head)


def _tackle(route: Route) -> str:
    return _stroke(rounded(route), PEN) + _stroke(path_data(bar(route)), PEN * 1.6)


def _line(route: Route) -> str:
    return _stroke(path_data(route), PEN * 1.1, ' stroke-dasharray="0.1 9"')


TRAILS: dict[Way, Callable[[Route], str]] = {
    Way.RUN: _run,
    Way.CARRY: _carry,
    Way.PASS: _pass,
    Way.KICK: _kick,
    Way.TACKLE: _tackle,
    Way.LINE: _line,
}
DISC = 13.0


def _words_on(trail: Trail, route: Route, on: Sheet) -> Iterator[str]:
    """Its order on a small disc, the hang time of a kick, and its label."""
    if trail.order is not None:
        yield _disc(trail.order, route, on)
    if trail.hang is not None:
        text = f"K {trail.hang:g} s"
        half = glyphs.width(text, 18) / 2
        x, y = on.held(sideways(route, 0.62, half + 8), half, 9)
        yield _haloed(text, x, y, 18)
    if trail.label:
        yield _words(trail.label, route, on, at_start=trail.kind is Way.LINE)


def _disc(order: int, route: Route, on: Sheet) -> str:
    """On the path if it is long enough to go on to both sides, beside it otherwise."""
    centre = along(route, 0.42) if length_of(route) > 5 * DISC else sideways(route, 0.5, DISC + 6)
    x, y = on.held(centre, DISC + 2, DISC + 2)
    text, height = f"{order}", 15.0 if order < 10 else 11.0
    ring = f'<circle cx="{number(x)}" cy="{number(y)}" r="{DISC}" fill="currentColor" {PAPER_EDGE} stroke-width="2.5"/>'
    return ring + _letters(text, x, y, height, 3, paper=True)


def _words(label: str, route: Route, on: Sheet, *, at_start: bool) -> str:
    half = len(label) * LETTERS * 0.3
    place = (route[0][0] + half + 4, route[0][1] - 12) if at_start else sideways(route, 0.62, -14)
    x, y = on.held(place, half, LETTERS / 2)
    common = f'x="{number(x)}" y="{number(y + LETTERS * 0.35)}" font-size="{LETTERS:g}" text-anchor="middle"'
    text = escape(label)
    return (
        f'<text {common} {PAPER_EDGE} fill="none" stroke-width="6" aria-hidden="true">{text}</text>'
        f'<text class="ink" {common} fill="currentColor">{text}</text>'
    )


# Strokes and letters.

INK = 'stroke="currentColor"'
PAPER = 'class="paper" fill="#fff"'
PAPER_EDGE = 'class="paper-edge" stroke="#fff"'


def _stroke(data: str, width: float, more: str = "") -> str:
    caps = "" if "linecap" in more else ' stroke-linecap="round"'
    return f'<path d="{data}" fill="none" {INK} stroke-width="{number(width)}"{caps} stroke-linejoin="round"{more}/>'


def _filled(corners: Route) -> str:
    return f'<path d="{path_data(corners)}Z" fill="currentColor"/>'


def _box(x: float, y: float, half_width: float, half_height: float, corner: float) -> str:
    left, top = number(x - half_width), number(y - half_height)
    size = f'width="{number(2 * half_width)}" height="{number(2 * half_height)}" rx="{number(corner)}"'
    return f'<rect x="{left}" y="{top}" {size} {PAPER} {INK} stroke-width="{PEN}"/>'


def _label(label: str, x: float, y: float, half: float, *, paper: bool = False) -> str:
    height = half * {0: 1, 1: 1.1, 2: 0.95}.get(len(label), 0.68)
    return _letters(label, x, y, height, max(height * 0.17, 2.2), paper=paper) if label else ""


def _letters(text: str, x: float, y: float, height: float, pen: float, *, paper: bool = False) -> str:
    colour, ends = PAPER_EDGE if paper else INK, 'stroke-linecap="round" stroke-linejoin="round"'
    data = glyphs.strokes(text, x, y, height)
    return f'<path d="{data}" fill="none" {colour} stroke-width="{number(pen)}" {ends}/>'


def _haloed(text: str, x: float, y: float, height: float) -> str:
    return _letters(text, x, y, height, 9, paper=True) + _letters(text, x, y, height, 3)


# The legend.


def _legend_of_things() -> Iterator[Entry]:
    said = {
        Kind.ATTACKER: ("9", "Attacker, with number. The attack comes down the page."),
        Kind.DEFENDER: ("7", "Defender, with number: a plumb bob. The defence always faces up the page."),
        Kind.BALL: ("", "Ball. Drawn beside a player who holds it."),
        Kind.CONE: ("", "Cone."),
        Kind.BAG: ("", "Tackle bag, upright."),
        Kind.SHIELD: ("", "Hit shield, held."),
        Kind.RUCK: ("", "Ruck."),
        Kind.COACH: ("", "Coach."),
    }
    for kind, (label, meaning) in said.items():
        yield Entry(symbol(kind, label), telling.NAMES[kind][0], meaning)


def _legend_of_trails() -> Iterator[Entry]:
    said = {
        Way.RUN: "Run without the ball.",
        Way.CARRY: "Run with the ball.",
        Way.PASS: "Pass.",
        Way.KICK: "Kick, with the seconds that it hangs in the air.",
        Way.TACKLE: "Goes in and tackles, or stops.",
        Way.LINE: "A line to watch: offside, tackle line, gain line.",
    }
    for way, meaning in said.items():
        route: Route = [(8.0, 45.0), (142.0, 45.0)] if way is Way.LINE else [(8.0, 40.0), (142.0, 40.0)]
        shown = bent(route, lambda place: place) if way is Way.KICK else route
        body = TRAILS[way](shown) + (_haloed("K 3.8 s", 75, 14, 18) if way is Way.KICK else "")
        yield Entry(_svg(150, 60, body, str(way), "", ""), str(way), meaning)


def _legend_of_marks() -> Iterator[Entry]:
    on = Sheet(1, 22, 0, 0, 150, 60, 60)
    route: Route = [(8.0, 30.0), (142.0, 30.0)]
    yield Entry(
        _svg(150, 60, _run(route) + _disc(1, route, on), "order", "", ""),
        "order",
        "What happens first, second, third. The same number: at the same time.",
    )
    lines = _stroke(path_data([(35.0, 15.0), (145.0, 15.0)]), THIN) + _letters("22", 16, 15, 14, THIN)
    broken = _stroke(path_data([(35.0, 45.0), (145.0, 45.0)]), THIN, ' stroke-dasharray="10 7"')
    yield Entry(
        _svg(150, 60, lines + broken + _letters("10", 16, 45, 14, THIN), "pitch lines", "", ""),
        "pitch lines",
        "Lines of the pitch, named at the edge: 0 goal line, 5, 22, 10 from half way, 50 half way.",
    )
