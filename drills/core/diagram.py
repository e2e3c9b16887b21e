"""A drill drawn on the grass: what a diagram may hold, read from JSON and written back exactly.

All lengths in metres. x from the left edge of the area, y up from its foot; the defence always faces up
the page, the attack comes down it. Positions are kept to a tenth of a metre, areas to half a metre.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from drills.core import pitch
from drills.core.fault import Fault, Path
from drills.core.values import a_list, fields, number, one_of, shown, text

FORMAT = "plumbline-diagram/1"
WIDEST, LONGEST = 90, 130
MOST_FRAMES, MOST_OBJECTS, MOST_PATHS, MOST_POINTS, MOST_ORDER = 12, 60, 40, 12, 20
NOTE_LENGTH, LABEL_LENGTH = 80, 16
LEAST_HANG, MOST_HANG = 0.5, 6.0

ID = re.compile(r"[a-z][a-z0-9]{0,7}")
NUMBER = re.compile(r"[A-Z0-9]{1,3}")

Place = tuple[float, float]
# Who swaps with whom when left becomes right: the wings keep their side of the pitch.
OTHER_SIDE = {"11": "14", "14": "11"}


class Kind(StrEnum):
    """What stands on the grass."""

    ATTACKER = "attacker"
    DEFENDER = "defender"
    BALL = "ball"
    CONE = "cone"
    BAG = "bag"
    SHIELD = "shield"
    RUCK = "ruck"
    COACH = "coach"


class Way(StrEnum):
    """What a path says: who goes where, or where the ball goes; a line is a mark on the grass."""

    RUN = "run"
    CARRY = "carry"
    PASS = "pass"
    KICK = "kick"
    TACKLE = "tackle"
    LINE = "line"


PLAYERS = frozenset({Kind.ATTACKER, Kind.DEFENDER})
PEOPLE = PLAYERS | {Kind.COACH}
STARTS: dict[Way, frozenset[Kind]] = {
    Way.RUN: PEOPLE,
    Way.CARRY: PLAYERS,
    Way.PASS: PEOPLE,
    Way.KICK: PEOPLE,
    Way.TACKLE: PLAYERS,
    Way.LINE: frozenset(Kind),
}


@dataclass(frozen=True, slots=True)
class Thing:
    """One object. The same id in two frames is the same thing."""

    id: str
    kind: Kind
    x: float
    y: float
    label: str = ""

    @property
    def place(self) -> Place:
        return self.x, self.y


@dataclass(frozen=True, slots=True)
class Trail:
    """One path: from the object of that id, or from its own first point, through its points.

    `hang` in seconds, only for a kick. `order` says when: those with the same number happen together.
    """

    kind: Way
    start: str | None
    points: tuple[Place, ...]
    order: int | None = None
    hang: float | None = None
    label: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    note: str
    things: tuple[Thing, ...]
    trails: tuple[Trail, ...]

    def thing(self, id: str) -> Thing:
        return next(thing for thing in self.things if thing.id == id)

    def route(self, trail: Trail) -> tuple[Place, ...]:
        """Every place that a path touches, its start included."""
        start = () if trail.start is None else (self.thing(trail.start).place,)
        return (*start, *trail.points)


@dataclass(frozen=True, slots=True)
class Diagram:
    """`corner`: where the lower left corner of the area lies on a pitch; None for a grid anywhere."""

    width: float
    length: float
    corner: Place | None
    frames: tuple[Frame, ...]

    def mirrored(self) -> Diagram:
        """Left for right. Wings swap numbers: 11 stays the left wing and 14 the right one."""
        corner = self.corner and (pitch.WIDTH - self.corner[0] - self.width, self.corner[1])
        return replace(self, corner=corner, frames=tuple(self._mirrored(frame) for frame in self.frames))

    def _mirrored(self, frame: Frame) -> Frame:
        things = tuple(
            replace(
                thing,
                x=round(self.width - thing.x, 1),
                label=OTHER_SIDE.get(thing.label, thing.label) if thing.kind in PLAYERS else thing.label,
            )
            for thing in frame.things
        )
        trails = tuple(
            replace(trail, points=tuple((round(self.width - x, 1), y) for x, y in trail.points))
            for trail in frame.trails
        )
        return replace(frame, things=things, trails=trails)


class NotADiagram(ValueError):
    """A value that is no diagram; `faults` says what, where and how to mend it."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{fault.field} {fault.why}".strip() for fault in self.faults))


def read(data: Any) -> Diagram:
    """The diagram that parsed JSON describes. Raises NotADiagram with every fault that it has."""
    if found := faults(data):
        raise NotADiagram(found)
    corner = data["pitch"] and (float(data["pitch"]["x"]), float(data["pitch"]["y"]))
    frames = tuple(_frame(frame) for frame in data["frames"])
    return Diagram(float(data["area"]["width"]), float(data["area"]["length"]), corner, frames)


