"""Nights and matches that have begun and of which the record says nothing yet, and what counts of such nights.

From 48 hours after its end on, what was planned of a night, and whatever was told of it so far, counts for whoever was
expected, and says that it is not confirmed (`planner.core.record`, a house rule). That begins by the clock alone, so
nothing of it is kept with the sums of days: once the night is confirmed, what ran takes its place.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from django.db.models import (
    DateTimeField,
    Exists,
    IntegerField,
    OuterRef,
    Prefetch,
    Sum,
    Value,
    prefetch_related_objects,
)
from django.db.models.functions import Cast

from drills.models import DrillSkill
from planner.core.record import UNCONFIRMED_AFTER, Source, Took, source_of, taken
from planner.core.rpe import Did, with_planned
from planner.days import Days
from planner.models import Fixture, FixtureState, Session
from planner.record_days import blocks_on
from planner.record_models import MatchMinutes
from planner.rpe_models import occasion_name
from shared.models import AuditHead
from squads.models import Player, Squad

A_DAY = dt.timedelta(days=1)
NotTold = Mapping[dt.date, Sequence[str]]  # by day the names of nights and matches
Minutes = Mapping[int, Mapping[dt.date, Mapping[str, int]]]  # by player and day, of each night


class Untold(NamedTuple):
    """A night that nobody has confirmed, or a match without minutes. `is_late`: a night, 48 hours after its end."""

    name: str
    key: int
    day: dt.date
    is_night: bool
    is_late: bool


@dataclass(frozen=True)
class Open:
    """What is open of some days; `took` is what counts of it, of everybody who was expected or of one alone."""

    untold: tuple[Untold, ...]
    took: tuple[Took, ...]

    @classmethod
    def of(cls, squad: Squad, first: dt.date, last: dt.date, now: dt.datetime, only: Player | None = None) -> Open:
        """In one query; where a night is late, in as many more as `planner.days.Days` takes, and one for the skills.
        The squad's club should be fetched with it."""
        untold = untold_between(squad, first, last, now)
        return cls(tuple(untold), tuple(counted(squad, untold, only)))

    def nights_begun(self, first: dt.date) -> list[int]:
        """The keys of those that are not late yet, from a day on."""
        return [each.key for each in self.untold if each.is_night and not each.is_late and each.day >= first]

    def not_told(self, first: dt.date, last: dt.date) -> NotTold:
        found: dict[dt.date, list[str]] = defaultdict(list)
        for each in self.untold:
            if first <= each.day <= last:
                found[each.day].append(each.name)
        return found

    @cached_property
    def minutes(self) -> Minutes:
        found: dict[int, dict[dt.date, dict[str, int]]] = defaultdict(lambda: defaultdict(lambda: defaultdict(int)))
        for each in self.took:
            found[each.player][each.day][occasion_name(each.session, None)] += each.minutes
        return found

    def with_planned(self, player: int, day: dt.date, did: Mapping[str, Did]) -> Mapping[str, Did]:
        """What he did on a day, with the planned minutes of its late nights; as it is where there are none."""
        minutes = self.minutes[player][day] if player in self.minutes and day in self.minutes[player] else {}
        return with_planned(did, minutes) if minutes else did


def untold_between(squad: Squad, first: dt.date, last: dt.date, now: dt.datetime) -> list[Untold]:
    """What has begun on these days, in one query."""
    played = MatchMinutes.objects.filter(fixture=OuterRef("pk"))
    nights = Session.objects.filter(squad=squad, cancelled=False, confirmations=None, starts_at__lte=now)
    matches = Fixture.objects.filter(squad=squad, state=FixtureState.PLANNED, kick_off__lte=now)
    matches = matches.filter(~Exists(played), day__range=(first, last))
    nights = nights.filter(day__range=(first, last)).order_by().annotate(lasts=Sum("slots__minutes"))
    both = nights.values_list("pk", "day", "starts_at", "lasts", Value(True)).union(
        matches.order_by().values_list("pk", "day", "kick_off", Value(0), Value(False)), all=True
    )
    return sorted((untold(*row, now) for row in both.order_by()), key=lambda each: (each.day, each.name))


def untold(key: int, day: dt.date, starts: dt.datetime, lasts: int | None, is_night: bool, now: dt.datetime) -> Untold:
    """SQLite gives what a union says is true as 1."""
    ends = starts + dt.timedelta(minutes=lasts or 0)
    is_late = bool(is_night) and source_of(ends, now, is_confirmed=False) is Source.NOT_CONFIRMED
    return Untold(occasion_name(key if is_night else None, key), key, day, bool(is_night), is_late)


def counted(squad: Squad, rows: Iterable[Untold], only: Player | None) -> list[Took]:
    late = {each.key: each.day for each in rows if each.is_late}
    if not late:
        return []
    days = Days.of(squad, min(late.values()), max(late.values()), open_only=True, only=only)
    sessions = [session for session in days.sessions if session.pk in late]
    fetch_skills(sessions)
    return [took for session in sessions for took in of_night(days, session)]


def of_night(days: Days, session: Session) -> Iterator[Took]:
    return taken(blocks_on(days, session), session.pk, session.day, Source.NOT_CONFIRMED)


def fetch_skills(sessions: Iterable[Session]) -> None:
    """Of the cards that stand there, which contact does without; in one query."""
    stations = (station for session in sessions for slot in session.slots.all() for station in slot.stations.all())
    shares = Prefetch("skill_shares", DrillSkill.objects.select_related("skill"))
    prefetch_related_objects([station.drill for station in stations], shares)


# Until when a page that tells of nights may be kept


def change_and_due(squad: Squad, today: dt.date, now: dt.datetime) -> tuple[str | None, dt.datetime | None]:
    """The end of the club's audit chain, and the last moment of about today at which a night or a match began or a
    night had been over for 48 hours; in one query, since every page that is kept asks it."""
    about, none = (today - 4 * A_DAY, today + A_DAY), Value("")
    nights = Session.objects.filter(squad=squad, day__range=about).order_by().annotate(lasts=Sum("slots__minutes"))
    matches = Fixture.objects.filter(squad=squad, day__range=about).order_by()
    end = AuditHead.objects.filter(club=squad.club.slug).order_by()
    nowhere = Cast(Value(None), DateTimeField()), Cast(Value(None), IntegerField())
    rows = end.values_list("digest", *nowhere).union(
        nights.values_list(none, "starts_at", "lasts"), matches.values_list(none, "kick_off", Value(0)), all=True
    )
    digest, moments = None, []
    for each, starts, lasts in rows.order_by():
        if starts is None:
            digest = each
        else:
            moments += [starts, starts + dt.timedelta(minutes=lasts or 0) + UNCONFIRMED_AFTER]
    return digest, max((moment for moment in moments if moment <= now), default=None)
