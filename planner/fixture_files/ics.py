"""Matches from an iCalendar file (RFC 5545), whatever program wrote it.

Rules for what the standard leaves open, or what files get wrong:
- a time without a zone is meant in the zone that X-WR-TIMEZONE names for the calendar, or else at the club's ground;
- a Windows zone name counts as the zone it stands for; a zone that is neither known nor defined in the file refuses
  the event, since guessing would give a wrong kick-off;
- a date without a time is a match whose kick-off is not known yet; of several days the first counts;
- the end is not read, so a missing or impossible one does no harm;
- of two versions of one event the higher SEQUENCE counts, then the later stamp, then the later place in the file;
- STATUS:CANCELLED, or METHOD:CANCEL for the whole calendar, cancels a match; it never deletes one; a title that says
  “postponed” or “cancelled” before or behind the rest comes before STATUS;
- an event without UID is recognised by its day and opponent; one without SUMMARY is refused.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain
from operator import itemgetter
from typing import Any

from django.utils.translation import gettext as _
from icalendar import Event
from icalendar.timezone import tzp

from planner.fixture_files.found import FoundFile, FoundMatch, Refusal, Refused, Wanted, cut
from planner.fixture_files.ics_series import MOST_SERIES, occurrences, repeats
from planner.fixture_files.ics_text import CalendarText, Component, ContentLine, calendars_in
from planner.fixture_files.ics_zones import only_this_files_zones
from planner.fixture_files.summary import is_training, parted, read_summary
from planner.models import FixtureState
from shared.cells import Unreadable

TIMES = ("DTSTART", "RECURRENCE-ID", "RDATE", "EXDATE")
READ = (*TIMES, "UID", "RRULE", "SUMMARY", "LOCATION", "CATEGORIES", "STATUS", "SEQUENCE", "DTSTAMP", "LAST-MODIFIED")
LONGEST_LINE = 20_000
EventReader = Callable[[Component, dt.tzinfo], Event]
STATES = {"CANCELLED": FixtureState.CANCELLED, "CONFIRMED": FixtureState.PLANNED}


@dataclass(frozen=True)
class Version:
    """One VEVENT: an event, or one version or exception of it."""

    number: int
    event: Event

    @property
    def where(self) -> str:
        return _("line %(line)d") % {"line": self.number}

    @property
    def uid(self) -> str:
        return text_of(self.event, "UID")

    @property
    def same(self) -> tuple[str, str]:
        """Equal in versions of the same thing. An event without UID is only itself."""
        exception = self.event.get("RECURRENCE-ID")
        return self.uid or f"line {self.number}", str(exception.dt) if exception else ""

    @property
    def age(self) -> tuple[int, str, int]:
        stamps = (self.event.get(name) for name in ("LAST-MODIFIED", "DTSTAMP"))
        stamp = next((stamp.to_ical().decode() for stamp in stamps if hasattr(stamp, "dt")), "")
        return int(self.event.get("SEQUENCE", 0)), stamp, self.number


def read(content: bytes, filename: str, wanted: Wanted) -> FoundFile:
    """The matches of a calendar file that lie in the wanted seasons. Raises Unreadable."""
    calendars, encoding = calendars_in(content, filename)
    zones = [zone for calendar in calendars for zone in calendar.of("VTIMEZONE")]
    with only_this_files_zones(zones):
        versions, refused = parsed(calendars, wanted)
        current, replaced = newest(versions)
        series, surplus = few_enough(by_uid(current))
        found = [list(matches_of(versions, wanted)) for versions in series]
    entries = sorted([*refused, *replaced, *surplus, *chain.from_iterable(found)], key=itemgetter(0))
    if not entries:
        raise Unreadable(
            _("No event of “%(file)s” lies in a season of the squad (%(first)s to %(last)s).")
            % {"file": filename, "first": wanted.first.isoformat(), "last": wanted.last.isoformat()}
        )
    return FoundFile(tuple(entry for _line, entry in entries), f"iCalendar, {encoding}", found.count([]))


def match_event(component: Component, floating: dt.tzinfo) -> Event:
    event = event_of(component, floating)
    if is_training(text_of(event, "SUMMARY")):
        raise Refused(_("it is called training; only matches are taken from a calendar"))
    return event


def parsed(
    calendars: Iterable[CalendarText], wanted: Wanted, event_in: EventReader = match_event
) -> tuple[list[Version], list[tuple[int, Refusal]]]:
    """Every event by `event_in`, which raises Refused."""
    versions, refused = [], []
    for calendar in calendars:
        floating = (calendar.zone and tzp.timezone(calendar.zone)) or wanted.zone
        for component in calendar.of("VEVENT"):
            try:
                event = event_in(component, floating)
            except Refused as refusal:
                refused.append(refused_at(component.number, component.first("SUMMARY"), refusal.reason))
                continue
            if calendar.method == "CANCEL":
                event["STATUS"] = "CANCELLED"
            versions.append(Version(component.number, event))
    return versions, refused


def refused_at(number: int, label: str, reason: str) -> tuple[int, Refusal]:
    where = _("line %(line)d") % {"line": number}
    return number, Refusal(where, cut(label, "opponent") or _("event without a name"), reason)


def event_of(component: Component, floating: dt.tzinfo, names: Collection[str] = READ) -> Event:
    """The event with these properties, its times without a zone put into the `floating` one. Raises Refused."""
    lines = [line for line in component.lines if line.name in names and line.value]
    if any(len(line.text) > LONGEST_LINE for line in lines):
        raise Refused(_("a line of it has more than %(most)d letters") % {"most": LONGEST_LINE})
    if component.first("EXRULE"):
        raise Refused(_("it leaves out days by EXRULE, which is no longer part of the standard. Use EXDATE."))
    try:
        event = Event.from_ical("\r\n".join(["BEGIN:VEVENT", *(line.text for line in lines), "END:VEVENT"]))
    except Exception as error:  # a parser's last word on broken text has many types and one meaning
        raise Refused(_("it cannot be read: %(error)s") % {"error": str(error)[:100]}) from error
    for name, error in event.errors:
        raise Refused(
            _("%(name)s cannot be read: %(why)s") % {"name": name or _("a line"), "why": why(lines, name, error)}
        )
    refuse_start(event)
    for name in (*TIMES, "DTEND"):
        settle_zone(event, name, floating)
    return event


def why(lines: Iterable[ContentLine], name: str | None, error: str) -> str:
    """Of a time, what stands in the file and how it is written; else the parser's own words."""
    text = next((line.text for line in lines if line.name == name), "")
    if not text or name not in (*TIMES, "DTEND"):
        return error[:100]
    return _("“%(text)s” is no time like 20261031T143000, and no day like 20261031") % {"text": text[:80]}


