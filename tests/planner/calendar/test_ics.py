"""Calendar files: what the standard leaves open, and what programs get wrong, has a rule or a reason."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from planner.core.calendar import Stretch
from planner.fixture_files import ics
from planner.fixture_files.found import FoundMatch
from planner.models import FixtureState
from shared.cells import MOST_BYTES, Unreadable
from tests.planner.calendar.ics_files import KICK_OFF, LONDON, WANTED, calendar, event, only, read, refusal

AT_THREE = dt.datetime(2026, 10, 10, 15, tzinfo=LONDON)


def utc(match: FoundMatch) -> str:
    return f"{match.kick_off.astimezone(dt.UTC):%d %H:%M}"


def test_a_match_is_read_with_everything_that_a_file_says_of_it():
    assert only(
        KICK_OFF, "DTEND;TZID=Europe/London:20261010T163000", "LOCATION:Mill Lane", "CATEGORIES:League,First team"
    ) == FoundMatch("line 3", "a", dt.date(2026, 10, 10), AT_THREE, "Netherby Cross", True, "League", "Mill Lane", None)


# Zones and times


def test_a_floating_time_is_the_time_at_the_club():
    sydney = replace(WANTED, zone=ZoneInfo("Australia/Sydney"))
    (match,) = read(event("DTSTART:20261010T150000"), wanted=sydney).entries
    assert utc(match) == "10 04:00"


def test_a_calendar_may_name_the_zone_of_its_floating_times():
    for name, expected in (("Europe/Paris", "10 13:00"), ("No Such Zone", "10 14:00")):
        (match,) = read(event("DTSTART:20261010T150000"), head=("VERSION:2.0", f"X-WR-TIMEZONE:{name}")).entries
        assert utc(match) == expected


def test_a_time_in_another_zone_is_shown_on_the_clubs_day():
    match = only("DTSTART;TZID=America/New_York:20261009T213000")
    assert (match.day, f"{match.kick_off:%H:%M}") == (dt.date(2026, 10, 10), "02:30")


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("GMT Standard Time", "10 14:00"),
        ("Romance Standard Time", "10 13:00"),
        ("AUS Eastern Standard Time", "10 04:00"),
    ],
)
def test_a_windows_zone_name_counts_as_the_zone_it_stands_for(name, expected):
    """Names as CLDR's windowsZones table maps them: Europe/London, Europe/Paris, Australia/Sydney."""
    assert utc(only(f"DTSTART;TZID={name}:20261010T150000")) == expected


def test_a_zone_that_nobody_knows_refuses_the_match_rather_than_guess_its_kick_off():
    reason = refusal("DTSTART;TZID=Middle Earth/Shire:20261010T150000")
    assert reason == "its time zone “Middle Earth/Shire” is not known. Export it with one like Europe/London."


ODD_ZONE = [
    "BEGIN:VTIMEZONE",
    "TZID:Clubhouse",
    "BEGIN:STANDARD",
    "DTSTART:20000101T000000",
    "TZOFFSETFROM:+0300",
    "TZOFFSETTO:+0300",
    "END:STANDARD",
    "END:VTIMEZONE",
]
IN_ODD_ZONE = event("DTSTART;TZID=Clubhouse:20261010T150000")


def test_a_zone_defined_in_the_file_is_used_and_forgotten_with_it():
    (match,) = read(IN_ODD_ZONE, ODD_ZONE).entries
    assert utc(match) == "10 12:00"
    (later,) = read(IN_ODD_ZONE).entries
    assert later.reason.startswith("its time zone “Clubhouse” is not known")


def test_a_zone_definition_that_would_run_for_ever_is_passed_over():
    busy = [*ODD_ZONE[:4], "RRULE:FREQ=SECONDLY", *ODD_ZONE[4:]]
    (match,) = read(IN_ODD_ZONE, busy).entries
    assert match.reason.startswith("its time zone “Clubhouse” is not known")


