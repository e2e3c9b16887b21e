"""A squad list: what it would do, row by row, and what is written on confirmation."""

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared.models import AuditEvent
from shared.preview import Outdated, State
from shared.tables import Unreadable
from squads.actions import import_squad
from squads.imports import squad_in
from squads.models import Player, SizeBand
from tests import factories as f

TODAY = dt.date(2026, 10, 6)
HEADERS = "Ref;First name;Surname;Position;Other positions;Date of birth;Joined;Seasons;Size"
ANN = "B7;Ann;Ferris;12/13;15;25/03/2001;01/08/2024;6;light"
pytestmark = pytest.mark.django_db


def csv(*rows, headers=HEADERS):
    return "\r\n".join([headers, *rows]).encode()


def preview_of(squad, *rows, headers=HEADERS):
    return squad_in(squad, csv(*rows, headers=headers), "squad.csv", today=TODAY).preview


def line_of(squad, row, headers=HEADERS):
    (line,) = preview_of(squad, row, headers=headers).lines
    return line


def confirm(squad, head, *rows, headers=HEADERS):
    return import_squad(squad=squad, content=csv(*rows, headers=headers), filename="squad.csv", by=head)


def stored(squad):
    return [
        (p.key, str(p), p.main_position, p.other_positions, p.born, p.joined, p.seasons_played, p.size_band)
        for p in squad.players.order_by("pk")
    ]


def test_a_new_player_is_shown_with_all_that_the_row_says(squad):
    line = line_of(squad, ANN)
    assert (line.where, line.label, line.state) == ("row 2", "Ann Ferris", State.NEW)
    assert [str(change) for change in line.changes] == [
        "reference: – → B7",
        "main position: – → 12 Inside centre",
        "other positions: – → 13, 15",
        "date of birth: – → 25 Mar 2001",
        "joined: – → 1 Aug 2024",
        "seasons played: – → 6",
        "size band: – → light",
    ]


def test_a_preview_writes_nothing(squad):
    preview_of(squad, ANN)
    assert not Player.objects.exists()
    assert not AuditEvent.objects.exists()


def test_confirming_writes_what_the_preview_showed(squad, head):
    confirm(squad, head, ANN)
    assert stored(squad) == [
        ("B7", "Ann Ferris", 12, [13, 15], dt.date(2001, 3, 25), dt.date(2024, 8, 1), 6, SizeBand.LIGHT)
    ]


def test_confirming_is_told_in_the_audit_chain_by_name(squad, head):
    confirm(squad, head, ANN)
    event = AuditEvent.objects.get()
    assert (event.actor, event.did, event.detail) == (
        str(head),
        "imported players",
        {"file": "squad.csv", "new": ["Ann Ferris"], "changed": []},
    )


def test_the_same_file_a_second_time_changes_nothing(squad, head):
    confirm(squad, head, ANN, ";Bo;Marr;9;;;;;")
    before = stored(squad)
    again = confirm(squad, head, ANN, ";Bo;Marr;9;;;;;")
    assert [line.state for line in again.lines] == [State.SAME, State.SAME]
    assert stored(squad) == before
    assert AuditEvent.objects.count() == 1


def test_a_change_names_the_field_and_both_values(squad, head):
    confirm(squad, head, ANN)
    line = line_of(squad, "B7;Ann;Ferris-Cole;13;;25/03/2001;;;")
    assert line.state is State.CHANGED
    assert [str(change) for change in line.changes] == [
        "family name: Ferris → Ferris-Cole",
        "main position: 12 Inside centre → 13 Outside centre",
    ]


def test_an_empty_cell_leaves_a_field_as_it_is(squad, head):
    confirm(squad, head, ANN)
    assert line_of(squad, "B7;Ann;Ferris;;;;;;").state is State.SAME


