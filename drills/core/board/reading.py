"""A scene of the board from JSON (format plumbline-scene/1, see docs/board.md): faults in words, or the scene."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Any

from drills.core.board import book as figures
from drills.core.board.book import OURS, Book
from drills.core.board.scene import Call, Carrier, Defender, Kick, Moment, Next, Place, Ruck, Scene
from drills.core.fault import Fault, Path
from drills.core.values import shown

FORMAT = "plumbline-scene/1"
FIELDS = (
    "format", "name", "ball", "line", "offside", "defenders", "attackers", "ruck", "sweeper", "calls", "moment",
    "kicks", "carriers", "next", "book",
)  # fmt: skip
MOST_MEN, MOST_KICKS, MOST_CARRIERS = 23, 40, 10
NAME_LENGTH = 40
OUTSIDE = 22.0  # metres beyond a line that a place may lie, in touch or in goal


class Unfit(ValueError):
    """The JSON is no scene; `faults` say where and why."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("; ".join(f"{fault.field or 'the scene'}: {fault.why}" for fault in faults))
        self.faults = faults


def scene_from(value: Any, book: Book = OURS) -> Scene:
    """The scene that parsed JSON describes; its own figures stand in place of those of `book`. Raises Unfit."""
    faults = list(faults_of(value))
    if faults:
        raise Unfit(faults)
    own = book.changed(value.get("book", {}))
    line = float(value.get("line", value.get("offside", value["ball"].get("y", 0.0))))
    ruck = value.get("ruck")
    after = value.get("next")
    return Scene(
        ball=(float(value["ball"]["x"]), float(value["ball"].get("y", line))),
        line=line,
        defenders=tuple(Defender(d["number"], d["x"], y_of(d, line), d.get("speed")) for d in value["defenders"]),
        offside=value.get("offside"),
        attackers=tuple((a["x"], y_of(a, line)) for a in value.get("attackers", [])),
        ruck=Ruck(ruck["x"], ruck.get("foot", line), ruck.get("half_width", 0.5), tuple(ruck.get("inside", ())))
        if ruck else None,
        sweeper=value.get("sweeper", 9),
        calls=frozenset(map(Call, value.get("calls", []))),
        moment=Moment(value.get("moment", Moment.SET)),
        kicks=tuple(kick_from(each, line) for each in value.get("kicks", [])),
        carriers=tuple(carrier_from(each, line) for each in value.get("carriers", [])),
        next=next_from(after, line) if after else None,
        book=own,
    )  # fmt: skip


def y_of(value: Mapping[str, Any], line: float) -> float:
    """From `y`, or from `depth` behind the line."""
    return float(value["y"]) if "y" in value else line - float(value.get("depth", 0.0))


def kick_from(value: Mapping[str, Any], line: float) -> Kick:
    return Kick(value["name"], value["x"], y_of(value, line), value["hang"], value.get("bounce", 0.0))


def carrier_from(value: Mapping[str, Any], line: float) -> Carrier:
    x, y = float(value["x"]), y_of(value, line)
    to = value.get("to", {"x": x, "y": 0.0})  # straight down the pitch to the goal line
    return Carrier(value["name"], x, y, float(to["x"]), float(to["y"]), float(value.get("speed", 7.5)))


def next_from(value: Mapping[str, Any], line: float) -> Next:
    after = float(value.get("line", line))
    places: tuple[tuple[int, Place], ...] = tuple((d["number"], (d["x"], y_of(d, after))) for d in value["defenders"])
    return Next((value["ball"]["x"], value["ball"].get("y", after)), value["seconds"], places)


