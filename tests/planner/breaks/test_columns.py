"""A list of breaks under headings of its own: which column holds what is asked, remembered, and used."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from planner.break_files import table
from planner.break_files.columns import BREAKS, day_order_is_open
from planner.column_models import BreakColumns
from planner.columns import ColumnsUnclear, Reading
from planner.core.calendar import Stretch
from shared.models import AuditEvent, Upload
from shared.tables import read_table
from tests.planner.breaks.cast import FIRST, LAST, address, hidden, off, standing, text_of

pytestmark = pytest.mark.usefixtures("september")

STRANGE = b"Vacances,Du,Au\nHalf term,19/10/2026,25/10/2026\nFair,13/10/2026,\n"
CHOICE = {"name": "Vacances", "first": "Du", "last": "Au", "day_order": "day"}
KEPT = [("Fair", "13 Oct", "13 Oct"), ("Half term", "19 Oct", "25 Oct")]


@pytest.fixture
def client(log_in, head):
    return log_in(head)


def upload(client, season, content: bytes, name: str = "list.csv"):
    return client.post(address("import_breaks", season.pk), {"file": SimpleUploadedFile(name, content)})


def columns(season) -> str:
    return address("break_columns", season.pk, Upload.objects.get().pk)


def confirm(season) -> str:
    return address("confirm_breaks", season.pk, Upload.objects.get().pk)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (STRANGE, "There is no column “name, first day”. The header row has: Vacances, Du, Au."),
        (b"Event,Holiday,From\nFair,Fair,13/10/2026\n", "“Holiday” and “Event” may both hold the name"),
        (b"Name,Day,Date\nFair,Tue,13/10/2026\n", "“Date” and “Day” may both hold the first day"),
        (b"Name,From,To\nFair,10/13/2026,10/14/2026\n", "has the month before the day"),
        (b"Name,From,To\nFair,03/10/2026,04/10/2026\n", "03/10 may be 3 October or 10 March"),
        (b"Name,From\nFair,3.10.\n", "03/10 may be 3 October or 10 March"),
    ],
)
def test_what_headings_or_days_leave_open_is_asked_beside_the_first_rows(content, words, season, client):
    answer = upload(client, season, content)
    assert answer.url == columns(season)
    shown = text_of(client.get(answer.url))
    assert words in shown
    assert "Fair" in shown
    assert standing(season) == []


def test_the_columns_chosen_lead_to_the_preview_and_are_remembered_for_the_next_list(season, night, squad, client):
    answer = client.post(upload(client, season, STRANGE).url, CHOICE)
    assert answer.url == confirm(season)
    shown = client.get(answer.url)
    assert "2 new" in text_of(shown)
    client.post(answer.url, hidden(shown))
    assert (standing(season), off(squad)) == (KEPT, ["13 Oct", "20 Oct"])
    again = upload(client, season, STRANGE)
    assert again.url == confirm(season)
    assert "2 same" in text_of(client.get(again.url))
    assert AuditEvent.objects.filter(did="chose columns of breaks").count() == 1


def test_months_first_is_read_as_it_was_chosen_with_a_year_and_without(season, night, squad, client):
    content = b"Name,From,To\nFair,10/2/2026,10/3/2026\nFete,10/5,\n"
    answer = client.post(
        upload(client, season, content).url, {"name": "Name", "first": "From", "last": "To", "day_order": "month"}
    )
    shown = client.get(answer.url)
    client.post(answer.url, hidden(shown))
    assert standing(season) == [("Fair", "02 Oct", "03 Oct"), ("Fete", "05 Oct", "05 Oct")]


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ({"name": "Vacances"}, "Say which column holds the first day."),
        ({"first": "Du"}, "Say which column holds the name."),
        (CHOICE | {"last": "Du"}, "The column “Du” cannot hold both first day and last day."),
        (CHOICE | {"name": "No such"}, "Select a valid choice"),
    ],
)
def test_a_choice_that_cannot_be_is_refused_in_words(choice, words, season, client):
    page = upload(client, season, STRANGE).url
    assert words in text_of(client.post(page, {"day_order": "day"} | choice))
    assert not BreakColumns.objects.exists()


def test_a_preview_leads_back_to_the_columns_and_one_whose_columns_are_gone_too(season, client):
    page = upload(client, season, STRANGE).url
    answer = client.post(page, CHOICE)
    assert page in client.get(answer.url).content.decode()
    BreakColumns.objects.all().delete()
    assert client.get(answer.url).url == page


def test_lines_and_calendars_are_never_asked_for_columns(season, client):
    answer = client.post(address("import_breaks", season.pk), {"lines": "Fair; 3/10; 4/10"})
    assert answer.url == confirm(season)
    assert "/columns/" not in client.get(answer.url).content.decode()


def test_a_list_that_is_gone_says_so(season, client):
    page = upload(client, season, STRANGE).url
    Upload.objects.all().delete()
    answer = client.get(page, follow=True)
    assert "Breaks from a list or a calendar" in text_of(answer)
    assert list(answer.context["messages"])


# What is read


def test_a_choice_holds_for_tables_with_its_headers_only():
    chosen = Reading({"name": "Vacances", "first": "Du"})
    season = Stretch(FIRST, LAST)
    assert len(table.read(STRANGE, "x.csv", season, chosen).entries) == 2
    plain = b"Name,From\nFair,13/10/2026\n"
    assert table.read(plain, "x.csv", season, chosen).entries == table.read(plain, "x.csv", season).entries
    with pytest.raises(ColumnsUnclear):
        table.read(STRANGE, "x.csv", season)


def test_the_plain_word_wins_over_a_looser_one():
    found = BREAKS.recognised(read_table(b"Event,Name,First day,Date\nx,y,2026-10-13,\n", "x.csv"))
    assert found == {"name": "Name", "first": "First day"}


@pytest.mark.parametrize(
    ("days", "is_open"),
    [("03/10/2026,", True), ("03/10/2026,13/10/2026", False), ("3.10.,4.10.", True), ("26/10,", False),
     ("2026-10-03,", False), ("3 Oct,", False)],
)  # fmt: skip
def test_the_order_of_day_and_month_is_open_while_no_number_is_above_12(days, is_open):
    found = read_table(f"Name,From,To\nFair,{days}\n".encode(), "x.csv")
    assert day_order_is_open(found, Reading(BREAKS.recognised(found))) is is_open
