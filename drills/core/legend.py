"""Every symbol of a drawing with its words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drills.core import telling
from drills.core.diagram import Kind, Way
from drills.core.draw import TRAILS, Sheet, disc
from drills.core.ink import THIN, document, haloed, letters, stroke
from drills.core.strokes import Route, bent, path_data
from drills.core.symbols import drawn


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
    return document(60, 60, drawn(kind, 30, 30, 22, label), telling.NAMES[kind][0], "", "")


def _legend_of_things() -> Iterator[Entry]:
    said = {
        Kind.ATTACKER: ("9", "Attacker, with number. The attack comes down the page."),
        Kind.DEFENDER: ("7", "Defender, with number: a plumb bob. The defence always faces up the page."),
        Kind.BALL: ("", "Ball. Drawn beside a player who holds it."),
        Kind.CONE: ("", "Cone: a corner of the grid, or a mark to go by."),
        Kind.BAG: ("", "Tackle bag, upright."),
        Kind.SHIELD: ("", "Hit shield, held by the player behind it."),
        Kind.RUCK: ("", "Ruck, or the bag that stands for one: the ball comes out here."),
        Kind.COACH: ("", "Where the coach stands."),
    }
    for kind, (label, meaning) in said.items():
        yield Entry(symbol(kind, label), telling.NAMES[kind][0], meaning)


def _legend_of_trails() -> Iterator[Entry]:
    said = {
        Way.RUN: "Run without the ball.",
        Way.CARRY: "Run with the ball.",
        Way.PASS: "Pass: the ball goes by hand.",
        Way.KICK: "Kick, with the seconds that it hangs in the air.",
        Way.TACKLE: "Goes in and tackles, or stops.",
        Way.LINE: "A line to watch: offside, tackle line, gain line.",
    }
    for way, meaning in said.items():
        route: Route = [(8.0, 54.0), (142.0, 54.0)] if way is Way.KICK else [(8.0, 30.0), (142.0, 30.0)]
        shown = bent(route, lambda place: place) if way is Way.KICK else route
        body = TRAILS[way](shown) + (haloed("K 3.8 s", 75, 11, 18) if way is Way.KICK else "")
        yield Entry(document(150, 60, body, str(way), "", ""), str(way), meaning)


def _legend_of_marks() -> Iterator[Entry]:
    on = Sheet(1, 22, 0, 0, 150, 60, 60)
    route: Route = [(8.0, 30.0), (142.0, 30.0)]
    yield Entry(
        document(150, 60, TRAILS[Way.RUN](route) + disc(1, route, on, []), "order", "", ""),
        "order",
        "What happens first, second, third. The same number: at the same time.",
    )
    lines = stroke(path_data([(35.0, 15.0), (145.0, 15.0)]), THIN) + letters("22", 16, 15, 14, THIN)
    broken = stroke(path_data([(35.0, 45.0), (145.0, 45.0)]), THIN, ' stroke-dasharray="8 8"')
    yield Entry(
        document(150, 60, lines + broken + letters("10", 16, 45, 14, THIN), "pitch lines", "", ""),
        "pitch lines",
        "Lines of the pitch, named at the edge: 0 goal line, 5, 22, 10 from half way, 50 half way.",
    )
