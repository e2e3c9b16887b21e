"""The text of a feed, read back by readers that others wrote: icalendar, ical, recurring-ical-events, dateutil."""

from __future__ import annotations

import datetime as dt
import io
import uuid
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil.tz import tzical
from hypothesis import given
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream

from planner.core.feed_text import MOST_OCTETS, Happening, calendar_text, escaped, folded
from tests.planner.feeds.cast import unfolded

ZONES = ["Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"]
CHANGED = dt.datetime(2026, 9, 1, 12, 0, 5, tzinfo=dt.UTC)


def happening(starts, ends=None, **values) -> Happening:
    usual = {
        "uid": str(uuid.UUID(int=7)),
        "sequence": 3,
        "changed_at": CHANGED,
        "title": "Training",
        "place": "Main ground, Pitch 2",
        "told": "Bring boots; and a ball, or two\n19:00 Début",
        "cancelled": False,
    }
    return Happening(starts=starts, ends=ends, **usual | values)


def weekly(zone: str, first: dt.date = dt.date(2026, 9, 1), weeks: int = 40) -> list[Happening]:
    """Each Tuesday from seven to half past eight."""
    days = [first + dt.timedelta(weeks=week) for week in range(weeks)]
    clock = ZoneInfo(zone)
    return [
        happening(
            dt.datetime.combine(day, dt.time(19), clock),
            dt.datetime.combine(day, dt.time(20, 30), clock),
            uid=str(uuid.uuid5(uuid.NAMESPACE_OID, str(day))),
        )
        for day in days
    ]


def written(happenings) -> bytes:
    return calendar_text("Brackenford RFC, firsts", happenings, "PT1H")


def test_each_line_ends_with_crlf_and_holds_at_most_75_octets():
    content = written([happening(dt.date(2026, 10, 10), told="Ünïcödé 🏉 " * 60)])
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")
    assert max(len(line) for line in content.split(b"\r\n")) == MOST_OCTETS


@given(st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=300))
def test_a_folded_line_unfolds_to_itself_and_cuts_no_letter(text):
    lines = folded(text).split(b"\r\n")
    assert lines.pop() == b""
    assert all(len(line) <= MOST_OCTETS for line in lines)
    assert "".join(line.decode()[bool(n) :] for n, line in enumerate(lines)) == text


def test_text_is_escaped_as_rfc_5545_shows_and_a_colon_is_not():
    """RFC 5545, section 3.3.11: its example, and its rules for the backslash, the semicolon and the comma."""
    example = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped(example) == "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
    assert escaped('a\\b;c,d:e"f') == 'a\\\\b\\;c\\,d:e"f'


@pytest.mark.parametrize("end", ["\r\n", "\r", "\x0b", "\x0c", "\x85", "\u2028", "\u2029"])
def test_nothing_that_ends_a_line_for_some_reader_is_written_as_it_is(end):
    assert escaped(f"one{end}BEGIN:VEVENT") == "one\\nBEGIN:VEVENT"
    assert escaped("bell\x07tab\t.") == "bell tab ."


@given(st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1, max_size=200))
def test_two_readers_read_every_text_as_it_was_meant(text):
    content = written([happening(dt.date(2026, 10, 10), title="x" + text + "x", told="x" + text + "x")])
    event = icalendar.Calendar.from_ical(content).events[0]
    assert str(event["SUMMARY"]) == str(event["DESCRIPTION"]) == f"x{text}x"
    other = IcsCalendarStream.calendar_from_ics(content.decode()).events[0]
    assert other.summary == other.description == f"x{text}x"


@pytest.mark.parametrize("zone", ZONES)
def test_two_readers_see_training_at_seven_the_whole_winter(zone):
    content = written(weekly(zone))
    calendar = icalendar.Calendar.from_ical(content)
    found = recurring_ical_events.of(calendar).between(dt.date(2026, 8, 1), dt.date(2027, 9, 1))
    other = IcsCalendarStream.calendar_from_ics(content.decode()).events
    assert len(found) == len(other) == 40
    expected = {(h.starts.astimezone(dt.UTC), h.ends.astimezone(dt.UTC)) for h in weekly(zone)}
    assert {(e.start.astimezone(dt.UTC), e.end.astimezone(dt.UTC)) for e in found} == expected
    assert {(e.dtstart.astimezone(dt.UTC), e.dtend.astimezone(dt.UTC)) for e in other} == expected
    assert {(e.start.hour, e.end.minute) for e in found} == {(19, 30)}


