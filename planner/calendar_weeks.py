"""The slots of some sessions with their times, as the calendar's week shows them."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count

from planner.core.calendar import timeline
from planner.models import Session, Slot


@dataclass(frozen=True, slots=True)
class TimedSlot:
    """`stations`: how many stand in a planned slot."""

    slot: Slot
    starts: dt.datetime
    ends: dt.datetime

    @property
    def stations(self) -> int:
        return self.slot.stations_set


def slots_of_days(sessions: Iterable[Session]) -> dict[int, list[TimedSlot]]:
    """By the key of the session, in one query; the sessions' squad and club should be at hand."""
    sessions = list(sessions)
    found: dict[int, list[Slot]] = defaultdict(list)
    counted = Slot.objects.filter(session__in=[each.pk for each in sessions]).annotate(stations_set=Count("stations"))
    for slot in counted.order_by("session", "order"):
        found[slot.session_id].append(slot)
    return {session.pk: timed(session, found[session.pk]) for session in sessions}


def timed(session: Session, slots: list[Slot]) -> list[TimedSlot]:
    times = timeline(session.starts, (slot.minutes for slot in slots))
    return [TimedSlot(slot, *span) for slot, span in zip(slots, times, strict=True)]
