"""The versions of a drill: each is kept once and for good, compared in words, shown, brought back."""

import datetime as dt
import importlib

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils.html import escape

from drills.actions import (
    DrillRefused,
    EditedMeanwhile,
    add_drill,
    add_starter_library,
    bring_back_version,
    edit_drill,
    import_pack,
)
from drills.entries import entry_of
from drills.models import Drill, DrillText, DrillVersion
from drills.versions import Difference, Words, as_it_was, differences, kept_versions, version_on
from shared.models import AuditEvent
from tests import factories as f
from tests.drills.packs import entry, pack

DAY = dt.date(2026, 10, 6)
LATER = dt.date(2026, 10, 20)


@pytest.fixture
def edited(drill, assistant):
    """Version 2 of the drill, by somebody else."""
    return edit_drill(drill, entry(rpe=7), version=1, by=assistant, today=LATER)


def at(name, **words):
    return reverse(name, kwargs={"club": "brackenford", "number": 7, **words})


def rows(drill):
    return list(DrillVersion.objects.filter(drill=drill).order_by("version"))


def present(drill):
    return Drill.objects.for_card().get(pk=drill.pk)


def test_an_edit_keeps_what_the_drill_said_before(edited):
    first, second = rows(edited)
    assert (first.version, first.made_on, first.author, first.entry) == (1, DAY, "head", entry())
    assert (second.version, second.made_on, second.author, second.entry) == (2, LATER, "assistant", entry(rpe=7))


def test_a_drill_of_a_pack_is_kept_with_each_change_and_not_without(library):
    for content in (pack(entry()), pack(entry()), pack(entry(rpe=9))):
        import_pack(library, content, name="pack.json", by="somebody", today=DAY)
    assert [kept.entry["rpe"] for kept in rows(Drill.objects.get())] == [6, 9]


def test_every_starter_drill_has_its_first_version(club):
    add_starter_library(club, by="somebody", today=DAY)
    kept = dict(DrillVersion.objects.values_list("drill", "entry"))
    assert kept == {drill.pk: entry_of(drill) for drill in Drill.objects.of(club).for_card()}


def test_an_edit_that_is_refused_keeps_no_version(drill, head):
    with pytest.raises(DrillRefused):
        edit_drill(drill, entry(rpe=0), version=1, by=head, today=LATER)
    assert len(rows(drill)) == 1


def test_an_edit_whose_version_cannot_be_kept_is_no_edit(drill, head):
    DrillVersion.objects.create(drill=drill, version=2, made_on=DAY, entry={})
    with pytest.raises(IntegrityError), transaction.atomic():
        edit_drill(drill, entry(rpe=7), version=1, by=head, today=LATER)
    assert (present(drill).version, present(drill).rpe) == (1, 6)


def test_a_version_is_kept_once(drill):
    with pytest.raises(IntegrityError), transaction.atomic():
        DrillVersion.objects.create(drill=drill, version=1, made_on=DAY, entry={})
    with pytest.raises(IntegrityError), transaction.atomic():
        DrillVersion.objects.create(drill=drill, version=0, made_on=DAY, entry={})
    assert DrillVersion.objects.create(drill=drill, version=2, made_on=DAY, entry={}).pk


def test_a_kept_version_is_neither_changed_nor_deleted(drill):
    (kept,) = rows(drill)
    kept.author = "somebody else"
    for change in (kept.save, kept.delete, lambda: DrillVersion.objects.update(author="x")):
        with pytest.raises(TypeError, match="a kept version is never"):
            change()
    assert [row.author for row in rows(drill)] == ["head"]


def test_what_changed_is_told_field_by_field_in_words(library):
    before = entry(rpe=6, cues=["Feet level", "Look in, look out", "Up together"])
    after = entry(
        rpe=7,
        cues=["Up together", "Low and long", "Feet level"],
        skills=[{"skill": "I04", "share": 100, "roles": None}],
        players={"least": 4, "ideal": 8, "most": 12},
        groups=["HB", "FR"],
        kit=[{"item": "balls", "count": 2, "per": None}],
        ladder=None,
        step=None,
        success="9 of 10 level",
        rung="C2",
    )
    assert list(differences(before, after, Words.of(library))) == [
        Difference("Skills", ("Skill I04 60 %", "Skill U01 40 % (HB)"), ("Skill I04 100 %",)),
        Difference("Who fits", (), (), moved=True),
        Difference("Players", ("least 4, ideal 8, most 16",), ("least 4, ideal 8, most 12",)),
        Difference("Kit", ("4 cones for every 4",), ()),
        Difference("Cues", ("Look in, look out",), ("Low and long",)),
        Difference("Success measure", ("8 of 10 level",), ("9 of 10 level",)),
        Difference("Expected RPE", ("6",), ("7",)),
        Difference("Rung", ("C3 Controlled",), ("C2 Bags and pads",)),
        Difference("Ladder", ("A Ladder A",), ()),
        Difference("Step on the ladder", ("3",), ()),
    ]


