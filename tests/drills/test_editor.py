"""The form of a drill: what it shows is what comes back, and faults stand beside their inputs."""

from typing import Any

import pytest
from django.http import QueryDict
from django.urls import reverse
from hypothesis import HealthCheck, given, settings

from drills.actions import add_drill, add_starter_library, edit_drill, starter_entries
from drills.editor import DrillEditor
from drills.entries import entry_of
from drills.models import Drill
from shared.clock import today_at
from shared.models import AuditEvent
from tests.drills.packs import entries, entry


@pytest.fixture
def drill(library):
    return add_drill(library, entry(), by="somebody", today=today_at(library))


def sent(editor: DrillEditor, **changes: Any) -> QueryDict:
    """What a browser would send of this form after these changes."""
    data = QueryDict(mutable=True)
    for part in (editor.form, *(form for _title, rows in editor.tables for form in (rows.management_form, *rows))):
        for field in part:
            value = field.value()
            data.setlist(field.html_name, value if isinstance(value, list) else ["" if value is None else str(value)])
    for name, value in changes.items():
        data.setlist(name.replace("__", "-"), value if isinstance(value, list) else [str(value)])
    return data


def save(drill, **changes):
    club = drill.club
    drill = Drill.objects.for_card().get(pk=drill.pk)
    editor = DrillEditor(sent(DrillEditor(None, club=club, drill=drill), **changes), club=club, drill=drill)
    assert editor.is_valid(), editor.form.errors
    return edit_drill(drill, editor.entry, version=editor.version, by="somebody", today=today_at(club))


def posted(client, drill, **changes):
    editor = DrillEditor(None, club=drill.club, drill=Drill.objects.for_card().get(pk=drill.pk))
    address = reverse("drill_edit", kwargs={"club": drill.club.slug, "number": drill.number})
    return client.post(address, sent(editor, **changes).urlencode(), "application/x-www-form-urlencoded", follow=True)


def test_saving_the_form_untouched_changes_no_starter_drill(club):
    add_starter_library(club, by="somebody", today=today_at(club))
    for drill in Drill.objects.of(club).for_card():
        assert save(drill).version == 1, drill
    assert [entry_of(drill) for drill in Drill.objects.of(club).for_card()] == starter_entries()


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(made=entries())
def test_saving_the_form_untouched_changes_hardly_any_drill_that_a_pack_may_bring(library, made):
    """Only blanks within a line may close up, because a browser's text field cannot tell them apart."""
    Drill.objects.all().delete()
    drill = add_drill(library, made, by="somebody", today=today_at(library))
    saved = save(drill)
    if saved.version != 1:
        assert closed_up(entry_of(Drill.objects.for_card().get())) == closed_up(made)


def closed_up(value):
    if isinstance(value, dict):
        return {key: closed_up(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [closed_up(inner) for inner in value]
    return " ".join(value.split()) if isinstance(value, str) else value


def test_an_edit_on_the_page_is_the_next_version(drill, head, log_in):
    page = posted(log_in(head), drill, name="Rope Only", cues="Feet level\n\n Look in \nUp together", needs_FR=2)
    assert [str(message) for message in page.context["messages"]] == ["#7 Rope Only is version 2."]
    after = entry_of(Drill.objects.for_card().get())
    assert after == entry(name="Rope Only", cues=["Feet level", "Look in", "Up together"], needs={"FR": 2, "HB": 1})


def test_rows_of_a_table_are_added_changed_and_emptied(drill, head, log_in):
    posted(
        log_in(head),
        drill,
        skills__0__share=50,
        skills__2__skill="B06",
        skills__2__share=10,
        skills__2__roles="HB, 15",
        kit__0__item="",
        kit__2__item="bibs",
        kit__2__count=8,
    )
    after = entry_of(Drill.objects.for_card().get())
    assert after["skills"] == [
        {"skill": "I04", "share": 50, "roles": None},
        {"skill": "U01", "share": 40, "roles": ["HB"]},
        {"skill": "B06", "share": 10, "roles": ["HB", "15"]},
    ]
    assert after["kit"] == [{"item": "balls", "count": 2, "per": None}, {"item": "bibs", "count": 8, "per": None}]


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"players_ideal": 90}, "players_least", "least 4, ideal 90, most 16: put them in rising order"),
        (
            {"cues": "Up\nGo\none two three four five six seven"},
            "cues",
            "cues, no. 3: has 7 words; a cue that is heard has 6 at most",
        ),
        ({"rpe": 40}, "rpe", "is 40; it should be 1 to 10"),
        ({"safety": "Jog only."}, "safety", "has 1 notes; from C1 up a card carries 2 of its own or more"),
        (
            {"contacts_least": 0},
            "contacts_least",
            "from 0, but at C3 every player meets contact; say how often at least",
        ),
        ({"work_rest": "1-2"}, "work_rest", '"1-2" is not work to rest, written like 1:2'),
        ({"skills__0__share": 10}, "__all__", "skills: the shares sum to 50; make them sum to 100"),
        ({"groups": ["all", "HB"]}, "groups", "“all” includes every other group; write it alone, or leave it out"),
        ({"faults__1__fault": ""}, "__all__", "faults: holds 2 entries; it should hold 3"),
        ({"purpose": ""}, "purpose", "This field is required."),
    ],
)
def test_a_fault_stands_beside_its_input_and_nothing_is_saved(drill, head, log_in, changes, field, why):
    page = posted(log_in(head), drill, **changes)
    assert page.context["editor"].form.errors == {field: [why]}
    assert "Nothing was saved." in page.content.decode()
    assert entry_of(Drill.objects.for_card().get()) == entry()


