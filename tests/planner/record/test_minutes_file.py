"""Match minutes from a file: row by row before anything is written, then as the page of the match writes them."""

from __future__ import annotations

import datetime as dt
import io
import re

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.declared_actions import note_match_minutes
from planner.minutes_imports import minutes_in
from planner.models import FixtureState
from planner.record_days import differences
from planner.record_models import MatchMinutes, PlayerDay
from shared.models import AuditEvent, Upload
from shared.preview import State
from shared.tables import Unreadable
from tests import factories as f

SATURDAY, SUNDAY = dt.date(2026, 10, 10), dt.date(2026, 10, 11)
HEADER = "Player,Date,Match,Minutes,Told by"


@pytest.fixture(autouse=True)
def on_sunday(monkeypatch):
    now = dt.datetime(2026, 10, 11, 10, tzinfo=f.LONDON)
    monkeypatch.setattr(timezone, "now", lambda: now)
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: SUNDAY)


@pytest.fixture
def player(squad):
    return f.PlayerFactory(squad=squad, given_name="Oswin", family_name="Hartlebury", key="BRK-7")


@pytest.fixture
def other(squad):
    return f.PlayerFactory(squad=squad, given_name="Corin", family_name="Tapsell")


def match_on(squad, day, opponent="Netherby Cross", hour=15, **more):
    kick_off = dt.datetime(2026, 10, day, hour, tzinfo=f.LONDON)
    return f.FixtureFactory(squad=squad, opponent=opponent, kick_off=kick_off, **more)


@pytest.fixture
def match(squad):
    return match_on(squad, 10)


def address(squad):
    return reverse("import_match_minutes", kwargs={"club": squad.club.slug, "squad": squad.slug})


def upload(client, squad, *rows, header=HEADER, name="minutes.csv"):
    file = SimpleUploadedFile(name, "\r\n".join([header, *rows]).encode())
    return client.post(address(squad), {"file": file}, follow=True)


def confirm(client, answer):
    seen = re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]
    return client.post(answer.request["PATH_INFO"], {"seen": seen}, follow=True)


def read(squad, *rows, header=HEADER, name="minutes.csv"):
    return minutes_in(squad, "\r\n".join([header, *rows]).encode(), name)


def written():
    rows = MatchMinutes.objects.counting().order_by("player__family_name")
    return [(row.player.family_name, row.minutes, row.declared_by, row.by_name) for row in rows]


def test_a_file_is_shown_row_by_row_and_then_written_as_the_page_writes_it(
    squad, match, player, other, welfare, log_in
):
    client = log_in(welfare)
    rows = ("Oswin Hartlebury,10/10/2026,,80,team manager", "Corin Tapsell,,netherby cross,0,")
    answer = upload(client, squad, *rows)
    assert "2 new" in answer.content.decode()
    assert not MatchMinutes.objects.exists()
    text = confirm(client, answer).content.decode()
    assert "The minutes are noted: 2 new, 0 changed, 0 same, 0 refused." in text
    assert "2 players told" in text  # the week of the match
    assert written() == [
        ("Hartlebury", 80, "team manager", str(welfare)), ("Tapsell", 0, "file minutes.csv", str(welfare))
    ]  # fmt: skip
    assert PlayerDay.objects.get(player=player, day=SATURDAY).match_minutes == 80
    assert differences(squad, SATURDAY, SATURDAY) == []
    assert AuditEvent.objects.filter(did="noted match minutes").count() == 2  # once for each who told of it
    assert not Upload.objects.exists()


def test_the_same_file_twice_changes_nothing(squad, match, player, welfare, log_in):
    client, row = log_in(welfare), "Oswin Hartlebury,10/10/2026,,80,team manager"
    confirm(client, upload(client, squad, row))
    again = upload(client, squad, row).content.decode()
    assert "There is nothing to write." in again
    assert "1 same" in again
    assert MatchMinutes.objects.count() == 1


def test_other_minutes_are_a_correction_that_keeps_the_old_line(squad, match, player, head, welfare, log_in):
    note_match_minutes(fixture=match, minutes={player: 40}, seen={}, declared_by="team sheet", by=head)
    client = log_in(welfare)
    answer = upload(client, squad, "Oswin Hartlebury,10/10/2026,,55,referee's card")
    (line,) = read(squad, "Oswin Hartlebury,10/10/2026,,55,referee's card").preview.lines
    assert (line.state, [str(change) for change in line.changes]) == (
        State.CHANGED,
        ["minutes: 40 → 55", "told by: team sheet → referee's card"],
    )
    confirm(client, answer)
    assert written() == [("Hartlebury", 55, "referee's card", str(welfare))]
    assert MatchMinutes.objects.get(minutes=55).replaces.minutes == 40
    assert PlayerDay.objects.get(player=player, day=SATURDAY).match_minutes == 55