def test_parts_of_a_span_are_told_in_their_order_whatever_the_order_of_a_database(library):
    before, after = (
        entry(),
        entry(minutes={"most": 14, "ideal": 8, "least": 5}, grid={"per": 4, "length": 20, "width": 9}),
    )
    assert [each.short for each in differences(before, after, Words.of(library))] == [
        "width 10, length 20, per 4 → width 9, length 20, per 4",
        "least 5, ideal 8, most 12 → least 5, ideal 8, most 14",
    ]


def test_each_version_tells_what_it_changed_newest_first(edited):
    second, first = kept_versions(edited, Words.of(edited.club))
    assert [each.label for each in second.differences] == ["Expected RPE"]
    assert (first.is_first, first.differences, second.is_first) == (True, (), False)


def test_the_drill_as_it_was_says_what_its_version_said(edited):
    was = as_it_was(edited, rows(edited)[0], Words.of(edited.club))
    assert entry_of(was) == entry()
    assert (was.version, was.revised_on, str(was)) == (1, DAY, "#7 Rope and Cone")


def test_an_old_version_is_told_even_if_its_skill_and_ladder_are_gone_and_fields_have_come_since(drill):
    old = entry(skills=[{"skill": "Z9", "share": 100, "roles": None}], ladder="Z")
    del old["diagram"]
    kept = DrillVersion(drill=drill, version=1, made_on=DAY, entry=old)
    was = as_it_was(drill, kept, Words.of(drill.club))
    assert [taught.skill.name for taught in was.skill_shares.all()] == ["Z9"]
    assert (was.ladder.name, was.diagram) == ("Z", None)


@pytest.mark.parametrize(
    ("day", "version"),
    [(DAY - dt.timedelta(1), None), (DAY, 1), (LATER - dt.timedelta(1), 1), (LATER, 2), (dt.date(2027, 1, 1), 2)],
)
def test_the_version_of_a_day_is_the_last_one_made_by_then(edited, day, version):
    found = version_on(edited, day)
    assert (found and found.version) == version


def test_bringing_back_makes_a_new_version_with_the_old_text(edited, head):
    back = bring_back_version(edited, rows(edited)[0], version=2, by=head, today=LATER)
    assert entry_of(present(back)) == entry()
    assert [(kept.version, kept.entry["rpe"], kept.why) for kept in rows(back)] == [
        (1, 6, ""),
        (2, 7, ""),
        (3, 6, "version 1 brought back"),
    ]
    told = AuditEvent.objects.order_by("number").last()
    assert told.detail == {"version": 3, "changes": ["rpe: 7 → 6"], "why": "version 1 brought back"}


def test_bringing_back_what_stands_is_no_version(drill, head):
    assert bring_back_version(drill, rows(drill)[0], version=1, by=head, today=LATER).version == 1
    assert len(rows(drill)) == 1


def test_bringing_back_over_a_newer_edit_is_refused(edited, head):
    with pytest.raises(EditedMeanwhile):
        bring_back_version(edited, rows(edited)[0], version=1, by=head, today=LATER)
    assert present(edited).version == 2


def test_a_version_with_a_skill_since_retired_comes_back_but_not_with_one_that_is_gone(library, head):
    old = entry(skills=[{"skill": "B06", "share": 100, "roles": None}])
    drill = edit_drill(add_drill(library, old, by=head, today=DAY), entry(), version=1, by=head, today=DAY)
    library.skills.filter(code="B06").update(retired_on=DAY)
    back = bring_back_version(drill, rows(drill)[0], version=2, by=head, today=LATER)
    assert entry_of(present(back)) == old
    drill = edit_drill(back, entry(), version=3, by=head, today=LATER)
    library.skills.filter(code="B06").delete()
    with pytest.raises(DrillRefused, match="the club has no skill B06"):
        bring_back_version(drill, rows(drill)[0], version=4, by=head, today=LATER)


