"""The published schema, checked by the jsonschema library against the meta-schema of JSON Schema 2020-12."""

import json

import pytest
from hypothesis import given
from jsonschema import Draft202012Validator

from drills.core.pack import FORMAT
from drills.models import Drill
from drills.schema import entry_faults, fields, pack_faults, schema
from shared.core.contact import RUNGS
from shared.core.positions import GROUPS
from tests.drills.diagrams import drawn
from tests.drills.packs import entries, entry


def test_the_schema_is_a_valid_json_schema_of_2020_12():
    Draft202012Validator.check_schema(schema())
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_schema_speaks_of_the_same_rungs_groups_and_format_as_the_code():
    assert fields()["rung"]["enum"] == list(RUNGS)
    assert schema()["$defs"]["group"]["enum"] == list(GROUPS)
    assert schema()["properties"]["format"]["const"] == FORMAT


def test_every_field_is_described_once_and_must_be_there_but_the_diagram_that_older_packs_lack():
    assert list(fields()) == [*schema()["$defs"]["drill"]["required"], "diagram"]


def test_no_text_of_a_pack_is_too_long_for_its_column():
    columns = {field.name: field.max_length for field in Drill._meta.get_fields() if getattr(field, "max_length", None)}
    texts = {name: spec["maxLength"] for name, spec in fields().items() if "maxLength" in spec and name in columns}
    assert {name: longest for name, longest in texts.items() if longest > columns[name]} == {}


@given(entries())
def test_a_right_drill_departs_from_the_schema_nowhere(drill):
    assert entry_faults(drill) == []


def told(**changes):
    return [(fault.field, fault.why) for fault in entry_faults(entry(**changes))]


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"rpe": "6"}, "rpe", 'is "6"; it should be a whole number'),
        ({"rpe": True}, "rpe", "is true; it should be a whole number"),
        ({"rpe": 11}, "rpe", "is 11; it should be 1 to 10"),
        ({"age_from": 14.5}, "age from", "is 14.5; it should be a whole number"),
        ({"purpose": ""}, "purpose", "is empty"),
        ({"purpose": "x" * 241}, "purpose", "is 241 characters long; a card has room for 240"),
        ({"runs": ["Go.", "Stop."]}, "runs", "holds 2 entries; it should hold 3 to 6"),
        ({"faults": []}, "faults", "holds 0 entries; it should hold 3"),
        ({"cues": ["Up", "Up", "Go"]}, "cues", "says the same thing twice"),
        ({"rung": "C9"}, "rung", '"C9" is not one of C0, C1, C2, C3, C4, SP3, SP4'),
        ({"ladder": 4}, "ladder", "is 4; it should be text in quotation marks or null"),
        ({"needs": {"XX": 1}}, "needs", '"XX" is not one of FR, SR, BR, HB, CE, B3'),
        ({"needs": {"HB": 0}}, "needs, HB", "is 0; it should be 1 to 99"),
        ({"work_rest": "1 to 2"}, "work rest", '"1 to 2" is not work to rest, written like 1:2'),
        ({"work_rest": "1:2\n"}, "work rest", '"1:2\\n" is not work to rest, written like 1:2'),
        ({"video": "<svg/>"}, "", '"video" is no field of the format'),
        ({"diagram": "<svg/>"}, "diagram", 'is "<svg/>"; it should be a set of fields in braces or null'),
        ({"diagram": drawn(area={"width": "5", "length": 5})}, "diagram, area, width", 'is "5"; it should be a number'),
        ({"diagram": drawn(frames=[])}, "diagram, frames", "holds 0 entries; it should hold 1 to 12"),
        ({"grid": {"width": 5, "length": 5}}, "grid, per", "is missing"),
        ({"players": [4, 8, 16]}, "players", "is a list in square brackets; it should be a set of fields in braces"),
        ({"questions": ["a" * 500, "b"]}, "questions, no. 1", "is 500 characters long; a card has room for 120"),
    ],
)
def test_a_wrong_field_is_told_in_words(changes, field, why):
    assert told(**changes) == [(field, why)]


LINE = "one line of text, without blank space at either end and without control characters"


@pytest.mark.parametrize("name", [" x", "x ", "x\n", "x\ny", "a\x00b", "a\x1b[2Jb", "a\ud800b", "a\u2028b", " "])
def test_text_with_control_characters_or_loose_blanks_is_refused(name):
    assert told(name=name) == [("name", f"{json.dumps(name)} is not {LINE}")]


def test_every_missing_field_is_told_once():
    drill = entry()
    del drill["runs"], drill["cues"], drill["players"]["most"]
    assert [(fault.field, fault.why) for fault in entry_faults(drill)] == [
        ("runs", "is missing"),
        ("cues", "is missing"),
        ("players, most", "is missing"),
    ]


def test_a_drill_that_is_no_set_of_fields_is_told_so():
    assert [fault.why for fault in entry_faults(["a"])] == [
        "is a list in square brackets; it should be a set of fields in braces"
    ]


@pytest.mark.parametrize(
    ("pack", "told"),
    [
        (None, ["is null; it should be a set of fields in braces"]),
        ({"drills": [1]}, ["is missing"]),
        ({"format": "plumbline-drills/2", "drills": [1]}, [f'is "plumbline-drills/2"; it should be “{FORMAT}”']),
        ({"format": FORMAT, "drills": []}, ["holds 0 entries; it should hold 1 to 2000"]),
        ({"format": FORMAT, "drills": [None] * 2001}, ["holds 2001 entries; it should hold 1 to 2000"]),
        ({"format": FORMAT, "drills": [1], "club": "x"}, ['"club" is no field of the format']),
    ],
)
def test_a_file_that_is_no_pack_as_a_whole_is_told_why(pack, told):
    assert [fault.why for fault in pack_faults(pack)] == told
