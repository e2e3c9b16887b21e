"""Saving a drawing: the verbs, the plain form, what the editor sends, and the text form of paths."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse
from hypothesis import given

from drills.actions import DrillRefused, EditedMeanwhile, add_drill, copy_with_diagram, set_diagram
from drills.core.diagram import faults
from drills.core.moving import following
from drills.core.pathlines import NotAPath, line_of, path_of
from drills.models import Drill
from shared.models import AuditEvent
from tests import factories as f
from tests.drills.diagrams import DIAGRAM, diagrams, drawn
from tests.drills.packs import entry, teach


@pytest.fixture
def drill(club) -> Drill:
    teach(club)
    return add_drill(club, entry(number=7), by="Head", today=f.TUESDAY)


def put(drill: Drill, diagram, version: int = 1) -> Drill:
    return set_diagram(drill, diagram, version=version, by="Head", today=f.TUESDAY)


def test_a_drawing_is_the_next_version_of_its_drill(drill):
    assert put(drill, DIAGRAM).version == 2
    drill.refresh_from_db()
    assert (drill.diagram, drill.name) == (DIAGRAM, "Rope and Cone")
    assert drill.versions.get(version=2).entry["diagram"] == DIAGRAM
    assert AuditEvent.objects.filter(did="changed a drill").count() == 1


def test_the_same_drawing_again_changes_nothing(drill):
    put(drill, DIAGRAM)
    assert put(drill, drawn(area={"width": 20.0, "length": 15.5}), version=2).version == 2


def test_a_drawing_can_be_taken_away(drill):
    put(drill, DIAGRAM)
    assert put(drill, None, version=2).diagram is None


def test_a_drawing_that_breaks_the_format_is_refused_with_its_place_and_nothing_is_saved(drill):
    with pytest.raises(DrillRefused) as refused:
        put(drill, drawn(area={"width": 20, "length": 1000}))
    assert refused.value.faults[0].path == ("area", "length")
    drill.refresh_from_db()
    assert (drill.version, drill.diagram) == (1, None)


def test_a_drawing_made_beside_another_is_not_saved_over_it(drill):
    put(drill, DIAGRAM)
    with pytest.raises(EditedMeanwhile):
        put(drill, drawn(pitch=None))
    drill.refresh_from_db()
    assert drill.diagram == DIAGRAM


def test_a_copy_carries_the_drawing_and_says_what_it_was_drawn_from(drill):
    copy = copy_with_diagram(drill, DIAGRAM, by="Head", today=f.TUESDAY)
    assert (copy.number, copy.name, copy.diagram) == (8, "Rope and Cone (copy)", DIAGRAM)
    assert (copy.adapted_from, copy.adapted_version) == (drill, 1)


def test_the_name_of_a_copy_fits_however_long_the_first_one_is(drill):
    Drill.objects.filter(pk=drill.pk).update(name="n" * 60)
    drill.refresh_from_db()
    assert copy_with_diagram(drill, None, by="Head", today=f.TUESDAY).name == "n" * 53 + " (copy)"


# What the editor sends


@pytest.fixture
def send(head, log_in, drill):
    """`send(diagram, version=1)` posts as the editor in the browser does."""
    client, address = log_in(head), reverse("drill_diagram_save", kwargs={"club": "brackenford", "number": 7})

    def sent(diagram, version=1, **how):
        body = json.dumps({"diagram": diagram, "version": version} | how)
        return client.post(address, body, content_type="application/json")

    return sent


def test_the_editor_is_told_the_new_version(send):
    answer = send(DIAGRAM)
    assert (answer.status_code, answer.json()["version"]) == (200, 2)


def test_the_editor_gets_both_drawings_when_somebody_was_quicker(send, drill):
    put(drill, DIAGRAM)
    answer = send(drawn(pitch=None))
    told = answer.json()
    assert (answer.status_code, told["version"], told["theirs"]) == (409, 2, DIAGRAM)
    assert told["html"].count("<svg") == 2


def test_the_editor_is_told_the_frame_and_the_object_that_are_wrong(send):
    frames = drawn()["frames"]
    frames[1]["objects"][0]["x"] = 99
    answer = send(drawn(frames=frames))
    fault = answer.json()["faults"][0]
    assert (answer.status_code, fault["where"], fault["frame"]) == (422, "Frame 2, object 1 (b), x", 1)


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        "{",
        "[" * 20_000,
        '{"diagram": null, "version": 1e999}',
        '{"diagram": null}',
        '{"diagram": null, "version": "x"}',
        "null",
    ],
)
def test_a_message_that_did_not_arrive_whole_is_refused(body, send, head, log_in):
    address = reverse("drill_diagram_save", kwargs={"club": "brackenford", "number": 7})
    assert log_in(head).post(address, body, content_type="application/json").status_code == 422


@pytest.mark.parametrize(
    "strange",
    [
        1,
        "x",
        [],
        {},
        {"frames": [None]},
        drawn(area={"width": 10**400, "length": 9}),
        drawn(frames=[{"objects": [{}]}]),
    ],
)
def test_whatever_else_is_sent_as_a_drawing_is_refused_in_words(strange, send):
    answer = send(strange)
    assert answer.status_code == 422
    assert all(fault["where"] and fault["why"] for fault in answer.json()["faults"])


def test_both_drawings_are_shown_on_a_page_without_javascript(head, log_in, drill):
    put(drill, DIAGRAM)
    client, address = log_in(head), reverse("drill_diagram", kwargs={"club": "brackenford", "number": 7})
    mine = drawn(pitch=None)
    answer = client.post(address, {"diagram": json.dumps(mine), "version": 1})
    assert (answer.status_code, answer.content.count(b"<svg")) == (409, 2)
    answer = client.post(address, {"diagram": json.dumps(mine), "version": 2, "choice": "mine"})
    assert answer.status_code == 302
    drill.refresh_from_db()
    assert drill.diagram == mine


def test_the_editor_asks_the_database_a_fixed_number_of_times(head, log_in, drill, django_assert_max_num_queries):
    client, address = log_in(head), reverse("drill_diagram", kwargs={"club": "brackenford", "number": 7})
    put(drill, DIAGRAM)
    with django_assert_max_num_queries(6):
        client.get(address)


# Paths as text


@given(diagrams())
def test_every_path_is_read_back_from_its_line(diagram):
    for frame in diagram["frames"]:
        for path in frame["paths"]:
            if "|" not in path["label"]:
                assert path_of(line_of(path)) == path


def test_a_line_reads_as_a_coach_writes_it():
    kick = {"kind": "kick", "from": "a10", "points": [[18, 2]], "order": 3, "hang": 3.8, "label": ""}
    assert path_of("Kick a10 > 18, 2 | hang 3.8 | order 3") == kick
    mark = {"kind": "line", "from": None, "points": [[0, 5], [20, 5.5]], "order": None, "hang": None}
    assert path_of("line 0,5 > 20,5.5 | label offside line") == mark | {"label": "offside line"}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("run d1 > 3", "“3” is no place"),
        ("run d1 > 3,4 | first", "“first” is not understood"),
        ("kick d1 > 3,4 | hang long", "“long” is no number"),
    ],
)
def test_a_line_that_cannot_be_read_says_why(line, why):
    with pytest.raises(NotAPath, match=why):
        path_of(line)


# The next frame

AREA = {"width": 20, "length": 15}


def test_runners_stand_at_the_end_of_their_paths_and_the_ball_goes_along():
    """In order: 9 passes to 10, who carries it 3 m down the page; 7 runs."""
    things = [
        {"id": "a9", "kind": "attacker", "x": 4, "y": 11, "label": "9"},
        {"id": "a10", "kind": "attacker", "x": 10, "y": 12, "label": "10"},
        {"id": "d7", "kind": "defender", "x": 7, "y": 4, "label": "7"},
        {"id": "b", "kind": "ball", "x": 4, "y": 11, "label": ""},
        {"id": "c", "kind": "cone", "x": 0, "y": 0, "label": ""},
    ]
    paths = ["carry a10 > 10,9 | order 2", "pass a9 > 10,12 | order 1", "run d7 > 7,6 > 9,7", "line 0,5 > 20,5"]
    after = following({"note": "x", "objects": things, "paths": [path_of(line) for line in paths]}, AREA)
    places = {thing["id"]: (thing["x"], thing["y"]) for thing in after["objects"]}
    assert places == {"a9": (4, 11), "a10": (10, 9), "d7": (9, 7), "b": (10, 9), "c": (0, 0)}
    assert (after["note"], after["paths"]) == ("", [])


def test_a_ball_out_of_reach_of_two_is_nobodys():
    balls = [{"id": f"b{n}", "kind": "ball", "x": 10 * n, "y": 0, "label": ""} for n in (1, 2)]
    carrier = {"id": "a", "kind": "attacker", "x": 0, "y": 5, "label": "8"}
    frame = {"note": "", "objects": [*balls, carrier], "paths": [path_of("carry a > 0,1")]}
    after = following(frame, AREA)["objects"]
    assert [(thing["x"], thing["y"]) for thing in after] == [(10, 0), (20, 0), (0, 1)]


@given(diagrams())
def test_the_next_frame_of_any_diagram_can_be_drawn(diagram):
    longer = diagram | {"frames": [diagram["frames"][-1], following(diagram["frames"][-1], diagram["area"])]}
    assert faults(longer) == []
