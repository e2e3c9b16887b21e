"""Breaks by lines, list and calendar: what is read, what is refused with which words, and twice is once.

The days of events follow RFC 5545, 3.6.1 (DTEND of days is not among them; without it a DATE lasts one day) and
3.8.2.5 (DURATION instead of DTEND).
"""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given
from hypothesis import strategies as st

from planner.break_actions import change_breaks, import_breaks, look_at_import
from planner.break_files import ics, lines, table
from planner.break_files.found import FoundBreak
from planner.break_imports import PASTED, breaks_in
from planner.changes import Refused
from planner.core.calendar import Stretch
from planner.falling_out import breaks_of
from planner.fixture_files.found import Wanted
from shared.models import Upload
from shared.preview import State
from shared.tables import Unreadable
from tests.planner.breaks.cast import TODAY, address, hidden, mark, october, off, on, standing, text_of
from tests.planner.calendar.ics_files import LONDON, calendar, event
from tests.shared.files import openpyxl_bytes

SEASON = Stretch(dt.date(2027, 9, 1), dt.date(2028, 5, 31))  # over a new year and a leap day


def told(found) -> list[str]:
    """Each as "name, first - last", a refused one as its reason."""
    return [
        f"{entry.gap.name}, {entry.gap.days.first} - {entry.gap.days.last}"
        if isinstance(entry, FoundBreak)
        else entry.reason
        for entry in found.entries
    ]


# Lines


@pytest.mark.parametrize(
    "line",
    [
        "Winter; 2027-12-20; 2028-01-02",
        "Winter;20/12/2027;02/01/2028",
        "Winter; 20.12.27 ; 2.1.28",
        "Winter; Mon 20 Dec 2027; Sun 2 January 2028",
        "Winter; 20 Dec; 2 Jan",
        "Winter; 20.12.; 2.1.",
        "Winter; 20/12; 2/1",
        "Winter, 20 December, 2 January",
        "Winter\t20/12/2027\t02/01/2028\t",
        "Winter; Dec 20, 2027; Jan 2, 2028",
    ],
)
def test_a_line_is_read_with_its_days_in_many_ways_of_writing(line):
    assert told(lines.read(line, SEASON)) == ["Winter, 2027-12-20 - 2028-01-02"]


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("Half term", "it is not of two or three parts. Write: name; first day; last day"),
        ("a;b;c;d", "it is not of two or three parts. Write: name; first day; last day"),
        ("; 26 Oct", "it has no name. Say why there is no training."),
        ("Half term; soon", "“soon” is no date. Write 2026-10-31 or 31/10/2026."),
        ("Half term; 29 Oct; 26 Oct", "it ends before it begins. Check both days."),
        ("Half term; 26 Jul", "the season has no day “26 Jul”"),
        ("Half term; 31/11/2027", "“31/11/2027” is no date. Write 2026-10-31 or 31/10/2026."),
        ("Half term; 2026-10-26", "2026-10-26 lies outside the season (2027-09-01 to 2028-05-31). Check the year."),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_taken_says_why(line, reason):
    assert told(lines.read(line, SEASON)) == [reason]


def test_a_name_that_lost_a_letter_is_refused():
    (reason,) = told(lines.read("P?ques; 17 Apr", SEASON))
    assert "“P?ques” has lost a letter" in reason


def test_one_wrong_line_leaves_the_others_alone_and_is_told_by_its_number():
    found = lines.read("Ball; 9 Oct\n\nFair; soon\nLeap day; 29 Feb", SEASON)
    assert told(found)[::2] == ["Ball, 2027-10-09 - 2027-10-09", "Leap day, 2028-02-29 - 2028-02-29"]
    assert [entry.where for entry in found.entries] == ["line 1", "line 3", "line 4"]


def test_29_february_is_refused_in_a_season_without_one():
    season = Stretch(dt.date(2026, 9, 1), dt.date(2027, 5, 31))
    assert told(lines.read("Leap day; 29 Feb", season)) == ["the season has no day “29 Feb”"]


def test_a_day_that_comes_twice_in_a_long_season_wants_its_year():
    season = Stretch(dt.date(2026, 9, 1), dt.date(2027, 12, 31))
    assert told(lines.read("Ball; 9 Oct", season)) == ["“9 Oct” comes more than once in the season. Write its year."]


def test_a_break_over_the_end_of_the_season_keeps_its_part_within():
    assert told(lines.read("Summer; 2028-05-20; 2028-09-01", SEASON)) == ["Summer, 2028-05-20 - 2028-05-31"]


