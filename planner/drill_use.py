"""When drills ran, and by which version of their cards. A drill ran if it stood in a session that took place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from drills.models import Drill, DrillVersion
from drills.versions import Words, as_it_was
from planner.models import Session, Slot, Station
from shared.clock import today_at
from shared.models import Club


@dataclass(frozen=True, slots=True)
class Night:
    """`version` is the one that stood on the night, or today for a night to come; 0 where none was kept that early."""

    session: Session
    version: int
    is_past: bool


def ran_lately(club: Club, weeks: int) -> set[int]:
    """Keys of the club's drills that ran in the last so many weeks, tonight included."""
    today = today_at(club)
    stations = Station.objects.filter(
        drill__club=club,
        slot__session__cancelled=False,
        slot__session__day__gt=today - dt.timedelta(weeks=weeks),
        slot__session__day__lte=today,
    )
    return set(stations.order_by().values_list("drill", flat=True).distinct())


def nights_with(drill: Drill, today: dt.date) -> list[Night]:
    """Latest first, in two queries."""
    sessions = Session.objects.filter(slots__stations__drill=drill, cancelled=False).select_related("squad")
    versions = list(drill.versions.order_by("version").values_list("made_on", "version"))
    return [
        Night(session, version_by(min(session.day, today), versions), session.day < today)
        for session in sessions.distinct().order_by("-day", "-starts_at")
    ]


def version_by(day: dt.date, versions: Iterable[tuple[dt.date, int]]) -> int:
    return max((version for made_on, version in versions if made_on <= day), default=0)


def as_on(day: dt.date, drills: Iterable[Drill]) -> dict[int, DrillVersion]:
    """Key of a drill -> the version that stood on that day, where it is no longer the present one. One query."""
    by_key = {drill.pk: drill for drill in drills}
    found: dict[int, DrillVersion] = {}
    for kept in DrillVersion.objects.filter(drill__in=by_key, made_on__lte=day).order_by("version"):
        found[kept.drill_id] = kept
    return {key: kept for key, kept in found.items() if kept.version != by_key[key].version}


def put_back_cards(slots: Iterable[Slot], session: Session) -> None:
    """A night that is past tells of the versions of the cards that stood on it."""
    stations = [station for slot in slots for station in slot.stations.all()]
    if then := as_on(session.day, [station.drill for station in stations]):
        known = Words.of(session.squad.club)
        for station in stations:
            if kept := then.get(station.drill_id):
                station.drill = as_it_was(station.drill, kept, known)
