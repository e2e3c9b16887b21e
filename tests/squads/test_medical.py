"""Medical notes: who writes, who reads on which ground, what is on record, and when they are deleted."""

import datetime as dt
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.urls import reverse

from shared.audit import broken_in, confidential
from shared.clock import today_at
from shared.models import AuditEvent
from squads.actions import Refused
from squads.clearance_actions import close_return, start_return
from squads.medical_actions import (
    consent_of,
    delete_old_notes,
    keep_notes_for,
    months_before,
    read_notes,
    record_consent,
    write_note,
)
from squads.medical_models import Ground, MedicalConsent, MedicalKeeping, MedicalNote, NoteReading
from tests import factories as f

pytestmark = pytest.mark.django_db
WORDS = "Sprained on the wet bank."


@pytest.fixture
def today(club):
    return today_at(club)


@pytest.fixture
def ann(squad):
    return f.PlayerFactory(squad=squad, given_name="Ann", family_name="Ferris")


@pytest.fixture
def note(ann, medic):
    return write_note(player=ann, text=WORDS, by=medic)


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def consent(player, by, given=True, on=None):
    return record_consent(
        player=player, given=given, said_by="Ann Ferris", said_on=on or today_at(player.squad.club), by=by
    )


def readings():
    return list(NoteReading.objects.values_list("reader", "ground", "need"))


# Reading


def test_a_medical_role_writes_and_reads_a_note(ann, medic, log_in):
    client = log_in(medic)
    answer = client.post(url("medical_notes", player=ann.pk), {"text": WORDS}, follow=True)
    assert WORDS in answer.content.decode()
    assert readings() == [("medic", "role", "")]


def test_each_opening_is_in_the_confidential_chain(club, ann, note, welfare):
    read_notes(player=ann, ground=Ground.SAFEGUARDING, need="a report by a parent", by=welfare)
    chain = AuditEvent.objects.filter(club=confidential(club))
    assert list(chain.values_list("actor", "did", "subject")) == [
        ("medic", "wrote a note", "Ann Ferris"),
        ("welfare", "read the notes", "Ann Ferris"),
    ]
    assert chain.last().detail == {"player": ann.pk, "ground": "safeguarding"}
    assert list(broken_in(confidential(club))) == []


def test_an_opening_without_any_note_is_on_record_too(ann, welfare):
    assert read_notes(player=ann, ground=Ground.SAFEGUARDING, need="a report", by=welfare) == []
    assert readings() == [("welfare", "safeguarding", "a report")]


def test_no_consent_no_note_for_the_welfare_officer(ann, note, welfare, log_in):
    answer = log_in(welfare).post(url("medical_asked", player=ann.pk), {"ground": "consent"})
    assert WORDS not in answer.content.decode()
    assert "No consent stands." in answer.content.decode()
    assert readings() == []


def test_with_recorded_consent_the_welfare_officer_reads(ann, note, medic, welfare, log_in):
    consent(ann, medic)
    answer = log_in(welfare).post(url("medical_asked", player=ann.pk), {"ground": "consent"})
    assert WORDS in answer.content.decode()
    assert readings() == [("welfare", "consent", "")]


def test_consent_that_is_taken_back_opens_nothing(ann, note, medic, welfare):
    consent(ann, medic)
    consent(ann, medic, given=False)
    assert consent_of(ann) is None
    with pytest.raises(Refused, match="No consent stands"):
        read_notes(player=ann, ground=Ground.CONSENT, by=welfare)


def test_a_safeguarding_need_must_be_named(ann, note, welfare, log_in):
    client = log_in(welfare)
    answer = client.post(url("medical_asked", player=ann.pk), {"ground": "safeguarding", "need": " "})
    assert "Name the safeguarding need." in answer.content.decode()
    answer = client.post(url("medical_asked", player=ann.pk), {"ground": "safeguarding", "need": "a report"})
    assert WORDS in answer.content.decode()
    assert readings() == [("welfare", "safeguarding", "a report")]
    with pytest.raises(Refused, match="Name"):
        read_notes(player=ann, ground=Ground.SAFEGUARDING, by=welfare)