@pytest.mark.parametrize("text", ["", " \n\n", "x\n" * 501])
def test_no_lines_and_too_many_are_unreadable_in_words(text):
    with pytest.raises(Unreadable):
        lines.read(text, SEASON)


DAYS = st.dates(SEASON.first, SEASON.last)
FORMATS = st.sampled_from(["%Y-%m-%d", "%d/%m/%Y", "%d.%m.%y", "%d %b %Y", "%d %B", "%d/%m", "%b %d, %Y"])


@given(DAYS, DAYS, FORMATS, FORMATS, st.sampled_from([";", "\t", " ; "]))
def test_any_two_days_of_the_season_come_back_however_they_are_written(one, other, first_form, last_form, between):
    first, last = min(one, other), max(one, other)
    line = between.join(["Off", first.strftime(first_form), last.strftime(last_form)])
    assert told(lines.read(line, SEASON)) == [f"Off, {first} - {last}"]


@given(st.text(max_size=60))
def test_any_text_is_taken_or_refused_in_words(text):
    if not text.strip():
        text += "x"
    assert all(told(lines.read(text, SEASON)))


# Tables


@pytest.mark.parametrize("headers", ["Name;First day;Last day", "why;from;to", "Subject;Start Date;End Date"])
def test_a_csv_list_is_read_under_the_usual_headings(headers):
    content = f"{headers}\nHalf term;25/10/2027;29/10/2027\nBall;2027-11-06;\n".encode()
    assert told(table.read(content, "breaks.csv", SEASON)) == [
        "Half term, 2027-10-25 - 2027-10-29", "Ball, 2027-11-06 - 2027-11-06",
    ]  # fmt: skip


def test_a_workbook_with_real_dates_is_read():
    content = openpyxl_bytes(["name", "from", "to"], ["Half term", dt.date(2027, 10, 25), dt.datetime(2027, 10, 29)])
    assert told(table.read(content, "breaks.xlsx", SEASON)) == ["Half term, 2027-10-25 - 2027-10-29"]


def test_a_wrong_cell_is_told_with_its_row_and_column():
    (entry,) = table.read(b"name,from\nBall,soon\n", "breaks.csv", SEASON).entries
    assert (entry.where, entry.column) == ("row 2", "from")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"when,what\n1,2\n", "There is no column “first day”. The header row has: when, what."),
        (b"from,to\n1,2\n", "There is no column “name”"),
        (b"name,from\nA,10/25/2027\nB,11/26/2027\n", "has the month before the day"),
        (b"", "is empty"),
    ],
)
def test_a_list_that_cannot_be_read_says_what_to_mend(content, words):
    with pytest.raises(Unreadable, match=words):
        table.read(content, "breaks.csv", SEASON)


# Calendars


def read(*events, season: Stretch = SEASON):
    return ics.read(calendar(*events), "school.ics", Wanted(LONDON, "Brackenford RFC", (season,)))


@pytest.mark.parametrize(
    ("properties", "days"),
    [
        (["DTSTART;VALUE=DATE:20271025", "DTEND;VALUE=DATE:20271030"], "2027-10-25 - 2027-10-29"),
        (["DTSTART;VALUE=DATE:20271025"], "2027-10-25 - 2027-10-25"),
        (["DTSTART;VALUE=DATE:20271025", "DTEND;VALUE=DATE:20271025"], "2027-10-25 - 2027-10-25"),
        (["DTSTART;VALUE=DATE:20271025", "DURATION:P5D"], "2027-10-25 - 2027-10-29"),
        (["DTSTART;VALUE=DATE:20271025", "DURATION:P1W"], "2027-10-25 - 2027-10-31"),
        (["DTSTART;VALUE=DATE:20280228", "DTEND;VALUE=DATE:20280301"], "2028-02-28 - 2028-02-29"),
        (["DTSTART;VALUE=DATE:20271220", "DTEND;VALUE=DATE:20280103"], "2027-12-20 - 2028-01-02"),
        (["DTSTART:20271025T000000", "DTEND:20271030T000000"], "2027-10-25 - 2027-10-29"),
        (["DTSTART:20271025T180000"], "2027-10-25 - 2027-10-25"),
        (["DTSTART;TZID=Australia/Sydney:20271026T080000", "DURATION:PT1H"], "2027-10-25 - 2027-10-25"),
    ],
)
def test_the_days_of_an_event_follow_the_standard(properties, days):
    assert told(read(event(*properties, summary="Half term"))) == [f"Half term, {days}"]


