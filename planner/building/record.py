"""What past nights and the fixed content of every night have already given each player.

There is no record yet of what was really run, so the stations that were planned count as run, with the
players who were there.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner.building import library
from planner.building.attendance import Attendance
from planner.building.full_days import Spent
from planner.building.nights import Nights, players_at, stations_in
from planner.building.rows import Rows
from planner.core import problem as core
from planner.core.words import Lowered
from planner.models import Session, Station
from shared.core.contact import Kind


@dataclass(frozen=True, slots=True)
class Contact:
    """Contact minutes of one player on one day."""

    player: int
    week: int
    day: dt.date
    kind: Kind
    minutes: float


@dataclass(frozen=True)
class Record:
    rows: Rows
    nights: Nights
    attendance: Attendance

    def contact(self) -> Iterator[Contact]:
        yield from self._of_fixed_content()
        yield from self._of_past_stations()

    def _of_fixed_content(self) -> Iterator[Contact]:
        """Whoever may not do a kind of contact stands aside while it runs."""
        for night in self.nights.all:
            for slot in night.slots.all():
                if slot.is_planned or slot.kind == Kind.NONE or not slot.contact_share:
                    continue
                kind, minutes = Kind(slot.kind), slot.minutes * slot.contact_share / 100
                for player in self.attendance.players:
                    if self.attendance.level(player.pk, night).allows(kind):
                        yield Contact(player.pk, self.nights.week(night), night.day, kind, minutes)

    def _of_past_stations(self) -> Iterator[Contact]:
        for night, slot, station in stations_in(self.nights.past):
            drill = self.rows.drills[station.drill_id]
            if drill.kind is Kind.NONE:
                continue
            for player in self.there(station, night):
                minutes = slot.minutes * drill.contact_share / 100
                yield Contact(player, self.nights.week(night), night.day, drill.kind, minutes)

    def accrued(self, lowered: Mapping[tuple[int, core.Contact], Lowered]) -> dict[int, tuple[core.Accrued, ...]]:
        """Minutes spent, and beside them those by which a week's limit is lower than the others'."""
        total: dict[tuple[int, int, Kind], float] = defaultdict(float)
        for spent in self.contact():
            total[spent.player, spent.week, spent.kind] += spent.minutes
        for (week, kind), low in lowered.items():
            for player in self.attendance.players:
                total[player.pk, week, Kind(kind)] += low.minutes
        found: dict[int, tuple[core.Accrued, ...]] = defaultdict(tuple)
        for (player, week, kind), minutes in total.items():
            found[player] += (core.Accrued(week, core.Contact(kind), round(minutes, 2)),)
        return found

    def standing_full_days(self) -> frozenset[dt.date]:
        """Days ahead on which full contact stands."""
        stations = stations_in(self.nights.open)
        return frozenset(n.day for n, _slot, s in stations if self.rows.drills[s.drill_id].kind is Kind.FULL)

    def full_days(self) -> Spent:
        days: dict[tuple[int, int], set[dt.date]] = defaultdict(set)
        for spent in self.contact():
            if spent.kind is Kind.FULL:
                days[spent.player, spent.week].add(spent.day)
        return days

    def done(self, steps: library.Steps) -> dict[int, list[core.Done]]:
        """Ladder minutes of nights before the block and of its own past nights."""
        found: dict[int, list[core.Done]] = defaultdict(list)
        for night, slot, station in stations_in((*self.rows.earlier, *self.nights.past)):
            drill = self.rows.drills[station.drill_id]
            if rung := library.rung_of(drill, steps):
                for player in self.there(station, night):
                    found[player].append(core.Done(drill.ladder.code, rung, night.day, slot.minutes))
        return found

    def there(self, station: Station, night: Session) -> list[int]:
        return self.attendance.there(players_at(station), night)

    def fixed_load(self) -> dict[tuple[int, int], int]:
        """AU of fixed content by player and week."""
        load: dict[tuple[int, int], int] = defaultdict(int)
        for night in self.nights.all:
            au = sum(slot.rpe * slot.minutes for slot in night.slots.all() if not slot.is_planned)
            for player in self.attendance.players:
                if self.attendance.is_there(player.pk, night):
                    load[player.pk, self.nights.week(night)] += au
        return load
