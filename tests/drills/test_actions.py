"""Verbs of the library on single drills."""

import datetime as dt

import pytest

from drills.actions import DrillRefused, EditedMeanwhile, add_drill, bring_back_drill, edit_drill, retire_drill
from drills.entries import entry_of
from drills.models import Drill
from shared.models import AuditEvent
from tests import factories as f
from tests.drills.packs import entry

DAY = dt.date(2026, 10, 6)
LATER = dt.date(2026, 10, 20)


def stored(drill):
    return entry_of(Drill.objects.for_card().get(pk=drill.pk))


def test_an_added_drill_says_what_its_entry_says(drill):
    assert stored(drill) == entry()
    assert (drill.version, drill.revised_on, drill.author) == (1, DAY, "head")


def test_a_drill_that_breaks_a_rule_is_not_added(library, head):
    with pytest.raises(DrillRefused) as refused:
        add_drill(library, entry(rpe=0), by=head, today=DAY)
    assert [(fault.field, fault.why) for fault in refused.value.faults] == [("rpe", "is 0; it should be 1 to 10")]
    assert Drill.objects.count() == 0


def test_a_number_is_given_once(drill, library, head):
    with pytest.raises(DrillRefused, match="7 is the number of another drill"):
        add_drill(library, entry(name="Other"), by=head, today=DAY)


def test_an_edit_is_the_next_version(drill, head):
    edited = edit_drill(drill, entry(rpe=7), version=1, by=head, today=LATER)
    assert (edited.version, edited.revised_on, edited.author) == (2, LATER, "head")
    assert stored(drill) == entry(rpe=7)
    event = AuditEvent.objects.order_by("number").last()
    assert (event.did, event.subject, event.detail) == (
        "changed a drill",
        "#7 Rope and Cone",
        {"version": 2, "changes": ["rpe: 6 → 7"]},
    )


def test_an_edit_that_changes_nothing_is_no_version(drill, head):
    assert edit_drill(drill, entry(), version=1, by=head, today=LATER).version == 1
    assert AuditEvent.objects.count() == 1


def test_an_edit_of_an_older_version_is_not_saved(drill, head):
    edit_drill(drill, entry(rpe=7), version=1, by=head, today=DAY)
    with pytest.raises(EditedMeanwhile, match="is version 2 by now"):
        edit_drill(drill, entry(rpe=8), version=1, by=head, today=LATER)
    assert stored(drill) == entry(rpe=7)


def test_an_edit_that_breaks_a_rule_is_not_saved(drill, head):
    skills = [{"skill": "I04", "share": 50, "roles": None}]
    with pytest.raises(DrillRefused, match="the shares sum to 50"):
        edit_drill(drill, entry(skills=skills), version=1, by=head, today=LATER)
    assert stored(drill) == entry()


def test_the_number_of_a_drill_stays(drill, head):
    with pytest.raises(DrillRefused, match="number stays 7: prints carry it"):
        edit_drill(drill, entry(number=8), version=1, by=head, today=LATER)


def test_a_retired_drill_leaves_the_library_and_comes_back(drill, head, library):
    retire_drill(drill, by=head, today=LATER)
    assert list(Drill.objects.of(library).current()) == []
    assert Drill.objects.get().retired_on == LATER
    bring_back_drill(drill, by=head)
    assert list(Drill.objects.of(library).current()) == [drill]
    told = list(AuditEvent.objects.order_by("number").values_list("did", flat=True))
    assert told == ["added a drill", "retired a drill", "brought back a drill"]


def test_retiring_twice_is_told_once(drill, head):
    retire_drill(drill, by=head, today=DAY)
    retire_drill(drill, by=head, today=LATER)
    assert Drill.objects.get().retired_on == DAY
    assert AuditEvent.objects.filter(did="retired a drill").count() == 1


def test_drills_of_a_plan_can_be_retired(drill, head):
    f.SessionFactory(squad=f.SquadFactory(club=drill.club))
    retire_drill(drill, by=head, today=DAY)
    assert Drill.objects.get().retired_on == DAY