@pytest.mark.parametrize("zone", ZONES)
def test_the_zone_written_out_agrees_with_the_zone_database_at_every_half_hour(zone):
    """dateutil knows nothing of the zone's name: it takes what the file defines."""
    events = weekly(zone)
    defined = tzical(io.StringIO(written(events).decode().replace("\r\n", "\n"))).get(zone)
    moment, last = events[0].starts.replace(tzinfo=None), events[-1].ends.replace(tzinfo=None)
    checked = 0
    while moment <= last:
        real = moment.replace(tzinfo=ZoneInfo(zone))
        if real.astimezone(dt.UTC).astimezone(ZoneInfo(zone)) == real and not ambiguous(real):
            assert moment.replace(tzinfo=defined).utcoffset() == real.utcoffset(), moment
            checked += 1
        moment += dt.timedelta(minutes=30)
    assert checked > 13_000


def ambiguous(moment: dt.datetime) -> bool:
    return moment.utcoffset() != moment.replace(fold=1).utcoffset()


def test_clocks_are_set_in_paris_at_the_hour_that_the_law_names():
    """Directive 2000/84/EC: at 01:00 UTC on the last Sundays of October and March; told on the clock until then."""
    lines = unfolded(written(weekly("Europe/Paris")))
    assert lines[lines.index("DTSTART:20261025T030000") + 1 :][:2] == ["TZOFFSETFROM:+0200", "TZOFFSETTO:+0100"]
    assert lines[lines.index("DTSTART:20270328T020000") + 1 :][:2] == ["TZOFFSETFROM:+0100", "TZOFFSETTO:+0200"]
    assert lines.count("BEGIN:VTIMEZONE") == 1


def test_lord_howe_sets_its_clocks_by_half_an_hour():
    lines = unfolded(written(weekly("Australia/Lord_Howe")))
    assert "TZOFFSETFROM:+1030" in lines
    assert "TZOFFSETTO:+1100" in lines


def test_each_zone_is_defined_once_and_none_without_use():
    lines = unfolded(written([*weekly("Europe/Paris"), *weekly("Africa/Casablanca")]))
    assert [line for line in lines if line.startswith("TZID:")] == ["TZID:Africa/Casablanca", "TZID:Europe/Paris"]
    assert not any("VTIMEZONE" in line for line in unfolded(written([happening(dt.date(2026, 10, 10))])))


def test_a_time_that_the_clock_shows_twice_is_told_in_utc_the_second_time():
    paris = ZoneInfo("Europe/Paris")
    first = happening(dt.datetime(2026, 10, 25, 2, 30, tzinfo=paris))
    second = happening(dt.datetime(2026, 10, 25, 2, 30, tzinfo=paris, fold=1))
    lines = unfolded(written([first, second]))
    assert "DTSTART;TZID=Europe/Paris:20261025T023000" in lines
    assert "DTSTART:20261025T013000Z" in lines


def test_icalendar_writes_the_same_lines_for_the_same_events():
    happenings = [
        *weekly("Europe/Paris", weeks=3),
        happening(dt.date(2026, 10, 10), dt.date(2026, 10, 11), cancelled=True, told="Ünïcödé 🏉, " * 20),
    ]
    ours = [sorted(unfolded(written([one]))[-len(theirs(one)) - 1 : -1]) for one in happenings]
    assert ours == [sorted(theirs(one)) for one in happenings]


def theirs(one: Happening) -> list[str]:
    event = icalendar.Event.new(
        uid=one.uid,
        summary=one.title,
        start=one.starts,
        end=one.ends,
        stamp=one.changed_at,
        last_modified=one.changed_at,
        sequence=one.sequence,
        status="CANCELLED" if one.cancelled else "CONFIRMED",
        location=one.place,
        description=one.told,
    )
    return unfolded(event.to_ical())


def test_the_head_of_the_calendar_says_its_name_and_how_often_to_ask():
    """RFC 7986, sections 5.1 and 5.7: the interval must say that it is a duration."""
    lines = unfolded(written([]))
    assert lines[:3] == ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Plumbline//Plumbline//EN"]
    assert "NAME:Brackenford RFC\\, firsts" in lines
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines
    assert "X-PUBLISHED-TTL:PT1H" in lines
    assert not any(line.startswith("METHOD") for line in lines)
    assert icalendar.Calendar.from_ical(written([])).events == []