def written(diagram: Diagram) -> dict[str, Any]:
    """The diagram as JSON holds it; reading it again gives an equal one."""
    return {
        "format": FORMAT,
        "area": {"width": _plain(diagram.width), "length": _plain(diagram.length)},
        "pitch": diagram.corner and {"x": _plain(diagram.corner[0]), "y": _plain(diagram.corner[1])},
        "frames": [
            {
                "note": frame.note,
                "objects": [_written_thing(thing) for thing in frame.things],
                "paths": [_written_trail(trail) for trail in frame.trails],
            }
            for frame in diagram.frames
        ],
    }


def faults(data: Any) -> list[Fault]:
    """Everything that keeps parsed JSON from being a diagram, each at its place; empty for one that can be drawn."""
    return list(_diagram_faults(data))


def _frame(data: Mapping[str, Any]) -> Frame:
    things = tuple(
        Thing(thing["id"], Kind(thing["kind"]), float(thing["x"]), float(thing["y"]), thing["label"])
        for thing in data["objects"]
    )
    trails = tuple(
        Trail(
            kind=Way(path["kind"]),
            start=path["from"],
            points=tuple((float(x), float(y)) for x, y in path["points"]),
            order=None if path["order"] is None else int(path["order"]),
            hang=None if path["hang"] is None else float(path["hang"]),
            label=path["label"],
        )
        for path in data["paths"]
    )
    return Frame(data["note"], things, trails)


def _written_thing(thing: Thing) -> dict[str, Any]:
    place = {"x": _plain(thing.x), "y": _plain(thing.y)}
    return {"id": thing.id, "kind": str(thing.kind), **place, "label": thing.label}


def _written_trail(trail: Trail) -> dict[str, Any]:
    return {
        "kind": str(trail.kind),
        "from": trail.start,
        "points": [[_plain(x), _plain(y)] for x, y in trail.points],
        "order": trail.order,
        "hang": None if trail.hang is None else _plain(trail.hang),
        "label": trail.label,
    }


def _plain(number: float) -> float:
    """A whole number without a decimal point."""
    return int(number) if number == int(number) else number


# What follows looks for faults: each function yields those of one part, and looks no deeper where the shape is wrong.


def _diagram_faults(data: Any) -> Iterator[Fault]:
    if shape := list(fields(data, (), "format", "area", "pitch", "frames")):
        yield from shape
        return
    if data["format"] != FORMAT:
        yield Fault(("format",), f"is {shown(data['format'])}; write “{FORMAT}”")
    area = list(_area_faults(data["area"]))
    yield from area
    yield from _pitch_faults(data["pitch"], None if area else data["area"])
    if shape := list(a_list(data["frames"], ("frames",), "frames", 1, MOST_FRAMES)):
        yield from shape
        return
    kinds: dict[str, str] = {}
    for place, frame in enumerate(data["frames"]):
        yield from _frame_faults(frame, ("frames", place), None if area else data["area"], kinds)


def _area_faults(area: Any) -> Iterator[Fault]:
    if shape := list(fields(area, ("area",), "width", "length")):
        yield from shape
        return
    yield from number(area["width"], ("area", "width"), 0.5, WIDEST, step=0.5)
    yield from number(area["length"], ("area", "length"), 0.5, LONGEST, step=0.5)


def _pitch_faults(corner: Any, area: Mapping[str, float] | None) -> Iterator[Fault]:
    if corner is None:
        return
    if shape := list(fields(corner, ("pitch",), "x", "y")):
        yield from shape
        return
    width, length = (area["width"], area["length"]) if area else (0, 0)
    most_x = pitch.WIDTH + pitch.TOUCH_MARGIN - width
    most_y = pitch.LENGTH + pitch.GOAL_MARGIN - length
    yield from _corner(corner["x"], ("pitch", "x"), -pitch.TOUCH_MARGIN, most_x, "wide")
    yield from _corner(corner["y"], ("pitch", "y"), -pitch.GOAL_MARGIN, most_y, "long")


def _corner(value: Any, path: Path, least: float, most: float, which: str) -> Iterator[Fault]:
    if most < least:
        yield Fault(path, f"has no room: the area is too {which} for a pitch; shrink it, or write null for pitch")
    else:
        yield from number(value, path, least, most, step=0.5)


def _frame_faults(frame: Any, path: Path, area: Mapping[str, float] | None, kinds: dict[str, str]) -> Iterator[Fault]:
    if shape := list(fields(frame, path, "note", "objects", "paths")):
        yield from shape
        return
    yield from text(frame["note"], (*path, "note"), NOTE_LENGTH)
    here: dict[str, Mapping[str, Any]] = {}
    bad_objects = list(_things_faults(frame["objects"], (*path, "objects"), area, here, kinds))
    yield from bad_objects
    bad_paths = list(a_list(frame["paths"], (*path, "paths"), "paths", 0, MOST_PATHS))
    yield from bad_paths
    # A path is judged once the objects are right: it starts at one of them.
    for place, trail in enumerate(() if bad_objects or bad_paths else frame["paths"]):
        yield from _trail_faults(trail, (*path, "paths", place), area, here)