def test_a_name_of_the_zone_database_means_that_zone_whatever_the_file_defines():
    odd_london = [line.replace("Clubhouse", "Europe/London") for line in ODD_ZONE]
    (match,) = read(odd_london, event(KICK_OFF)).entries
    assert utc(match) == "10 14:00"


def test_a_date_alone_is_a_match_without_a_known_kick_off():
    match = only("DTSTART;VALUE=DATE:20261010", "DTEND;VALUE=DATE:20261012")
    assert (match.day, match.kick_off) == (dt.date(2026, 10, 10), None)


@pytest.mark.parametrize("end", ["", "DTEND:20250101T000000Z", "DTEND:soon", "DURATION:-PT1H"])
def test_a_missing_or_impossible_end_does_no_harm(end):
    assert only(KICK_OFF, *([end] if end else [])).kick_off == AT_THREE


# States


@pytest.mark.parametrize(
    ("lines", "state"),
    [
        ([], None),
        (["STATUS:TENTATIVE"], None),
        (["STATUS:CONFIRMED"], FixtureState.PLANNED),
        (["STATUS:cancelled"], FixtureState.CANCELLED),
    ],
)
def test_the_status_says_whether_a_match_is_on(lines, state):
    assert only(KICK_OFF, *lines).state == state


def test_a_title_that_says_postponed_comes_before_a_status_that_does_not():
    found = only(KICK_OFF, "STATUS:CONFIRMED", summary="Postponed: Brackenford v Netherby Cross")
    assert (found.opponent, found.home, found.state) == ("Netherby Cross", True, "postponed")


def test_a_feed_of_ours_is_read_as_any_other():
    found = only(KICK_OFF, "STATUS:CANCELLED", summary="Match postponed: Netherby Cross (home)")
    assert (found.opponent, found.home, found.state) == ("Netherby Cross", True, "postponed")


def test_a_calendar_sent_to_cancel_cancels_all_in_it():
    (match,) = read(event(KICK_OFF, "STATUS:CONFIRMED"), head=("VERSION:2.0", "METHOD:CANCEL")).entries
    assert match.state == FixtureState.CANCELLED


# Versions and series


def test_of_two_versions_the_higher_sequence_counts_and_the_other_is_named():
    newer = event("SEQUENCE:2", "DTSTART;TZID=Europe/London:20261017T150000")
    older = event("SEQUENCE:1", KICK_OFF)
    first, second = read(newer, older).entries
    assert first.day == dt.date(2026, 10, 17)
    assert second.reason == "line 3 holds a later version of the same event (same UID)"


def test_a_series_gives_each_match_a_key_of_its_own_within_the_season():
    found = read(event("DTSTART;TZID=Europe/London:20260822T150000", "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=3"))
    assert [(match.uid, match.day.isoformat()) for match in found.entries] == [
        ("a/20260905T140000Z", "2026-09-05"),
        ("a/20260919T140000Z", "2026-09-19"),
    ]


def test_a_series_keeps_its_wall_time_over_the_clock_change():
    found = read(event("DTSTART;TZID=Europe/London:20261017T150000", "RRULE:FREQ=WEEKLY;COUNT=2"))
    assert [utc(match) for match in found.entries] == ["17 14:00", "24 14:00"]
    found = read(event("DTSTART;TZID=Europe/London:20261024T150000", "RRULE:FREQ=WEEKLY;COUNT=2"))
    assert [utc(match) for match in found.entries] == ["24 14:00", "31 15:00"]


def test_a_moved_match_of_a_series_keeps_its_key():
    series = event("DTSTART;TZID=Europe/London:20261003T150000", "RRULE:FREQ=WEEKLY;COUNT=2")
    moved = event("RECURRENCE-ID;TZID=Europe/London:20261010T150000", "DTSTART;TZID=Europe/London:20261011T120000")
    assert sorted((match.uid, match.day.isoformat()) for match in read(series, moved).entries) == [
        ("a/20261003T140000Z", "2026-10-03"),
        ("a/20261010T140000Z", "2026-10-11"),
    ]


