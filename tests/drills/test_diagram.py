"""Diagrams are read whole or refused with the place of each fault, and come back as they went in."""

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.diagram import NotADiagram, faults, read, written
from drills.schema import entry_faults
from tests.drills.diagrams import DIAGRAM, diagrams, drawn
from tests.drills.packs import entry


@given(diagrams())
def test_any_right_diagram_comes_back_exactly(data):
    assert faults(data) == []
    assert json.dumps(written(read(data)), sort_keys=True) == json.dumps(data, sort_keys=True)


@given(diagrams())
def test_any_right_diagram_departs_from_the_published_schema_nowhere(data):
    assert entry_faults(entry(diagram=data)) == []


@given(diagrams())
def test_a_diagram_mirrored_twice_is_itself_and_mirrored_once_is_still_right(data):
    diagram = read(data)
    assert diagram.mirrored().mirrored() == diagram
    assert faults(written(diagram.mirrored())) == []


def test_the_left_wing_on_the_left_becomes_the_right_wing_on_the_right():
    """11 plays left and 14 right, and left rules are mirrored with x -> 70 - x: the club's own frame of the pitch."""
    mirrored = read(DIAGRAM).mirrored()
    wing = mirrored.frames[0].thing("d14")
    assert (wing.label, wing.place) == ("11", (2, 6))
    assert mirrored.corner == (50, 22)
    assert [thing.label for thing in mirrored.frames[0].things if thing.id in ("a9", "d7")] == ["9", "7"]


def changed(*path, to):
    data = drawn()
    at = data
    for part in path[:-1]:
        at = at[part]
    at[path[-1]] = to
    return data


OBJECT = ("frames", 0, "objects", 4)
PATH = ("frames", 0, "paths", 0)
KICK = ("frames", 0, "paths", 2)
LINE = ("frames", 0, "paths", 3)


@pytest.mark.parametrize(
    ("path", "value", "where", "why"),
    [
        (("format",), "x/1", ("format",), "is “x/1”; write “plumbline-diagram/1”"),
        (("area",), None, ("area",), "is null; it should be a set of fields in braces: width, length"),
        (("area", "width"), 91, ("area", "width"), "is 91; it should be 0.5 to 90"),
        (("area", "length"), 15.3, ("area", "length"), "is 15.3; steps are 0.5, write 15.5"),
        (("area", "length"), True, ("area", "length"), "is True; it should be a number"),
        (("pitch", "x"), 56, ("pitch", "x"), "is 56; it should be -5 to 55"),
        (("pitch", "y"), -13, ("pitch", "y"), "is -13; it should be -12 to 96.5"),
        (("frames",), [], ("frames",), "holds 0 frames; it should hold 1 to 12"),
        (("frames", 0, "note"), "x" * 81, ("frames", 0, "note"), "is 81 characters long; there is room for 80"),
        (
            ("frames", 0, "note"),
            "a\nb",
            ("frames", 0, "note"),
            "should be one line, without blank space at either end",
        ),
        ((*OBJECT, "x"), 20.1, (*OBJECT, "x"), "is 20.1; it should be 0 to 20"),
        ((*OBJECT, "y"), 1.25, (*OBJECT, "y"), "is 1.25; steps are 0.1, write 1.2"),
        ((*OBJECT, "y"), float("nan"), (*OBJECT, "y"), "is nan; it should be a number"),
        (
            (*OBJECT, "kind"),
            "referee",
            (*OBJECT, "kind"),
            "“referee” is not one of attacker, defender, ball, cone, bag, shield, ruck, coach",
        ),
        (
            (*OBJECT, "id"),
            "D7",
            (*OBJECT, "id"),
            "is “D7”; write a small letter, then up to 7 small letters or digits",
        ),
        ((*OBJECT, "id"), "a9", (*OBJECT, "id"), "a9 stands twice in this frame; give one of them another id"),
        (
            (*OBJECT, "label"),
            "",
            (*OBJECT, "label"),
            "is “”; a player carries 1 to 3 digits or capital letters, like 9 or A",
        ),
        (
            ("frames", 0, "objects", 0, "label"),
            "R",
            ("frames", 0, "objects", 0, "label"),
            "is “R”; only players carry one, write “”",
        ),
        (
            ("frames", 1, "objects", 0, "kind"),
            "cone",
            ("frames", 1, "objects", 0, "kind"),
            "is cone, but b is a ball in an earlier frame; take another id",
        ),
        ((*PATH, "from"), "zz", (*PATH, "from"), "“zz” is no object of this frame; name one of its ids"),
        ((*PATH, "from"), None, (*PATH, "from"), "is null; a pass starts at a player, name the id"),
        (
            (*PATH, "from"),
            "b",
            (*PATH, "from"),
            "b is a ball; a pass starts at one of attacker, coach, defender",
        ),
        ((*PATH, "hang"), 2, (*PATH, "hang"), "is 2; only a kick hangs in the air, write null"),
        ((*KICK, "hang"), None, (*KICK, "hang"), "is null; it should be a number"),
        ((*KICK, "hang"), 6.1, (*KICK, "hang"), "is 6.1; it should be 0.5 to 6"),
        ((*PATH, "order"), 0, (*PATH, "order"), "is 0; it should be 1 to 20"),
        ((*PATH, "order"), 1.5, (*PATH, "order"), "is 1.5; steps are 1, write 2"),
        ((*PATH, "points"), [], (*PATH, "points"), "holds 0 points; it should hold 1 to 12"),
        ((*LINE, "points"), [[1, 1]], (*LINE, "points"), "holds 1 points; it should hold 2 to 13"),
        ((*PATH, "points", 0), [4, 16], (*PATH, "points", 0, 1), "is 16; it should be 0 to 15.5"),
        (
            (*PATH, "points", 0),
            [4],
            (*PATH, "points", 0),
            "is a list; write x and y in square brackets, like [3.5, 12]",
        ),
        (
            (*PATH, "points", 0),
            [4, 11],
            (*PATH, "points", 0),
            "is where the path already stands; move it, or take it out",
        ),
        ((*PATH, "label"), "x" * 17, (*PATH, "label"), "is 17 characters long; there is room for 16"),
    ],
)
def test_a_fault_is_told_at_its_place_with_how_to_mend_it(path, value, where, why):
    assert [(fault.path, fault.why) for fault in faults(changed(*path, to=value))] == [(where, why)]


