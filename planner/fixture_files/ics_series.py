"""Events that repeat: their occurrences within the seasons, by RFC 5545."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

import recurring_ical_events
from dateutil.rrule import rrulestr
from django.utils.translation import gettext as _
from icalendar import Calendar, Event
from icalendar.prop import vDDDTypes

from planner.fixture_files.found import Refused, Wanted

REPEATS = ("RRULE", "RDATE")
FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
FINER_THAN_A_DAY = ("BYHOUR", "BYMINUTE", "BYSECOND")
# Taken from daily and weekly rules, these would make the search for a rule's next date long.
COSTLY = {"DAILY": ("BYMONTH", "BYMONTHDAY", "BYYEARDAY", "BYWEEKNO", "BYSETPOS")}
COSTLY["WEEKLY"] = COSTLY["DAILY"]
LEAP_CYCLE = 400  # years after which dates fall on the same weekdays again
MOST_SERIES = 50
MOST_OCCURRENCES = 100
OLDEST_START = dt.timedelta(days=3_660)
A_DAY = dt.timedelta(days=1)


def occurrences(uid: str, events: list[Event], wanted: Wanted) -> Iterator[tuple[str, Event]]:
    """Each occurrence in the seasons with a key of its own: the UID, and for one of many its RECURRENCE-ID.

    Raises Refused for a series that no fixture list needs: finer than daily, endless back in time, or too long.
    """
    if not repeats(events):
        for event in events:
            yield key_of(uid, event.get("RECURRENCE-ID")), event
        return
    for event in events:
        refuse_rule(event, wanted)
    for event in expanded(events, wanted):
        yield key_of(uid, event["RECURRENCE-ID"]), event


def repeats(events: list[Event]) -> bool:
    return any(name in event for event in events for name in REPEATS)


def key_of(uid: str, exception: vDDDTypes | None) -> str:
    if exception is None or not uid:
        return uid
    moment = exception.dt.astimezone(dt.UTC) if isinstance(exception.dt, dt.datetime) else exception.dt
    return f"{uid}/{vDDDTypes(moment).to_ical().decode()}"


def refuse_rule(event: Event, wanted: Wanted) -> None:
    rule: Any = event.get("RRULE")
    if rule is None:
        return
    if isinstance(rule, list):
        raise Refused(_("it has more than one RRULE"))
    finer = any(len(rule.get(part, [])) > 1 for part in FINER_THAN_A_DAY)
    if finer or rule.get("FREQ", [""])[0] not in FREQUENCIES:
        raise Refused(_("it repeats more than once a day"))
    costly = [part for part in COSTLY.get(rule["FREQ"][0], ()) if part in rule]
    if costly:
        raise Refused(_("its RRULE uses %(part)s in a daily or weekly rule") % {"part": costly[0]})
    if any(step < 1 for step in rule.get("INTERVAL", [1])):
        raise Refused(_("its RRULE has an INTERVAL below 1"))
    if day_of(event["DTSTART"].dt) < wanted.first - OLDEST_START:
        raise Refused(_("it repeats since more than ten years before the season"))
    if never_comes_true(event):
        raise Refused(_("its RRULE never comes true"))


def never_comes_true(event: Event) -> bool:
    """A rule such as 30 February would be followed up to the year 9999, so follow it from a year close before.

    The Gregorian calendar repeats every 400 years: the rule does there what it does from its own start.
    """
    rule = event["RRULE"].copy()
    for end in ("UNTIL", "COUNT"):
        rule.pop(end, None)
    day = day_of(event["DTSTART"].dt)
    late = day.replace(year=day.year + (dt.MAXYEAR - day.year) // LEAP_CYCLE * LEAP_CYCLE)
    try:
        dates = rrulestr(rule.to_ical().decode(), dtstart=dt.datetime.combine(late, dt.time()))
        return next(iter(dates), None) is None
    except ValueError as error:
        raise Refused(_("its RRULE cannot be worked out: %(error)s") % {"error": str(error)[:100]}) from error


def expanded(events: list[Event], wanted: Wanted) -> list[Event]:
    calendar = Calendar()
    for event in events:
        calendar.add_component(event)
    found: dict[str, Event] = {}
    try:
        query = recurring_ical_events.of(calendar)
        for season in wanted.seasons:
            for event in query.between(season.first - A_DAY, season.last + 2 * A_DAY):
                event["RECURRENCE-ID"] = place_in_series(event, events)
                found[key_of("x", event["RECURRENCE-ID"])] = event
    except Exception as error:  # whatever a strange rule does to the library, the user hears of the rule
        raise Refused(_("its repetition cannot be worked out: %(error)s") % {"error": str(error)[:100]}) from error
    if len(found) > MOST_OCCURRENCES:
        raise Refused(_("it repeats more than %(most)d times in the season") % {"most": MOST_OCCURRENCES})
    return list(found.values())


def place_in_series(occurrence: Event, events: list[Event]) -> vDDDTypes:
    """Its own RECURRENCE-ID. All that a change of “this and later” reaches (RFC 5545, 3.2.13) bear that of the first,
    so that of each is counted from there by days; the clock stays, as it does in the series."""
    told = occurrence["RECURRENCE-ID"]
    if "RANGE" not in told.params:
        return told
    change = next(event for event in events if (own := event.get("RECURRENCE-ID")) is not None and own.dt == told.dt)
    return vDDDTypes(told.dt + (day_of(occurrence["DTSTART"].dt) - day_of(change["DTSTART"].dt)))


def day_of(moment: dt.date | dt.datetime) -> dt.date:
    return moment.date() if isinstance(moment, dt.datetime) else moment