def test_a_drill_that_stood_before_versions_were_kept_gets_its_own(library):
    drill = f.DrillFactory(club=library, number=3, version=4, author="head", skills={"I04": 60, "U01": 40})
    DrillText.objects.all().delete()
    migration = importlib.import_module("drills.migrations.0005_keep_present_versions")
    for _twice in range(2):
        migration.keep_present_versions(apps, None)
    (kept,) = rows(drill)
    stood = entry_of(present(drill))
    del stood["diagram"]
    assert (kept.version, kept.made_on, kept.author, kept.entry) == (4, drill.revised_on, "head", stood)
    assert list(Drill.objects.of(library).saying("HOLD nobody", {})) == [drill]


# Pages


def test_the_page_of_versions_tells_who_when_and_what(edited, assistant, log_in):
    page = log_in(assistant).get(at("drill_versions")).content.decode()
    for text in ("Version 2 of 20 Oct 2026", "Version 1 of 6 Oct 2026", "Expected RPE", "assistant", "head"):
        assert text in page


def test_any_two_versions_can_be_compared_by_their_address(edited, head, log_in):
    edit_drill(edited, entry(rpe=7, success="All level"), version=2, by=head, today=LATER)
    client = log_in(head)
    page = client.get(at("drill_versions") + "?before=1&after=3")
    assert [each.label for each in page.context["between"]] == ["Success measure", "Expected RPE"]
    page = client.get(at("drill_versions") + "?before=1&after=9")
    assert page.context["between"] is None
    assert "9 is not one of the available choices" in page.content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_versions_takes_the_same_queries_for_any_number(
    drill, head, log_in, count, django_assert_num_queries
):
    for version in range(1, count + 1):
        edit_drill(drill, entry(rpe=1 + version), version=version, by=head, today=LATER)
    client = log_in(head)
    with django_assert_num_queries(9):  # session, user, membership, drill, shares, skills; skills, ladders, versions
        client.get(at("drill_versions"))


def test_an_old_version_is_shown_as_it_was_and_cannot_be_changed(edited, assistant, log_in):
    page = log_in(assistant).get(at("drill_version", version=1)).content.decode()
    assert "version 1 of 6 Oct 2026, kept for the record" in page
    assert [text in page for text in (escape("Rope and Cone"), "Bring back version 1", "Edit")] == [True, False, False]


def test_an_old_version_comes_back_by_its_button(edited, head, log_in):
    client = log_in(head)
    assert "Bring back version 1" in client.get(at("drill_version", version=1)).content.decode()
    client.post(at("drill_version_bring_back", version=1), {"seen": "2"})
    assert (present(edited).version, present(edited).rpe) == (3, 6)
    page = client.post(at("drill_version_bring_back", version=2), {"seen": "2"}, follow=True)
    assert "Nothing was changed: #7 Rope and Cone is version 3 by now." in page.content.decode()
    assert present(edited).version == 3


def test_an_old_version_is_printed_as_a_card(edited, assistant, log_in):
    printed = log_in(assistant).get(at("drill_version_pdf", version=1))
    assert (printed["Content-Type"], printed.content[:5]) == ("application/pdf", b"%PDF-")


def test_a_version_that_there_is_not_and_one_of_another_club_do_not_exist(edited, stranger, head, log_in):
    assert log_in(head).get(at("drill_version", version=3)).status_code == 404
    assert log_in(stranger).get(at("drill_version", version=1)).status_code == 404


# A card adapted from another


def test_a_copy_begins_with_the_text_of_its_model_and_says_where_it_came_from(edited, head, log_in):
    client = log_in(head)
    page = client.get(at("drill_copy"))
    form = page.context["editor"].form
    assert (form["number"].value(), form["name"].value(), form["rpe"].value()) == (8, "Rope and Cone", 7)
    made = add_drill(edited.club, entry(number=8, rpe=7), by=head, today=LATER, like=present(edited))
    assert (made.adapted_from, made.adapted_version, made.version) == (edited, 2, 1)
    told = AuditEvent.objects.order_by("number").last()
    assert told.detail == {"adapted from": "#7 Rope and Cone, version 2"}
    page = client.get(reverse("drill", kwargs={"club": "brackenford", "number": 8})).content.decode()
    assert "Adapted from" in page
    assert present(edited).version == 2


def test_a_pack_says_nothing_of_where_a_card_came_from(drill, head):
    made = add_drill(drill.club, entry(number=8), by=head, today=DAY, like=present(drill))
    assert entry_of(present(made)) == entry(number=8)
