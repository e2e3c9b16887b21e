"""Zones that a calendar file defines for itself."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from icalendar import Timezone
from icalendar.timezone import tzp

from planner.fixture_files.ics_text import Component

MOST_LINES = 400
_reading = threading.Lock()


@contextmanager
def only_this_files_zones(zones: Iterable[Component]) -> Iterator[None]:
    """Within, times find the zones of this file by their TZID, and those of no other.

    icalendar remembers every definition it has met for the whole process: one club's file would explain the
    zones of another's. A name of the zone database always means that zone, whatever the file says of it.
    """
    with _reading:
        tzp.use_default()
        try:
            for zone in zones:
                remember(zone)
            yield
        finally:
            tzp.use_default()


def remember(zone: Component) -> None:
    """A definition that is broken, or made to keep a computer busy, is passed over: its TZID stays unknown."""
    rules = [line.value for line in zone.lines if line.name == "RRULE"]
    if len(zone.lines) > MOST_LINES or not all(is_once_a_year(rule) for rule in rules):
        return
    text = "\r\n".join(["BEGIN:VTIMEZONE", *(line.text for line in zone.lines), "END:VTIMEZONE"])
    try:
        Timezone.from_ical(text)
    except Exception:  # a zone that cannot be read is a zone that nobody knows
        return


def is_once_a_year(rule: str) -> bool:
    """Clocks change by such rules; one that runs every second would be counted through for ever."""
    parts = dict(part.upper().partition("=")[::2] for part in rule.split(";"))
    single = (parts.get(name, "0") for name in ("BYHOUR", "BYMINUTE", "BYSECOND"))
    return parts.get("FREQ") == "YEARLY" and parts.get("INTERVAL", "1") == "1" and all(map(str.isdigit, single))
