"""Calendars and lists of strangers and damaged ones, read as breaks: days of the season or a reason, never an error.

Calendars of strangers: the test data of the packages icalendar and recurring-ical-events. Whole days are compared with
what an independent parser, the package ical, makes of the same files.
"""

from __future__ import annotations

import datetime as dt

import pytest
from ical.calendar_stream import IcsCalendarStream

from planner.break_files import ics, table
from planner.break_files.found import FoundBreak, FoundBreaks
from planner.core.calendar import Stretch
from planner.fixture_files.found import Wanted
from shared.cells import Unreadable
from tests.planner.calendar.damaged import damaged
from tests.planner.calendar.ics_files import LONDON, calendar, event
from tests.planner.calendar.test_ics_corpus import FILES

pytestmark = pytest.mark.filterwarnings("ignore")  # the libraries warn about the very oddities that are tried here

ANY_YEAR = Stretch(dt.date(1990, 1, 1), dt.date(2035, 12, 31))
SEASON = Stretch(dt.date(2026, 9, 1), dt.date(2027, 4, 30))
CALENDARS = [
    calendar(
        event("DTSTART;VALUE=DATE:20261026", "DTEND;VALUE=DATE:20261031", "SEQUENCE:1", summary="Half term"),
        event("DTSTART;VALUE=DATE:20261221", "DURATION:P2W", uid="b", summary="Winter"),
    ),
    calendar(
        event("DTSTART;TZID=Europe/London:20261114T180000", "DTEND;TZID=Europe/London:20261115T020000", summary="Ball"),
        event("DTSTART;VALUE=DATE:20201225", "RRULE:FREQ=YEARLY", "EXDATE;VALUE=DATE:20261225", uid="c", summary="X"),
    ),
]
TABLES = [
    b"name,from,to\r\nHalf term,26/10/2026,30/10/2026\r\nBall,2026-11-14,\r\nWinter,21 Dec,3 Jan\r\n",
    "Why;First day;Last day\nPâques;26.03.27;29.03.27\nBall;14.11.;\n".encode(),
]


def checked(read, content: bytes, *more, days: Stretch) -> FoundBreaks | None:
    """Everything that was taken lies within the days, everything else has its reason; None if nothing can be read."""
    try:
        found = read(content, *more)
    except Unreadable:
        return None
    for entry in found.entries:
        if isinstance(entry, FoundBreak):
            assert days.first <= entry.gap.days.first <= entry.gap.days.last <= days.last
            assert entry.gap.name
        else:
            assert entry.reason
    return found


def wanted(days: Stretch) -> Wanted:
    return Wanted(LONDON, "Brackenford RFC", (days,))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_strangers_calendar_gives_breaks_or_says_why_not(path):
    checked(ics.read, path.read_bytes(), path.name, wanted(ANY_YEAR), days=ANY_YEAR)


@pytest.mark.parametrize("tenth", range(10))
@pytest.mark.parametrize("which", range(len(CALENDARS)))
def test_a_damaged_calendar_gives_breaks_or_says_why_not(which, tenth):
    for number in range(30):
        content = damaged(CALENDARS[which], 30 * tenth + number)
        checked(ics.read, content, "x.ics", wanted(SEASON), days=SEASON)


@pytest.mark.parametrize("which", range(len(TABLES)))
def test_a_damaged_list_gives_breaks_or_says_why_not(which):
    for number in range(200):
        checked(table.read, damaged(TABLES[which], number), "x.csv", SEASON, days=SEASON)


def test_whole_days_are_those_that_another_parser_finds():
    compared = 0
    for path in FILES:
        found = checked(ics.read, path.read_bytes(), path.name, wanted(ANY_YEAR), days=ANY_YEAR)
        known = whole_days(path)
        for entry in found.entries if found else ():
            if isinstance(entry, FoundBreak) and entry.gap.uid in known:
                assert entry.gap.days == known[entry.gap.uid], path.name
                compared += 1
    assert compared >= 10


def whole_days(path) -> dict[str, Stretch]:
    """UID -> days of the events of whole days that do not repeat, stand once, and have an end after their start."""
    try:
        stream = IcsCalendarStream.from_ics(path.read_text(encoding="utf-8"))
    except Exception:  # what the other reader cannot read cannot be compared
        return {}
    events = [event for each in stream.calendars for event in each.events]
    uids = [event.uid for event in events]
    single = [e for e in events if uids.count(e.uid) == 1 and not e.rrule and not e.rdate and not e.recurrence_id]
    return {
        e.uid: Stretch(e.dtstart, e.end - dt.timedelta(days=1))
        for e in single
        if type(e.dtstart) is dt.date and type(e.end) is dt.date and e.end > e.dtstart
    }
