"""How one frame of a diagram goes on in the next: who stands where once it has been played."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

IN_HAND = 1.5  # metres between a player and the ball that he holds
WITH_BALL = ("carry", "pass", "kick")

Things = dict[str, dict[str, Any]]


def following(frame: Mapping[str, Any], area: Mapping[str, float]) -> dict[str, Any]:
    """The next frame, as JSON holds it: the same things where the paths of this one lead, and no path yet.

    Nothing leaves the area, of so many metres `width` and `length`.

    Paths are played in their order, those without one first; a ball goes with its carrier, pass or kick.
    """
    now: Things = {thing["id"]: dict(thing) for thing in frame["objects"]}
    moving = [path for path in frame["paths"] if path["kind"] != "line" and path["from"] in now and path["points"]]
    for path in sorted(moving, key=lambda path: path["order"] or 0):
        for thing, (x, y) in _moves(path, now):
            thing["x"], thing["y"] = x, y
    for thing in now.values():
        thing["x"], thing["y"] = _inside(thing["x"], area["width"]), _inside(thing["y"], area["length"])
    return {"note": "", "objects": list(now.values()), "paths": []}


def _moves(path: Mapping[str, Any], now: Things) -> Iterator[tuple[dict[str, Any], tuple[float, float]]]:
    mover, (x, y) = now[path["from"]], path["points"][-1]
    ball = _ball_of(mover, now) if path["kind"] in WITH_BALL else None
    if path["kind"] in ("pass", "kick"):
        if ball:
            yield ball, (x, y)
        return
    if ball:
        yield ball, (x + ball["x"] - mover["x"], y + ball["y"] - mover["y"])
    yield mover, (x, y)


def _ball_of(player: Mapping[str, Any], now: Things) -> dict[str, Any] | None:
    """The nearest ball within reach, or the only one there is."""
    balls = sorted((thing for thing in now.values() if thing["kind"] == "ball"), key=lambda ball: _gap(ball, player))
    return balls[0] if balls and (len(balls) == 1 or _gap(balls[0], player) <= IN_HAND) else None


def _inside(value: float, most: float) -> float:
    return round(min(max(value, 0), most), 1)


def _gap(one: Mapping[str, Any], other: Mapping[str, Any]) -> float:
    return math.dist((one["x"], one["y"]), (other["x"], other["y"]))
