"""The nights of a block as planning sees them: which are past, and which slots of each can be planned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from planner.models import Session, Slot, Station

Place = tuple[str, int]  # a slot in a problem: id of the session, number of the slot among the planned ones


def session_id(key: int) -> str:
    return f"s{key}"


@dataclass(frozen=True)
class Nights:
    """Sessions of a block in time order, with slots, stations and places fetched.

    A past night keeps what was run: only its slots with stations count. With `keep_past` false every night
    is taken as still to come.
    """

    all: tuple[Session, ...]
    first_day: dt.date
    today: dt.date
    keep_past: bool = True

    def is_past(self, night: Session) -> bool:
        return self.keep_past and night.day < self.today

    def week(self, night: Session) -> int:
        """Weeks count from 0 at the first day of the block."""
        return (night.day - self.first_day).days // 7

    def slots(self, night: Session) -> list[Slot]:
        planned = [slot for slot in night.slots.all() if slot.is_planned]
        return [slot for slot in planned if slot.stations.all()] if self.is_past(night) else planned

    @cached_property
    def used(self) -> list[Session]:
        """Those that have a slot in the problem."""
        return [night for night in self.all if self.slots(night)]

    @cached_property
    def open(self) -> list[Session]:
        return [night for night in self.used if not self.is_past(night)]

    @cached_property
    def past(self) -> list[Session]:
        return [night for night in self.used if self.is_past(night)]

    @cached_property
    def places(self) -> dict[int, Place]:
        """Key of each slot in the problem -> where it stands there."""
        return {
            slot.pk: (session_id(night.pk), number)
            for night in self.used
            for number, slot in enumerate(self.slots(night))
        }


def stations_in(nights: Iterable[Session]) -> Iterator[tuple[Session, Slot, Station]]:
    for night in nights:
        for slot in night.slots.all():
            for station in slot.stations.all():
                yield night, slot, station


def players_at(station: Station) -> list[int]:
    return [place.player_id for place in station.places.all()]