def test_the_welfare_officer_cannot_claim_a_medical_role(ann, note, welfare, log_in):
    answer = log_in(welfare).post(url("medical_asked", player=ann.pk), {"ground": "role"})
    assert WORDS not in answer.content.decode()
    assert readings() == []


def test_the_page_that_asks_is_the_same_with_and_without_a_note(ann, medic, welfare, log_in):
    client = log_in(welfare)
    before = client.get(url("medical_asked", player=ann.pk)).content
    write_note(player=ann, text=WORDS, by=medic)
    after = client.get(url("medical_asked", player=ann.pk)).content
    assert len(before) == len(after)


@pytest.mark.parametrize("name", ["medical_notes", "medical_consent"])
def test_no_browser_keeps_a_page_of_notes(name, ann, medic, log_in):
    answer = log_in(medic).get(url(name, player=ann.pk))
    assert "no-store" in answer.headers["Cache-Control"]


def test_the_medical_roles_see_who_opened_the_notes_and_why(ann, note, medic, welfare, log_in):
    read_notes(player=ann, ground=Ground.SAFEGUARDING, need="a report by a parent", by=welfare)
    page = log_in(medic).get(url("medical_notes", player=ann.pk)).content.decode()
    assert 'welfare <span class="help">a safeguarding need: a report by a parent' in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_the_same_queries_for_any_number_of_notes(count, ann, medic, log_in, django_assert_num_queries):
    for _ in range(count):
        write_note(player=ann, text=WORDS, by=medic)
    client = log_in(medic)
    # Session, user, membership, player; savepoint, reading, chain (4), notes, release; consent, readings, keeping.
    with django_assert_num_queries(15):
        client.get(url("medical_notes", player=ann.pk))


def test_consent_of_tomorrow_is_refused(ann, medic, today):
    with pytest.raises(Refused, match="still to come"):
        consent(ann, medic, on=today + dt.timedelta(days=1))
    assert not MedicalConsent.objects.exists()


def test_consent_is_recorded_on_its_page(ann, medic, log_in, today):
    told = {"given": "yes", "said_by": "Ann Ferris", "said_on": today.isoformat()}
    log_in(medic).post(url("medical_consent", player=ann.pk), told)
    found = consent_of(ann)
    assert (found.said_by, found.said_on, found.entered_by) == ("Ann Ferris", today, "medic")


def test_notes_of_another_club_do_not_exist(ann, stranger, log_in):
    club = stranger.memberships.get().club
    other = f.MembershipFactory(club=club, role="medical").user
    answer = log_in(other).get(reverse("medical_notes", kwargs={"club": club.slug, "player": ann.pk}))
    assert answer.status_code == 404


# The rows


def test_a_note_is_never_changed(note):
    note.text = "other"
    with pytest.raises(TypeError):
        note.save()
    with pytest.raises(TypeError):
        MedicalNote.objects.update(text="other")


