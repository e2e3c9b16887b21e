"""What a change of a night would make of its sessions: rows in, one plan out, nothing written."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, reduce
from operator import or_
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.attendance_models import Mark, MarkState
from planner.calendar_actions import OF_THE_NIGHT
from planner.core.calendar import Stretch, at_wall_time, monday_of, weekdays_between
from planner.core.scope import (
    Member,
    Merged,
    Scope,
    Sorted,
    Values,
    carried_over,
    day_in_week_of,
    first_week,
    reached,
    sort_out,
)
from planner.models import Season, Session, Slot, TrainingNight
from planner.record_models import Account, Confirmation
from planner.rpe_models import Rpe
from planner.slot_plans import SlotPlan, plans_in
from shared.clock import clock_at
from shared.models import Club

RECORD = (Account.objects, Confirmation.objects, Rpe.objects)


@dataclass(frozen=True)
class Asked:
    """A change of a night as somebody asks for it. `values`: what the night should hold, by the names of values_of.

    `session` of ONE and LATER; of LATER the day may be given instead. `though_broken`: sessions change even where their
    programme would then break a rule.
    """

    night: TrainingNight
    scope: Scope
    values: Values
    session: Session | None = None
    from_day: dt.date | None = None
    though_broken: bool = False

    def since(self, today: dt.date) -> dt.date | None:
        """Of LATER the first pattern day that the change reaches; what is past it never does."""
        if self.scope is not Scope.LATER:
            return None
        asked = self.session.pattern_day if self.session else self.from_day
        return max(asked or today, today)

    @property
    def all_the_same(self) -> bool:
        return self.scope is Scope.ONE


def night_values(night: TrainingNight) -> dict[str, Any]:
    taken_over = {name: getattr(night, name) for name in OF_THE_NIGHT}
    return {"weekday": night.weekday, "starts": night.starts, **taken_over, "slots": tuple(plans_in(night.template))}


def values_of(session: Session) -> dict[str, Any]:
    """A session in the terms of its night. One that was moved to another week is on no weekday of its night."""
    in_its_week = monday_of(session.day) == monday_of(session.pattern_day)
    return {
        "weekday": session.day.weekday() if in_its_week else None,
        "starts": session.starts.time(),
        **{name: getattr(session, name) for name in OF_THE_NIGHT},
        "slots": tuple(SlotPlan.of(slot) for slot in session.slots.all()),
    }


def digest_of(night: TrainingNight) -> str:
    """Tells whether a night is still what somebody saw."""
    held = repr((sorted(night_values(night).items()), night.first_day, night.last_day))
    return hashlib.sha256(held.encode()).hexdigest()[:16]


def sessions_of(night: TrainingNight) -> list[Session]:
    return looked_into(night.sessions.all())


def sessions_in(season: Season) -> list[Session]:
    """Those that were laid out from its nights."""
    return looked_into(Session.objects.filter(night__season=season))


def looked_into(sessions: QuerySet[Session]) -> list[Session]:
    """Those of a pattern, with their slots and stations, whether somebody was marked on them, and whether they fell
    out; in the order of time."""
    marked = Mark.objects.filter(session=OuterRef("pk")).exclude(state=MarkState.OPEN)
    slots = Prefetch("slots", Slot.objects.prefetch_related("stations"))
    rows = sessions.filter(pattern_day__isnull=False).select_related("squad__club", "fell_out")
    kept = (Exists(rows.filter(session=OuterRef("pk"))) for rows in RECORD)
    rows = rows.annotate(is_marked=Exists(marked), is_logged=reduce(or_, kept))
    return list(rows.order_by("starts_at").prefetch_related(slots))


def has_begun(moment: dt.datetime, club: Club, today: dt.date) -> bool:
    """Of what begins today, by the clock: training that was held an hour ago moves to no other day."""
    now = clock_at(club, today, timezone.now())["now"]
    return now is not None and moment <= now


def is_past_or_begun(session: Session, today: dt.date) -> bool:
    return session.day < today or has_begun(session.starts_at, session.squad.club, today)


def why_it_stays(session: Session, today: dt.date) -> str:
    """Why nothing of a session may change by a change of its night; "" if it may."""
    if session.day < today:
        return _("past")
    if is_past_or_begun(session, today):
        return _("it has begun")
    if session.is_logged:
        return _("its record is begun")
    if session.is_marked:
        return _("somebody is marked on it")
    if any(station.locked for slot in session.slots.all() for station in slot.stations.all()):
        return _("a station in it is locked")
    return ""


@dataclass(frozen=True)
class ScopePlan:
    """What becomes of the sessions that a change reaches.

    `first_monday`: the week from which the night is another one; None if it stays one. `moments`: when changed
    sessions begin, by key. `is_out_of_reach`: the night has no day from then on. `held_by_rules`: how many sessions
    stay only because their programme would break a rule.
    """

    asked: Asked
    today: dt.date
    sessions: Mapping[int, Session]
    sorted: Sorted
    first_monday: dt.date | None
    is_out_of_reach: bool = False
    moments: Mapping[int, dt.datetime] = field(default_factory=dict)
    held_by_rules: int = 0

    @classmethod
    def of(cls, asked: Asked, today: dt.date, broken: Mapping[int, str] | None = None) -> ScopePlan:
        """`broken`: sessions whose programme the change would break, by key, with the first rule in words."""
        night = asked.night
        sessions = {session.pk: session for session in sessions_of(night)}
        members = [Member(s.pk, s.pattern_day, values_of(s), why_it_stays(s, today)) for s in sessions.values()]
        since = asked.since(today)
        monday = first_week(pattern_of(night, sessions.values()), since) if since else None
        key = asked.session.pk if asked.session else None
        trial = Trial(asked, sessions, broken or {}, today)
        found = sort_out(
            reached(members, asked.scope, key, monday or since),
            night_values(night),
            asked.values,
            all_the_same=asked.all_the_same,
            refused=trial.refused,
        )
        is_split = monday is not None and splits(night, sessions.values(), monday)
        out_of_reach = since is not None and monday is None
        first = monday if is_split else None
        held = sum(found.kept.get(key) == why for key, why in trial.broken.items())
        return cls(asked, today, sessions, found, first, out_of_reach, trial.moments, held)

    @cached_property
    def changed(self) -> list[tuple[Session, Merged]]:
        """In the order of time."""
        return [(self.sessions[key], self.sorted.changed[key]) for key in self.sessions if key in self.sorted.changed]

    @cached_property
    def kept(self) -> list[tuple[Session, str | Merged]]:
        return [(self.sessions[key], self.sorted.kept[key]) for key in self.sessions if key in self.sorted.kept]

    @property
    def is_nothing(self) -> bool:
        return night_values(self.asked.night) == dict(self.asked.values)

    @property
    def days(self) -> set[dt.date]:
        """On which something changes, before and after."""
        return {session.day for session, _merged in self.changed} | {
            self.moments[session.pk].date() for session, _merged in self.changed
        }

    @property
    def digest(self) -> str:
        versions = [(s.pk, s.plan_version, self.sorted.changed[s.pk], self.moments[s.pk]) for s, _m in self.changed]
        shown = repr((versions, sorted(self.sorted.kept), self.first_monday, sorted(self.asked.values.items())))
        return hashlib.sha256(shown.encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Ending:
    """A night that ends. `off`: sessions that are called off; `stays`: those that stand all the same, with why.

    `reached`: all from then on, whatever became of them. `has_begun`: something of the night comes before `since`.
    """

    night: TrainingNight
    since: dt.date
    reached: tuple[Session, ...]
    off: tuple[Session, ...]
    stays: tuple[tuple[Session, str], ...]
    has_begun: bool

    @classmethod
    def of(cls, night: TrainingNight, from_day: dt.date, today: dt.date) -> Ending:
        sessions, since = sessions_of(night), max(from_day, today)
        reached = [session for session in sessions if session.pattern_day >= since]
        standing = [(session, why_it_stays(session, today)) for session in reached if not session.cancelled]
        return cls(
            night,
            since,
            tuple(reached),
            tuple(session for session, why in standing if not why),
            tuple((session, why) for session, why in standing if why),
            splits(night, sessions, since),
        )

    @property
    def digest(self) -> str:
        shown = repr(([(s.pk, s.plan_version) for s in self.off], [(s.pk, why) for s, why in self.stays], self.since))
        return hashlib.sha256(shown.encode()).hexdigest()[:16]


def pattern_of(night: TrainingNight, sessions: Iterable[Session]) -> list[dt.date]:
    """The days of a night within its season, and those that sessions were laid out for."""
    laid = {session.pattern_day for session in sessions}
    return sorted(laid | set(weekdays_between(night.weekday, night.days_in(night.season))))


def splits(night: TrainingNight, sessions: Collection[Session], monday: dt.date) -> bool:
    """Whether something of the night lies before that week."""
    return any(day < monday for day in pattern_of(night, sessions))


@dataclass
class Trial:
    """Refuses, one after the other, sessions that cannot take what they should; notes when the others begin."""

    asked: Asked
    sessions: Mapping[int, Session]
    broken: Mapping[int, str]
    today: dt.date
    moments: dict[int, dt.datetime] = field(default_factory=dict)

    @cached_property
    def taken(self) -> set[dt.datetime]:
        """When sessions of the squad begin as it stands."""
        return set(self.asked.night.season.squad.sessions.values_list("starts_at", flat=True))

    def refused(self, member: Member, merged: Merged) -> str:
        session = self.sessions[member.key]
        moment = moment_after(session, merged, self.asked.night)
        reason = self.why_not(session, merged, moment)
        if not reason:
            self.moments[session.pk] = moment
        return reason

    def why_not(self, session: Session, merged: Merged, moment: dt.datetime) -> str:
        day, season = moment.date(), self.asked.night.season
        if day < self.today or has_begun(moment, season.squad.club, self.today):
            return _("%(when)s is past") % {"when": date_format(moment, "D j M, H:i")}
        if day != session.day and day not in Stretch(season.first_day, season.last_day):
            return _("%(day)s is outside the season") % {"day": date_format(day, "D j M")}
        if self.is_taken(session, moment):
            return _("another session stands at that very time")
        if "slots" in merged.changes and slots_after(session, merged) is None:
            return held_told(session)
        return self.broken.get(session.pk, "")

    def is_taken(self, session: Session, moment: dt.datetime) -> bool:
        """By one that begins then now, or that would begin then by this very change."""
        if moment == session.starts_at:
            return False
        return moment in self.moments.values() or moment.astimezone(dt.UTC) in self.taken


def moment_after(session: Session, merged: Merged, night: TrainingNight) -> dt.datetime:
    """When the session would begin, by the clock of where it would be: at another venue its wall time stays."""
    _was, where = merged.changes.get("where", (None, session.where))
    zone = where.zone_or(session.home_zone)
    _was, weekday = merged.changes.get("weekday", (None, None))
    day = session.day if weekday is None else day_in_week_of(session.pattern_day, weekday)
    _was, clock = merged.changes.get("starts", (None, session.starts.time()))
    return at_wall_time(day, clock, zone)


def slots_after(session: Session, merged: Merged) -> list[int | None] | None:
    """Which slot each new one carries on; None if one with stations would be lost."""
    old, new = merged.changes["slots"]
    held = {number for number, slot in enumerate(session.slots.all()) if slot.stations.all()}
    return carried_over(old, new, held)


def held_told(session: Session) -> str:
    count = sum(len(slot.stations.all()) for slot in session.slots.all())
    return (
        ngettext(
            "%d station stands in a slot that would be lost or get other minutes",
            "%d stations stand in slots that would be lost or get other minutes",
            count,
        )
        % count
    )