def test_a_role_that_there_is_not_is_told_in_its_row(drill, head, log_in):
    page = posted(log_in(head), drill, skills__0__skill="", skills__0__share="", skills__1__roles="hb scrum")
    editor = page.context["editor"]
    known = "FR, SR, BR, HB, CE, B3, forwards, backs, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15"
    assert editor.skills.errors[1] == {"roles": [f'"scrum" is not one of {known}']}
    assert entry_of(Drill.objects.for_card().get()) == entry()


def test_roles_may_be_typed_as_people_type_them(drill):
    save(drill, skills__0__roles="hb, Backs  hb 9")
    assert entry_of(Drill.objects.for_card().get())["skills"][0]["roles"] == ["HB", "backs", "9"]


def test_a_row_half_filled_is_told_in_its_row(drill, head, log_in):
    page = posted(log_in(head), drill, skills__1__share="", faults__0__fix="")
    editor = page.context["editor"]
    assert [editor.skills.errors[1], editor.faults.errors[0]] == [
        {"share": ["Fill this in, or empty the row."]},
        {"fix": ["Fill this in, or empty the row."]},
    ]
    assert Drill.objects.get().version == 1


def test_what_was_typed_is_still_there_after_a_refusal(drill, head, log_in):
    page = posted(log_in(head), drill, name="Half done", rpe=40).content.decode()
    assert 'value="Half done"' in page


def test_two_people_who_edit_at_once_do_not_overwrite_each_other(drill, head, log_in):
    stale = sent(DrillEditor(None, club=drill.club, drill=drill), name="Second")
    posted(log_in(head), drill, name="First")
    address = reverse("drill_edit", kwargs={"club": drill.club.slug, "number": 7})
    page = log_in(head).post(address, stale.urlencode(), "application/x-www-form-urlencoded")
    assert page.context["editor"].form.non_field_errors() == [
        "#7 First is version 2 by now. Nothing was saved: open its card beside this, then edit again."
    ]
    assert Drill.objects.get().name == "First"


def test_the_number_cannot_be_changed_by_hand(drill, head, log_in):
    posted(log_in(head), drill, number=99, name="Moved")
    assert list(Drill.objects.values_list("number", "name")) == [(7, "Moved")]


def test_a_new_drill_gets_the_next_number_and_is_added(drill, head, log_in):
    client = log_in(head)
    address = reverse("drill_new", kwargs={"club": drill.club.slug})
    page = client.get(address)
    assert page.context["editor"].form["number"].value() == 8
    data = sent(DrillEditor(None, club=drill.club, drill=drill), number=8, name="Fresh", version="")
    for rows in ("skills", "kit", "faults"):
        data[f"{rows}-INITIAL_FORMS"] = "0"
    page = client.post(address, data.urlencode(), "application/x-www-form-urlencoded", follow=True)
    assert [str(message) for message in page.context["messages"]] == ["#8 Fresh is version 1."]
    assert entry_of(Drill.objects.for_card().get(number=8)) == entry(number=8, name="Fresh")
    assert AuditEvent.objects.order_by("number").last().did == "added a drill"


def test_a_number_in_use_is_told_beside_it(drill, head, log_in):
    data = sent(DrillEditor(None, club=drill.club, drill=drill), version="")
    for rows in ("skills", "kit", "faults"):
        data[f"{rows}-INITIAL_FORMS"] = "0"
    address = reverse("drill_new", kwargs={"club": drill.club.slug})
    page = log_in(head).post(address, data.urlencode(), "application/x-www-form-urlencoded")
    assert page.context["editor"].form.errors == {"number": ["7 is the number of another drill"]}


@pytest.mark.parametrize("tables", [{}, {"skills-TOTAL_FORMS": "x"}, {"skills-TOTAL_FORMS": "9999999"}])
def test_a_form_that_no_browser_sends_is_refused(drill, head, log_in, tables):
    address = reverse("drill_edit", kwargs={"club": drill.club.slug, "number": 7})
    page = log_in(head).post(address, {"name": "Odd", **tables})
    assert page.status_code == 200
    assert "Nothing was saved." in page.content.decode()
    assert Drill.objects.get().name == "Rope and Cone"
