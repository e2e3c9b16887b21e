"""The invented club's matches as another program's calendar file would hold them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

PRODUCER = "-//Invented county fixtures desk//EN"


@dataclass(frozen=True, slots=True)
class Match:
    """A match so many weeks after the first Monday of the block; `day` 5 is Saturday. `kick_off` is wall time."""

    week: int
    opponent: str
    home: bool
    day: int = 5
    kick_off: dt.time = dt.time(14, 30)
    competition: str = "Vale League"


# No match in week 2 of the block: a bye. The Friday of week 4 makes a short week.
MATCHES = (
    Match(-4, "Netherby Cross RFC", home=True),
    Match(-3, "Stanmarsh RFC", home=False),
    Match(-2, "Oxlow Old Scholars", home=True),
    Match(-1, "Pikestone RFC", home=False),
    Match(0, "Great Corringham Harriers", home=True),
    Match(1, "Ludbrook Vale RFC", home=False),
    Match(3, "Saltmere RFC", home=True, competition="County Bowl"),
    Match(4, "Thorley Park RFC", home=True, day=4, kick_off=dt.time(19, 30)),
    Match(5, "Wexholme RFC", home=False),
    Match(6, "Netherby Cross RFC", home=False),
    Match(8, "Stanmarsh RFC", home=True),
    Match(9, "Oxlow Old Scholars", home=False),
    Match(10, "Pikestone RFC", home=True),
    Match(12, "Ludbrook Vale RFC", home=True),
)


def calendar_of(club: str, first_monday: dt.date, zone: ZoneInfo) -> bytes:
    """An RFC 5545 calendar of the season's matches."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCER)
    calendar.add("version", "2.0")
    for number, match in enumerate(MATCHES, 1):
        calendar.add_component(event_of(number, match, club, first_monday, zone))
    calendar.add_missing_timezones()
    return calendar.to_ical()


def event_of(number: int, match: Match, club: str, first_monday: dt.date, zone: ZoneInfo) -> Event:
    day = first_monday + dt.timedelta(weeks=match.week, days=match.day)
    kick_off = dt.datetime.combine(day, match.kick_off, zone)
    sides = (club, match.opponent) if match.home else (match.opponent, club)
    event = Event()
    event.add("uid", f"match-{number}@fixtures.invalid")
    event.add("dtstamp", dt.datetime.combine(first_monday, dt.time(9), ZoneInfo("UTC")))
    event.add("summary", " v ".join(sides))
    event.add("dtstart", kick_off)
    event.add("dtend", kick_off + dt.timedelta(minutes=100))
    event.add("categories", [match.competition])
    event.add("location", "The Withy Ground" if match.home else f"{match.opponent}, main pitch")
    return event
