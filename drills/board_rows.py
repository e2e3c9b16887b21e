"""Rows of the board's form from a scene, and what a filled row says as the JSON of a scene."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from drills.core.board.scene import Place, Scene
from drills.core.board.swing import next_by_the_book

RUNNER_SPEED = 8.0


def kick_written(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: row[name] for name in ("name", "x", "depth", "hang")} | {"bounce": row["bounce"] or 0.0}


def runner_written(row: Mapping[str, Any]) -> dict[str, Any]:
    to = {} if row["to_x"] is None else {"to": {"x": row["to_x"], "y": 0.0}}
    return {"name": row["name"], "x": row["x"], "depth": -row["beyond"], "speed": row["speed"] or RUNNER_SPEED} | to


def setting_of(scene: Scene) -> dict[str, Any]:
    return {
        "ball_x": scene.ball[0],
        "line": scene.line,
        "offside": scene.offside,
        "ruck": scene.ruck is not None,
        "inside": " ".join(map(str, scene.ruck.inside)) if scene.ruck else "",
        "sweeper": scene.sweeper,
        "moment": scene.moment,
        "calls": list(scene.calls),
        "next_x": scene.next.ball[0] if scene.next else None,
        "seconds": scene.next.seconds if scene.next else None,
    }


def man_of(scene: Scene, number: int) -> dict[str, Any]:
    man = scene.man(number)
    if man is None:
        return {}
    place = {"x": tidy(man.x), "depth": tidy(scene.depth(man)), "speed": man.speed}
    after = own_ends(scene).get(number)
    return place | ({"to_x": tidy(after[0]), "to_depth": tidy(scene.line - after[1])} if after else {})


def own_ends(scene: Scene) -> dict[int, Place]:
    """Where they go, of those who go elsewhere than the book says."""
    if scene.next is None:
        return {}
    usual = dict(next_by_the_book(scene, scene.next.ball[0], scene.next.seconds).places)
    return {number: place for number, place in scene.next.places if usual.get(number) != place}


def attackers_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for x, y in scene.attackers if scene else ():
        yield {"x": tidy(x), "beyond": tidy(y - scene.line)}


def kicks_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for kick in scene.kicks if scene else ():
        place = {"x": tidy(kick.x), "depth": tidy(scene.line - kick.y)}
        yield {"name": kick.name, "hang": kick.hang, "bounce": kick.bounce or None} | place


def runners_of(scene: Scene | None) -> Iterator[dict[str, Any]]:
    for each in scene.carriers if scene else ():
        place = {"x": tidy(each.x), "beyond": tidy(each.y - scene.line), "to_x": tidy(each.to_x)}
        yield {"name": each.name, "speed": each.speed} | place


def tidy(value: float) -> float | int:
    """To a hundredth, a whole number without its point."""
    value = round(value, 2)
    return int(value) if value == int(value) else value
