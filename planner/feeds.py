"""What a calendar feed tells, to whom, since when, and how little work an unchanged one needs.

Two audiences, one rule: a reader is told of a session or match what stands in its `Event`, and of that event a
digest is kept (`Told`). When a feed is read and the digest has changed, SEQUENCE and LAST-MODIFIED move. So they
move when what this audience sees has changed, whoever changed it and by whatever verb, and at nothing else.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from planner.core.feed_text import Happening, calendar_text
from planner.feed_models import Audience, Feed, Told
from planner.models import Fixture, FixtureState, Session, Slot
from shared.models import Club
from shared.roles import Permission

WEEKS_BACK = 4
REFRESH = "PT1H"
# Twice 40 minutes and a half-time of at most 15: Laws 5.1 and 5.2 of the game; five more for stoppages are our own.
MATCH_LASTS = dt.timedelta(minutes=100)
SECOND = dt.timedelta(seconds=1)

Key = tuple[str, int]  # "session" or "fixture", and which


@dataclass(frozen=True, slots=True)
class Event:
    """All that a reader sees of a session or match, and nothing else."""

    key: Key
    starts: dt.datetime | dt.date
    ends: dt.datetime | dt.date | None
    title: str
    place: str
    told: str
    cancelled: bool

    @property
    def zone(self) -> str:
        return self.starts.tzinfo.key if isinstance(self.starts, dt.datetime) else ""

    @property
    def digest(self) -> str:
        seen = [str(self.starts), str(self.ends), self.zone, self.title, self.place, self.told, self.cancelled]
        return digest_of_all(seen)


def digest_of_all(parts: list) -> str:
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


@dataclass(frozen=True)
class Reading:
    """A feed as it stands at one moment, before it is written out."""

    audience: Audience
    name: str
    events: list[Event]

    @cached_property
    def digests(self) -> dict[Key, str]:
        return {event.key: event.digest for event in self.events}

    @cached_property
    def stamp(self) -> str:
        return digest_of_all([self.name, *([*key, digest] for key, digest in self.digests.items())])

    def text(self, now: dt.datetime) -> bytes:
        told = told_of(self.audience, self.digests, now)
        return calendar_text(self.name, [happening(event, told[event.key]) for event in self.events], REFRESH)


def happening(event: Event, told: Told) -> Happening:
    return Happening(
        uid=str(told.uid),
        sequence=told.sequence,
        changed_at=told.changed_at,
        starts=event.starts,
        ends=event.ends,
        title=event.title,
        place=event.place,
        told=event.told,
        cancelled=event.cancelled,
    )


# Who reads


def may_read(feed: Feed, today: dt.date) -> bool:
    """The role is looked up each time: a feed is worth what its owner may see today."""
    if feed.player:
        return not feed.player.has_left_by(today)
    return feed.membership.user.is_active and feed.membership.may(Permission.SEE_PLAN)


def reading_of(feed: Feed, today: dt.date) -> Reading:
    """From `WEEKS_BACK` weeks ago on, without end; in at most three queries."""
    first = today - dt.timedelta(weeks=WEEKS_BACK)
    if feed.player:
        return for_player(feed, first)
    return for_coaches(feed.membership.club, first)


def for_coaches(club: Club, first: dt.date) -> Reading:
    sessions = Session.objects.filter(squad__club=club, day__gte=first).select_related("squad")
    fixtures = Fixture.objects.filter(squad__club=club, day__gte=first).select_related("squad")
    slots = slots_by_session(club, first)
    events = [
        *(coaches_session(session, slots[session.pk], club) for session in sessions),
        *(match(fixture, club, str(fixture.squad)) for fixture in fixtures),
    ]
    name = _("%(club)s: programme and matches") % {"club": club}
    return Reading(Audience.COACHES, name, in_order(events))


def for_player(feed: Feed, first: dt.date) -> Reading:
    squad = feed.player.squad
    days = Q(day__gte=first) & (Q(day__lte=feed.player.left) if feed.player.left else Q())
    sessions = Session.objects.filter(days, squad=squad).with_length()
    fixtures = Fixture.objects.filter(days, squad=squad)
    events = [
        *(players_session(session, squad.club) for session in sessions),
        *(match(fixture, squad.club, what_to_bring()) for fixture in fixtures),
    ]
    name = _("%(club)s, %(squad)s: training and matches") % {"club": squad.club, "squad": squad}
    return Reading(Audience.PLAYERS, name, in_order(events))


def in_order(events: Iterable[Event]) -> list[Event]:
    return sorted(events, key=lambda event: (str(event.starts), event.key))


# What they see


@dataclass(frozen=True, slots=True)
class SlotTold:
    minutes: int
    words: str


def slots_by_session(club: Club, first: dt.date) -> dict[int, list[SlotTold]]:
    """What runs in each slot: its fixed content, or its drills with their coaches. Never who stands where."""
    rows = (
        Slot.objects.filter(session__squad__club=club, session__day__gte=first)
        .order_by("session", "order", "stations__order", "stations__pk")
        .values_list("session", "pk", "minutes", "title", "stations__drill__name", "stations__coach")
    )
    found: dict[int, dict[int, tuple[int, list[str]]]] = defaultdict(dict)
    for session, slot, minutes, title, drill, coach in rows:
        words = title or (f"{drill} ({coach})" if coach else drill) or _("not planned yet")
        found[session].setdefault(slot, (minutes, []))[1].append(words)
    told = {key: [SlotTold(minutes, ", ".join(words)) for minutes, words in of.values()] for key, of in found.items()}
    return defaultdict(list, told)


def coaches_session(session: Session, slots: list[SlotTold], club: Club) -> Event:
    minutes = sum(slot.minutes for slot in slots)
    starts = session.starts_at.astimezone(clock_of(session, club))
    lines = [_("Aim: %(aim)s") % {"aim": aim} for aim in session.aims]
    for slot in slots:
        lines.append(_("%(time)s %(words)s (%(count)d min)") % slot_words(slot, starts))
        starts = later(starts, slot.minutes)
    return training(session, club, minutes, [str(session.squad), *lines])


def slot_words(slot: SlotTold, starts: dt.datetime) -> dict[str, object]:
    return {"time": f"{starts:%H:%M}", "words": slot.words, "count": slot.minutes}


def players_session(session: Session, club: Club) -> Event:
    """Time, place and what to bring: no aim, no drill, no name, nobody's state."""
    return training(session, club, session.minutes, [what_to_bring()])


