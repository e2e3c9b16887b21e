"""Packs into the library: what a preview tells, and that nothing is ever half-written."""

import datetime as dt
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from drills.actions import export_pack, import_pack
from drills.imports import preview_pack
from drills.models import Drill, DrillSkill
from drills.schema import schema
from shared.cells import Unreadable
from shared.models import AuditEvent
from shared.preview import Outdated, State
from tests import factories as f
from tests.drills.diagrams import drawn
from tests.drills.packs import entries, entry, pack

DAY = dt.date(2026, 10, 6)
LATER = dt.date(2026, 10, 20)
PER_DRILL = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def take(club, content, today=DAY, **more):
    return import_pack(club, content, name="pack.json", by="somebody", today=today, **more)


def told(preview):
    return [(line.where, line.label, str(line.state)) for line in preview.lines]


def test_a_preview_tells_new_changed_same_and_refused_and_writes_nothing(library):
    take(library, pack(entry(number=1), entry(number=2)))
    preview = preview_pack(
        library, pack(entry(number=1), entry(number=2, rpe=9), entry(number=3), entry(number=4, rpe=12))
    )
    assert [str(line.state) for line in preview.lines] == ["same", "changed", "new", "refused"]
    assert [str(change) for change in preview.lines[1].changes] == ["rpe: 6 → 9"]
    assert list(Drill.objects.values_list("number", "rpe")) == [(1, 6), (2, 6)]


def test_a_refused_drill_names_line_field_and_reason(library):
    content = pack(entry(number=1), entry(number=2, cues=["Up", "Go", "a b c d e f g"], rpe=12))
    (line,) = [line for line in preview_pack(library, content).lines if line.state is State.REFUSED]
    lines = content.decode().splitlines()
    assert lines[int(line.where.removeprefix("line ")) - 1].strip() == '"rpe": 12,'
    assert (line.label, line.column, line.reason) == ('"Rope and Cone"', "rpe", "is 12; it should be 1 to 10")


def test_further_faults_of_a_drill_follow_the_first_with_their_lines(library):
    content = pack(entry(cues=["Up", "Go", "a b c d e f g"], step=None))
    (line,) = preview_pack(library, content).lines
    lines = content.decode().splitlines()
    cue, step = lines.index('    "a b c d e f g"') + 1, lines.index('   "step": null,') + 1
    assert (line.where, line.column) == (f"line {cue}", "cues, no. 3")
    assert line.reason == (
        f"has 7 words; a cue that is heard has 6 at most; line {step}: step is missing: which step of ladder A, 0 to 4?"
    )


def test_importing_writes_the_acceptable_and_leaves_out_the_refused(library):
    preview = take(library, pack(entry(number=1), entry(number=2, skills=[])))
    assert [str(line.state) for line in preview.lines] == ["new", "refused"]
    assert list(Drill.objects.values_list("number", "version", "revised_on", "author")) == [(1, 1, DAY, "somebody")]


def test_the_same_pack_twice_changes_nothing(library):
    take(library, pack(entry()))
    before = Drill.objects.get(), AuditEvent.objects.count()
    preview = take(library, pack(entry()), today=LATER)
    assert preview.nothing_to_do
    assert (Drill.objects.get().revised_on, Drill.objects.get().version) == (DAY, 1)
    assert (before[0], AuditEvent.objects.count()) == (Drill.objects.get(), before[1])


def test_a_changed_drill_is_the_next_version_of_the_same_row(library):
    take(library, pack(entry()))
    first = Drill.objects.get()
    take(library, pack(entry(name="Rope Only", skills=[{"skill": "I03", "share": 100, "roles": None}])), today=LATER)
    drill = Drill.objects.get()
    assert (drill.pk, drill.name, drill.version, drill.revised_on) == (first.pk, "Rope Only", 2, LATER)
    assert list(DrillSkill.objects.values_list("skill__code", "share")) == [("I03", 100)]


def without_diagram(**changes):
    drill = entry(**changes)
    del drill["diagram"]
    return drill


