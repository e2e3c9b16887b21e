"""The nights of a block as planning sees them: which are past, and which slots of each can be planned.

A night that is under way, or on which groups swap stations, is two: what has begun of it or is settled is past, the
rest is open like any night ahead. So a drill may run in several rounds of a swap, once for each group.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Any, TypeVar

from planner.core.calendar import at_wall_time
from planner.models import Session, Slot, Station
from planner.swap_models import Swap

if TYPE_CHECKING:
    from planner.building.rows import Rows

T = TypeVar("T")
Standing = tuple[Session, Slot, Station]
Place = tuple[str, int]  # a slot in a problem: id of the session, number of the slot among the planned ones


BEGUN = "-begun"  # beside the id of a session that is still open


def session_id(key: int) -> str:
    return f"s{key}"


def id_of(night: Session) -> str:
    return session_id(night.pk) + (BEGUN if night.is_begun_part else "")


def parts_of(night: Session, now: dt.datetime | None, swap: Swap | None = None) -> list[Session]:
    """The night, or what has begun of it at `now` or is settled, and the rest; slots should be fetched with it."""
    slots = list(night.slots.all())
    count = 0 if now is None else sum(moment_of(night, n) <= now for n in range(len(slots)))
    swapped = [slot for slot in slots[count:] if swap and slot.pk in swap.slots]
    if not count and not swapped:
        return [night]
    if not any(slot.is_planned and slot not in swapped for slot in slots[count:]):
        return [part_of(night, slots, is_over=True)]
    begun = part_of(night, slots[:count] + swapped, is_over=True, is_begun_part=True)
    rest = [taken(slot) if slot in swapped else slot for slot in slots[count:]]
    return [begun, part_of(night, rest, starts_at=moment_of(night, count))]


def taken(slot: Slot) -> Slot:
    """In its place, for the time that it takes."""
    return Slot(pk=slot.pk, session_id=slot.session_id, order=slot.order, minutes=slot.minutes, title="taken")


def closed_part(night: Session) -> list[Session]:
    return [part_of(night, list(night.slots.all()), is_over=True)]


def begun_in(nights: Iterable[Session], now: dt.datetime | None, swaps: Mapping[int, Swap] | None = None) -> set[int]:
    """Keys of the slots that have begun or are settled; slots should be fetched with the nights."""
    parts = (part for night in nights for part in parts_of(night, now, (swaps or {}).get(night.pk)) if part.is_over)
    return {slot.pk for part in parts for slot in part.slots.all()}


def dark_in(night: Session) -> list[Slot]:
    """Slots to plan that end after the lights go off: a hard end, so nothing is planned there."""
    if night.lights_until is None:
        return []
    off = at_wall_time(night.day, night.lights_until, night.zone)
    slots = list(night.slots.all())
    return [slot for n, slot in enumerate(slots) if slot.is_planned and moment_of(night, n + 1) > off]


def moment_of(night: Session, slots: int) -> dt.datetime:
    """When the slot after so many begins."""
    return night.starts_at + dt.timedelta(minutes=sum(slot.minutes for slot in list(night.slots.all())[:slots]))


def part_of(night: Session, slots: list[Slot], **fields: Any) -> Session:
    """A copy with these slots only, never to be saved."""
    part = copy.copy(night)
    part._prefetched_objects_cache = {"slots": slots}
    for name, value in fields.items():
        setattr(part, name, value)
    return part


@dataclass(frozen=True)
class Nights:
    """Sessions of a block in time order, with slots, stations and places fetched.

    A past night keeps what was run: only its slots with stations count. One ahead has those with light to their end.
    With `keep_past` false every night is taken as still to come.
    """

    all: tuple[Session, ...]
    first_day: dt.date
    today: dt.date
    keep_past: bool = True
    _slots: dict[str, list[Slot]] = field(default_factory=dict, repr=False, compare=False)
    _stations: dict[str, list[Standing]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, rows: Rows, today: dt.date, now: dt.datetime | None, *, keep_past: bool) -> Nights:
        """`now`, a moment of today, parts the night that is under way; a swap parts any. What is confirmed is over."""
        closed = rows.records.confirmed if keep_past else frozenset()
        now = now if keep_past else None
        nights = (
            part
            for night in rows.nights
            for part in (closed_part(night) if night.pk in closed else parts_of(night, now, rows.swaps.get(night.pk)))
        )
        return cls(tuple(nights), rows.block.first_day, today, keep_past)

    def is_past(self, night: Session) -> bool:
        return self.keep_past and (night.day < self.today or night.is_over)

    @cached_property
    def begun(self) -> list[Session]:
        """What has begun of nights of which some is left."""
        return [night for night in self.past if night.is_begun_part]

    def week(self, night: Session) -> int:
        """Weeks count from 0 at the first day of the block."""
        return self.week_of(night.day)

    def week_of(self, day: dt.date) -> int:
        return (day - self.first_day).days // 7

    def slots(self, night: Session) -> list[Slot]:
        """Those of a night of these that are in the problem."""
        return kept_for(night, self._slots, self._slots_in)

    def stations(self, nights: Iterable[Session]) -> Iterator[Standing]:
        """All that stand on some nights."""
        return chain.from_iterable(kept_for(night, self._stations, stations_on) for night in nights)

    def _slots_in(self, night: Session) -> list[Slot]:
        planned = [slot for slot in night.slots.all() if slot.is_planned]
        if self.is_past(night):
            return [slot for slot in planned if slot.stations.all()]
        dark = set(dark_in(night))
        return [slot for slot in planned if slot not in dark]

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
        return {slot.pk: (id_of(night), number) for night in self.used for number, slot in enumerate(self.slots(night))}


def kept_for(night: Session, kept: dict[str, list[T]], find: Callable[[Session], list[T]]) -> list[T]:
    """A problem asks for the same rows many times, and each time Django makes a manager for them."""
    if (key := id_of(night)) not in kept:
        kept[key] = find(night)
    return kept[key]


def stations_on(night: Session) -> list[Standing]:
    return [(night, slot, station) for slot in night.slots.all() for station in slot.stations.all()]


def stations_in(nights: Iterable[Session]) -> Iterator[Standing]:
    return chain.from_iterable(map(stations_on, nights))