def refuse_start(event: Event) -> None:
    start = event.get("DTSTART")
    if start is None:
        raise Refused(_("it has no DTSTART, so its day is not known"))
    if isinstance(start, list):
        raise Refused(_("it has more than one DTSTART"))
    if not isinstance(start.dt, dt.date):
        raise Refused(_("its DTSTART is neither a date nor a time of a day"))
    if isinstance(event.get("RECURRENCE-ID"), list) or isinstance(event.get("SEQUENCE"), list):
        raise Refused(_("it has more than one RECURRENCE-ID or SEQUENCE"))


def settle_zone(event: Event, name: str, floating: dt.tzinfo) -> None:
    """Give every time of a property its zone. Raises Refused for what is no time, or in a zone nobody knows."""
    values = event.get(name)
    for value in values if isinstance(values, list) else [values] if values is not None else []:
        for time in getattr(value, "dts", [value]):
            if not isinstance(time.dt, (dt.date, tuple)):
                raise Refused(_("its %(name)s is neither a date nor a time of a day") % {"name": name})
            if isinstance(time.dt, dt.datetime) and time.dt.tzinfo is None:
                refuse_zone(value.params.get("TZID"))
                time.dt = time.dt.replace(tzinfo=floating)


def refuse_zone(name: str | None) -> None:
    """A name that stands at a time without having led to a zone is a name that nobody knows."""
    if name:
        raise Refused(
            _("its time zone “%(zone)s” is not known. Export it with one like Europe/London.")
            % {"zone": str(name)[:60]}
        )