def written(scene: Scene) -> dict[str, Any]:
    """The scene as JSON holds it, without its book: reading it under the same book gives an equal one."""
    ruck = scene.ruck
    found: dict[str, Any] = {
        "format": FORMAT,
        "ball": spot(scene.ball),
        "line": scene.line,
        "defenders": [man_written(man) for man in scene.defenders],
        "attackers": [spot(place) for place in scene.attackers],
        "sweeper": scene.sweeper,
        "calls": sorted(map(str, scene.calls)),
        "moment": str(scene.moment),
        "kicks": [
            {"name": k.name, "x": k.x, "y": k.y, "hang": k.hang, "bounce": k.bounce} for k in scene.kicks
        ],
        "carriers": [
            {"name": c.name, "x": c.x, "y": c.y, "to": spot((c.to_x, c.to_y)), "speed": c.speed}
            for c in scene.carriers
        ],
    }  # fmt: skip
    if scene.offside is not None:
        found["offside"] = scene.offside
    if ruck:
        found["ruck"] = {"x": ruck.x, "foot": ruck.foot, "half_width": ruck.half_width, "inside": list(ruck.inside)}
    if scene.next:
        found["next"] = {
            "ball": spot(scene.next.ball),
            "seconds": scene.next.seconds,
            "defenders": [{"number": number} | spot(place) for number, place in scene.next.places],
        }
    return found


def readable(scene: Scene) -> Scene:
    """The scene, which can be read again once it is written. Raises Unfit if it cannot."""
    faults = list(faults_of(written(scene)))
    if faults:
        raise Unfit(faults)
    return scene


def man_written(man: Defender) -> dict[str, Any]:
    own = {} if man.speed is None else {"speed": man.speed}
    return {"number": man.number} | spot((man.x, man.y)) | own


def spot(place: Place) -> dict[str, float]:
    return {"x": place[0], "y": place[1]}


def faults_of(value: Any) -> Iterator[Fault]:
    """What is wrong with parsed JSON, each at its path; nothing if it is a scene."""
    if not isinstance(value, Mapping):
        yield Fault((), f"is {shown(value)}; it should be a set of fields in braces")
        return
    if value.get("format") != FORMAT:
        yield Fault(("format",), f"is {shown(value.get('format'))}; this program reads {FORMAT}")
    yield from (Fault((), f"{shown(name)} is no field of the format") for name in value if name not in FIELDS)
    own_faults = list(figures.faults_of(value["book"], ("book",))) if "book" in value else []
    yield from own_faults
    pitch = Pitch(OURS if own_faults or "book" not in value else OURS.changed(value["book"]))
    yield from pitch.place(value.get("ball"), ("ball",))
    for name in ("line", "offside"):
        if name in value:
            yield from figure(value[name], (name,), 0, pitch.book.length)
    yield from several(value.get("defenders"), ("defenders",), MOST_MEN, pitch.defender)
    yield from twice(value.get("defenders"))
    yield from several(value.get("attackers", []), ("attackers",), MOST_MEN, pitch.place)
    yield from several(value.get("kicks", []), ("kicks",), MOST_KICKS, pitch.kick)
    yield from several(value.get("carriers", []), ("carriers",), MOST_CARRIERS, pitch.carrier)
    yield from several(value.get("calls", []), ("calls",), len(Call), lambda each, path: word(each, path, Call))
    yield from jersey(value.get("sweeper", 9), ("sweeper",))
    yield from word(value.get("moment", "set"), ("moment",), Moment)
    yield from pitch.ruck(value.get("ruck"))
    yield from pitch.next(value.get("next"))


