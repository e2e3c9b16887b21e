"""What a reader sees of a session or a match: members with its programme, players without."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from planner.models import Fixture, FixtureState, Session, Slot
from shared.models import Club

# Twice 40 minutes and a half-time of at most 15: Laws 5.1 and 5.2 of the game; five more for stoppages are our own.
MATCH_MINUTES = 100

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


@dataclass(frozen=True, slots=True)
class Telling:
    """The clock of a club and the words, looked up once for a feed: for each event anew they took half of its time."""

    clock: ZoneInfo
    training: str
    training_off: str
    aim: str
    slot: str
    unplanned: str
    bring: str
    matches: dict[str, str]
    home: str
    away: str

    @classmethod
    def at(cls, club: Club) -> Telling:
        return cls(
            clock=club.tzinfo,
            training=_("Training"),
            training_off=_("Training cancelled"),
            aim=_("Aim: %(aim)s"),
            slot=_("%(time)s %(words)s (%(count)d min)"),
            unplanned=_("not planned yet"),
            # The same for everybody and every night, so that it tells nothing of the plan. Common practice, no source.
            bring=_("Bring boots, mouthguard, water and something warm."),
            matches={
                FixtureState.PLANNED: _("Match: %(opponent)s (%(where)s)"),
                FixtureState.POSTPONED: _("Match postponed: %(opponent)s (%(where)s)"),
                FixtureState.CANCELLED: _("Match cancelled: %(opponent)s (%(where)s)"),
            },
            home=_("home"),
            away=_("away"),
        )

    def clock_at(self, row: Session | Fixture) -> ZoneInfo:
        """The clock on the wall where it takes place."""
        return row.where.zone_or(self.clock)


@dataclass(frozen=True, slots=True)
class SlotTold:
    minutes: int
    words: str


def slots_by_session(club: Club, first: dt.date, telling: Telling) -> dict[int, list[SlotTold]]:
    """What runs in each slot: its fixed content, or its drills with their coaches. Never who stands where."""
    rows = (
        Slot.objects.filter(session__squad__club=club, session__day__gte=first)
        .order_by("session", "order", "stations__order", "stations__pk")
        .values_list("session", "pk", "minutes", "title", "stations__drill__name", "stations__coach")
    )
    found: dict[int, dict[int, tuple[int, list[str]]]] = defaultdict(dict)
    for session, slot, minutes, title, drill, coach in rows:
        words = title or (f"{drill} ({coach})" if coach else drill) or telling.unplanned
        found[session].setdefault(slot, (minutes, []))[1].append(words)
    told = {key: [SlotTold(minutes, ", ".join(words)) for minutes, words in of.values()] for key, of in found.items()}
    return defaultdict(list, told)


def coaches_session(session: Session, slots: list[SlotTold], telling: Telling) -> Event:
    minutes = sum(slot.minutes for slot in slots)
    starts = session.starts_at.astimezone(telling.clock_at(session))
    lines = [telling.aim % {"aim": aim} for aim in session.aims]
    for slot in slots:
        lines.append(telling.slot % slot_words(slot, starts))
        starts = later(starts, slot.minutes)
    return training(session, telling, minutes, [str(session.squad), *lines])


def slot_words(slot: SlotTold, starts: dt.datetime) -> dict[str, object]:
    return {"time": f"{starts:%H:%M}", "words": slot.words, "count": slot.minutes}


def players_session(session: Session, telling: Telling) -> Event:
    """Time, place and what to bring: no aim, no drill, no name, nobody's state."""
    return training(session, telling, session.minutes, [telling.bring])


def training(session: Session, telling: Telling, minutes: int, lines: list[str]) -> Event:
    starts = session.starts_at.astimezone(telling.clock_at(session))
    return Event(
        key=("session", session.pk),
        starts=starts,
        ends=later(starts, minutes) if minutes else None,
        title=telling.training_off if session.cancelled else telling.training,
        place=", ".join(part for part in (str(session.where), session.pitch) if part),
        told="\n".join(lines),
        cancelled=session.cancelled,
    )


def match(fixture: Fixture, telling: Telling, line: str) -> Event:
    """A postponed match is cancelled on its old day: nobody should travel. With a new day it is confirmed again."""
    starts, ends = match_times(fixture, telling.clock_at(fixture))
    where = telling.home if fixture.home else telling.away
    return Event(
        key=("fixture", fixture.pk),
        starts=starts,
        ends=ends,
        title=telling.matches[fixture.state] % {"opponent": fixture.opponent, "where": where},
        place=str(fixture.where),
        told="\n".join(part for part in (fixture.competition, line) if part),
        cancelled=fixture.state != FixtureState.PLANNED,
    )


def match_times(fixture: Fixture, clock: ZoneInfo) -> tuple[dt.datetime | dt.date, dt.datetime | dt.date]:
    if fixture.all_day:
        return fixture.day, fixture.day + dt.timedelta(days=1)
    starts = fixture.kick_off.astimezone(clock)
    return starts, later(starts, MATCH_MINUTES)


def later(moment: dt.datetime, minutes: int) -> dt.datetime:
    """Minutes that really pass, also in a night in which the clocks are set."""
    return (moment.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(moment.tzinfo)
