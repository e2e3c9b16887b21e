"""Diagrams in the form of JSON: one that is right, and any number that hypothesis makes up."""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import strategies as st

from drills.core.diagram import FORMAT, STARTS, Kind, Way

DIAGRAM: dict[str, Any] = {
    "format": FORMAT,
    "area": {"width": 20, "length": 15.5},
    "pitch": {"x": 0, "y": 22},
    "frames": [
        {
            "note": "Ball lifts",
            "objects": [
                {"id": "r", "kind": "ruck", "x": 4, "y": 8, "label": ""},
                {"id": "b", "kind": "ball", "x": 4, "y": 8.8, "label": ""},
                {"id": "a9", "kind": "attacker", "x": 4, "y": 11, "label": "9"},
                {"id": "a10", "kind": "attacker", "x": 10.5, "y": 13, "label": "10"},
                {"id": "d7", "kind": "defender", "x": 7, "y": 6, "label": "7"},
                {"id": "d14", "kind": "defender", "x": 18, "y": 6, "label": "14"},
                {"id": "c", "kind": "coach", "x": 2, "y": 1, "label": ""},
            ],
            "paths": [
                {"kind": "pass", "from": "a9", "points": [[10.5, 13]], "order": 1, "hang": None, "label": ""},
                {"kind": "tackle", "from": "d7", "points": [[8, 8], [10, 11]], "order": 2, "hang": None, "label": ""},
                {"kind": "kick", "from": "a10", "points": [[18, 2]], "order": 3, "hang": 3.8, "label": ""},
                {
                    "kind": "line",
                    "from": None,
                    "points": [[0, 7], [20, 7]],
                    "order": None,
                    "hang": None,
                    "label": "offside",
                },
            ],
        },
        {"note": "", "objects": [{"id": "b", "kind": "ball", "x": 18, "y": 2, "label": ""}], "paths": []},
    ],
}


def drawn(**changes: Any) -> dict[str, Any]:
    return copy.deepcopy(DIAGRAM) | changes


def line(most: int) -> st.SearchStrategy[str]:
    """One line of text as the format allows it: any letters of any script, no control characters."""
    letters = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters="\ufffe\uffff")
    return st.text(letters, min_size=1, max_size=most).map(str.strip).filter(bool)


def tenths(most: float) -> st.SearchStrategy[float]:
    """0 to `most` in steps of 0.1, whole numbers without a point as JSON has them."""
    return st.integers(0, round(most * 10)).map(lambda tens: tens // 10 if tens % 10 == 0 else tens / 10)


def halves(least: float, most: float) -> st.SearchStrategy[float]:
    return st.integers(round(least * 2), round(most * 2)).map(lambda twos: twos // 2 if twos % 2 == 0 else twos / 2)


@st.composite
def objects(draw, width: float, length: float, kinds: dict[str, str]) -> list[dict[str, Any]]:
    ids = draw(st.lists(st.sampled_from(sorted(kinds)), max_size=10, unique=True))
    labels = st.text("ABCXYZ0123456789", min_size=1, max_size=3)
    return [
        {
            "id": id,
            "kind": kinds[id],
            "x": draw(tenths(width)),
            "y": draw(tenths(length)),
            "label": draw(labels) if kinds[id] in ("attacker", "defender") else "",
        }
        for id in ids
    ]


@st.composite
def points(draw, width: float, length: float, start: list[float] | None) -> list[list[float]]:
    """Points of which no two neighbours are the same place."""
    place = st.tuples(tenths(width), tenths(length)).map(list)
    found = draw(st.lists(place, min_size=2 - bool(start), max_size=5))
    before, kept = start, []
    for point in found:
        if point != before:
            kept.append(point)
        before = point
    return kept


@st.composite
def path(draw, width: float, length: float, things: list[dict[str, Any]]) -> dict[str, Any] | None:
    kind = draw(st.sampled_from(list(Way)))
    able = [thing for thing in things if thing["kind"] in STARTS[kind]]
    thing = draw(st.sampled_from(able)) if able and (kind != Way.LINE or draw(st.booleans())) else None
    if thing is None and kind != Way.LINE:
        return None
    route = draw(points(width, length, thing and [thing["x"], thing["y"]]))
    if len(route) < 2 - bool(thing):
        return None
    return {
        "kind": str(kind),
        "from": thing and thing["id"],
        "points": route,
        "order": draw(st.none() | st.integers(1, 20)),
        "hang": _hang(draw, kind),
        "label": draw(st.just("") | line(16)),
    }


def _hang(draw, kind: Way) -> float | None:
    if kind != Way.KICK:
        return None
    tens = draw(st.integers(5, 60))
    return tens // 10 if tens % 10 == 0 else tens / 10


@st.composite
def diagrams(draw) -> dict[str, Any]:
    """Any diagram of the format, sparse ones more often than full ones."""
    width, length = draw(halves(0.5, 80)), draw(halves(0.5, 124))
    corner = st.fixed_dictionaries({"x": halves(-5, 75 - width), "y": halves(-12, 112 - length)})
    ids = st.from_regex(r"\A[a-z][a-z0-9]{0,7}\Z")
    kinds = draw(st.dictionaries(ids, st.sampled_from([str(kind) for kind in Kind]), max_size=12))
    frames = []
    for _ in range(draw(st.integers(1, 4))):
        things = draw(objects(width, length, kinds)) if kinds else []
        paths = draw(st.lists(path(width, length, things), max_size=6))
        frames.append({"note": draw(st.just("") | line(80)), "objects": things, "paths": [p for p in paths if p]})
    return {
        "format": FORMAT,
        "area": {"width": width, "length": length},
        "pitch": draw(st.none() | corner),
        "frames": frames,
    }
