"""A scene as a drawn diagram: the same symbols and lines as a drill's, for the board's surface and for a card."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from drills.core import pitch
from drills.core.board.scene import Carrier, Place, Scene
from drills.core.diagram import LEAST_HANG, MOST_HANG, NOTE_LENGTH, Diagram, Frame, Kind, Thing, Trail, Way

AHEAD, LEAST_BEHIND, ROOM = 10.0, 26.0, 2.0  # metres shown: before the line, behind it, around the outermost
CLOSE_WIDTH, CLOSE_AHEAD, CLOSE_BEHIND = 24.0, 8.0, 10.0
KICKER = "K"
KICKER_BEHIND = 3.0  # metres from the ball


class View(StrEnum):
    """What of the pitch is shown: all of its width, or what lies around the ball."""

    WIDE = "wide"
    CLOSE = "close"


@dataclass(frozen=True, slots=True)
class Window:
    """Part of the pitch: `left` and `foot` are x and y of its lower left corner; all in half metres."""

    left: float
    foot: float
    width: float
    length: float

    def holds(self, place: Place) -> bool:
        x, y = place
        return self.left <= x <= self.left + self.width and self.foot <= y <= self.foot + self.length

    def on(self, place: Place) -> Place:
        """In metres from the corner, to a tenth; whoever is beyond the edge stands on it."""
        x, y = place[0] - self.left, place[1] - self.foot
        return round(min(max(x, 0.0), self.width), 1), round(min(max(y, 0.0), self.length), 1)


def window(scene: Scene, view: View = View.WIDE) -> Window:
    if view is View.CLOSE:
        left = min(max(half(scene.ball[0] - CLOSE_WIDTH / 2), 0.0), pitch.WIDTH - CLOSE_WIDTH)
        return between(left, CLOSE_WIDTH, scene.line - CLOSE_BEHIND, scene.line + CLOSE_AHEAD)
    ys = [y for _x, y in spots(scene)]
    foot = min(scene.line - LEAST_BEHIND, min(ys) - ROOM)
    return between(0.0, pitch.WIDTH, foot, max(scene.line + AHEAD, max(ys) + ROOM))


def spots(scene: Scene) -> Iterator[Place]:
    """Every place that is drawn, ends of ways included."""
    yield scene.ball
    yield from ((man.x, man.y) for man in scene.defenders)
    yield from scene.attackers
    yield from ((kick.x, kick.y) for kick in scene.kicks)
    for carrier in scene.carriers:
        yield from ((carrier.x, carrier.y), end_of(carrier))
    yield from (place for _number, place in (scene.next.places if scene.next else ()))


def around(scenes: Sequence[Scene]) -> Window:
    """All of the width, and as much of the length as every one of the scenes needs."""
    shown = [window(scene) for scene in scenes]
    foot, head = min(each.foot for each in shown), max(each.foot + each.length for each in shown)
    return Window(0.0, foot, pitch.WIDTH, head - foot)


def between(left: float, width: float, foot: float, head: float) -> Window:
    foot = math.floor(max(foot, -pitch.IN_GOAL))
    head = math.ceil(min(head, pitch.LENGTH + pitch.IN_GOAL))
    return Window(left, float(foot), width, float(head - foot))


def half(metres: float) -> float:
    return round(metres * 2) / 2


def as_diagram(
    scenes: tuple[Scene, ...], shown: Window, notes: tuple[str, ...] = (), *, flights: bool = False
) -> Diagram:
    """One frame for each scene. `flights` draws each kick from a kicker at the ball; without, cones lie where it lands.

    Nobody who stands outside the part of the pitch is drawn, unless all of its width is shown.
    """
    frames = tuple(
        frame(scene, shown, notes[n][:NOTE_LENGTH] if n < len(notes) else "", flights=flights)
        for n, scene in enumerate(scenes)
    )
    return Diagram(shown.width, shown.length, (shown.left, shown.foot), frames)


def frame(scene: Scene, shown: Window, note: str, *, flights: bool) -> Frame:
    things = tuple(thing for thing in things_of(scene, shown, flights=flights))
    here = {thing.id: thing for thing in things}
    trails = (*runs(scene, shown), *carries(scene, shown), *(kicks(scene, shown) if flights else ()))
    return Frame(note, things, tuple(trail for trail in trails if goes(trail, here)))


def goes(trail: Trail, here: dict[str, Thing]) -> bool:
    """A way that is drawn starts at somebody who is drawn, and leads somewhere else."""
    starter = here.get(trail.start or "")
    return starter is not None and trail.points[0] != starter.place


def things_of(scene: Scene, shown: Window, *, flights: bool) -> Iterator[Thing]:
    wide = shown.width >= pitch.WIDTH

    def drawn(id: str, kind: Kind, place: Place, label: str = "") -> Iterator[Thing]:
        if wide or shown.holds(place):
            yield Thing(id, kind, *shown.on(place), label)

    if scene.ruck:
        yield from drawn("ruck", Kind.RUCK, (scene.ruck.x, scene.ruck.foot + ROOM / 2))
    for man in scene.defenders:
        yield from drawn(f"d{man.number}", Kind.DEFENDER, (man.x, man.y), str(man.number))
    for n, place in enumerate(scene.attackers):
        yield from drawn(f"a{n}", Kind.ATTACKER, place, "A")
    for n, carrier in enumerate(scene.carriers):
        yield from drawn(f"c{n}", Kind.ATTACKER, (carrier.x, carrier.y), "R")
    if flights and scene.kicks:
        yield from drawn("kicker", Kind.ATTACKER, (scene.ball[0], scene.ball[1] + KICKER_BEHIND), KICKER)
    for n, kick in enumerate(() if flights else scene.kicks):
        yield from drawn(f"k{n}", Kind.CONE, (kick.x, kick.y))
    yield from drawn("ball", Kind.BALL, scene.ball)


def runs(scene: Scene, shown: Window) -> Iterator[Trail]:
    for number, place in scene.next.places if scene.next else ():
        yield Trail(Way.RUN, f"d{number}", (shown.on(place),))


def carries(scene: Scene, shown: Window) -> Iterator[Trail]:
    for n, carrier in enumerate(scene.carriers):
        yield Trail(Way.CARRY, f"c{n}", (shown.on(end_of(carrier)),))


def end_of(carrier: Carrier) -> Place:
    return carrier.to_x, carrier.to_y


def kicks(scene: Scene, shown: Window) -> Iterator[Trail]:
    for kick in scene.kicks:
        hang = min(max(round(kick.hang, 1), LEAST_HANG), MOST_HANG)
        yield Trail(Way.KICK, "kicker", (shown.on((kick.x, kick.y)),), hang=hang)