class Pitch:
    """Checks of whatever stands on a pitch of a book's size."""

    def __init__(self, book: Book) -> None:
        self.book = book

    def place(self, value: Any, path: Path) -> Iterator[Fault]:
        if not isinstance(value, Mapping):
            yield Fault(path, f"is {shown(value)}; it should be a place: x and y in metres")
            return
        yield from figure(value.get("x"), (*path, "x"), -OUTSIDE, self.book.width + OUTSIDE)
        if "y" in value and "depth" in value:
            yield Fault(path, "has both y and depth; give one of the two")
        elif "y" in value:
            yield from figure(value["y"], (*path, "y"), -OUTSIDE, self.book.length + OUTSIDE)
        elif "depth" in value:
            yield from figure(value["depth"], (*path, "depth"), -self.book.length, self.book.length + OUTSIDE)
        elif path != ("ball",) and path != ("next", "ball"):
            yield Fault(path, "should have y, or depth behind the line")

    def defender(self, value: Any, path: Path) -> Iterator[Fault]:
        yield from self.place(value, path)
        if isinstance(value, Mapping):
            yield from jersey(value.get("number"), (*path, "number"))
            if value.get("speed") is not None:
                yield from figure(value["speed"], (*path, "speed"), 1, 13)

    def kick(self, value: Any, path: Path) -> Iterator[Fault]:
        yield from self.place(value, path)
        if isinstance(value, Mapping):
            yield from name(value.get("name"), (*path, "name"))
            yield from figure(value.get("hang"), (*path, "hang"), 0.1, 10)
            yield from figure(value.get("bounce", 0.0), (*path, "bounce"), 0, 10)

    def carrier(self, value: Any, path: Path) -> Iterator[Fault]:
        yield from self.place(value, path)
        if not isinstance(value, Mapping):
            return
        yield from name(value.get("name"), (*path, "name"))
        yield from figure(value.get("speed", 7.5), (*path, "speed"), 1, 13)
        if "to" in value:
            yield from self.place(value["to"], (*path, "to"))
            if isinstance(value["to"], Mapping) and "y" not in value["to"]:
                yield Fault((*path, "to"), "should have y")
            elif isinstance(value["to"], Mapping) and _same_place(value, value["to"]):
                yield Fault((*path, "to"), "is where he stands already")

    def ruck(self, value: Any) -> Iterator[Fault]:
        if value is None:
            return
        if not isinstance(value, Mapping):
            yield Fault(("ruck",), f"is {shown(value)}; it should be x, foot, half_width, inside")
            return
        yield from figure(value.get("x"), ("ruck", "x"), 0, self.book.width)
        yield from figure(value.get("foot", 0), ("ruck", "foot"), 0, self.book.length)
        yield from figure(value.get("half_width", 0.5), ("ruck", "half_width"), 0, 5)
        yield from several(value.get("inside", []), ("ruck", "inside"), MOST_MEN, jersey)

    def next(self, value: Any) -> Iterator[Fault]:
        if value is None:
            return
        if not isinstance(value, Mapping):
            yield Fault(("next",), f"is {shown(value)}; it should be ball, seconds, defenders")
            return
        yield from self.place(value.get("ball"), ("next", "ball"))
        yield from figure(value.get("seconds"), ("next", "seconds"), 0, 30)
        yield from several(value.get("defenders"), ("next", "defenders"), MOST_MEN, self.defender)


def figure(value: Any, path: Path, least: float, most: float) -> Iterator[Fault]:
    if isinstance(value, bool) or not isinstance(value, int | float):
        yield Fault(path, "is missing" if value is None else f"is {shown(value)}; it should be a number")
    elif not least <= value <= most:
        yield Fault(path, f"is {shown(value)}; it should be {least:g} to {most:g}")


def jersey(value: Any, path: Path) -> Iterator[Fault]:
    if isinstance(value, bool) or not isinstance(value, int) or value not in figures.NUMBERS:
        yield Fault(path, f"is {shown(value)}; it should be a jersey number from 1 to 23")


def name(value: Any, path: Path) -> Iterator[Fault]:
    if not isinstance(value, str) or not value.strip() or len(value) > NAME_LENGTH:
        yield Fault(path, f"is {shown(value)}; it should be a name of at most {NAME_LENGTH} characters")


def word(value: Any, path: Path, words: type[StrEnum]) -> Iterator[Fault]:
    if value not in list(words):
        yield Fault(path, f"is {shown(value)}; it should be one of {', '.join(words)}")


def several(value: Any, path: Path, most: int, each: Any) -> Iterator[Fault]:
    if not isinstance(value, list):
        yield Fault(path, "is missing" if value is None else f"is {shown(value)}; it should be a list")
    elif len(value) > most:
        yield Fault(path, f"holds {len(value)}; there is room for {most}")
    else:
        for n, item in enumerate(value):
            yield from each(item, (*path, n))


def twice(value: Any) -> Iterator[Fault]:
    numbers = [d.get("number") for d in value if isinstance(d, Mapping)] if isinstance(value, list) else []
    for number in sorted({n for n in numbers if isinstance(n, int) and numbers.count(n) > 1}):
        yield Fault(("defenders",), f"number {number} stands there twice")


def _same_place(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    return (one.get("x"), one.get("y")) == (other.get("x"), other.get("y"))