def _things_faults(
    things: Any,
    path: Path,
    area: Mapping[str, float] | None,
    here: dict[str, Mapping[str, Any]],
    kinds: dict[str, str],
) -> Iterator[Fault]:
    if shape := list(a_list(things, path, "objects", 0, MOST_OBJECTS)):
        yield from shape
        return
    for place, thing in enumerate(things):
        yield from _thing_faults(thing, (*path, place), area, here, kinds)


def _thing_faults(
    thing: Any,
    path: Path,
    area: Mapping[str, float] | None,
    here: dict[str, Mapping[str, Any]],
    kinds: dict[str, str],
) -> Iterator[Fault]:
    if shape := list(fields(thing, path, "id", "kind", "x", "y", "label")):
        yield from shape
        return
    id, kind = thing["id"], thing["kind"]
    yield from _place(thing["x"], thing["y"], (*path, "x"), (*path, "y"), area)
    if bad_kind := list(one_of(kind, (*path, "kind"), Kind)):
        yield from bad_kind
    else:
        yield from _thing_label(kind, thing["label"], (*path, "label"))
    if not (isinstance(id, str) and ID.fullmatch(id)):
        yield Fault((*path, "id"), f"is {shown(id)}; write a small letter, then up to 7 small letters or digits")
    elif id in here:
        yield Fault((*path, "id"), f"{id} stands twice in this frame; give one of them another id")
    elif not bad_kind:
        here[id] = thing
        if kinds.setdefault(id, kind) != kind:
            yield Fault((*path, "kind"), f"is {kind}, but {id} is a {kinds[id]} in an earlier frame; take another id")


def _thing_label(kind: str, label: Any, path: Path) -> Iterator[Fault]:
    if kind in PLAYERS:
        if not (isinstance(label, str) and NUMBER.fullmatch(label)):
            yield Fault(path, f"is {shown(label)}; a player carries 1 to 3 digits or capital letters, like 9 or A")
    elif label != "":
        yield Fault(path, f"is {shown(label)}; only players carry one, write “”")


def _trail_faults(
    trail: Any, path: Path, area: Mapping[str, float] | None, here: Mapping[str, Mapping[str, Any]]
) -> Iterator[Fault]:
    if shape := list(fields(trail, path, "kind", "from", "points", "order", "hang", "label")):
        yield from shape
        return
    kind, start = trail["kind"], trail["from"]
    yield from text(trail["label"], (*path, "label"), LABEL_LENGTH)
    if trail["order"] is not None:
        yield from number(trail["order"], (*path, "order"), 1, MOST_ORDER, step=1)
    if bad_kind := list(one_of(kind, (*path, "kind"), Way)):
        yield from bad_kind
    else:
        yield from _start_faults(kind, start, (*path, "from"), here)
        yield from _hang_faults(kind, trail["hang"], (*path, "hang"))
    least = 2 if kind == Way.LINE and start is None else 1
    yield from _route_faults(
        trail["points"], (*path, "points"), area, least, here.get(start) if isinstance(start, str) else None
    )


def _start_faults(kind: str, start: Any, path: Path, here: Mapping[str, Mapping[str, Any]]) -> Iterator[Fault]:
    if start is None:
        if kind != Way.LINE:
            yield Fault(path, f"is null; a {kind} starts at a player, name the id")
    elif not (isinstance(start, str) and start in here):
        yield Fault(path, f"{shown(start)} is no object of this frame; name one of its ids")
    elif here[start]["kind"] not in STARTS[Way(kind)]:
        allowed = ", ".join(sorted(STARTS[Way(kind)]))
        yield Fault(path, f"{start} is a {here[start]['kind']}; a {kind} starts at one of {allowed}")


def _hang_faults(kind: str, hang: Any, path: Path) -> Iterator[Fault]:
    if kind == Way.KICK:
        yield from number(hang, path, LEAST_HANG, MOST_HANG, step=0.1)
    elif hang is not None:
        yield Fault(path, f"is {shown(hang)}; only a kick hangs in the air, write null")


def _route_faults(
    points: Any, path: Path, area: Mapping[str, float] | None, least: int, thing: Mapping[str, Any] | None
) -> Iterator[Fault]:
    if shape := list(a_list(points, path, "points", least, least + MOST_POINTS - 1)):
        yield from shape
        return
    before = (thing["x"], thing["y"]) if thing else None
    for place, point in enumerate(points):
        where = (*path, place)
        if not (isinstance(point, list | tuple) and len(point) == 2):
            yield Fault(where, f"is {shown(point)}; write x and y in square brackets, like [3.5, 12]")
            continue
        yield from _place(point[0], point[1], (*where, 0), (*where, 1), area)
        if before == tuple(point):
            yield Fault(where, "is where the path already stands; move it, or take it out")
        before = tuple(point)


def _place(x: Any, y: Any, path_x: Path, path_y: Path, area: Mapping[str, float] | None) -> Iterator[Fault]:
    yield from number(x, path_x, 0, area["width"] if area else WIDEST, step=0.1)
    yield from number(y, path_y, 0, area["length"] if area else LONGEST, step=0.1)