def newest(versions: list[Version]) -> tuple[list[Version], list[tuple[int, Refusal]]]:
    """The version of each event that counts, and the others as refusals that say so."""
    latest: dict[tuple[str, str], Version] = {}
    for version in sorted(versions, key=lambda version: version.age):
        latest[version.same] = version
    replaced = [
        replaced_by(version, latest[version.same]) for version in versions if latest[version.same] is not version
    ]
    return [version for version in versions if latest[version.same] is version], replaced


def replaced_by(version: Version, later: Version) -> tuple[int, Refusal]:
    reason = _("line %(line)d holds a later version of the same event (same UID)") % {"line": later.number}
    return refused_at(version.number, text_of(version.event, "SUMMARY"), reason)


def by_uid(versions: Iterable[Version]) -> list[list[Version]]:
    series: dict[str, list[Version]] = {}
    for version in versions:
        series.setdefault(version.same[0], []).append(version)
    return list(series.values())


def few_enough(all_series: list[list[Version]]) -> tuple[list[list[Version]], list[tuple[int, Refusal]]]:
    """All but the repeating events beyond the limit, and those as refusals."""
    repeating = [series for series in all_series if repeats([version.event for version in series])]
    surplus = repeating[MOST_SERIES:]
    reason = _("a file may hold %(most)d repeating events, and this is one more") % {"most": MOST_SERIES}
    refused = [refused_at(series[0].number, text_of(series[0].event, "SUMMARY"), reason) for series in surplus]
    return [series for series in all_series if series not in surplus], refused


def matches_of(series: list[Version], wanted: Wanted) -> Iterator[tuple[int, FoundMatch | Refusal]]:
    """The matches of one event and its exceptions within the seasons."""
    first = series[0]
    try:
        for key, event in occurrences(first.uid, [version.event for version in series], wanted):
            match = match_of(first.where, key, event, wanted)
            if wanted.has(match.day):
                yield first.number, match
    except Refused as refusal:
        yield refused_at(first.number, text_of(first.event, "SUMMARY") or first.uid, refusal.reason)


def match_of(where: str, key: str, event: Event, wanted: Wanted) -> FoundMatch:
    start = event["DTSTART"].dt
    timed = isinstance(start, dt.datetime)
    local = in_zone(start, wanted) if timed else None
    summary = text_of(event, "SUMMARY")
    day = local.date() if local else start
    if not wanted.has(day):
        return FoundMatch(where, key, day, local, summary)
    if not summary:
        raise Refused(_("it has no SUMMARY, so the opponent is not known"))
    title, off = parted(summary)
    opponent, home = read_summary(title, wanted.club)
    return FoundMatch(
        where,
        key,
        day,
        local,
        cut(opponent, "opponent"),
        home,
        cut(first_category(event), "competition"),
        cut(text_of(event, "LOCATION"), "venue_words"),
        off or STATES.get(text_of(event, "STATUS").upper()),
    )


def in_zone(start: dt.datetime, wanted: Wanted) -> dt.datetime:
    try:
        return start.astimezone(dt.UTC).astimezone(wanted.zone)
    except OverflowError:
        raise Refused(_("its year %(year)d is out of reach") % {"year": start.year}) from None


def text_of(event: Event, name: str) -> str:
    """The property as one line of text; the first if it stands there more than once."""
    value: Any = event.get(name, "")
    return " ".join(str(value[0] if isinstance(value, list) else value).split())


def first_category(event: Event) -> str:
    value: Any = event.get("CATEGORIES")
    if isinstance(value, list):
        value = value[0]
    return next((str(category) for category in getattr(value, "cats", [])), "")
