"""What past nights, the fixed content of every night and contact elsewhere have already given each player.

Of a night that is over and of which somebody has told something the record counts, with what is planned for the
stations that nobody has told yet; of the others the stations that were planned count as run, with the players who
were there.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from planner.building import library
from planner.building.attendance import Attendance
from planner.building.full_days import Spent
from planner.building.nights import Nights
from planner.building.rows import Rows
from planner.core import problem as core
from planner.core.record import Block, Source, Took, taken
from planner.core.words import Lowered
from planner.models import Session, Slot, Station
from planner.record import field_of, spot_of
from shared.core.contact import Kind, below_or_at


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
    _blocks: dict[int, list[Block]] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def contact(self) -> list[Contact]:
        return [
            *self._of_told_nights(),
            *self._of_fixed_content(),
            *self._of_past_stations(),
            *self._of_elsewhere(),
        ]

    def is_told(self, night: Session) -> bool:
        """Of what is under way the plan counts until it is over."""
        is_over = self.nights.is_past(night) or night.day < self.nights.first_day
        return is_over and not night.is_begun_part and bool(self.rows.records.told.get(night.pk))

    def blocks(self, night: Session) -> list[Block]:
        """What counts of a night of which somebody has told something."""
        if night.pk not in self._blocks:
            levels = {player.pk: self.attendance.level(player.pk, night) for player in self.rows.players}
            field_of_night = field_of(night, levels, self.rows.words)
            self._blocks[night.pk] = self.rows.records.blocks(night, field_of_night)
        return self._blocks[night.pk]

    def took(self, night: Session) -> Iterator[Took]:
        return taken(self.blocks(night), night.pk, night.day, Source.CONFIRMED)

    def _of_told_nights(self) -> Iterator[Contact]:
        for night in self.nights.all:
            if self.is_told(night):
                for took in self.took(night):
                    if took.contact:
                        week, minutes = self.nights.week(night), took.contact / 100
                        yield Contact(took.player, week, night.day, took.kind, minutes)

    def _of_fixed_content(self) -> Iterator[Contact]:
        """Whoever may not do a kind of contact stands aside while it runs."""
        for night in self.nights.all:
            for slot in () if self.is_told(night) else night.slots.all():
                if slot.is_planned or slot.kind == Kind.NONE or not slot.contact_share:
                    continue
                kind, minutes = Kind(slot.kind), slot.minutes * slot.contact_share / 100
                for player in self.attendance.players:
                    if self.attendance.level(player.pk, night).allows(kind):
                        yield Contact(player.pk, self.nights.week(night), night.day, kind, minutes)

    def _of_past_stations(self) -> Iterator[Contact]:
        planned = (night for night in self.nights.past if not self.is_told(night))
        for night, slot, station in self.nights.stations(planned):
            drill = self.rows.drills[station.drill_id]
            if drill.kind is Kind.NONE:
                continue
            for player in self.there(station, night):
                minutes = slot.minutes * drill.contact_share / 100
                yield Contact(player, self.nights.week(night), night.day, drill.kind, minutes)

    def _of_elsewhere(self) -> Iterator[Contact]:
        """What was declared, in full, of whoever can come at least once."""
        known = {player.pk for player in self.attendance.players}
        for row in self.rows.declared:
            if row.player_id in known and row.minutes and row.kind != Kind.NONE:
                yield Contact(row.player_id, self.nights.week_of(row.day), row.day, Kind(row.kind), row.minutes)

    def accrued(self, lowered: Mapping[tuple[int, core.Contact], Lowered]) -> dict[int, tuple[core.Accrued, ...]]:
        """Minutes spent, and beside them those by which a week's limit is lower than the others'."""
        total: dict[tuple[int, int, Kind], float] = defaultdict(float)
        for spent in self.contact:
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
        stations = self.nights.stations(self.nights.open)
        return frozenset(n.day for n, _slot, s in stations if self.rows.drills[s.drill_id].kind is Kind.FULL)

    def full_days(self) -> Spent:
        days: dict[tuple[int, int], set[dt.date]] = defaultdict(set)
        for spent in self.contact:
            if spent.kind is Kind.FULL:
                days[spent.player, spent.week].add(spent.day)
        return days

    def done(self, steps: library.Steps) -> dict[int, list[core.Done]]:
        """Ladder minutes of nights before the block and of its own past nights."""
        found: dict[int, list[core.Done]] = defaultdict(list)
        nights = [*self.rows.earlier, *self.nights.past]
        for night in filter(self.is_told, nights):
            for player, key, minutes in passed(self.took(night)):
                drill = self.rows.drills[key]
                if rung := library.rung_of(drill, steps):
                    found[player].append(core.Done(drill.ladder.code, rung, night.day, minutes))
        for night, slot, station in self.nights.stations(night for night in nights if not self.is_told(night)):
            drill = self.rows.drills[station.drill_id]
            if rung := library.rung_of(drill, steps):
                for player in self.there(station, night):
                    found[player].append(core.Done(drill.ladder.code, rung, night.day, slot.minutes))
        return found

    def length(self, night: Session, slot: Slot) -> int:
        """Minutes of a slot: of a told night those that it really took; as planned where nothing of it ran."""
        if not self.is_told(night):
            return slot.minutes
        ran = (block.minutes for block in self.blocks(night) if block.order == slot.order)
        return max(ran, default=0) or slot.minutes

    def ran(self, night: Session, slot: Slot, station: Station) -> Iterator[tuple[int, list[int]]]:
        """Players of a past station by the minutes that they were at it; nobody is at two of a slot, so that whoever
        changed over on the night is at the one where he was longer. What ran beside the plan trains no skill here."""
        if not self.is_told(night):
            if players := self.there(station, night):
                yield slot.minutes, players
            return
        most: dict[int, tuple[int, str]] = {}
        for block in self.blocks(night):
            if block.placed and block.order == slot.order:
                for player, minutes in minutes_in(block).items():
                    most[player] = max(most.get(player, (0, "")), (minutes, block.spot))
        by_minutes: dict[int, list[int]] = defaultdict(list)
        for player, (minutes, spot) in most.items():
            if spot == spot_of(slot.pk, station.drill_id):
                by_minutes[minutes].append(player)
        yield from sorted(by_minutes.items(), reverse=True)

    def there(self, station: Station, night: Session) -> list[int]:
        return self.attendance.there(station.standing, night)

    @cached_property
    def fixed_load(self) -> dict[tuple[int, int], int]:
        """AU of fixed content by player and week."""
        load: dict[tuple[int, int], int] = defaultdict(int)
        for night in self.nights.all:
            if self.is_told(night):
                for took in self.took(night):
                    if not took.block.placed:
                        load[took.player, self.nights.week(night)] += took.block.card.rpe * took.minutes
                continue
            au = sum(slot.rpe * slot.minutes for slot in night.slots.all() if not slot.is_planned)
            for player in self.attendance.players:
                if self.attendance.is_there(player.pk, night):
                    load[player.pk, self.nights.week(night)] += au
        return load


def minutes_in(block: Block) -> dict[int, int]:
    found: dict[int, int] = defaultdict(int)
    for part in block.parts:
        for player, here in part.here.items():
            found[player] += here.minutes
    return dict(found)


def passed(took: Iterable[Took]) -> Iterator[tuple[int, int, int]]:
    """Player, key of the drill and minutes at its rung or above; below it, or aside, nobody passes a step."""
    for each in took:
        is_below = each.part.rung != each.part.card_rung and each.part.rung in below_or_at(each.part.card_rung)
        if each.block.card.drill is not None and not each.aside and not is_below:
            yield each.player, each.block.card.drill, each.minutes