def test_a_series_that_moves_from_a_match_on_loses_none_and_each_keeps_its_key():
    """RFC 5545, section 3.2.13: RANGE=THISANDFUTURE. The clocks change on 25 October."""
    series = event("DTSTART;TZID=Europe/London:20261010T150000", "RRULE:FREQ=WEEKLY;COUNT=4")
    later = event(
        "RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=Europe/London:20261017T150000",
        "DTSTART;TZID=Europe/London:20261018T143000",
    )
    without = {match.uid for match in read(series).entries}
    found = read(series, later).entries
    assert [f"{match.kick_off:%d %b %H:%M}" for match in found] == [
        "10 Oct 15:00",
        "18 Oct 14:30",
        "25 Oct 14:30",
        "01 Nov 14:30",
    ]
    assert {match.uid for match in found} == without


@pytest.mark.parametrize(
    ("rule", "reason"),
    [
        ("FREQ=SECONDLY", "it repeats more than once a day"),
        ("FREQ=DAILY;BYHOUR=1,2,3", "it repeats more than once a day"),
        ("FREQ=DAILY", "it repeats more than 100 times in the season"),
        ("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "its RRULE uses BYMONTH in a daily or weekly rule"),
        ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "its RRULE never comes true"),
        ("FREQ=WEEKLY;INTERVAL=0", "its RRULE has an INTERVAL below 1"),
    ],
)
def test_a_rule_that_no_fixture_list_needs_is_refused(rule, reason):
    assert refusal(KICK_OFF, f"RRULE:{rule}") == reason


def test_a_rule_that_began_long_ago_is_refused():
    assert refusal("DTSTART:19700101T150000Z", "RRULE:FREQ=WEEKLY") == (
        "it repeats since more than ten years before the season"
    )


def test_more_repeating_events_than_a_fixture_list_has_are_refused_one_by_one():
    many = [event(KICK_OFF, "RRULE:FREQ=WEEKLY;COUNT=1", uid=str(number)) for number in range(51)]
    entries = read(*many).entries
    assert len(entries) == 51
    assert [getattr(entry, "reason", "") for entry in entries[49:]] == [
        "",
        "a file may hold 50 repeating events, and this is one more",
    ]


# What is missing or wrong


def test_an_event_without_uid_is_taken_and_has_none():
    assert only(KICK_OFF, uid="").uid == ""


@pytest.mark.parametrize(
    ("lines", "summary", "reason"),
    [
        ([KICK_OFF], "", "it has no SUMMARY, so the opponent is not known"),
        ([], "v X", "it has no DTSTART, so its day is not known"),
        ([KICK_OFF, KICK_OFF], "v X", "it has more than one DTSTART"),
        (["DTSTART:PT1H"], "v X", "its DTSTART is neither a date nor a time of a day"),
        (["DTSTART:00010101T000000Z"], "v X", "its year 1 is out of reach"),
        ([KICK_OFF, "EXRULE:FREQ=DAILY"], "v X", "it leaves out days by EXRULE, which is no longer part of the "
         "standard. Use EXDATE."),
        ([KICK_OFF], "Training", "it is called training; only matches are taken from a calendar"),
    ],
)  # fmt: skip
def test_what_is_missing_or_wrong_is_named(lines, summary, reason):
    assert refusal(*lines, summary=summary) == reason


def test_one_broken_event_does_not_spoil_the_others_and_is_found_by_its_line():
    found = read(event(KICK_OFF), event("DTSTART:20261399", uid="b", summary="v Hollin"))
    assert isinstance(found.entries[0], FoundMatch)
    assert (found.entries[1].where, found.entries[1].label) == ("line 8", "v Hollin")
    assert found.entries[1].reason.startswith("DTSTART cannot be read")


def test_events_of_other_years_are_counted_not_listed():
    found = read(event(KICK_OFF), event("DTSTART:20190101T150000Z", uid="old"))
    assert (len(found.entries), found.outside) == (1, 1)


def test_control_characters_and_alarms_leave_no_trace():
    alarm = ["BEGIN:VALARM", "TRIGGER:-PT15M", "DTSTART:20200101", "SUMMARY:wake up", "END:VALARM"]
    match = only(KICK_OFF, *alarm, uid="a\x00\x07b")
    assert (match.uid, match.opponent) == ("ab", "Netherby Cross")


