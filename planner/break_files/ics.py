"""Breaks from an iCalendar file (RFC 5545): every event is one, from its first to its last day.

Rules for what the standard leaves open, or what files get wrong:
- the DTEND of days is the day after the last (RFC 5545, 3.6.1); without an end, or with one that is its start, an event
  of a day has that day. An event with times has every day that it touches at the club;
- an event that is cancelled is refused with that reason: an import takes no break away;
- of two versions of one event the later counts, as for matches; events outside the season are left out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import chain
from operator import itemgetter

from django.utils.translation import gettext as _
from icalendar import Event

from planner.break_files.found import FoundBreak, FoundBreaks, found_break
from planner.core.calendar import Stretch
from planner.fixture_files.found import Refusal, Refused, Wanted
from planner.fixture_files.ics import (
    READ,
    Version,
    by_uid,
    event_of,
    few_enough,
    in_zone,
    newest,
    parsed,
    refused_at,
    text_of,
)
from planner.fixture_files.ics_series import occurrences
from planner.fixture_files.ics_text import Component, calendars_in
from planner.fixture_files.ics_zones import only_this_files_zones
from shared.cells import Unreadable

A_DAY = dt.timedelta(days=1)
A_MOMENT = dt.timedelta(microseconds=1)
Numbered = tuple[int, FoundBreak | Refusal]


def read(content: bytes, filename: str, wanted: Wanted) -> FoundBreaks:
    """The events that meet the one season of `wanted`. Raises Unreadable."""
    calendars, encoding = calendars_in(content, filename)
    zones = [zone for calendar in calendars for zone in calendar.of("VTIMEZONE")]
    with only_this_files_zones(zones):
        versions, refused = parsed(calendars, wanted, break_event)
        current, replaced = newest(versions)
        series, surplus = few_enough(by_uid(current))
        found = [list(breaks_of(versions, wanted)) for versions in series]
    entries = sorted([*refused, *replaced, *surplus, *chain.from_iterable(found)], key=itemgetter(0))
    if not entries:
        raise Unreadable(
            _("No event of “%(file)s” lies in the season (%(first)s to %(last)s).")
            % {"file": filename, "first": wanted.first.isoformat(), "last": wanted.last.isoformat()}
        )
    return FoundBreaks(tuple(entry for _line, entry in entries), f"iCalendar, {encoding}", found.count([]))


def break_event(component: Component, floating: dt.tzinfo) -> Event:
    """Its end is read too. Raises Refused."""
    event = event_of(component, floating, (*READ, "DTEND", "DURATION"))
    if any(isinstance(event.get(name), list) for name in ("DTEND", "DURATION")):
        raise Refused(_("it has more than one end"))
    return event


def breaks_of(series: list[Version], wanted: Wanted) -> Iterator[Numbered]:
    """The breaks of one event and its exceptions that meet the season."""
    first, (season,) = series[0], wanted.seasons
    try:
        for key, event in occurrences(first.uid, [version.event for version in series], wanted):
            days = days_of(event, wanted)
            if days.meets(season):
                yield first.number, break_of(first.where, key, event, days, season)
    except Refused as refusal:
        yield refused_at(first.number, text_of(first.event, "SUMMARY") or first.uid, refusal.reason)


def break_of(where: str, key: str, event: Event, days: Stretch, season: Stretch) -> FoundBreak:
    if text_of(event, "STATUS").upper() == "CANCELLED":
        raise Refused(_("it is cancelled in this calendar. If it is a break here, take it out of the list of breaks."))
    return found_break(where, text_of(event, "SUMMARY"), days, season, key)


def days_of(event: Event, wanted: Wanted) -> Stretch:
    """Raises Refused where it ends before it begins, or its ends are of two kinds."""
    start = event["DTSTART"].dt
    end = end_of(event, start)
    if isinstance(start, dt.datetime) != isinstance(end, dt.datetime):
        raise Refused(_("one of its DTSTART and DTEND is a day, the other a time"))
    if end < start:
        raise Refused(_("it ends before it begins"))
    if isinstance(start, dt.datetime):
        last = in_zone(end - A_MOMENT if end > start else end, wanted).date()
        return Stretch(in_zone(start, wanted).date(), last)
    return Stretch(start, max(start, end - A_DAY))


def end_of(event: Event, start: dt.date) -> dt.date:
    """Of a day the day after the last one, as DTEND has it."""
    if "DTEND" in event:
        return event["DTEND"].dt
    try:
        if "DURATION" in event:
            return start + event["DURATION"].dt
        return start if isinstance(start, dt.datetime) else start + A_DAY
    except (OverflowError, TypeError):
        raise Refused(_("its end cannot be worked out")) from None