@pytest.mark.parametrize(
    ("properties", "reason"),
    [
        (["DTSTART;VALUE=DATE:20271025", "DTEND;VALUE=DATE:20271020"], "it ends before it begins"),
        (["DTSTART;VALUE=DATE:20271025", "DTEND:20271030T000000"], "one of its DTSTART and DTEND is a day"),
        (["DTSTART;VALUE=DATE:20271025", "STATUS:CANCELLED"], "it is cancelled in this calendar"),
        (["DTSTART:soon"], "DTSTART cannot be read"),
        (["DTSTART;VALUE=DATE:20271025", "DTEND:soon"], "DTEND cannot be read"),
        (["DTSTART;VALUE=DATE:20271025", *["DTEND;VALUE=DATE:20271026"] * 2], "more than one end"),
        (["DTSTART;VALUE=DATE:20271025", "DURATION:P99999999W"], "its end cannot be worked out"),
    ],
)  # fmt: skip
def test_an_event_that_cannot_be_taken_says_why(properties, reason):
    (words,) = told(read(event(*properties, summary="Half term")))
    assert reason in words


def test_training_in_the_name_of_a_break_is_no_reason_to_refuse_it():
    found = read(event("DTSTART;VALUE=DATE:20271025", summary="No training"))
    assert told(found) == ["No training, 2027-10-25 - 2027-10-25"]


def test_events_outside_the_season_are_left_out_and_counted():
    inside = event("DTSTART;VALUE=DATE:20271025", summary="Fair")
    found = read(inside, event("DTSTART;VALUE=DATE:20281025", uid="b", summary="Fair"))
    assert (told(found), found.outside) == (["Fair, 2027-10-25 - 2027-10-25"], 1)


def test_a_break_that_comes_every_year_is_that_of_this_season():
    rule = ["DTSTART;VALUE=DATE:20201224", "DTEND;VALUE=DATE:20201227", "RRULE:FREQ=YEARLY"]
    assert told(read(event(*rule, summary="Christmas"))) == ["Christmas, 2027-12-24 - 2027-12-26"]


# Against what stands


def states(season, text: str) -> list[tuple[str, list[str]]]:
    found = breaks_in(season, text.encode(), PASTED)
    return [
        (str(line.state), [str(change) for change in line.changes] or [line.reason]) for line in found.preview.lines
    ]


def take(season, head, content: str | bytes, filename: str = PASTED):
    content = content.encode() if isinstance(content, str) else content
    return import_breaks(season=season, content=content, filename=filename, by=head, today=TODAY)


def test_a_list_is_told_apart_in_new_changed_same_and_refused(season, night, head):
    change_breaks(season=season, wanted=[october(19, 25), october(1, name="Fair")], by=head, today=TODAY)
    assert states(season, "Half term; 19 Oct; 26 Oct\nFair; 1 Oct\nBall; 9 Oct\nball; 9 Oct\nX") == [
        ("changed", ["last day: Sun 25 Oct 2026 → Mon 26 Oct 2026"]),
        ("same", [""]),
        ("new", [""]),
        ("refused", ["line 3 says the same already"]),
        ("refused", ["it is not of two or three parts. Write: name; first day; last day"]),
    ]


CONTENTS = {
    "lines": (b"Half term; 19 Oct; 25 Oct\nBall; 9 Oct", PASTED),
    "table": (b"name,from,to,uid\nHalf term,2026-10-19,2026-10-25,a\nBall,2026-10-09,,b\n", "breaks.csv"),
    "calendar": (
        calendar(
            event("DTSTART;VALUE=DATE:20261019", "DTEND;VALUE=DATE:20261026", summary="Half term"),
            event("DTSTART;VALUE=DATE:20261009", uid="b", summary="Ball"),
        ),
        "school.ics",
    ),
}


@pytest.mark.parametrize("kind", CONTENTS)
def test_importing_twice_changes_nothing(kind, season, night, squad, head):
    first = take(season, head, *CONTENTS[kind])
    rows, sessions = list(season.breaks.values()), list(squad.sessions.values())
    second = take(season, head, *CONTENTS[kind])
    assert (first.count(State.NEW), second.count(State.SAME)) == (2, 2)
    assert (list(season.breaks.values()), list(squad.sessions.values())) == (rows, sessions)
    assert off(squad) == ["20 Oct"]


def test_each_source_after_another_finds_the_same_breaks(season, night, squad, head):
    for content in CONTENTS.values():
        take(season, head, *content)
    assert standing(season) == [("Ball", "09 Oct", "09 Oct"), ("Half term", "19 Oct", "25 Oct")]