def test_a_refused_row_does_not_keep_the_others_out(squad, head):
    done = confirm(squad, head, ANN, "B8;Bo;Marr;99;;;;;")
    assert [line.state for line in done.lines] == [State.NEW, State.REFUSED]
    assert [str(player) for player in squad.players.all()] == ["Ann Ferris"]


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        (";Bo;Marr;99;;;;;", "Position", "there is no position 99. Positions go from 1 to 15."),
        (";Bo;Marr;forwards;;;;;", "Position", "“forwards” is too broad. Write the shirt number, such as 7."),
        (";Bo;Marr;;;;;;", "Position", "a new player needs a position: the shirt number, such as 7, or 12/13."),
        (";Bo;;9;;;;;", "Surname", "the family name is missing."),
        (";;;9;;;;;", "First name", "the first name is missing."),
        (";Bo;Marr;9;;31/02/2001;;;", "Date of birth", "there is no day 31/02/2001. Write day, month, year."),
        (";Bo;Marr;9;;31/04/2001;;;", "Date of birth", "there is no day 31/04/2001. Write day, month, year."),
        (";Bo;Marr;9;;02/2003;;;", "Date of birth", "“02/2003” is no date. Write it like 25/03/2004 or 2004-03-25."),
        (";Bo;Marr;9;;01/02/2201;;;", "Date of birth", "born in 2201? Check the year."),
        (";Bo;Marr;9;;01/02/2001;01/02/2000;;", "Joined", "it lies before the date of birth."),
        (";Bo;Marr;9;;;;many;", "Seasons", "“many” is no number of seasons. Write a whole number up to 60."),
        (";Bo;Marr;9;;;;;vast", "Size", "“vast” is no size band. Write light, middle or heavy."),
        (f";Bo;{'M' * 61};9;;;;;", "Surname", "it is longer than 60 letters."),
        (";Bo;Marr;9", "", "it has 4 cells and the header row 9. Look for a missing or extra delimiter."),
    ],
)
def test_a_refused_row_names_its_column_and_reason(squad, row, column, reason):
    line = line_of(squad, row)
    assert (line.state, line.column, line.reason) == (State.REFUSED, column, reason)


@pytest.mark.parametrize(
    ("headers", "row"),
    [
        ("First name,Surname,Position", "Ann,Ferris,12"),
        ("FORENAME,Last Name,Pos.", "Ann,Ferris,Inside centre"),
        ("Player's name,Playing position", "Ann Ferris,12"),
        ("Name,Shirt number,E-mail", '"Ferris, Ann",12,a@example.org'),
        ("Full name (as on the card),Position(s)", "Ann Ferris,12"),
        ("given_name,family_name,position", "Ann,Ferris,second five-eighth"),
    ],
)
def test_headers_and_positions_go_by_many_names(squad, head, headers, row):
    confirm(squad, head, row, headers=headers)
    player = squad.players.get()
    assert (player.given_name, player.family_name, player.main_position) == ("Ann", "Ferris", 12)


def test_columns_that_are_not_used_are_named(squad):
    preview = preview_of(squad, "Ann,Ferris,12,x,y", headers="First name,Surname,Position,E-mail,Phone")
    assert preview.origin == "CSV, UTF-8, commas; columns not used: E-mail, Phone"


def test_two_columns_for_one_field_are_refused(squad):
    with pytest.raises(Unreadable, match="“Surname” and “Last name” both hold the family name"):
        preview_of(squad, "Ann,Ferris,Ferris,12", headers="First name,Surname,Last name,Position")


def test_a_file_without_names_is_refused_with_the_headers_found(squad):
    with pytest.raises(Unreadable, match=r"No column for names was found\..*Found: Date, Opponent"):
        preview_of(squad, "1,2", headers="Date,Opponent")


def test_a_player_whom_the_list_leaves_out_is_left_alone_and_named(squad):
    f.PlayerFactory(squad=squad, given_name="Bo", family_name="Marr")
    f.PlayerFactory(squad=squad, given_name="Gone", family_name="Long", left=dt.date(2025, 1, 1))
    assert preview_of(squad, ANN).left_alone == ("Bo Marr",)


def test_a_list_without_references_knows_a_player_by_name_and_birth(squad, head):
    rows = ["Ann;Ferris;12;2001-03-25", "Ann;Ferris;1;1999-01-01"]
    headers = "First name;Surname;Position;DOB"
    confirm(squad, head, *rows, headers=headers)
    assert [line.state for line in preview_of(squad, *rows, headers=headers).lines] == [State.SAME, State.SAME]
    assert [player.key for player in squad.players.order_by("pk")] == ["made-1", "made-2"]


