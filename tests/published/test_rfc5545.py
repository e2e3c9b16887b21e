"""RFC 5545 (Internet Calendaring and Scheduling), examples of the published text, against what reads our fixtures.

Recurrence examples: section 3.8.5.3 (RRULE). Each is read as a calendar file, expanded, and taken as matches.
"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import rrulestr

from planner.core.calendar import Stretch
from planner.fixture_files import ics
from planner.fixture_files.found import FoundMatch, Wanted
from planner.fixture_files.ics_text import content_lines

NEW_YORK = ZoneInfo("America/New_York")
WANTED = Wanted(NEW_YORK, "Brackenford RFC", (Stretch(dt.date(1997, 1, 1), dt.date(2001, 12, 31)),))


def matches(*lines: str) -> list[FoundMatch]:
    event = ["BEGIN:VEVENT", "UID:example", "SUMMARY:v Netherby", *lines, "END:VEVENT"]
    text = "\r\n".join(["BEGIN:VCALENDAR", "VERSION:2.0", *event, "END:VCALENDAR", ""])
    return list(ics.read(text.encode(), "rfc5545.ics", WANTED).entries)


def days(*lines: str) -> list[str]:
    return [f"{match.day:%Y %b %-d}" for match in sorted(matches(*lines), key=lambda match: match.day)]


def local_times(*lines: str) -> set[str]:
    return {f"{match.kick_off.astimezone(NEW_YORK):%H:%M}" for match in matches(*lines)}


def dated(year: int, text: str) -> list[str]:
    """dated(1997, "Sep 2 Sep 4") as days() gives it."""
    words = text.split()
    return [f"{year} {month} {day}" for month, day in zip(words[::2], words[1::2], strict=True)]


FRIDAY_13 = (
    "DTSTART;TZID=America/New_York:19970902T090000",
    "EXDATE;TZID=America/New_York:19970902T090000",
    "RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
)
FRIDAYS = ["1998 Feb 13", "1998 Mar 13", "1998 Nov 13", "1999 Aug 13", "2000 Oct 13"]


def test_every_friday_the_13th_without_the_day_that_exdate_takes_out():
    assert days(*FRIDAY_13)[:5] == FRIDAYS


def test_friday_the_13th_keeps_nine_in_the_morning_in_standard_and_daylight_time():
    assert local_times(*FRIDAY_13) == {"09:00"}
    offsets = [match.kick_off.utcoffset() for match in sorted(matches(*FRIDAY_13), key=lambda match: match.day)]
    assert offsets[2:5] == [dt.timedelta(hours=-5), dt.timedelta(hours=-4), dt.timedelta(hours=-4)]


START = "DTSTART;TZID=America/New_York:19970902T090000"
TEN = dated(1997, "Sep 2 Sep 4 Sep 9 Sep 11 Sep 16 Sep 18 Sep 23 Sep 25 Sep 30 Oct 2")


@pytest.mark.parametrize(
    "rule",
    [
        "RRULE:FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "RRULE:FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
    ],
)
def test_weekly_on_tuesday_and_thursday_for_five_weeks(rule):
    assert days(START, rule) == TEN


def test_every_other_week_on_tuesday_and_thursday_for_eight_occurrences():
    rule = "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH"
    assert days(START, rule) == dated(1997, "Sep 2 Sep 4 Sep 16 Sep 18 Sep 30 Oct 2 Oct 14 Oct 16")


@pytest.mark.parametrize(
    ("first_day", "expected"), [("MO", "Aug 5 Aug 10 Aug 19 Aug 24"), ("SU", "Aug 5 Aug 17 Aug 19 Aug 31")]
)
def test_the_day_on_which_a_week_starts_makes_a_difference(first_day, expected):
    rule = f"RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST={first_day}"
    assert days("DTSTART;TZID=America/New_York:19970805T090000", rule) == dated(1997, expected)


def test_an_exdate_takes_out_its_day_and_a_repeated_rdate_counts_once():
    """Section 3.8.5.2: duplicates between RRULE and RDATE are counted once; 3.8.5.1: EXDATE wins over both."""
    rule = ("RRULE:FREQ=WEEKLY;COUNT=3", "RDATE;TZID=America/New_York:19970909T090000,19970912T090000")
    gone = "EXDATE;TZID=America/New_York:19970916T090000"
    assert days(START, *rule, gone) == dated(1997, "Sep 2 Sep 9 Sep 12")


def test_dateutil_gives_the_same_fridays():
    """The library under our own layout of nights, on the first example."""
    rule = rrulestr("RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13", dtstart=dt.datetime(1997, 9, 2, 9))
    assert [f"{day:%Y %b %-d}" for day in rule.xafter(dt.datetime(1997, 9, 2, 9), count=5)] == FRIDAYS


def test_a_folded_line_is_the_line_it_was():
    """Section 3.1, the example of a long description in both foldings."""
    folded = b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    lines, _encoding = content_lines(folded)
    assert [line.text for line in lines] == ["DESCRIPTION:This is a long description that exists on a long line."]


def test_a_line_folded_in_the_middle_of_a_letter_is_mended():
    """Section 3.1 notes that some implementations fold in the middle of a multi-octet sequence."""
    lines, encoding = content_lines("SUMMARY:Zürich".encode().replace(b"\xc3\xbc", b"\xc3\r\n \xbc"))
    assert ([line.text for line in lines], encoding) == (["SUMMARY:Zürich"], "UTF-8")


def test_escaped_text_is_read_with_its_line_breaks_commas_and_semicolons():
    """Section 3.3.11, the example of a multiple line value; a fixture keeps it on one line."""
    text = r"LOCATION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared\, \; \\"
    assert matches(START, text)[0].venue == "Project XYZ Final Review Conference Room - 3B Come Prepared, ; \\"


def test_a_date_without_a_time_is_one_whole_day():
    """Section 3.6.1: DTSTART as a DATE without end takes up that day."""
    assert [(match.day, match.kick_off) for match in matches("DTSTART;VALUE=DATE:19971102")] == [
        (dt.date(1997, 11, 2), None)
    ]


def test_the_three_forms_of_a_time_are_local_utc_and_zoned():
    """Section 3.3.5: form 1 is floating, form 2 UTC, form 3 local time with a zone."""
    forms = ("19980118T230000", "19980119T070000Z", "19980119T020000")
    found = [
        matches(f"DTSTART:{forms[0]}"),
        matches(f"DTSTART:{forms[1]}"),
        matches(f"DTSTART;TZID=America/New_York:{forms[2]}"),
    ]
    assert [match.kick_off.astimezone(dt.UTC).isoformat() for (match,) in found] == [
        "1998-01-19T04:00:00+00:00",
        "1998-01-19T07:00:00+00:00",
        "1998-01-19T07:00:00+00:00",
    ]


def test_the_zone_of_a_definition_in_the_file_is_used():
    """Section 3.6.5 gives New York in a VTIMEZONE; here under a name that no database knows."""
    zone = [
        "BEGIN:VTIMEZONE", "TZID:Fifth Avenue",
        "BEGIN:STANDARD", "DTSTART:19971026T020000", "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10",
        "TZOFFSETFROM:-0400", "TZOFFSETTO:-0500", "TZNAME:EST", "END:STANDARD",
        "BEGIN:DAYLIGHT", "DTSTART:19970406T020000", "RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=4",
        "TZOFFSETFROM:-0500", "TZOFFSETTO:-0400", "TZNAME:EDT", "END:DAYLIGHT", "END:VTIMEZONE",
    ]  # fmt: skip
    events = [
        line
        for day in ("19980702", "19980119")
        for line in (
            "BEGIN:VEVENT",
            f"UID:{day}",
            "SUMMARY:v X",
            f"DTSTART;TZID=Fifth Avenue:{day}T150000",
            "END:VEVENT",
        )
    ]
    text = "\r\n".join(["BEGIN:VCALENDAR", "VERSION:2.0", *events, *zone, "END:VCALENDAR", ""])
    found = ics.read(text.encode(), "zone.ics", WANTED).entries
    assert [f"{match.kick_off.astimezone(dt.UTC):%m-%d %H:%M}" for match in found] == ["07-02 19:00", "01-19 20:00"]