def test_what_somebody_told_between_preview_and_button_is_looked_at_first(squad, match, player, head, welfare, log_in):
    client = log_in(welfare)
    answer = upload(client, squad, "Oswin Hartlebury,10/10/2026,,55,")
    note_match_minutes(fixture=match, minutes={player: 40}, seen={}, declared_by="team sheet", by=head)
    text = confirm(client, answer).content.decode()
    assert "Nothing was written: look through it again." in text
    assert written() == [("Hartlebury", 40, "team sheet", str(head))]
    assert confirm(client, client.get(answer.request["PATH_INFO"])).status_code == 200
    assert written() == [("Hartlebury", 55, "file minutes.csv", str(welfare))]


def test_a_workbook_with_names_in_two_columns_and_real_dates_is_read(squad, match, player):
    book = openpyxl.Workbook()
    book.active.append(["Surname", "First name", "Date", "Mins"])
    book.active.append(["Hartlebury", "Oswin", dt.datetime(2026, 10, 10, 15), 62])
    book.active.append(["Hartlebury", "Oswin", dt.date(2026, 10, 10), 62])
    stored = io.BytesIO()
    book.save(stored)
    found = minutes_in(squad, stored.getvalue(), "minutes.xlsx")
    assert [line.state for line in found.preview.lines] == [State.NEW, State.REFUSED]
    assert [(row.player, row.match, row.minutes) for row in found.rows] == [(player, match, 62)]


def test_a_reference_stands_before_the_name(squad, match, player):
    namesake = f.PlayerFactory(squad=squad, given_name="Oswin", family_name="Hartlebury", key="BRK-8")
    found = read(squad, "BRK-8,Oswin Hartlebury,2026-10-10,20", header="Ref,Player,Date,Minutes")
    assert [row.player for row in found.rows] == [namesake]
    (line,) = read(squad, "Oswin Hartlebury,2026-10-10,,20,").preview.lines
    assert (line.state, line.column) == (State.REFUSED, "Player")
    assert "two players have this name" in line.reason


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("Nobody Known,10/10/2026,,80,", "Player", "nobody in this squad has this name."),
        (",10/10/2026,,80,", "Player", "nobody in this squad has this name."),
        ("Oswin Hartlebury,9/10/2026,,80,", "Date", "the squad has no match on 9 Oct 2026"),
        ("Oswin Hartlebury,soon,,80,", "Date", "“soon”: write a day like"),
        ("Oswin Hartlebury,31/02/2026,,80,", "Date", "write a day like"),
        ("Oswin Hartlebury,,,80,", "Date", "say which match"),
        ("Oswin Hartlebury,10/10/2026,Elsewhere,80,", "Match", "no match against “Elsewhere”"),
        ("Oswin Hartlebury,,Elsewhere,80,", "Match", "no match against “Elsewhere”"),
        ("Oswin Hartlebury,10/10/2026,,,", "Minutes", "“”: write a whole number from 0 to 600; 0 if he did not play."),
        ("Oswin Hartlebury,10/10/2026,,-5,", "Minutes", "write a whole number"),
        ("Oswin Hartlebury,10/10/2026,,80.5,", "Minutes", "write a whole number"),
        ("Oswin Hartlebury,10/10/2026,,601,", "Minutes", "write a whole number"),
        ("Oswin Hartlebury,10/10/2026,,all of it,", "Minutes", "write a whole number"),
        ("Oswin Hartlebury,10/10/2026,,٨٠,", "Minutes", "write a whole number"),
        ("Oswin Hartlebury,17/10/2026,,80,", "Date", "is still to come"),
        ("Oswin Hartlebury,3/10/2026,,80,", "Date", "nobody has played in it"),
        (f"Oswin Hartlebury,10/10/2026,,80,{'x' * 121}", "Told by", "longer than 120 letters"),
        ("Oswin Hartlebury,10/10/2026,80", "", "it has 3 cells and the header row 5"),
    ],
)
def test_a_row_that_cannot_be_taken_says_where_and_why(squad, match, player, row, column, reason):
    match_on(squad, 17, "Later Lane")
    match_on(squad, 3, "Called Off", state=FixtureState.CANCELLED)
    (line,) = read(squad, row).preview.lines
    assert (line.state, line.where, line.column) == (State.REFUSED, "row 2", column)
    assert reason in line.reason
    assert read(squad, row).rows == ()