def test_a_very_long_name_is_cut_where_the_field_ends():
    opponent = only(KICK_OFF, summary="v " + "Nether" * 40).opponent
    assert (len(opponent), opponent[-1]) == (120, "…")


# Files


def test_lower_case_lone_line_breaks_and_a_byte_order_mark_are_read():
    text = calendar(event(KICK_OFF)).decode().replace("BEGIN:VEVENT", "begin:vevent").replace("UID:", "uid:")
    content = b"\xef\xbb\xbf" + text.replace("\r\n", "\r").encode()
    (match,) = ics.read(content, "mark.ics", WANTED).entries
    assert match.kick_off == AT_THREE


@pytest.mark.parametrize(
    ("codec", "origin"),
    [("utf-8", "iCalendar, UTF-8"), ("cp1252", "iCalendar, Windows-1252"), ("utf-16", "iCalendar, UTF-16")],
)
def test_letters_come_through_in_the_usual_encodings(codec, origin):
    content = calendar(event(KICK_OFF, summary="v Köln – Süd")).decode().encode(codec)
    found = ics.read(content, "letters.ics", WANTED)
    assert (found.entries[0].opponent, found.origin) == ("Köln – Süd", origin)


def test_two_calendars_in_one_file_are_both_read():
    content = calendar(event(KICK_OFF)) + calendar(event(KICK_OFF, uid="b", summary="v Hollin"))
    assert [match.uid for match in ics.read(content, "two.ics", WANTED).entries] == ["a", "b"]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"  \r\n", "“f.ics” is empty. Choose the file with your fixtures."),
        (b"<!DOCTYPE html>\n<p>Log in", "“f.ics” is no calendar: line 1 is “<!DOCTYPE html>”, not BEGIN:VCALENDAR."),
        (calendar(), "“f.ics” is a calendar without events."),
        (calendar(event(KICK_OFF))[:-40], "“f.ics”, line 3: VEVENT begins here and never ends; the file is cut off. "
         "Fetch or export the calendar again."),
        (calendar(["END:VEVENT"]), "“f.ics”, line 3: END:VEVENT closes nothing that is open here. "
         "Fetch or export the calendar again."),
        (calendar(event(KICK_OFF)) + b"BEGIN:VEVENT", "“f.ics”, line 9: BEGIN:VEVENT stands outside a calendar. "
         "Fetch or export the calendar again."),
        (calendar(event(KICK_OFF), head=("VERSION:1.0",)),
         "“f.ics” is a calendar of the old version 1.0. Export it as iCalendar (version 2.0)."),
        (calendar(event("DTSTART:20190101T150000Z")),
         "No event of “f.ics” lies in a season of the squad (2026-09-01 to 2027-04-30)."),
        (b"B" * (MOST_BYTES + 1), "“f.ics” is larger than 2.0 MB. Export the fixtures of one season only."),
        (calendar(*[event(KICK_OFF, uid=str(n)) for n in range(2_001)]),
         "“f.ics” holds 2001 events; 2000 is the most. Export one season or one team only."),
    ],
    ids=["empty", "html", "no events", "cut off", "stray end", "outside", "version 1", "other years", "big", "many"],
)  # fmt: skip
def test_a_file_that_cannot_be_read_says_what_where_and_how_to_mend_it(content, message):
    with pytest.raises(Unreadable) as caught:
        ics.read(content, "f.ics", WANTED)
    assert str(caught.value) == message


def test_matches_of_two_seasons_are_taken_and_those_between_left_out():
    wanted = replace(WANTED, seasons=(*WANTED.seasons, Stretch(dt.date(2027, 9, 1), dt.date(2028, 4, 30))))
    days = ("20261010", "20270601", "20271009")
    found = read(*[event(f"DTSTART;VALUE=DATE:{day}", uid=day) for day in days], wanted=wanted)
    assert ([match.uid for match in found.entries], found.outside) == (["20261010", "20271009"], 1)