@pytest.mark.parametrize(
    ("model", "fields"),
    [
        (MedicalNote, {"text": ""}),
        (MedicalConsent, {"given": True, "said_by": "", "said_on": dt.date(2026, 10, 3)}),
        (NoteReading, {"reader": "x", "ground": "curiosity"}),
        (NoteReading, {"reader": "x", "ground": "safeguarding", "need": ""}),
    ],
)
def test_the_database_refuses_a_row_that_lacks_what_it_needs(ann, model, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.create(player=ann, **fields)


@pytest.mark.parametrize("months", [0, 601])
def test_the_database_refuses_a_time_of_keeping_without_sense(club, months):
    with pytest.raises(IntegrityError), transaction.atomic():
        MedicalKeeping.objects.create(club=club, months=months)


# How long they are kept


def written_on(note, day):
    MedicalNote.objects.filter(pk=note.pk).delete()
    MedicalNote(pk=note.pk, player=note.player, text=note.text, written_by="medic").save(force_insert=True)
    models_update(MedicalNote, note.pk, written_at=dt.datetime.combine(day, dt.time(12), dt.UTC))


def models_update(model, key, **fields):
    """Past the rule that rows are never changed, as time itself would."""
    from django.db.models import QuerySet

    QuerySet(model).filter(pk=key).update(**fields)


def delete(club, today, confirm=True):
    return delete_old_notes(club=club, today=today, by="test", confirm=confirm)


def test_without_a_time_nothing_is_deleted(club, note, today):
    written_on(note, today - dt.timedelta(days=9000))
    assert delete(club, today) is None
    assert MedicalNote.objects.exists()


def test_a_note_goes_when_its_months_are_over_and_not_a_day_before(club, note, medic, today):
    keep_notes_for(club=club, months=6, by=medic)
    last = months_before(today, 6)
    written_on(note, last)
    assert delete(club, today) == 0
    written_on(note, last - dt.timedelta(days=1))
    assert delete(club, today, confirm=False) == 1
    assert MedicalNote.objects.exists()
    assert delete(club, today) == 1
    assert not MedicalNote.objects.exists()


def test_a_note_stays_while_the_return_is_under_way(club, ann, note, medic, today):
    keep_notes_for(club=club, months=1, by=medic)
    written_on(note, today - dt.timedelta(days=99))
    told = {"decided_by": "P. Hollin", "decided_as": "first aider", "by": medic}
    case = start_return(player=ann, union="by-hand", day=today - dt.timedelta(days=100), **told)
    assert delete(club, today) == 0
    close_return(case=case, medical=True, **told)
    assert delete(club, today) == 1


def test_notes_of_another_club_are_left_alone(club, note, medic, stranger, today):
    other = stranger.memberships.get().club
    keep_notes_for(club=other, months=1, by=stranger)
    written_on(note, today - dt.timedelta(days=99))
    assert delete(other, today) == 0
    assert MedicalNote.objects.exists()


@pytest.mark.parametrize(
    ("day", "months", "before"),
    [
        (dt.date(2026, 3, 31), 1, dt.date(2026, 2, 28)),
        (dt.date(2028, 3, 31), 1, dt.date(2028, 2, 29)),
        (dt.date(2026, 1, 15), 1, dt.date(2025, 12, 15)),
        (dt.date(2026, 12, 5), 12, dt.date(2025, 12, 5)),
        (dt.date(2026, 7, 5), 84, dt.date(2019, 7, 5)),
    ],
)
def test_months_are_counted_back_by_the_calendar(day, months, before):
    assert months_before(day, months) == before


def run(*words):
    said = StringIO()
    call_command("delete_old_notes", *words, stdout=said)
    return said.getvalue()


def test_the_command_counts_and_deletes_only_when_told_to(club, note, medic, today):
    keep_notes_for(club=club, months=1, by=medic)
    written_on(note, today - dt.timedelta(days=99))
    assert run() == "brackenford: 1 note is old enough; --confirm deletes it.\n"
    assert run("--confirm", "--club", "brackenford") == "brackenford: 1 note deleted.\n"
    assert run("--confirm") == "brackenford: 0 notes deleted.\n"


def test_the_command_refuses_an_unknown_club(club):
    with pytest.raises(CommandError, match="no club with the short name nowhere"):
        run("--club", "nowhere")


def test_the_time_is_set_on_its_page(club, medic, log_in):
    log_in(medic).post(url("medical_keeping"), {"months": "24"})
    assert MedicalKeeping.objects.get().months == 24
    assert log_in(medic).post(url("medical_keeping"), {"months": "0"}).status_code == 200
    assert MedicalKeeping.objects.get().months == 24
