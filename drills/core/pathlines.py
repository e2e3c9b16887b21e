"""Paths of a diagram as lines of text, for those who type them: "run d1 > 4,5 > 6.5,7 | order 1"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

NUMBER = r"-?\d+(?:\.\d+)?"
PLACE = re.compile(rf"({NUMBER})\s*[,;]\s*({NUMBER})")
EXTRAS = ("order", "hang", "label")


class NotAPath(ValueError):
    """A line that cannot be read; the message says why and how to mend it."""


def line_of(path: Mapping[str, Any]) -> str:
    """One path as JSON holds it, as a line; `path_of` gives it back."""
    stops = [path["from"]] if path["from"] else []
    stops += [f"{x:g},{y:g}" for x, y in path["points"]]
    extras = [f"{name} {path[name]}" for name in EXTRAS if path[name] not in (None, "")]
    return " | ".join([f"{path['kind']} {' > '.join(stops)}", *extras])


def path_of(line: str) -> dict[str, Any]:
    """The path that a line describes. Whether it may be drawn is for `diagram` to say. Raises NotAPath."""
    route, *extras = (part.strip() for part in line.split("|"))
    kind, _, stops = route.partition(" ")
    start, points = _route(stops)
    path: dict[str, Any] = {
        "kind": kind.lower(),
        "from": start,
        "points": points,
        "order": None,
        "hang": None,
        "label": "",
    }
    for extra in extras:
        name, _, value = extra.partition(" ")
        if name not in EXTRAS:
            raise NotAPath(f"“{extra[:20]}” is not understood; after a bar write order, hang or label")
        path[name] = value.strip() if name == "label" else _number(value, name)
    return path


def _route(stops: str) -> tuple[str | None, list[list[float]]]:
    first, *others = (stop.strip() for stop in stops.split(">"))
    if PLACE.fullmatch(first):
        return None, [_place(stop) for stop in (first, *others)]
    return first or None, [_place(stop) for stop in others]


def _place(stop: str) -> list[float]:
    found = PLACE.fullmatch(stop)
    if not found:
        raise NotAPath(f"“{stop[:20]}” is no place; write metres from the left, a comma, metres up, like 4,5")
    return [_plain(float(found[1])), _plain(float(found[2]))]


def _number(value: str, name: str) -> float:
    if not re.fullmatch(NUMBER, value.strip()):
        raise NotAPath(f"“{value[:20]}” is no number; write it like {name} 2")
    return _plain(float(value))


def _plain(value: float) -> float:
    """A whole number without a decimal point."""
    return int(value) if value == int(value) else value