def test_an_area_wider_than_a_pitch_lies_on_none():
    found = faults(drawn(area={"width": 85, "length": 20}))
    assert [(fault.path, fault.why) for fault in found] == [
        (("pitch", "x"), "has no room: the area is too wide for a pitch; shrink it, or write null for pitch")
    ]


def test_reading_tells_every_fault_at_once():
    data = changed(*OBJECT, "x", to=99)
    del data["frames"][1]["note"]
    with pytest.raises(NotADiagram) as refused:
        read(data)
    assert [fault.path for fault in refused.value.faults] == [(*OBJECT, "x"), ("frames", 1, "note")]
    assert str(refused.value) == (
        "frames, no. 1, objects, no. 5, x is 99; it should be 0 to 20; frames, no. 2, note is missing"
    )


def test_sixty_one_objects_or_forty_one_paths_are_too_many():
    cone = {"kind": "cone", "x": 1, "y": 1, "label": ""}
    line = {"kind": "line", "from": None, "points": [[0, 0], [1, 1]], "order": None, "hang": None, "label": ""}
    frame = {"note": "", "objects": [{"id": f"c{n}"} | cone for n in range(61)], "paths": [line] * 41}
    assert [(fault.path, fault.why) for fault in faults(drawn(frames=[frame]))] == [
        (("frames", 0, "objects"), "holds 61 objects; it should hold 0 to 60"),
        (("frames", 0, "paths"), "holds 41 paths; it should hold 0 to 40"),
    ]


# Values that are wrong wherever they stand in a diagram.
WRONG = st.sampled_from([None, True, "", "\n", [], {}, -1, 1e9, float("inf"), [[]], {"x": []}, "\ud800", -0.04])


def places(value, path=()):
    """The path of every value inside a diagram, its own fields apart that may be null."""
    if path:
        yield path
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, child in children:
        yield from places(child, (*path, key))


ALL_PLACES = list(places(DIAGRAM))


@given(place=st.sampled_from(ALL_PLACES), wrong=WRONG)
def test_whatever_is_put_into_a_diagram_it_is_drawn_or_refused_in_words(place, wrong):
    data = changed(*place, to=wrong)
    found = faults(data)
    if not found:
        assert written(read(data)) == data
    for fault in found:
        assert fault.why
        at = data
        for part in fault.path[:-1]:
            at = at[part]  # every fault stands at a place that is there, or at a field missing from one


@given(place=st.sampled_from(ALL_PLACES), wrong=WRONG)
def test_what_the_published_schema_refuses_the_reader_refuses_too(place, wrong):
    data = changed(*place, to=wrong)
    if entry_faults(entry(diagram=data)):
        assert faults(data) != []


@pytest.mark.parametrize("place", [place for place in ALL_PLACES if isinstance(place[-1], str)], ids=str)
def test_a_field_left_out_is_told_missing(place):
    data = copy.deepcopy(DIAGRAM)
    at = data
    for part in place[:-1]:
        at = at[part]
    del at[place[-1]]
    assert (place, "is missing") in [(fault.path, fault.why) for fault in faults(data)]


def test_a_field_of_no_meaning_is_refused():
    found = faults(changed("frames", 0, "colour", to="red"))
    assert [(fault.path, fault.why) for fault in found] == [(("frames", 0), "“colour” is no field of the format")]
