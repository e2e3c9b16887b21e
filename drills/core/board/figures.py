"""The book as a plain list of single figures, each with its unit and bounds, so that a page and a row can hold one.

"place_slack", "near_wing_from_touch.least", "depths.B.full_back.most", "zone_ends.1", "speeds.15".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from drills.core.board.book import DEPTHS, NUMBERS, OURS, ZONES, Book, Depths, faults_of
from drills.core.fault import Fault

LEAST, MOST = "least", "most"
FIXED = ("width", "length", "depths", "speeds", "zone_ends")  # a pitch is drawn 70 by 100 m
COUNTS = ("least_around_ball", "most_in_ruck", "overload", "deep_count")
NEGATIVE = ("overload", "full_back_from_ball")


@dataclass(frozen=True, slots=True)
class Figure:
    """`name` is what it is of; `part` which zone, number or end; `ours` our value. Units: m, s, m/s, degrees, "", x."""

    key: str
    name: str
    part: str
    unit: str
    low: float
    high: float
    ours: float

    @property
    def whole(self) -> bool:
        return self.unit == ""


def figures() -> tuple[Figure, ...]:
    """All that a club may change, in the order of the book."""
    return (*_speeds(), *_zones(), *_depths(), *_plain())


def _speeds() -> Iterator[Figure]:
    for number in NUMBERS:
        ours = OURS.speeds.get(number, OURS.usual_speed)
        yield Figure(f"speeds.{number}", "speeds", str(number), "m/s", 1, 13, ours)


def _zones() -> Iterator[Figure]:
    for place, end in enumerate(OURS.zone_ends):
        yield Figure(f"zone_ends.{place}", "zone_ends", ZONES[place], "m", 1, 99, end)


def _depths() -> Iterator[Figure]:
    for zone, ours in DEPTHS.items():
        for each in fields(Depths):
            yield from _one(f"depths.{zone}.{each.name}", each.name, zone, getattr(ours, each.name))


def _plain() -> Iterator[Figure]:
    for each in fields(Book):
        if each.name not in FIXED:
            yield from _one(each.name, each.name, "", getattr(OURS, each.name))


def _one(key: str, name: str, part: str, ours: Any) -> Iterator[Figure]:
    """A single figure, or the two ends of a range; what we leave open (nobody sweeps there) is not to be changed."""
    unit, low, high = _bounds(name)
    if isinstance(ours, tuple):
        for end, value in zip((LEAST, MOST), ours, strict=True):
            yield Figure(f"{key}.{end}", name, f"{part} {end}".strip(), unit, low, high, value)
    elif ours is not None:
        yield Figure(key, name, part, unit, low, high, ours)


def _bounds(name: str) -> tuple[str, float, float]:
    if name in COUNTS:
        return "", (-15 if name in NEGATIVE else 0), (0 if name in NEGATIVE else 15)
    if name.endswith("_seconds"):
        return "s", (0.1 if name == "tau_seconds" else 0), 30
    if name.endswith("_degrees"):
        return "degrees", 0, 45
    if name.endswith("speed"):
        return "m/s", 1, 13
    if name == "gap_growth":
        return "x", 1, 5
    return "m", (-70 if name in NEGATIVE else 0), 110


def with_figures(own: Mapping[str, float], book: Book = OURS) -> Book:
    """The book with these figures in place of its own; names that are no figure are passed over."""
    return book.changed(nested(own, book))


def nested(own: Mapping[str, float], book: Book = OURS) -> dict[str, Any]:
    """As the field `book` of a scene holds them; the other end of a range is that of `book`."""
    known = {figure.key: figure for figure in figures()}
    found: dict[str, Any] = {}
    for key, value in own.items():
        if key in known:
            _put(found, key.split("."), int(value) if known[key].whole else float(value), book)
    return found


def _put(found: dict[str, Any], path: list[str], value: float, book: Book) -> None:
    if path[0] == "speeds":
        found.setdefault("speeds", {})[path[1]] = value
    elif path[0] == "depths":
        zone = found.setdefault("depths", {}).setdefault(path[1], {})
        _put_end(zone, path[2:], value, getattr(book.depths[path[1]], path[2]))
    else:
        _put_end(found, path, value, getattr(book, path[0]))


def _put_end(found: dict[str, Any], path: list[str], value: float, whole: Any) -> None:
    if len(path) == 1:
        found[path[0]] = value
    else:
        ends = found.setdefault(path[0], list(whole))
        ends[{LEAST: 0, MOST: 1}[path[1]] if path[1] in (LEAST, MOST) else int(path[1])] = value


def faults_in(own: Mapping[str, float], book: Book = OURS) -> list[Fault]:
    """What is wrong with figures together: a least above its most, zones that do not follow each other."""
    return list(faults_of(nested(own, book)))


def value_of(book: Book, key: str) -> float:
    """What a figure is in a book."""
    path = key.split(".")
    if path[0] == "speeds":
        return float(book.speeds.get(int(path[1]), book.usual_speed))
    found: Any = getattr(book.depths[path[1]], path[2]) if path[0] == "depths" else getattr(book, path[0])
    if not isinstance(found, tuple):
        return float(found)
    end = path[-1]
    return float(found[{LEAST: 0, MOST: 1}[end] if end in (LEAST, MOST) else int(end)])