def test_a_pack_from_before_there_were_diagrams_is_taken_in_and_takes_no_drawing_away(library):
    take(library, pack(without_diagram(number=1), entry(number=2, diagram=drawn())))
    assert list(Drill.objects.values_list("number", "diagram")) == [(1, None), (2, drawn())]
    preview = take(library, pack(without_diagram(number=1), without_diagram(number=2, rpe=9)), today=LATER)
    assert [str(line.state) for line in preview.lines] == ["same", "changed"]
    assert Drill.objects.get(number=2).diagram == drawn()


def test_a_preview_tells_a_drawing_by_its_size_not_by_its_coordinates(library):
    moved = drawn()
    moved["frames"][0]["objects"][6]["x"] = 2.5
    take(library, pack(entry(number=1), entry(number=2, diagram=drawn()), entry(number=3, diagram=drawn())))
    content = pack(entry(number=1, diagram=drawn()), entry(number=2), entry(number=3, diagram=moved))
    assert [str(change) for line in preview_pack(library, content).lines for change in line.changes] == [
        "diagram: – → 2 frames, 8 objects",
        "diagram: 2 frames, 8 objects → –",
        "diagram: 2 frames, 8 objects → 2 frames, 8 objects, redrawn",
    ]


def test_a_fault_of_a_drawing_is_told_on_its_line(library):
    wrong = drawn()
    wrong["frames"][0]["objects"][3]["x"] = 20.7
    content = pack(entry(diagram=wrong))
    (line,) = preview_pack(library, content).lines
    assert content.decode().splitlines()[int(line.where.removeprefix("line ")) - 1].strip() == '"x": 20.7,'
    assert (line.column, line.reason) == (
        "diagram, frames, no. 1, objects, no. 4, x",
        "is 20.7; it should be 0 to 20",
    )


def test_an_import_is_told_in_the_audit_chain(library):
    take(library, pack(entry(number=1), entry(number=2)))
    take(library, pack(entry(number=2, rpe=9)))
    first, second = AuditEvent.objects.order_by("number")
    assert (first.did, first.actor, first.subject) == ("imported drills", "somebody", "pack.json")
    assert first.detail == {"new": ["#1 Rope and Cone", "#2 Rope and Cone"], "changed": []}
    assert second.detail == {"new": [], "changed": ["#2 Rope and Cone"]}


def test_a_number_that_stands_twice_in_a_pack_is_refused_the_second_time(library):
    first, second = preview_pack(library, pack(entry(number=5), entry(number=5, rpe=1))).lines
    assert (first.where, str(first.state)) == ("line 4", "new")
    assert (second.column, second.reason) == ("number", "5 stands twice in this file, first on line 4")


def test_the_number_of_a_retired_drill_is_not_written_over(library):
    take(library, pack(entry()))
    Drill.objects.update(retired_on=DAY)
    (line,) = preview_pack(library, pack(entry(rpe=9))).lines
    assert line.reason == "#7 Rope and Cone is retired in this club; bring it back first, or take another number"


def test_a_retired_skill_is_no_longer_known(library):
    library.skills.filter(code="U01").update(retired_on=DAY)
    (line,) = preview_pack(library, pack(entry())).lines
    assert line.reason == "the club has no skill U01; add it, or use one it has"


def test_drills_of_another_club_are_neither_seen_nor_touched(library):
    f.DrillFactory(number=7, name="Theirs")
    take(library, pack(entry()))
    assert list(Drill.objects.order_by("pk").values_list("name", "version")) == [("Theirs", 1), ("Rope and Cone", 1)]


def test_a_confirmed_preview_that_has_grown_old_writes_nothing(library):
    content = pack(entry())
    seen = preview_pack(library, content).fingerprint
    take(library, pack(entry(rpe=2)))
    with pytest.raises(Outdated) as outdated:
        take(library, content, seen=seen)
    assert [str(line.state) for line in outdated.value.preview.lines] == ["changed"]
    assert Drill.objects.get().rpe == 2


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"number;name\n1;Rope", "This is no drill pack: line 1, column 1: this is not JSON (Expecting value)."),
        (b"[1,\n2]", "This is no drill pack: line 1: is a list in square brackets; it should be a set of fields in"),
        (b'{\n"format": "x",\n"drills": [1]}', 'This is no drill pack: line 2: format is "x"; it should be “plumb'),
        (b" " * 2_000_001, "The file is larger than 2.0 MB. Split it into several packs."),
    ],
)
def test_a_file_that_is_no_pack_is_refused_as_a_whole(library, content, told):
    with pytest.raises(Unreadable) as refused:
        take(library, content)
    assert str(refused.value).startswith(told)
    assert Drill.objects.count() == 0


