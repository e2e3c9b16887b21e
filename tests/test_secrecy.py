"""A word of a medical note stands on no page, in no file and in no audit text of anybody else; nor that it exists."""

import datetime as dt
import re
import sys
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.signals import got_request_exception
from django.urls import reverse
from django.views.debug import ExceptionReporter
from pypdf import PdfReader

from shared.clock import today_at
from shared.models import AuditEvent
from squads import medical_actions
from squads.clearance_actions import start_return, tell_symptom_free, tell_symptoms
from squads.medical_actions import read_notes, record_consent, write_note
from squads.medical_models import MedicalNote
from squads.models import Player
from tests import factories as f
from tests.planner.feeds.cast import member_address, player_address
from tests.planner.own.cast import own_address
from tests.test_access_matrix import IN_A_CLUB, ROLES, address, cast

__all__ = ["cast"]
pytestmark = pytest.mark.django_db
MARKER = "quibblesnaffle"
CHANGING = re.compile(r'csrfmiddlewaretoken" value="[^"]*"|"X-CSRFToken": "[^"]*"|nonce="[^"]*"|nonce-[\w+/=-]*')
# Its own address lets a medical role read the note; opening it is what is tested elsewhere.
OWN = "medical_notes"


@pytest.fixture
def player(cast):
    return Player.objects.get(pk=cast["player"])


@pytest.fixture
def write(player, medic):
    """Writes a note with the marker, a consent and a reading of it."""

    def note():
        write_note(player=player, text=f"Seen today: {MARKER}.", by=medic)
        record_consent(player=player, given=True, said_by=f"Ma {MARKER}", said_on=today_at(player.squad.club), by=medic)
        read_notes(player=player, ground="safeguarding", need=f"because of {MARKER}", by=medic)

    return note


def words_of(answer) -> str:
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    if answer.headers.get("Content-Type", "").startswith("application/pdf"):
        return " ".join(page.extract_text() for page in PdfReader(BytesIO(body)).pages)
    return CHANGING.sub("", body.decode("utf-8", "replace"))


def everything(client, cast) -> dict[str, str]:
    """What each page and file of the club says to whoever is logged in; pages that are only a button say nothing."""
    found = {}
    for page in IN_A_CLUB:
        answer = client.get(address(page, cast))
        found[page.name] = f"{answer.status_code} {words_of(answer)}"
    return found


@pytest.mark.parametrize("role", ["head_coach", "assistant", "welfare_officer"])
def test_no_page_and_no_file_tells_that_a_note_exists(role, club, cast, write, client):
    """With a note, a consent and a reading every page is what it was without, letter by letter."""
    client.force_login(f.MembershipFactory(club=club, role=role).user)
    before = everything(client, cast)
    write()
    after = everything(client, cast)
    assert [name for name in before if before[name] != after[name]] == []


@pytest.mark.parametrize("role", ROLES.values())
def test_a_word_of_a_note_stands_nowhere_but_on_its_own_page(role, club, cast, write, client):
    write()
    client.force_login(f.MembershipFactory(club=club, role=role).user)
    found = [name for name, words in everything(client, cast).items() if MARKER in words.lower()]
    assert found == ([OWN] if role == "medical" else [])


@pytest.mark.parametrize("role", ["head_coach", "assistant"])
def test_a_coach_learns_dates_of_a_return_and_nothing_of_its_kind(role, club, squad, cast, welfare, client):
    """No page gains a word on the table that the dates come from or on symptoms; the list of returns has the dates."""
    client.force_login(f.MembershipFactory(club=club, role=role).user)
    today, told = today_at(club), {"decided_by": "P. Hollin", "decided_as": "first aider", "by": welfare}
    player = f.PlayerFactory(squad=squad)
    before = everything(client, cast | {"player": player.pk})
    case = start_return(player=player, union="uk-grassroots", day=today - dt.timedelta(days=9), **told)
    tell_symptoms(case=case, day=today - dt.timedelta(days=5), **told)
    tell_symptom_free(case=case, day=today - dt.timedelta(days=4), by=welfare)
    pages = everything(client, cast | {"player": player.pk})
    kind = re.compile(r"grassroots|symptom|concuss|head (injury|knock)|graded", re.IGNORECASE)
    assert [name for name, words in pages.items() if kind.findall(words) != kind.findall(before[name])] == []
    assert f"{today + dt.timedelta(days=10):%-d %b %Y}" in pages["returns"]  # 14 days without symptoms


def test_what_opens_by_a_secret_address_tells_nothing_of_notes(player, medic, write, client):
    """Calendars that members and players subscribe to, and the player's own page."""
    addresses = [member_address(medic), player_address(player), own_address(player)]
    before = [words_of(client.get(address)) for address in addresses]
    write()
    after = [words_of(client.get(address)) for address in addresses]
    assert all(before)
    assert [MARKER in words for words in after] == [False] * 3
    assert after[2] == before[2]


def test_no_audit_text_holds_a_word_of_a_note_and_the_clubs_chain_nothing_at_all(club, write):
    write()
    told = [f"{event.did} {event.subject} {event.detail}" for event in AuditEvent.objects.all()]
    assert len(told) == 3
    assert not any(MARKER in words for words in told)
    assert not AuditEvent.objects.filter(club=club.slug).exists()


def test_a_note_prints_as_nothing(player, write):
    write()
    note = MedicalNote.objects.get()
    assert MARKER not in f"{note} {note!r}"


def test_a_report_of_an_error_holds_no_word_of_what_was_typed(player, medic, client, monkeypatch):
    reports = []

    def keep(request, **sent):
        reports.append(ExceptionReporter(request, *sys.exc_info(), is_email=True).get_traceback_text())

    def fail(*args, **fields):
        raise RuntimeError("the disk is full")

    got_request_exception.connect(keep)
    monkeypatch.setattr(medical_actions.audit, "record_in_confidence", fail)
    client.force_login(medic)
    client.raise_request_exception = False
    address = reverse("medical_notes", kwargs={"club": "brackenford", "player": player.pk})
    assert client.post(address, {"text": MARKER}).status_code == 500
    got_request_exception.disconnect(keep)
    assert "the disk is full" in reports[0]
    assert MARKER not in reports[0]
    assert not MedicalNote.objects.exists()  # nothing half written


def test_only_the_verbs_and_pages_of_notes_name_their_rows():
    """Whoever wants to list, export or search notes has to come here first."""
    root = Path(__file__).parent.parent
    code = [path for app in ("shared", "squads", "drills", "planner") for path in (root / app).rglob("*.py")]
    users = {str(path.relative_to(root)) for path in code if "MedicalNote" in path.read_text()}
    assert {path for path in users if "migrations" not in path} == {
        *("squads/medical_models.py", "squads/medical_actions.py", "squads/medical_forms.py"),
        "squads/views/medical.py",
    }


def test_the_command_that_deletes_tells_numbers_only(club, write):
    write()
    said = StringIO()
    call_command("delete_old_notes", stdout=said)
    assert said.getvalue() == "brackenford: no time is set, so nothing is deleted.\n"