def test_two_matches_on_a_day_are_told_apart_by_the_opponent_and_two_of_one_opponent_are_refused(squad, match, player):
    second = match_on(squad, 10, "Fenwick Vale", hour=11)
    (line,) = read(squad, "Oswin Hartlebury,10/10/2026,,20,").preview.lines
    assert "more than one such match" in line.reason
    assert [row.match for row in read(squad, "Oswin Hartlebury,10/10/2026,Fenwick Vale,20,").rows] == [second]
    match_on(squad, 3, "Fenwick Vale")
    (line,) = read(squad, "Oswin Hartlebury,,Fenwick Vale,20,").preview.lines
    assert (line.column, line.state) == ("Match", State.REFUSED)


def test_who_was_not_in_the_squad_that_day_is_refused(squad, match, player):
    player.joined = SUNDAY
    player.save()
    (line,) = read(squad, "Oswin Hartlebury,10/10/2026,,80,").preview.lines
    assert "was not in the squad on 10 Oct 2026" in line.reason


def test_a_second_row_of_one_player_and_match_is_refused(squad, match, player):
    lines = read(squad, "Oswin Hartlebury,10/10/2026,,80,", "Oswin Hartlebury,,Netherby Cross,60,").preview.lines
    assert [line.state for line in lines] == [State.NEW, State.REFUSED]
    assert "row 2 says something of the same player and match" in lines[1].reason


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"Shirt,Date,Minutes\r\n7,10/10/2026,80\r\n", "There is no column “player”"),
        (b"Player,Minutes\r\nOswin Hartlebury,80\r\n", "There is no column “date”"),
        (b"Player,Date\r\nOswin Hartlebury,10/10/2026\r\n", "There is no column “minutes”"),
        (b"Player,Date,Mins,Min\r\nOswin Hartlebury,10/10/2026,80,80\r\n", "may both hold the minutes"),
        (b"Player,Date,Minutes\r\nOswin Hartlebury,10/25/2026,80\r\n", "has the month before the day"),
        (b"PK\x03\x04broken", "is cut off or damaged"),
        (b"Player\x00,Date,Minutes\r\n", "holds the control character"),
    ],
)
def test_a_file_that_cannot_be_read_says_why_and_writes_nothing(squad, player, welfare, log_in, content, said):
    with pytest.raises(Unreadable, match=said):
        minutes_in(squad, content, "minutes.csv")
    page = log_in(welfare).post(address(squad), {"file": SimpleUploadedFile("minutes.csv", content)})
    assert (page.status_code, "errorlist" in page.content.decode()) == (200, True)


def test_html_in_a_file_is_text_on_the_page(squad, match, welfare, log_in):
    text = upload(log_in(welfare), squad, "<b>Oswin</b>,10/10/2026,,80,").content.decode()
    assert "<b>Oswin" not in text
    assert "&lt;b&gt;Oswin" in text


def test_only_whoever_enters_minutes_imports_them(squad, match, player, assistant, medic, log_in):
    for user in (assistant, medic):
        assert upload(log_in(user), squad, "Oswin Hartlebury,10/10/2026,,80,").status_code == 403
    assert not Upload.objects.exists()


def test_another_clubs_squad_match_and_file_are_not_found(squad, match, player, stranger, welfare, log_in):
    others = f.SquadFactory(club=stranger.clubs.get(), slug="others")
    theirs = f.FixtureFactory(squad=others, opponent="Only Theirs", kick_off=match.kick_off)
    assert theirs.opponent not in str(read(squad, "Oswin Hartlebury,,Netherby Cross,80,").rows)
    (line,) = read(squad, "Oswin Hartlebury,,Only Theirs,80,").preview.lines
    assert "no match against" in line.reason
    assert log_in(welfare).get(address(others)).status_code == 404
    here = reverse("import_match_minutes", kwargs={"club": "brackenford", "squad": "others"})
    assert log_in(welfare).get(here).status_code == 404
    answer = upload(log_in(welfare), squad, "Oswin Hartlebury,10/10/2026,,80,")
    assert log_in(stranger).post(answer.request["PATH_INFO"], {"seen": "x"}).status_code == 404
    assert not MatchMinutes.objects.exists()


def test_a_file_that_a_colleague_brought_is_his(squad, match, player, head, welfare, log_in):
    answer = upload(log_in(welfare), squad, "Oswin Hartlebury,10/10/2026,,80,")
    text = log_in(head).post(answer.request["PATH_INFO"], {"seen": "x"}, follow=True).content.decode()
    assert "This file is no longer here" in text
    assert not MatchMinutes.objects.exists()


def test_it_is_read_in_as_many_queries_for_one_row_as_for_thirty(squad, match):
    counts = []
    for many in (1, 30):
        f.PlayerFactory.create_batch(many, squad=squad)
        rows = [f"{player},10/10/2026,,80," for player in squad.players.all()]
        with CaptureQueriesContext(connection) as queries:
            assert len(read(squad, *rows).rows) == len(rows)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 3