def test_a_pack_is_read_by_few_queries_however_long_it_is(library, django_assert_num_queries):
    take(library, pack(*[entry(number=n) for n in range(1, 9)]))
    for length in (1, 8):
        with django_assert_num_queries(5):
            preview_pack(library, pack(*[entry(number=n) for n in range(1, length + 1)]))


@PER_DRILL
@given(drills=st.lists(entries(), min_size=1, max_size=3, unique_by=lambda drill: drill["number"]))
def test_any_valid_pack_comes_back_as_it_went_in(library, drills):
    Drill.objects.all().delete()
    take(library, pack(*drills))
    exported = export_pack(Drill.objects.of(library))
    assert exported["drills"] == sorted(drills, key=lambda drill: drill["number"])
    Draft202012Validator(schema()).validate(exported)
    assert preview_pack(library, json.dumps(exported).encode()).nothing_to_do


def missing(drill, draw):
    del drill[draw(st.sampled_from(sorted(set(drill) - {"diagram"})))]  # older packs lack it


def misshapen(drill, draw):
    field = draw(st.sampled_from(sorted(drill)))
    other = {"deep": [[[]]]} if not isinstance(drill[field], dict) else "text"
    drill[field] = draw(st.sampled_from([other, -1, 10**30, "\x00", [None] * 50, 1.5]))


def broken_shares(drill, draw):
    drill["skills"][0]["share"] += draw(st.sampled_from([-200, -1, 1, 50]))


def unknown_code(drill, draw):
    drill["skills"][0]["skill"] = draw(st.sampled_from(["Q01", "", "i04", "I04 "]))


def falling(drill, draw):
    span = drill[draw(st.sampled_from(["players", "minutes"]))]
    span["least"] = span["most"] + 1


def drawn_outside(drill, draw):
    drill["diagram"] = drawn()
    thing = draw(st.sampled_from(drill["diagram"]["frames"][0]["objects"]))
    thing[draw(st.sampled_from("xy"))] = draw(st.sampled_from([-0.1, 20.1, 0.25, "3"]))


def unsafe(drill, draw):
    drill.update(rung="C4", contact_share=20, contacts={"least": 1, "most": 2}, safety=drill["safety"][:1])


@PER_DRILL
@given(drill=entries(), data=st.data())
def test_a_mutated_drill_is_refused_with_its_place_and_leaves_the_database_as_it_was(library, drill, data):
    Drill.objects.all().delete()
    take(library, pack(drill))
    before = export_pack(Drill.objects.of(library)), list(Drill.objects.values()), AuditEvent.objects.count()
    mutate = data.draw(
        st.sampled_from([missing, misshapen, broken_shares, unknown_code, falling, unsafe, drawn_outside])
    )
    mutate(drill, data.draw)
    preview = take(library, pack(drill), today=LATER)
    (line,) = preview.lines
    assert str(line.state) == "refused"
    assert line.where.removeprefix("line ").isdecimal()
    assert line.reason
    assert (export_pack(Drill.objects.of(library)), list(Drill.objects.values()), AuditEvent.objects.count()) == before


@PER_DRILL
@given(data=st.data())
def test_a_pack_cut_or_garbled_anywhere_is_refused_or_read_but_never_half_written(library, data):
    Drill.objects.all().delete()
    content = bytearray(pack(entry(number=1), entry(number=2)))
    place = data.draw(st.integers(0, len(content) - 1))
    if data.draw(st.booleans()):
        del content[place:]
    else:
        content[place] = data.draw(st.integers(0, 255))
    try:
        preview = take(library, bytes(content))
    except Unreadable:
        assert Drill.objects.count() == 0
    else:
        assert Drill.objects.count() == preview.count(State.NEW)
