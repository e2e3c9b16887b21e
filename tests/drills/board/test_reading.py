"""A scene from JSON, and what is said of one that is none."""

from __future__ import annotations

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.board.answer import answer
from drills.core.board.reading import Unfit, faults_of, scene_from
from drills.core.board.scene import Call

SCENE = {
    "format": "plumbline-scene/1",
    "name": "ruck on the left",
    "ball": {"x": 12, "y": 40},
    "line": 40,
    "offside": 40,
    "defenders": [
        {"number": 11, "x": 7, "depth": 3},
        {"number": 15, "x": 17, "depth": 22, "speed": 8.6},
        {"number": 14, "x": 46, "y": 23},
        {"number": 9, "x": 17, "depth": 6},
        {"number": 1, "x": 11, "depth": 0.3},
    ],
    "attackers": [{"x": 20, "y": 42}],
    "ruck": {"x": 12, "foot": 40, "half_width": 0.5, "inside": [6]},
    "sweeper": 9,
    "calls": ["drift"],
    "moment": "set",
    "kicks": [{"name": "chip", "x": 20, "depth": 10, "hang": 1.9, "bounce": 0.0}],
    "carriers": [{"name": "wing", "x": 3, "y": 44, "to": {"x": 3, "y": 0}, "speed": 8}],
    "next": {"ball": {"x": 58}, "seconds": 4, "defenders": [{"number": 15, "x": 53, "depth": 22}]},
    "book": {"place_slack": 1.0, "depths": {"B": {"sweep": [4, 7]}}, "speeds": {"14": 8.9}},
}


def changed(path: tuple, value) -> dict:
    scene = copy.deepcopy(SCENE)
    at = scene
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return scene


def test_a_scene_is_read_whole():
    scene = scene_from(SCENE)
    assert (scene.ball, scene.line, scene.zone, str(scene.side)) == ((12.0, 40.0), 40.0, "B", "left")
    assert (scene.man(11).y, scene.man(14).y, scene.man(15).speed) == (37.0, 23, 8.6)
    assert scene.calls == {Call.DRIFT}
    assert scene.kicks[0].y == 30
    assert scene.next.places == ((15, (53, 18.0)),)
    assert scene.book.depths["B"].sweep == (4, 7)
    assert scene.book.depths["B"].full_back == (18, 25)
    assert scene.runner(scene.man(14)).speed == 8.9


def test_the_least_scene_is_a_ball_and_a_list():
    scene = scene_from({"format": "plumbline-scene/1", "ball": {"x": 35, "y": 50}, "defenders": []})
    assert scene.line == 50
    assert answer(scene)["rules"]


@pytest.mark.parametrize(
    ("path", "value", "field", "why"),
    [
        (("format",), "board/9", "format", "this program reads plumbline-scene/1"),
        (("ball",), 12, "ball", "should be a place"),
        (("ball", "x"), "left", "ball, x", "it should be a number"),
        (("line",), 140, "line", "it should be 0 to 100"),
        (("defenders", 0, "number"), 42, "defenders, no. 1, number", "jersey number from 1 to 23"),
        (("defenders", 0, "y"), 37, "defenders, no. 1", "both y and depth"),
        (("defenders", 1, "number"), 11, "defenders", "number 11 stands there twice"),
        (("defenders", 1, "speed"), 30, "defenders, no. 2, speed", "1 to 13"),
        (("kicks", 0, "hang"), 0, "kicks, no. 1, hang", "0.1 to 10"),
        (("kicks", 0, "name"), "", "kicks, no. 1, name", "should be a name"),
        (("calls",), ["blitz"], "calls, no. 1", "one of drift, jam, counter_ruck"),
        (("moment",), "soon", "moment", "one of set, moving"),
        (("carriers", 0, "to"), {"x": 3, "y": 44}, "carriers, no. 1, to", "where he stands already"),
        (("next", "seconds"), None, "next, seconds", "is missing"),
        (("ruck", "inside"), [30], "ruck, inside, no. 1", "jersey number"),
        (("wind",), 3, "", "“wind” is no field of the format"),
        (("book", "step"), -1, "book, step", "0 or more"),
        (("book", "wings_from_touch"), [15, 9], "book, wings from touch", "should rise"),
        (("book", "luck"), 1, "book", "“luck” is no figure of the board"),
        (("book", "depths"), {"E": {}}, "book, depths", "A, B, C, D"),
        (("book", "speeds"), {"14": 0.2}, "book, speeds, 14", "1 to 13 m/s"),
        (("book", "width"), 0, "book, width", "more than 0"),
        (("book", "most_in_ruck"), 1.5, "book, most in ruck", "whole number"),
    ],
)
def test_what_is_wrong_is_told_with_its_place_and_how_to_mend_it(path, value, field, why):
    faults = list(faults_of(changed(path, value)))
    assert [(fault.field, why in fault.why) for fault in faults] == [(field, True)]


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 200) | st.floats(allow_nan=True) | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from([*SCENE, "x", "y", "number"]), inner),
    max_leaves=12,
)


@given(st.sampled_from([*SCENE]), json_values)
def test_whatever_stands_in_a_field_is_refused_in_words_or_answered(field, value):
    tried = SCENE | {field: value}
    if list(faults_of(tried)):
        with pytest.raises(Unfit, match=r"\w"):
            scene_from(tried)
    else:
        found = answer(scene_from(tried))
        assert json.loads(json.dumps(found, allow_nan=False)) == found
