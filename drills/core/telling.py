"""A frame in words: what a drawing says to those who cannot see it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from drills.core.diagram import PLAYERS, Diagram, Frame, Kind, Place, Thing, Trail, Way

NEAR = 1.5  # metres: an end this close to something is an end at it
NAMES = {
    Kind.ATTACKER: ("attacker", "attackers"),
    Kind.DEFENDER: ("defender", "defenders"),
    Kind.BALL: ("ball", "balls"),
    Kind.CONE: ("cone", "cones"),
    Kind.BAG: ("tackle bag", "tackle bags"),
    Kind.SHIELD: ("shield", "shields"),
    Kind.RUCK: ("ruck", "rucks"),
    Kind.COACH: ("coach", "coaches"),
}
VERBS = {
    Way.RUN: "runs",
    Way.CARRY: "carries the ball",
    Way.PASS: "passes",
    Way.KICK: "kicks",
    Way.TACKLE: "goes in to tackle",
}


def title(diagram: Diagram, frame: int) -> str:
    which = f"Frame {frame + 1} of {len(diagram.frames)}" if len(diagram.frames) > 1 else "Diagram"
    note = diagram.frames[frame].note
    return f"{which}: {note}" if note else which


def frame_in_words(diagram: Diagram, frame: int) -> str:
    """Who is there, then who does what, in order."""
    shown = diagram.frames[frame]
    area = f"An area of {diagram.width:g} by {diagram.length:g} m."
    return " ".join([area, *_counts(shown.things), *actions(shown)])


def places(diagram: Diagram, frame: int) -> list[str]:
    """Where each thing stands, in metres from the left edge and from the foot of the area."""
    return [
        f"{name(thing).capitalize()}: {thing.x:g} m across, {thing.y:g} m up" for thing in diagram.frames[frame].things
    ]


def actions(frame: Frame) -> Iterator[str]:
    """One sentence a path; numbered ones first, in their order."""
    for trail in sorted(frame.trails, key=lambda trail: math.inf if trail.order is None else trail.order):
        number = "" if trail.order is None else f"{trail.order}: "
        yield f"{number}{_action(frame, trail)}."


def name(thing: Thing) -> str:
    return f"{NAMES[thing.kind][0]} {thing.label}" if thing.kind in PLAYERS else NAMES[thing.kind][0]


def _counts(things: Iterable[Thing]) -> Iterator[str]:
    by_kind: dict[Kind, list[Thing]] = {}
    for thing in things:
        by_kind.setdefault(thing.kind, []).append(thing)
    for kind in Kind:
        if found := by_kind.get(kind):
            labels = f": {', '.join(thing.label for thing in found)}" if kind in PLAYERS else ""
            yield f"{len(found)} {NAMES[kind][len(found) > 1]}{labels}."


def _action(frame: Frame, trail: Trail) -> str:
    route = frame.route(trail)
    label = f" ({trail.label})" if trail.label else ""
    if trail.kind is Way.LINE:
        return f"A line is marked {_course(route)}{label}"
    starter = frame.thing(trail.start or "")
    hang = f", {trail.hang:g} s in the air" if trail.hang is not None else ""
    does = f"{name(starter).capitalize()} {VERBS[trail.kind]} {_course(route)}"
    return f"{does}{_target(frame, starter, route[-1])}{hang}{label}"


def _course(route: tuple[Place, ...]) -> str:
    length = sum(math.dist(one, other) for one, other in pairwise(route))
    (x1, y1), (x2, y2) = route[0], route[-1]
    across, up = x2 - x1, y2 - y1
    ways = []
    if abs(up) >= abs(across) / 2 and up:
        ways.append("up the page" if up > 0 else "down the page")
    if abs(across) >= abs(up) / 2 and across:
        ways.append("to the right" if across > 0 else "to the left")
    return f"{length:.0f} m {' and '.join(ways) or 'round'}" if length >= 1 else f"{length:.1f} m"


def _target(frame: Frame, starter: Thing, end: Place) -> str:
    near = [thing for thing in frame.things if thing is not starter and math.dist(thing.place, end) <= NEAR]
    if not near:
        return ""
    return f" to {name(min(near, key=lambda thing: (thing.kind is Kind.BALL, math.dist(thing.place, end))))}"