def training(session: Session, club: Club, minutes: int, lines: list[str]) -> Event:
    starts = session.starts_at.astimezone(clock_of(session, club))
    return Event(
        key=("session", session.pk),
        starts=starts,
        ends=later(starts, minutes) if minutes else None,
        title=_("Training cancelled") if session.cancelled else _("Training"),
        place=", ".join(part for part in (str(session.venue or ""), session.pitch) if part),
        told="\n".join(lines),
        cancelled=session.cancelled,
    )


def match(fixture: Fixture, club: Club, line: str) -> Event:
    """A postponed match is cancelled on its old day: nobody should travel. With a new day it is confirmed again."""
    starts, ends = match_times(fixture, clock_of(fixture, club))
    return Event(
        key=("fixture", fixture.pk),
        starts=starts,
        ends=ends,
        title=match_title(fixture),
        place=fixture.venue,
        told="\n".join(part for part in (fixture.competition, line) if part),
        cancelled=fixture.state != FixtureState.PLANNED,
    )


def match_times(fixture: Fixture, clock: ZoneInfo) -> tuple[dt.datetime | dt.date, dt.datetime | dt.date]:
    if fixture.all_day:
        return fixture.day, fixture.day + dt.timedelta(days=1)
    starts = fixture.kick_off.astimezone(clock)
    return starts, later(starts, MATCH_LASTS // dt.timedelta(minutes=1))


def match_title(fixture: Fixture) -> str:
    words = {
        FixtureState.POSTPONED: _("Match postponed: %(opponent)s (%(where)s)"),
        FixtureState.CANCELLED: _("Match cancelled: %(opponent)s (%(where)s)"),
    }.get(fixture.state, _("Match: %(opponent)s (%(where)s)"))
    return words % {"opponent": fixture.opponent, "where": _("home") if fixture.home else _("away")}


def what_to_bring() -> str:
    """The same for everybody and every night, so that it tells nothing of the plan. Common practice, no source."""
    return _("Bring boots, mouthguard, water and something warm.")


def clock_of(row: Session | Fixture, club: Club) -> ZoneInfo:
    """The clock on the wall where it takes place."""
    return club.tzinfo


def later(moment: dt.datetime, minutes: int) -> dt.datetime:
    """Minutes that really pass, also in a night in which the clocks are set."""
    return (moment.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(moment.tzinfo)


# Since when


def told_of(audience: Audience, digests: dict[Key, str], now: dt.datetime) -> dict[Key, Told]:
    """What the audience has been told of each event, after what has changed since is noted."""
    told = standing(audience, digests)
    if any(key not in told or told[key].digest != digest for key, digest in digests.items()):
        note_changes(audience, digests, now)
        told = standing(audience, digests)
    return told


def standing(audience: Audience, keys: Iterable[Key], *, locked: bool = False) -> dict[Key, Told]:
    rows = Told.objects.filter(
        Q(session__in=[key for kind, key in keys if kind == "session"])
        | Q(fixture__in=[key for kind, key in keys if kind == "fixture"]),
        audience=audience,
    ).order_by("pk")
    return {key_of(row): row for row in (rows.select_for_update() if locked else rows)}


def key_of(told: Told) -> Key:
    return ("session", told.session_id) if told.session_id else ("fixture", told.fixture_id)


@transaction.atomic
def note_changes(audience: Audience, digests: dict[Key, str], now: dt.datetime) -> None:
    """Two readers at once note a change once: the rows are compared again under a lock."""
    told = standing(audience, digests, locked=True)
    new = [key for key in digests if key not in told]
    Told.objects.bulk_create([first_told(audience, key, digests[key], now) for key in new], ignore_conflicts=True)
    changed = [row for key, row in told.items() if row.digest != digests[key]]
    for row in changed:
        row.digest = digests[key_of(row)]
        row.sequence += 1
        row.changed_at = next_second(row.changed_at, now)
    Told.objects.bulk_update(changed, ["digest", "sequence", "changed_at"])


def first_told(audience: Audience, key: Key, digest: str, now: dt.datetime) -> Told:
    kind, number = key
    return Told(audience=audience, digest=digest, changed_at=next_second(None, now), **{f"{kind}_id": number})


def next_second(before: dt.datetime | None, now: dt.datetime) -> dt.datetime:
    """Whole seconds, as calendars and HTTP write them, and never the same one for two changes."""
    now = now.replace(microsecond=0)
    return max(now, before + SECOND) if before else now


def note_reading(feed: Feed, stamp: str, today: dt.date, now: dt.datetime) -> None:
    """Remember the day of the reading and, if it differs from the last one, since when the feed is as it is."""
    values = {"read_on": today} if feed.read_on != today else {}
    if feed.stamp != stamp:
        values |= {"stamp": stamp, "changed_at": next_second(feed.changed_at, now)}
    if values:
        Feed.objects.filter(pk=feed.pk).update(**values)
    for name, value in values.items():
        setattr(feed, name, value)
