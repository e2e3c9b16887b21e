"""What a calendar feed tells, to whom, since when, and how little work an unchanged one needs.

Two audiences, one rule: a reader is told of a session or match what stands in its `Event`, and of that event a
digest is kept (`Told`). When a feed is read and the digest has changed, SEQUENCE and LAST-MODIFIED move. So they
move when what this audience sees has changed, whoever changed it and by whatever verb, and at nothing else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from planner.core.feed_text import Happening, calendar_text
from planner.feed_events import (
    Event,
    Key,
    Telling,
    coaches_session,
    digest_of_all,
    match,
    players_session,
    slots_by_session,
)
from planner.feed_models import Audience, Feed, Told
from planner.models import Fixture, Session
from shared.models import Club
from shared.roles import Permission

WEEKS_BACK = 4
REFRESH = "PT1H"
SECOND = dt.timedelta(seconds=1)


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
    telling = Telling.at(club)
    slots = slots_by_session(club, first, telling)
    events = [
        *(coaches_session(session, slots[session.pk], telling) for session in sessions),
        *(match(fixture, telling, str(fixture.squad)) for fixture in fixtures),
    ]
    name = _("%(club)s: programme and matches") % {"club": club}
    return Reading(Audience.COACHES, name, in_order(events))


def for_player(feed: Feed, first: dt.date) -> Reading:
    squad = feed.player.squad
    days = Q(day__gte=first) & (Q(day__lte=feed.player.left) if feed.player.left else Q())
    sessions = Session.objects.filter(days, squad=squad).with_length()
    fixtures = Fixture.objects.filter(days, squad=squad)
    telling = Telling.at(squad.club)
    events = [
        *(players_session(session, telling) for session in sessions),
        *(match(fixture, telling, telling.bring) for fixture in fixtures),
    ]
    name = _("%(club)s, %(squad)s: training and matches") % {"club": squad.club, "squad": squad}
    return Reading(Audience.PLAYERS, name, in_order(events))


def in_order(events: Iterable[Event]) -> list[Event]:
    return sorted(events, key=lambda event: (str(event.starts), event.key))


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
