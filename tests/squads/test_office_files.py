"""A squad list as LibreOffice Calc exports it (tests/files/README.md): the right import, or a message that helps."""

import csv
import datetime as dt
import io

import pytest

from shared.preview import State
from shared.tables import Unreadable
from squads.actions import import_squad
from squads.imports import squad_in
from tests.files import TEXT_FILES, content

TODAY = dt.date(2026, 10, 6)
UNUSED = "; columns not used: Remarks"
WHOLE = [(f"squad.{end}", origin) for end, origin in TEXT_FILES if "Windows" not in origin]
WHOLE.append(("squad.xlsx", "XLSX, sheet “squad”"))
LOSSY = [(f"squad.{end}", origin) for end, origin in TEXT_FILES if "Windows" in origin]
pytestmark = pytest.mark.django_db


def typed():
    """What was typed, read by the standard library: key -> the player as stored."""
    rows = csv.reader(io.StringIO(content("typed/squad.csv").decode(), newline=""), delimiter=";")
    next(rows)
    return {key: (key, *told(*cells)) for key, *cells in rows}


def told(given, family, position, others, born, joined, seasons, size, _remarks):
    main, *more = map(int, position.split("/"))
    others = [*more, *(int(number) for number in others.split(",") if number)]
    return given, family, main, others, day(born), day(joined), int(seasons), size


def day(text):
    return dt.datetime.strptime(text, "%d/%m/%Y").date() if text else None


def stored(squad):
    return {
        p.key: (
            *(p.key, p.given_name, p.family_name, p.main_position, p.other_positions),
            *(p.born, p.joined, p.seasons_played, p.size_band),
        )
        for p in squad.players.all()
    }


@pytest.fixture
def take(squad, head):
    return lambda name: import_squad(squad=squad, content=content(name), filename=name, by=head)


def refusals(preview):
    return [(line.where, line.label, line.column, line.reason) for line in preview.lines if line.state is State.REFUSED]


def message(squad, name):
    with pytest.raises(Unreadable) as caught:
        squad_in(squad, content(name), name, today=TODAY)
    return str(caught.value)


def test_the_typed_list_has_34_players():
    assert len(typed()) == 34


@pytest.mark.parametrize(("name", "origin"), WHOLE)
def test_an_export_brings_in_every_player_as_typed(squad, take, name, origin):
    assert take(name).origin == origin + UNUSED
    assert stored(squad) == typed()


@pytest.mark.parametrize(("name", "origin"), LOSSY)
def test_names_that_lost_a_letter_are_refused_and_the_others_come_in(squad, take, name, origin):
    preview = take(name)
    advice = "Save the list as “CSV UTF-8” or XLSX, or write it without the mark."
    assert preview.origin == origin + UNUSED
    assert refusals(preview) == [
        ("row 14", "?ukas Brannoch", "First name", f"“?ukas” has lost a letter. {advice}"),
        ("row 31", "Ivo ?ermost", "Surname", f"“?ermost” has lost a letter. {advice}"),
    ]
    assert stored(squad) == {key: player for key, player in typed().items() if key not in {"0013", "0030"}}


@pytest.mark.parametrize(("name", "_origin"), WHOLE)
def test_one_export_after_another_changes_nothing(squad, take, name, _origin):
    take("squad.xlsx")
    before = stored(squad)
    assert {line.state for line in take(name).lines} == {State.SAME}
    assert stored(squad) == before


def test_the_letters_lost_in_one_export_come_in_with_the_next(squad, take):
    take("squad.windows1252.tab.csv")
    preview = take("squad.utf8.tab.csv")
    assert [line.label for line in preview.lines if line.state is not State.SAME] == ["Łukas Brannoch", "Ivo Čermost"]
    assert stored(squad) == typed()


def test_a_list_with_the_month_before_the_day_is_refused_as_a_whole(squad):
    assert message(squad, "squad.american.csv") == (
        "The column “Date of birth” has the month before the day: “01/13/93” in row 4. Give its cells a format such as "
        "2026-10-31 or 31/10/2026 and save the file again."
    )


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("squad.ods", "“squad.ods” is no XLSX workbook. Save the table as XLSX or CSV and try again."),
        ("squad.xls", "“squad.xls” is in an old workbook format. Save it as XLSX or CSV and try again."),
        (
            "squad.html",
            "“squad.html” is a web page or XML, not a table. Open it in your spreadsheet program and save it as XLSX.",
        ),
    ],
)
def test_other_formats_are_refused_with_what_to_do(squad, name, words):
    assert message(squad, name) == words


@pytest.mark.parametrize(("name", "date"), [("positions.xlsx", "-10-09"), ("positions.csv", "09/10/")])
def test_a_position_that_the_program_took_for_a_day_is_refused(squad, name, date):
    preview = squad_in(squad, content(name), name, today=TODAY).preview
    ((where, label, column, reason),) = refusals(preview)
    assert (where, label, column) == ("row 2", "Ann Ferrisby", "Position")
    assert reason.startswith("your spreadsheet made the date ")
    assert date in reason


def test_a_position_that_no_calendar_has_is_read(squad):
    preview = squad_in(squad, content("positions.csv"), "positions.csv", today=TODAY).preview
    assert [line.label for line in preview.lines if line.state is State.NEW] == ["Bram Hollowell"]
