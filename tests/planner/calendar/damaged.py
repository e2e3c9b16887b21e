"""Files of fixtures with something wrong: valid ones of which lines and bytes are dropped, doubled, swapped or put in.

The same number gives the same file, so that one that fails can be tried again.
"""

from __future__ import annotations

import random

from tests.planner.calendar.ics_files import KICK_OFF, calendar, event

CALENDARS = [
    calendar(
        event(KICK_OFF, "LOCATION:Mill Lane\\, the far pitch", "CATEGORIES:League", "STATUS:CONFIRMED", "SEQUENCE:1"),
        event("DTSTART;VALUE=DATE:20261017", uid="b", summary="Hollin v Brackenford"),
    ),
    calendar(
        event("DTSTART;TZID=Europe/London:20261003T150000", "RRULE:FREQ=WEEKLY;COUNT=6;BYDAY=SA",
              "EXDATE;TZID=Europe/London:20261017T150000", "RDATE;TZID=Europe/London:20261111T193000"),
        event("RECURRENCE-ID;TZID=Europe/London:20261024T150000", "DTSTART;TZID=Europe/London:20261025T120000"),
        event("RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=Europe/London:20261031T150000",
              "DTSTART;TZID=Europe/London:20261101T140000"),
    ),
    calendar(
        event("DTSTART;TZID=GMT Standard Time:20261114T143000", "STATUS:CANCELLED", summary="Brackenford v Hollin"),
        event("DTSTART:20261121T143000", uid="floating", summary="Brackenford v Löwenstein\r\n  Süd"),
        event("DTSTART:20261128T143000Z", "DURATION:PT2H", uid="c", summary="Netherby Cross v Brackenford"),
    ),
]  # fmt: skip
TABLES = [
    b"Date,Opponent,Home/away,Kick-off,Venue,Competition\r\n10/10/2026,Hollin,H,14:30,Mill Lane,League\r\n"
    b"24/10/2026,Netherby Cross,A,15:00,,Cup\r\n31/10/2026,Hollin,A,,,\r\n",
    "Date;Home team;Away team;Kick-off\n17.10.2026;Brackenford RFC;Löwenstein Süd;15.00\n"
    "24.10.2026;Hollin;Brackenford RFC;3pm\n".encode(),
]
PIECES = [
    b"BEGIN:VEVENT", b"END:VEVENT", b"END:VCALENDAR", b"RRULE:FREQ=DAILY;INTERVAL=0", b"RRULE:FREQ=YEARLY;BYEASTER=1",
    b"DTSTART:99991231T235959Z", b"DTSTART;TZID=\xff:20261010T150000", b"RDATE:20261010/PT1H", b"EXDATE:",
    b"SEQUENCE:-1", b"DURATION:P", b"UID:", b";;::", b"\x00", b"=", b"BEGIN:VTIMEZONE", b"TZOFFSETTO:+9999",
    b"20260229", b"\"", b",", b";", b"\xff\xfe", b"31/02/2026", b"25:61", b"=1+1", b"Date,Date", b"\xc3",
]  # fmt: skip
WAYS = ["drop", "double", "swap", "cut", "put", "line"]


def damaged(good: bytes, number: int) -> bytes:
    """The file with one to four changes, the same for the same number."""
    chance = random.Random(number)
    lines = good.split(b"\n")
    for _change in range(chance.randint(1, 4)):
        place = chance.randrange(len(lines))
        lines[place : place + 1] = changed(lines[place], chance, lines[-2:-1])
        lines = lines or [b""]
    return b"\n".join(lines)


def changed(line: bytes, chance: random.Random, last: list[bytes]) -> list[bytes]:
    """What comes in place of a line."""
    piece = chance.choice([*PIECES, chance.randbytes(chance.randint(0, 6))])
    at = chance.randint(0, max(len(line), 1))
    return {
        "drop": [], "double": [line, line], "swap": last, "cut": [line[:at] + line[at + 3 :]],
        "put": [line[:at] + piece + line[at:]], "line": [piece, line],
    }[chance.choice(WAYS)]  # fmt: skip
