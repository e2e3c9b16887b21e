"""A list of fixtures as LibreOffice Calc exports it (tests/files/README.md)."""

import datetime as dt

import pytest

from planner.calendar_actions import import_fixtures
from planner.imports import fixtures_in
from shared.preview import State
from shared.tables import Unreadable
from tests import factories as f
from tests.files import TEXT_FILES, content

FILES = [("fixtures.xlsx", "XLSX, sheet “fixtures”"), *((f"fixtures.{end}", origin) for end, origin in TEXT_FILES)]
# Reference, kick-off in London (or the day alone), opponent, at home, competition, ground, state.
TYPED = [
    ("0101", "2026-09-12T15:00+01:00", "Netherby Cross", True, "League", "Mill Lane", "planned"),
    ("0102", "2026-09-19T14:30+01:00", "Hollin, Marr & District", False, "League", "Hollin Moor", "planned"),
    ("0103", "2026-10-03T15:00+01:00", "Pont-y-Grôn", True, "Cup", "Mill Lane", "planned"),
    ("0104", "2026-10-24T15:00+01:00", "Söderwick Old Boys", False, "League", "Söderwick Upper Field", "planned"),
    ("0105", "2026-10-25T14:00+00:00", "Saint-Brède", True, "Friendly", "Mill Lane", "postponed"),
    ("0106", "2026-10-31T14:30+00:00", "O'Dunmarrow", False, "League", 'The "Dell"', "planned"),
    ("0107", "2026-12-05", "Ravensgill", True, "League", "Mill Lane", "planned"),
    ("0108", "2027-03-27T15:00+00:00", "Tarn Haws", False, "League", "Tarn Haws", "planned"),
    ("0109", "2027-04-03T15:00+01:00", "Kirk Ottery", True, "League", "Mill Lane", "cancelled"),
]
pytestmark = pytest.mark.django_db


@pytest.fixture
def squad(club):
    squad = f.SquadFactory(club=club, slug="firsts")
    f.SeasonFactory(squad=squad)
    return squad


@pytest.fixture
def take(squad, head):
    return lambda name: import_fixtures(squad=squad, content=content(name), filename=name, by=head)


def when(fixture):
    if fixture.all_day:
        return fixture.day.isoformat()
    return fixture.kick_off.astimezone(fixture.squad.club.tzinfo).isoformat(timespec="minutes")


def stored(squad):
    return [
        (match.uid, when(match), match.opponent, match.home, match.competition, str(match.where), match.state)
        for match in squad.fixtures.order_by("day")
    ]


def message(squad, name):
    with pytest.raises(Unreadable) as caught:
        fixtures_in(squad, content(name), name)
    return str(caught.value)


@pytest.mark.parametrize(("name", "origin"), FILES)
def test_an_export_brings_in_every_match_as_typed(squad, take, name, origin):
    assert take(name).origin == origin
    assert stored(squad) == TYPED


@pytest.mark.parametrize(("name", "_origin"), FILES)
def test_one_export_after_another_changes_nothing(squad, take, name, _origin):
    take("fixtures.xlsx")
    assert {line.state for line in take(name).lines} == {State.SAME}
    assert stored(squad) == TYPED


@pytest.mark.parametrize("name", ["fixtures-one-cell.xlsx", "fixtures-one-cell.csv"])
def test_day_and_time_in_one_cell_are_parted(squad, take, name):
    take(name)
    assert [(moment, opponent) for _uid, moment, opponent, *_rest in stored(squad)] == [
        ("2026-09-12T15:00+01:00", "Netherby Cross"),
        ("2026-10-31T14:30+00:00", "O'Dunmarrow"),
    ]


def test_a_list_with_the_month_before_the_day_is_refused_as_a_whole(squad):
    assert message(squad, "fixtures.american.csv") == (
        "The column “Date” has the month before the day: “09/19/26” in row 3. Give its cells a format such as "
        "2026-10-31 or 31/10/2026 and save the file again."
    )


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("fixtures.ods", "“fixtures.ods” is no XLSX workbook. Save the table as XLSX or CSV and try again."),
        ("fixtures.xls", "“fixtures.xls” is in an old workbook format. Save it as XLSX or CSV and try again."),
        (
            "fixtures.html",
            "“fixtures.html” is a web page or XML, not a table. "
            "Open it in your spreadsheet program and save it as XLSX.",
        ),
    ],
)
def test_other_formats_are_refused_with_what_to_do(squad, name, words):
    assert message(squad, name) == words


def test_the_typed_days_fall_on_both_sides_of_both_changes_of_the_clocks():
    offsets = [dt.datetime.fromisoformat(moment).utcoffset() for _ref, moment, *_rest in TYPED if "T" in moment]
    hour, none = dt.timedelta(hours=1), dt.timedelta(0)
    assert offsets == [hour, hour, hour, hour, none, none, none, hour]
