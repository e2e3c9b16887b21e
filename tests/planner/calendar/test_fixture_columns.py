"""A list of matches under headings of its own: which column holds what is asked, remembered, and used."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from planner.calendar_actions import choose_columns, import_fixtures
from planner.column_models import FixtureColumns
from planner.columns import NOTHING_CHOSEN, ColumnsUnclear, Reading
from planner.fixture_files.columns import MATCHES, day_order_is_open
from planner.imports import fixtures_in
from planner.models import Fixture
from shared.models import AuditEvent, Upload
from shared.tables import read_table
from tests import factories as f

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)
STRANGE = b"Samedi,Adversaire,Lieu\n10/10/2026,Hollin,H\n24/10/2026,Netherby Cross,A\n"
CHOICE = {"date": "Samedi", "opponent": "Adversaire", "side": "Lieu", "day_order": "day"}


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def squad(club):
    squad = f.SquadFactory(club=club, slug="firsts")
    f.SeasonFactory(squad=squad)
    return squad


def table(text: str):
    return read_table(text.encode(), "list.csv")


def upload(client, squad, content: bytes):
    file = SimpleUploadedFile("list.csv", content)
    return client.post(reverse("import_fixtures", args=["brackenford"]), {"squad": squad.pk, "file": file})


def text(answer) -> str:
    return " ".join(answer.content.decode().split())


# What the headers say


def test_the_plain_word_wins_over_a_looser_one():
    assert MATCHES.reading_of(table("Day,Date,Opponent\nSat,2026-10-10,Hollin\n"), NOTHING_CHOSEN).columns == {
        "date": "Date",
        "opponent": "Opponent",
    }


def test_two_loose_words_for_one_thing_are_asked_about():
    with pytest.raises(ColumnsUnclear, match="“Against” and “Versus” may both hold the opponent"):
        MATCHES.reading_of(table("Date,Against,Versus\n2026-10-10,Hollin,Hollin\n"), NOTHING_CHOSEN)


def test_months_before_days_are_asked_about():
    with pytest.raises(ColumnsUnclear, match="month before the day"):
        MATCHES.reading_of(table("Date,Opponent\n10/24/2026,Hollin\n"), NOTHING_CHOSEN)


def test_a_choice_holds_for_tables_with_its_headers_only():
    chosen = Reading({"date": "Samedi", "opponent": "Adversaire"})
    assert MATCHES.reading_of(table(STRANGE.decode()), chosen) is chosen
    assert MATCHES.reading_of(table("Date,Opponent\n2026-10-10,Hollin\n"), chosen).columns["date"] == "Date"


@pytest.mark.parametrize(
    ("days", "is_open"),
    [
        (("03/10/2026", "10/10/2026"), True),
        (("03/10/2026", "24/10/2026"), False),
        (("2026-10-03",), False),
        (("3 Oct 2026",), False),
    ],
)
def test_the_order_of_day_and_month_is_open_while_no_number_is_above_12(days, is_open):
    rows = "".join(f"{day},Hollin\n" for day in days)
    assert day_order_is_open(table(f"Date,Opponent\n{rows}"), "Date") is is_open


# On the screen


def test_a_list_with_unknown_headings_asks_for_its_columns_and_shows_its_first_rows(squad, head, log_in):
    answer = upload(log_in(head), squad, STRANGE)
    assert answer.url == reverse("fixture_columns", args=["brackenford", "firsts", Upload.objects.get().pk])
    shown = text(log_in(head).get(answer.url))
    assert "Netherby Cross" in shown
    assert "There is no column “date, opponent”" in shown
    assert '<option value="Adversaire">Adversaire</option>' in shown


def test_the_columns_chosen_lead_to_the_preview_and_are_remembered_for_the_next_list(squad, head, log_in):
    client = log_in(head)
    answer = client.post(upload(client, squad, STRANGE).url, CHOICE)
    assert "2 new" in text(client.get(answer.url))
    client.post(answer.url)
    assert [(str(each.day), each.opponent, each.home) for each in Fixture.objects.all()] == [
        ("2026-10-10", "Hollin", True),
        ("2026-10-24", "Netherby Cross", False),
    ]
    again = upload(client, squad, STRANGE)
    assert again.url == reverse("confirm_fixtures", args=["brackenford", "firsts", Upload.objects.get().pk])
    assert "2 same" in text(client.get(again.url))


def test_months_first_is_read_as_it_was_chosen(squad, head, log_in):
    client = log_in(head)
    asked = upload(client, squad, b"Date,Opponent\n10/11/2026,Hollin\n")
    assert asked.url.endswith("/columns/")
    assert "03/10 may be 3 October or 10 March" in text(client.get(asked.url))
    answer = client.post(asked.url, {"date": "Date", "opponent": "Opponent", "day_order": "month"})
    client.post(answer.url)
    assert Fixture.objects.get().day == dt.date(2026, 10, 11)


@pytest.mark.parametrize(
    ("choice", "told"),
    [
        (CHOICE | {"date": ""}, "Say which column holds the date."),
        (CHOICE | {"opponent": "", "home_team": "Lieu"}, "Say which column holds the opponent."),
        (CHOICE | {"venue": "Lieu"}, "The column “Lieu” cannot hold both home or away and venue."),
        (CHOICE | {"date": "Dimanche"}, "Select a valid choice."),
    ],
)
def test_a_choice_that_cannot_be_is_refused_in_words(squad, head, log_in, choice, told):
    client = log_in(head)
    answer = client.post(upload(client, squad, STRANGE).url, choice)
    assert told in text(answer)
    assert not FixtureColumns.objects.exists()


def test_the_file_of_somebody_else_asks_for_no_columns(squad, head, assistant, log_in):
    address = upload(log_in(head), squad, STRANGE).url
    other = f.MembershipFactory(club=squad.club, role="head_coach").user
    assert log_in(other).get(address).url == reverse("import_fixtures", args=["brackenford"])


def test_a_squad_whose_season_is_gone_is_told_so_on_the_page_of_columns(squad, head, log_in):
    client = log_in(head)
    address = upload(client, squad, STRANGE).url
    squad.seasons.all().delete()
    answer = client.get(address)
    assert answer.url == reverse("import_fixtures", args=["brackenford"])
    assert "has no season yet" in text(client.get(answer.url))


def test_a_choice_is_audited(squad, head):
    choose_columns(squad=squad, reading=Reading({"date": "Samedi", "opponent": "Adversaire"}), by=head)
    assert AuditEvent.objects.get().did == "chose columns of fixtures"


# Moved, without a reference


@pytest.fixture
def hollin(squad, head):
    import_fixtures(squad=squad, content=b"Date,Opponent,H/A\n2026-10-10,Hollin,H\n", filename="a.csv", by=head)
    return Fixture.objects.get()


MOVED = b"Date,Opponent,H/A\n2026-10-17,Hollin,H\n"


def test_a_match_on_another_day_is_offered_as_moved_and_not_taken_for_it(squad, head, hollin):
    found = fixtures_in(squad, MOVED, "b.csv")
    assert [each.uid for each in found.perhaps_moved] == [hollin.uid]
    assert len(found.new) == 1
    assert not found.changed


def test_a_match_said_to_be_moved_keeps_its_row(squad, head, hollin, log_in):
    client = log_in(head)
    address = upload(client, squad, MOVED).url
    assert "is now Sat 17 Oct 2026 Hollin" in text(client.get(address))
    client.post(address, {"moved": [hollin.uid]})
    assert [(each.pk, str(each.day)) for each in Fixture.objects.all()] == [(hollin.pk, "2026-10-17")]


def test_what_a_tick_does_is_shown_before_it_is_written(squad, head, hollin, log_in):
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 17, 19, tzinfo=f.LONDON), slots=[12])
    client = log_in(head)
    address = upload(client, squad, MOVED).url
    seen = re.search('name="seen" value="(.*?)"', client.get(address).content.decode())[1]
    shown = client.post(address, {"moved": [hollin.uid], "seen": seen}).content.decode()
    assert "Nothing is written yet: with what you ticked" in shown
    assert "Sat 17 Oct: training would be on a match day." in shown
    assert f'value="{hollin.uid}" id="moved-1" checked' in shown
    assert str(Fixture.objects.get().day) == "2026-10-10"
    seen = re.search('name="seen" value="(.*?)"', shown)[1]
    client.post(address, {"moved": [hollin.uid], "seen": seen})
    assert [(each.pk, str(each.day)) for each in Fixture.objects.all()] == [(hollin.pk, "2026-10-17")]


def test_a_match_that_somebody_changed_meanwhile_is_shown_before_it_is_written_over(squad, head, hollin, log_in):
    client = log_in(head)
    address = upload(client, squad, b"Date,Opponent,H/A,Competition\n2026-10-10,Hollin,H,Cup\n").url
    seen = re.search('name="seen" value="(.*?)"', client.get(address).content.decode())[1]
    Fixture.objects.update(competition="League")
    shown = client.post(address, {"seen": seen}).content.decode()
    assert "competition: League → Cup" in shown
    assert Fixture.objects.get().competition == "League"


def test_the_list_from_before_does_not_move_a_match_back_by_itself(squad, head, hollin):
    import_fixtures(squad=squad, content=MOVED, filename="b.csv", by=head, moved=[hollin.uid])
    found = fixtures_in(squad, b"Date,Opponent,H/A\n2026-10-10,Hollin,H\n", "a.csv")
    assert not found.changed
    assert len(found.perhaps_moved) == 1


@pytest.mark.parametrize(
    "row",
    ["2026-10-17,Hollin,A", "2026-12-19,Hollin,H", "2026-10-17,Netherby Cross,H"],
    ids=["other side", "far away", "other opponent"],
)
def test_another_match_is_not_offered_as_moved(squad, head, hollin, row):
    assert not fixtures_in(squad, f"Date,Opponent,H/A\n{row}\n".encode(), "b.csv").perhaps_moved


def test_of_two_that_may_be_meant_none_is_offered(squad, head, hollin):
    import_fixtures(squad=squad, content=b"Date,Opponent,H/A\n2026-10-24,Hollin,H\n", filename="c.csv", by=head)
    assert not fixtures_in(squad, MOVED, "b.csv").perhaps_moved