def test_a_name_is_known_in_other_letters(squad, head):
    confirm(squad, head, "Siân;O'Hara;9", headers="First name;Surname;Position")
    line = line_of(squad, "SIÂN;O’HARA;9", headers="First name;Surname;Position")
    assert [change.field for change in line.changes] == ["first name", "family name"]


def test_a_namesake_with_another_birth_date_is_refused(squad, head):
    confirm(squad, head, ";Ann;Ferris;12;;25/03/2001;;;")
    line = line_of(squad, ";Ann;Ferris;1;;01/01/1999;;;")
    assert (line.state, line.column) == (State.REFUSED, "Date of birth")
    assert line.reason.startswith("players of this name are in the squad (born: 25 Mar 2001).")


def test_a_name_without_birth_date_that_fits_two_players_is_refused(squad):
    for born in (dt.date(2001, 3, 25), dt.date(1999, 1, 1)):
        f.PlayerFactory(squad=squad, given_name="Ann", family_name="Ferris", born=born)
    assert line_of(squad, ";Ann;Ferris;12;;;;;").state is State.REFUSED


def test_a_namesake_with_a_reference_of_her_own_is_new(squad, head):
    confirm(squad, head, ANN)
    assert line_of(squad, "B99;Ann;Ferris;1;;;;;").state is State.NEW


def test_a_player_under_another_reference_is_refused(squad, head):
    confirm(squad, head, ANN)
    line = line_of(squad, "B99;Ann;Ferris;1;;25/03/2001;;;")
    assert (line.column, line.reason) == ("Ref", "this player is in the squad under the reference B7.")


def test_a_player_without_a_reference_takes_the_one_that_the_list_gives(squad, head):
    confirm(squad, head, ";Ann;Ferris;12;;;;;")
    confirm(squad, head, ANN)
    assert [(player.key, str(player)) for player in squad.players.all()] == [("B7", "Ann Ferris")]


def test_the_second_row_of_the_same_player_is_refused(squad):
    states = [(line.state, line.reason) for line in preview_of(squad, ANN, ANN).lines]
    assert states == [(State.NEW, ""), (State.REFUSED, "it may be the same player as row 2.")]


def test_a_player_who_left_is_not_taken_back_by_a_list(squad, head):
    f.PlayerFactory(squad=squad, key="B7", left=dt.date(2026, 9, 1))
    assert line_of(squad, ANN).reason == (
        "this player left the squad on 1 Sep 2026. Take that date off the player's page first."
    )


def test_a_reference_of_another_squad_means_nothing_here(squad, head):
    f.PlayerFactory(squad=f.SquadFactory(club=squad.club), key="B7", given_name="Ann", family_name="Ferris")
    assert line_of(squad, ANN).state is State.NEW


def test_confirming_an_outdated_preview_writes_nothing(squad, head):
    seen = preview_of(squad, ANN).fingerprint
    f.PlayerFactory(squad=squad, key="B7", given_name="Ann", family_name="Marr")
    with pytest.raises(Outdated) as caught:
        import_squad(squad=squad, content=csv(ANN), filename="squad.csv", by=head, seen=seen)
    assert [line.state for line in caught.value.preview.lines] == [State.CHANGED]
    assert squad.players.get().family_name == "Marr"


cells = {
    "key": st.sampled_from(["", "", "A", "B", "C"]),
    "given": st.sampled_from(["Ann", "Bo", "ANN"]),
    "family": st.sampled_from(["Ferris", "Marr"]),
    "position": st.sampled_from(["", "1", "12/13", "prop", "99"]),
    "born": st.sampled_from(["", "", "2001-03-25", "1999-01-01"]),
    "seasons": st.sampled_from(["", "3"]),
}
lists = st.lists(st.tuples(*cells.values()).map(";".join), min_size=1, max_size=7)


@given(first=lists, second=lists)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_a_list_holds_a_second_import_of_it_changes_nothing(squad, head, first, second):
    squad.players.all().delete()
    headers = "Ref;First name;Surname;Position;DOB;Seasons"
    confirm(squad, head, *first, headers=headers)
    confirm(squad, head, *second, headers=headers)
    before = stored(squad)
    again = confirm(squad, head, *second, headers=headers)
    assert [str(line) for line in again.lines if line.state in (State.NEW, State.CHANGED)] == []
    assert stored(squad) == before
