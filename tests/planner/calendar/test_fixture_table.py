"""Fixture lists in CSV and XLSX."""

from __future__ import annotations

import datetime as dt
import io

import openpyxl
import pytest

from planner.fixture_files import table
from planner.fixture_files.found import FoundMatch, Refusal
from planner.models import FixtureState
from shared.tables import Unreadable
from tests.planner.calendar.ics_files import LONDON, WANTED


def read(text: str):
    return table.read(text.encode(), "fixtures.csv", WANTED)


def first(text: str) -> FoundMatch | Refusal:
    return read(text).entries[0]


def workbook(*rows: tuple) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def test_a_row_is_read_with_every_column():
    text = (
        "Date;Kick-off;Opposition;H/A;Competition;Ground;Ref;Status\n"
        "10/10/2026;15:00;Netherby Cross;H;League;Mill Lane;L17;postponed\n"
    )
    assert read(text).entries == (
        FoundMatch(
            "row 2", "L17", dt.date(2026, 10, 10), dt.datetime(2026, 10, 10, 15, tzinfo=LONDON), "Netherby Cross",
            True, "League", "Mill Lane", FixtureState.POSTPONED,
        ),
    )  # fmt: skip


def test_a_workbook_with_real_dates_and_times_is_read_alike():
    content = workbook(
        ("date", "time", "opponent", "home/away"),
        (dt.date(2026, 10, 10), dt.time(14, 30), "Netherby Cross", "away"),
        (dt.datetime(2026, 10, 17, 15), None, "Hollin", "home"),
    )
    found = table.read(content, "fixtures.xlsx", WANTED).entries
    assert [(match.kick_off.isoformat(), match.opponent, match.home) for match in found] == [
        ("2026-10-10T14:30:00+01:00", "Netherby Cross", False),
        ("2026-10-17T15:00:00+01:00", "Hollin", True),
    ]


@pytest.mark.parametrize(
    ("home", "away", "expected"),
    [
        ("Brackenford RFC", "Netherby Cross", ("Netherby Cross", True)),
        ("Netherby Cross", "Brackenford RFC 1st XV", ("Netherby Cross", False)),
    ],
)
def test_two_columns_of_teams_tell_who_is_at_home(home, away, expected):
    match = first(f"Date,Home team,Away team\n2026-10-10,{home},{away}\n")
    assert (match.opponent, match.home) == expected


@pytest.mark.parametrize(
    "written",
    ["2026-10-10", "20261010", "10/10/2026", "10.10.2026", "10/10/26", "Sat 10 Oct 2026", "10 October 2026"]
)  # fmt: skip
def test_dates_are_read_with_the_day_before_the_month(written):
    assert first(f"date,opponent\n{written},Hollin\n").day == dt.date(2026, 10, 10)


@pytest.mark.parametrize(
    ("written", "clock"),
    [("15:00", "15:00"), ("3pm", "15:00"), ("3.15 PM", "15:15"), ("12:30 am", "00:30"), ("1430", "14:30"),
     ("14.30", "14:30"), ("14h30", "14:30"), ("14:30:00", "14:30"), ("15", "15:00")],
)  # fmt: skip
def test_times_are_read_as_people_write_them(written, clock):
    match = first(f"date,time,opponent\n2026-10-10,{written},Hollin\n")
    assert f"{match.kick_off:%H:%M}" == clock


@pytest.mark.parametrize("written", ["", "TBC", "tba", "-"])
def test_a_kick_off_that_is_not_known_yet_stays_open(written):
    assert first(f"date,time,opponent\n2026-10-10,{written},Hollin\n").kick_off is None


@pytest.mark.parametrize(
    ("text", "column", "reason"),
    [
        ("date,opponent\n31/02/2027,Hollin\n", "date", "“31/02/2027” is no date. Write 2026-10-31 or 31/10/2026."),
        ("date,opponent\n31/13/2026,Hollin\n", "date", "“31/13/2026” is no date. Write 2026-10-31 or 31/10/2026."),
        ("date,opponent\n2026-10-10T15:00Z,Hollin\n", "date",
         "“2026-10-10T15:00Z” names a zone. Write the time at the ground without one."),
        ("date,opponent\n2062-10-10,Hollin\n", "date",
         "2062-10-10 lies in no season of the squad (2026-09-01 to 2027-04-30). Check the year."),
        ("date,KO,opponent\n2026-10-10,25:00,Hollin\n", "KO", "“25:00” is no time of day. Write 14:30."),
        ("date,KO,opponent\n2026-10-10,13pm,Hollin\n", "KO", "“13pm” is no time of day. Write 14:30."),
        ("date,opponent\n2026-10-10,\n", "opponent", "it names no opponent"),
        ("date,opponent,h/a\n2026-10-10,Hollin,maybe\n", "h/a", "“maybe” is neither home nor away"),
        ("date,opponent,status\n2026-10-10,Hollin,maybe\n", "status",
         "“maybe” is no state of a match. Write planned, postponed or cancelled, or leave it empty."),
        ("date,home team,away team\n2026-10-10,Hollin,Netherby\n", "home team",
         "one of the two teams must be “Brackenford RFC”, the other the opponent"),
    ],
)  # fmt: skip
def test_a_cell_that_cannot_be_taken_is_named_with_its_column(text, column, reason):
    entry = first(text)
    assert (entry.where, entry.column, entry.reason) == ("row 2", column, reason)


def test_one_wrong_row_does_not_spoil_the_others():
    found = read("date,opponent\nsoon,Hollin\n2026-10-10,Netherby\n").entries
    assert [type(entry) for entry in found] == [Refusal, FoundMatch]


def test_without_the_columns_that_are_needed_the_headers_found_are_told():
    with pytest.raises(Unreadable) as caught:
        read("when,who\n2026-10-10,Hollin\n")
    assert str(caught.value) == (
        "There is no column “opponent”. The header row has: when, who. Name the columns date, opponent, "
        "and if you have them time, home/away, competition, venue, reference, status."
    )


def test_columns_that_are_not_read_are_told():
    assert read("date,opponent,referee\n2026-10-10,Hollin,A. Whistle\n").origin.endswith("columns not read: referee")
