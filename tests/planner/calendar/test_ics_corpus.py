"""Calendar files as other people's programs wrote them, from the test data inside installed libraries.

Sources: the test calendars of the packages icalendar (BSD) and recurring-ical-events (LGPL), read where pip put
them. An independent parser, the package ical, is asked what it makes of the same files.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream
from ical.timezone import IcsTimezoneInfo

from planner.core.calendar import Stretch
from planner.fixture_files import ics
from planner.fixture_files.found import FoundFile, FoundMatch
from shared.cells import Unreadable
from tests.planner.calendar.damaged import CALENDARS, PIECES
from tests.planner.calendar.ics_files import WANTED

FOLDERS = [Path(package.__file__).parent for package in (icalendar, recurring_ical_events)]
FILES = sorted(path for folder in FOLDERS for path in folder.rglob("*.ics"))
ANY_YEAR = replace(WANTED, seasons=(Stretch(dt.date(1990, 1, 1), dt.date(2035, 12, 31)),))

pytestmark = pytest.mark.filterwarnings("ignore")  # the libraries warn about the very oddities that are tried here


def outcome(content: bytes, name: str = "f.ics", wanted=ANY_YEAR) -> FoundFile | str:
    """What the file gives, or the message that refuses it."""
    try:
        return ics.read(content, name, wanted)
    except Unreadable as problem:
        return str(problem)


def test_the_libraries_carry_their_test_calendars():
    assert len(FILES) > 200


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_strangers_calendar_gives_matches_or_says_why_not(path):
    found = outcome(path.read_bytes(), path.name)
    if isinstance(found, str):
        assert path.name in found
        assert found.endswith(".")
    else:
        assert all(entry.day in ANY_YEAR.seasons[0] if isinstance(entry, FoundMatch) else entry.reason
                   for entry in found.entries)  # fmt: skip


def single_starts(path: Path) -> dict[str, dt.date | dt.datetime]:
    """UID -> start of the events that do not repeat and stand once, as the package ical reads them.

    Times in zones that a file defines for itself are left out: the package takes some of them for UTC.
    """
    try:
        stream = IcsCalendarStream.from_ics(path.read_text(encoding="utf-8"))
    except Exception:  # what the other reader cannot read cannot be compared
        return {}
    events = [event for calendar in stream.calendars for event in calendar.events]
    uids = [event.uid for event in events]
    return {
        event.uid: event.dtstart
        for event in events
        if uids.count(event.uid) == 1
        and not event.rrule
        and not event.rdate
        and not event.recurrence_id
        and not isinstance(getattr(event.dtstart, "tzinfo", None), IcsTimezoneInfo)
    }


def starts_at_the_club(start: dt.date | dt.datetime) -> tuple[dt.date, dt.datetime | None]:
    if not isinstance(start, dt.datetime):
        return start, None
    local = (start if start.tzinfo else start.replace(tzinfo=WANTED.zone)).astimezone(WANTED.zone)
    return local.date(), local


def test_single_events_start_when_an_independent_reader_says_so():
    compared, unlike = 0, []
    for path in FILES:
        found = outcome(path.read_bytes(), path.name)
        theirs = single_starts(path) if not isinstance(found, str) else {}
        for match in found.entries if theirs else ():
            if isinstance(match, FoundMatch) and match.uid in theirs:
                compared += 1
                if (match.day, match.kick_off) != starts_at_the_club(theirs[match.uid]):
                    unlike.append((path.name, match, theirs[match.uid]))
    assert unlike == []
    assert compared > 150


@st.composite
def mutations(draw) -> bytes:
    """A valid calendar with lines dropped, doubled or swapped, and bytes cut out or put in."""
    lines = draw(st.sampled_from(CALENDARS)).split(b"\r\n")
    for _change in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["drop", "double", "swap", "cut", "put", "line"]))
        line, piece = lines[place], draw(st.sampled_from(PIECES) | st.binary(max_size=6))
        at = draw(st.integers(0, max(len(line), 1)))
        new = {
            "drop": [], "double": [line, line], "swap": lines[-2:-1], "cut": [line[:at] + line[at + 3 :]],
            "put": [line[:at] + piece + line[at:]], "line": [piece, line],
        }[kind]  # fmt: skip
        lines = lines[:place] + new + lines[place + 1 :] or [b""]
    return b"\r\n".join(lines)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(mutations())
def test_a_damaged_calendar_never_brings_the_reader_down(content):
    found = outcome(content, wanted=WANTED)
    if not isinstance(found, str):
        assert found.entries