def test_a_break_that_moved_in_its_calendar_moves_here_with_its_sessions(season, night, squad, head):
    take(season, head, *CONTENTS["calendar"])
    moved = calendar(event("DTSTART;VALUE=DATE:20261026", "DTEND;VALUE=DATE:20261031", summary="Autumn break"))
    preview = take(season, head, moved, "school.ics")
    assert preview.left_alone == ("Ball, Fri 9 Oct 2026",)
    assert (off(squad), standing(season)[1]) == (["27 Oct"], ("Autumn break", "26 Oct", "30 Oct"))


def test_an_import_that_would_do_something_else_than_was_seen_writes_nothing(season, night, squad, head):
    content, filename = CONTENTS["lines"]
    given = {"season": season, "content": content, "filename": filename, "by": head, "today": TODAY}
    *_told, seen = look_at_import(**given)
    mark(on(squad, 10, 20), squad)
    with pytest.raises(Refused, match="has changed since this preview"):
        import_breaks(**given, seen=seen)
    assert breaks_of(season) == []


# The pages


@pytest.fixture
def client(log_in, head, september):
    return log_in(head)


def test_lines_are_looked_at_before_they_are_written(season, night, squad, client):
    answer = client.post(
        address("import_breaks", season.pk), {"lines": "Half term; 19 Oct; 25 Oct\nFair; soon"}, follow=True
    )
    text = text_of(answer)
    assert "1 session is called off Tue 20 Oct 2026, 19:00: Half term" in text
    assert "“soon” is no date" in text
    assert breaks_of(season) == []
    url = answer.redirect_chain[-1][0]
    text = text_of(client.post(url, hidden(answer), follow=True))
    assert "The breaks are saved: 1 new, 0 changed, 0 same, 1 refused." in text
    assert (off(squad), Upload.objects.count()) == (["20 Oct"], 0)


def test_lines_come_back_to_be_mended(season, client):
    answer = client.post(address("import_breaks", season.pk), {"lines": "Fair; soon"}, follow=True)
    kept = Upload.objects.get()
    assert f"?lines={kept.pk}" in answer.content.decode()
    again = client.get(address("import_breaks", season.pk) + f"?lines={kept.pk}")
    assert "Fair; soon" in again.content.decode()


@pytest.mark.parametrize("kind", ["table", "calendar"])
def test_a_file_is_taken_on_the_page(kind, season, night, squad, client):
    content, name = CONTENTS[kind]
    url = address("import_breaks", season.pk)
    answer = client.post(url, {"file": SimpleUploadedFile(name, content)}, follow=True)
    client.post(answer.redirect_chain[-1][0], hidden(answer))
    assert off(squad) == ["20 Oct"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "Write lines or choose a file, one of the two."),
        ({"lines": "a; 9 Oct", "file": SimpleUploadedFile("x.csv", b"x")}, "one of the two"),
        ({"file": SimpleUploadedFile("x.csv", b"name,name\n1,2\n")}, "“name” stands over more than one column"),
        ({"file": SimpleUploadedFile("x.ics", b"BEGIN:VCALENDAR\nEND:VCALENDAR\n")}, "x.ics"),
        ({"lines": "a" * 50_001}, "at most 50000 characters"),
    ],
)
def test_what_cannot_be_read_comes_back_with_words(data, words, season, client):
    answer = client.post(address("import_breaks", season.pk), data)
    assert words in text_of(answer)


def test_lines_of_somebody_else_are_not_shown(season, client, stranger):
    kept = Upload.objects.create(club=season.squad.club, name=PASTED, content=b"Secret; 9 Oct", made_by=stranger)
    answer = client.get(address("import_breaks", season.pk) + f"?lines={kept.pk}")
    assert "Secret" not in answer.content.decode()


def test_a_preview_that_is_out_of_date_is_shown_again(season, night, squad, head, client):
    answer = client.post(address("import_breaks", season.pk), {"lines": "Half term; 19 Oct; 25 Oct"}, follow=True)
    change_breaks(season=season, wanted=[october(19, 25)], by=head, today=TODAY)
    again = client.post(answer.redirect_chain[-1][0], hidden(answer))
    assert "The season has changed since this preview. Nothing was written" in text_of(again)
    assert "There is nothing to write." in text_of(again)


@pytest.mark.parametrize("count", [1, 3])
def test_the_preview_takes_the_same_queries_for_any_number_of_lines(
    count, season, night, client, django_assert_num_queries
):
    text = "\n".join(f"Off {n}; {9 + n} Oct" for n in range(count))
    url = client.post(address("import_breaks", season.pk), {"lines": text})["Location"]
    with django_assert_num_queries(32):
        client.get(url)
