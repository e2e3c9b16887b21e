"""A calendar as text by RFC 5545 and RFC 7986: lines, folding, escaping, time zones, events.

Written out here because only a handful of properties is needed, and because icalendar takes several
times as long for the same lines (docs/calendar.md has the figures; a test holds both to the same lines).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

PRODUCT = "-//Plumbline//Plumbline//EN"
MOST_OCTETS = 75  # of a line without its end: RFC 5545, section 3.1
UTC = dt.UTC
HOUR = dt.timedelta(hours=1)
NONE = dt.timedelta(0)


@dataclass(frozen=True, slots=True)
class Happening:
    """One event. `starts` and `ends` are moments on the clock of the place, or days if the time is not known.

    `ends` is the first moment, or the first day, after it; None if nobody knows how long it takes.
    """

    uid: str
    sequence: int
    changed_at: dt.datetime
    starts: dt.datetime | dt.date
    ends: dt.datetime | dt.date | None
    title: str
    place: str
    told: str
    cancelled: bool


def calendar_text(name: str, happenings: Iterable[Happening], refresh: str) -> bytes:
    """The whole feed. `refresh` says how long a reader should wait before asking again, as a duration: PT1H."""
    happenings = list(happenings)
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        f"NAME:{escaped(name)}",
        f"X-WR-CALNAME:{escaped(name)}",
        f"REFRESH-INTERVAL;VALUE=DURATION:{refresh}",
        f"X-PUBLISHED-TTL:{refresh}",
        *(line for zone, first, last in zones_of(happenings) for line in zone_lines(zone, first, last)),
        *(line for happening in happenings for line in event_lines(happening)),
        "END:VCALENDAR",
    ]
    return b"".join(folded(line) for line in lines)


def event_lines(happening: Happening) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{happening.uid}"
    # Without a METHOD the stamp is the time of the last revision: RFC 5545, section 3.8.7.2.
    yield f"DTSTAMP:{in_utc(happening.changed_at)}"
    yield f"LAST-MODIFIED:{in_utc(happening.changed_at)}"
    yield f"SEQUENCE:{happening.sequence}"
    yield "STATUS:" + ("CANCELLED" if happening.cancelled else "CONFIRMED")
    yield "DTSTART" + when(happening.starts)
    if happening.ends is not None:
        yield "DTEND" + when(happening.ends)
    yield f"SUMMARY:{escaped(happening.title)}"
    if happening.place:
        yield f"LOCATION:{escaped(happening.place)}"
    if happening.told:
        yield f"DESCRIPTION:{escaped(happening.told)}"
    yield "END:VEVENT"


def when(moment: dt.datetime | dt.date) -> str:
    if not isinstance(moment, dt.datetime):
        return f";VALUE=DATE:{moment:%Y%m%d}"
    if repeated(moment):
        return f":{in_utc(moment)}"
    return f";TZID={zone_name(moment)}:{moment:%Y%m%dT%H%M%S}"


def repeated(moment: dt.datetime) -> bool:
    """The second time that a clock which was set back shows this time: only in UTC can that be said."""
    return bool(moment.fold) and moment.replace(fold=0).utcoffset() != moment.utcoffset()


def in_utc(moment: dt.datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def zone_name(moment: dt.datetime) -> str:
    assert isinstance(moment.tzinfo, ZoneInfo), "a moment on the clock of a place"
    return moment.tzinfo.key


def escaped(text: str) -> str:
    """RFC 5545, section 3.3.11. A control character has no place in a text (section 3.1) and becomes a space.

    Whatever some reader may take for the end of a line becomes an end of a line that is written out.
    """
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    text = "\\n".join(text.splitlines())
    return text if text.isprintable() else "".join(" " if is_control(letter) else letter for letter in text)


def is_control(letter: str) -> bool:
    return letter < " " or letter == "\x7f"


def folded(line: str) -> bytes:
    """The line with its end, in parts of at most 75 octets; no letter is cut in two."""
    octets = line.encode("utf-8", "replace")
    if len(octets) <= MOST_OCTETS:
        return octets + b"\r\n"
    parts, start, room = [], 0, MOST_OCTETS
    while start < len(octets):
        end = min(start + room, len(octets))
        while end < len(octets) and octets[end] & 0xC0 == 0x80:
            end -= 1
        parts.append(octets[start:end])
        start, room = end, MOST_OCTETS - 1
    return b"\r\n ".join(parts) + b"\r\n"


def zones_of(happenings: Iterable[Happening]) -> list[tuple[ZoneInfo, dt.datetime, dt.datetime]]:
    """Each zone once, with the first and the last moment at which it is used."""
    used: dict[str, list[dt.datetime]] = {}
    for happening in happenings:
        for moment in (happening.starts, happening.ends):
            if isinstance(moment, dt.datetime) and not repeated(moment):
                used.setdefault(zone_name(moment), []).append(moment.astimezone(UTC))
    return [(ZoneInfo(key), min(moments), max(moments)) for key, moments in sorted(used.items())]


def zone_lines(zone: ZoneInfo, first: dt.datetime, last: dt.datetime) -> Iterator[str]:
    """A VTIMEZONE (RFC 5545, section 3.6.5) that is right from the first to the last moment."""
    yield "BEGIN:VTIMEZONE"
    yield f"TZID:{zone.key}"
    start = first.replace(minute=0, second=0, microsecond=0) - HOUR
    yield from observance(zone, start, start)
    for change in changes_between(zone, start, last):
        yield from observance(zone, change - dt.timedelta(seconds=1), change)
    yield "END:VTIMEZONE"


def changes_between(zone: ZoneInfo, first: dt.datetime, last: dt.datetime) -> Iterator[dt.datetime]:
    """The moments, in UTC, at which the clocks are set; looked for day by day, then by halves down to the second."""
    day = dt.timedelta(days=1)
    while first <= last:
        if offset(zone, first) != offset(zone, first + day):
            yield change_within(zone, first, first + day)
        first += day


def change_within(zone: ZoneInfo, before: dt.datetime, after: dt.datetime) -> dt.datetime:
    old = offset(zone, before)
    while after - before > dt.timedelta(seconds=1):
        middle = before + (after - before) // 2
        middle = middle.replace(microsecond=0)
        before, after = (middle, after) if offset(zone, middle) == old else (before, middle)
    return after


def observance(zone: ZoneInfo, before: dt.datetime, start: dt.datetime) -> Iterator[str]:
    """What holds from `start` on. Its onset is told on the clock that was right until then."""
    was, local = offset(zone, before), start.astimezone(zone)
    kind = "DAYLIGHT" if (local.dst() or NONE) > NONE else "STANDARD"
    yield f"BEGIN:{kind}"
    yield f"DTSTART:{(start + was).replace(tzinfo=None):%Y%m%dT%H%M%S}"
    yield f"TZOFFSETFROM:{signed(was)}"
    yield f"TZOFFSETTO:{signed(offset(zone, start))}"
    yield f"TZNAME:{local.tzname()}"
    yield f"END:{kind}"


def offset(zone: ZoneInfo, moment: dt.datetime) -> dt.timedelta:
    found = moment.astimezone(zone).utcoffset()
    assert found is not None, "a zone always knows its distance from UTC"
    return found


def signed(distance: dt.timedelta) -> str:
    seconds = int(distance.total_seconds())
    minutes = abs(seconds) // 60
    return f"{'-' if seconds < 0 else '+'}{minutes // 60:02}{minutes % 60:02}"
