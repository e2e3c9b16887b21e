"""Calendar files put together line by line, and who reads them."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from planner.core.calendar import Stretch
from planner.fixture_files import ics
from planner.fixture_files.found import FoundFile, FoundMatch, Refusal, Wanted

SEASON = Stretch(dt.date(2026, 9, 1), dt.date(2027, 4, 30))
LONDON = ZoneInfo("Europe/London")
WANTED = Wanted(LONDON, "Brackenford RFC", (SEASON,))
KICK_OFF = "DTSTART;TZID=Europe/London:20261010T150000"


def event(*lines: str, uid: str = "a", summary: str = "Brackenford v Netherby Cross") -> list[str]:
    told = [f"UID:{uid}"] if uid else []
    told += [f"SUMMARY:{summary}"] if summary else []
    return ["BEGIN:VEVENT", *told, *lines, "END:VEVENT"]


def calendar(*events: list[str], head: tuple[str, ...] = ("VERSION:2.0",)) -> bytes:
    lines = ["BEGIN:VCALENDAR", *head, *(line for lines in events for line in lines), "END:VCALENDAR", ""]
    return "\r\n".join(lines).encode()


def read(*events: list[str], wanted: Wanted = WANTED, **more) -> FoundFile:
    return ics.read(calendar(*events, **more), "fixtures.ics", wanted)


def only(*lines: str, **more) -> FoundMatch | Refusal:
    """What becomes of a file with this one event."""
    (entry,) = read(event(*lines, **more)).entries
    return entry


def refusal(*lines: str, **more) -> str:
    entry = only(*lines, **more)
    assert isinstance(entry, Refusal), entry
    return entry.reason
