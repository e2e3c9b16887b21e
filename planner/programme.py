"""A block's stations as plain values: to keep before a change, to put back, and to say what is different."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

from django.db.models import Model, QuerySet
from django.utils.formats import date_format
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.models import Block, Place, Session, SessionQuerySet, Slot, Station
from squads.models import Player

Spot = tuple[int, int]  # keys of the slot and of the drill: no drill runs twice in a slot


@dataclass(frozen=True, slots=True, order=True)
class StationState:
    """One station by the keys of its rows; its players in the order of their keys."""

    session: int
    slot: int
    order: int
    drill: int
    version: int
    coach: str
    locked: bool
    players: tuple[int, ...]

    @property
    def spot(self) -> Spot:
        return self.slot, self.drill


@dataclass(frozen=True)
class Programme:
    """Stations in the order of session, slot and letter. Equal programmes compare equal."""

    stations: tuple[StationState, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "stations", tuple(sorted(self.stations)))

    @cached_property
    def by_spot(self) -> dict[Spot, StationState]:
        return {station.spot: station for station in self.stations}

    def in_slot(self, slot: int) -> list[StationState]:
        return [station for station in self.stations if station.slot == slot]

    def place_of(self, player: int, slot: int) -> StationState | None:
        return next((station for station in self.in_slot(slot) if player in station.players), None)

    def of_sessions(self, sessions: Collection[int]) -> Programme:
        return Programme(tuple(station for station in self.stations if station.session in sessions))

    def outside_sessions(self, sessions: Collection[int]) -> Programme:
        return Programme(tuple(station for station in self.stations if station.session not in sessions))

    def outside_slots(self, slots: Collection[int]) -> Programme:
        return Programme(tuple(station for station in self.stations if station.slot not in slots))

    def joined_to(self, other: Programme) -> Programme:
        return Programme(self.stations + other.stations)

    def put(self, station: StationState) -> Programme:
        """With the station in place of the one at the same spot, if there is one."""
        return Programme((*self.without(station.spot).stations, station))

    def without(self, spot: Spot) -> Programme:
        return Programme(tuple(station for station in self.stations if station.spot != spot))

    def lifted(self, players: Collection[int], slot: int) -> Programme:
        """With these players at no station of the slot."""
        return Programme(
            tuple(
                replace(station, players=tuple(p for p in station.players if p not in players))
                if station.slot == slot
                else station
                for station in self.stations
            )
        )

    def sessions_unlike(self, other: Programme) -> set[int]:
        """Sessions in which the two differ."""
        return {station.session for station in set(self.stations) ^ set(other.stations)}

    def to_json(self) -> list[dict[str, Any]]:
        return [asdict(station) for station in self.stations]

    @classmethod
    def from_json(cls, rows: Iterable[dict[str, Any]]) -> Programme:
        return cls(tuple(StationState(**row | {"players": tuple(row["players"])}) for row in rows))


def fetch_programme(
    sessions: Collection[Session], stations: QuerySet[Station], places: QuerySet[Place] | None = None
) -> None:
    """Hang slots, stations and who stands there on these sessions; in three queries.

    Not by `prefetch_related`, which makes a query set for each of hundreds of slots. Of each player comes his key
    alone: as rows of `Place` thousands of them take ten times as long.
    """
    slots = list(Slot.objects.filter(session__in=[session.pk for session in sessions]))
    stations = list(stations.filter(slot__in=[slot.pk for slot in slots]))
    hang(sessions, "slots", slots, "session")
    hang(slots, "stations", stations, "slot")
    at: dict[int, list[int]] = defaultdict(list)
    places = (Place.objects.all() if places is None else places).filter(slot__in={each.slot_id for each in stations})
    for station, player in places.values_list("station", "player"):
        at[station].append(player)
    for station in stations:
        station.standing = tuple(at[station.pk])


def hang(parents: Iterable[Model], name: str, children: Iterable[Model], parent: str) -> None:
    """As prefetched: each child on the one that it belongs to, and the other way round."""
    found: dict[int, list[Model]] = {}
    for each in parents:
        each._prefetched_objects_cache = {name: found.setdefault(each.pk, [])}
    by_key = {each.pk: each for each in parents}
    for child in children:
        key = getattr(child, f"{parent}_id")
        setattr(child, parent, by_key[key])
        found[key].append(child)


def standing_in(block: Block) -> Programme:
    """What stands in the block now, in two queries."""
    stations = Station.objects.filter(slot__session__in=sessions_of(block))
    return programme_of(stations.select_related("slot").prefetch_related("places"))


def sessions_of(block: Block) -> SessionQuerySet:
    """The block's sessions that take place."""
    return Session.objects.filter(squad=block.squad_id).between(block.first_day, block.last_day)


def programme_of(stations: Iterable[Station]) -> Programme:
    """The slot and the places of each station should be fetched with it."""
    return Programme(
        tuple(
            StationState(
                session=station.slot.session_id,
                slot=station.slot_id,
                order=station.order,
                drill=station.drill_id,
                version=station.drill_version,
                coach=station.coach,
                locked=station.locked,
                players=tuple(sorted(station.standing)),
            )
            for station in stations
        )
    )


def write(before: Programme, after: Programme) -> None:
    """Make the rows say `after`, where they say `before`. Rows of stations that stay keep their keys."""
    changed = [state for spot, state in after.by_spot.items() if state != before.by_spot.get(spot)]
    gone = before.by_spot.keys() - after.by_spot.keys()
    touched = {state.slot for state in changed} | {slot for slot, drill in gone}
    rows = {(row.slot_id, row.drill_id): row for row in Station.objects.filter(slot__in=touched)}
    Station.objects.filter(pk__in=[rows[spot].pk for spot in gone]).delete()
    Place.objects.filter(station__in=[rows[state.spot].pk for state in changed if state.spot in rows]).delete()
    fresh = Station.objects.bulk_create(_row(state) for state in changed if state.spot not in rows)
    rows |= {(row.slot_id, row.drill_id): row for row in fresh}
    for state in changed:
        _tell(rows[state.spot], state)
    Station.objects.bulk_update([rows[s.spot] for s in changed], ["order", "coach", "locked", "drill_version"])
    Place.objects.bulk_create(
        Place(station=rows[state.spot], slot_id=state.slot, player_id=player)
        for state in changed
        for player in state.players
    )


def _row(state: StationState) -> Station:
    return _tell(Station(slot_id=state.slot, drill_id=state.drill), state)


def _tell(row: Station, state: StationState) -> Station:
    row.order, row.coach, row.locked = state.order, state.coach, state.locked
    row.drill_version = state.version
    return row


def is_still_possible(programme: Programme) -> bool:
    """Whether every slot, drill and player that it names is still there."""
    slots = {station.slot for station in programme.stations}
    drills = {station.drill for station in programme.stations}
    players = {player for station in programme.stations for player in station.players}
    return (
        Slot.objects.filter(pk__in=slots).count() == len(slots)
        and Drill.objects.filter(pk__in=drills).count() == len(drills)
        and Player.objects.filter(pk__in=players).count() == len(players)
    )


@dataclass(frozen=True)
class Names:
    """What people call the rows that a programme names by their keys."""

    players: Mapping[int, str]
    drills: Mapping[int, str]
    slots: Mapping[int, str]

    @classmethod
    def of(cls, block: Block) -> Names:
        """In three queries."""
        sessions = Session.objects.filter(squad=block.squad_id).between(block.first_day, block.last_day)
        slots = (
            Slot.objects.filter(session__in=sessions).select_related("session").order_by("session__starts_at", "order")
        )
        return cls(
            {player.pk: str(player) for player in Player.objects.filter(squad=block.squad_id)},
            {drill.pk: str(drill) for drill in Drill.objects.filter(club=block.squad.club_id)},
            {slot.pk: slot_name(slot.session, slot) for slot in slots.order_by("session__starts_at", "order")},
        )

    def drill(self, state: StationState | None) -> str:
        return _("no station") if state is None else self.drills.get(state.drill, _("a drill since removed"))

    def player(self, player: int) -> str:
        return self.players.get(player, _("a player since removed"))


def session_name(session: Session) -> str:
    return day_name(session.day, get_language())


@lru_cache(maxsize=4096)
def day_name(day: dt.date, _language: str | None) -> str:
    """In the language that is active; looked up once, since a problem names each of its slots."""
    return date_format(day, "D j M")


def slot_name(session: Session, slot: Slot) -> str:
    """Slots count from 1 over the whole night, fixed content included, as on the printed sheet."""
    return _("%(night)s, slot %(number)d") % {"night": session_name(session), "number": slot.order + 1}


@dataclass(frozen=True, slots=True)
class SlotChange:
    """What is different in one slot, a sentence each."""

    slot: str
    lines: tuple[str, ...]


def what_changed(before: Programme, after: Programme, names: Names) -> list[SlotChange]:
    """Which stations come and go, and who moves where, in the order of time; slots without news do not appear."""
    touched = {station.slot for station in set(before.stations) ^ set(after.stations)}
    changes = (
        SlotChange(name, tuple(_lines(before, after, slot, names)))
        for slot, name in names.slots.items()
        if slot in touched
    )
    return [change for change in changes if change.lines]


def _lines(before: Programme, after: Programme, slot: int, names: Names) -> Iterator[str]:
    was = {station.spot: station for station in before.in_slot(slot)}
    now = {station.spot: station for station in after.in_slot(slot)}
    for spot in sorted(was.keys() - now.keys()):
        yield _("%(drill)s leaves") % {"drill": names.drill(was[spot])}
    for spot in sorted(now.keys() - was.keys()):
        count = len(now[spot].players)
        text = ngettext("%(drill)s comes in with %(count)d player", "%(drill)s comes in with %(count)d players", count)
        yield text % {"drill": names.drill(now[spot]), "count": count}
    for spot in sorted(was.keys() & now.keys()):
        yield from _marks(was[spot], now[spot], names)
    yield from _moves(before, after, slot, names)


def _marks(was: StationState, now: StationState, names: Names) -> Iterator[str]:
    drill = {"drill": names.drill(now)}
    if now.locked != was.locked:
        yield (_("%(drill)s is locked") if now.locked else _("%(drill)s is unlocked")) % drill
    if now.coach != was.coach:
        yield _("%(drill)s: coach %(coach)s") % (drill | {"coach": now.coach or _("not named")})


def _moves(before: Programme, after: Programme, slot: int, names: Names) -> Iterator[str]:
    moved: dict[tuple[str, str], list[str]] = defaultdict(list)
    standing = (player for station in (*before.in_slot(slot), *after.in_slot(slot)) for player in station.players)
    for player in dict.fromkeys(standing):
        source, target = before.place_of(player, slot), after.place_of(player, slot)
        if (source and source.spot) != (target and target.spot):
            moved[names.drill(source), names.drill(target)].append(names.player(player))
    for (source, target), players in moved.items():
        yield _("%(source)s → %(target)s: %(players)s") % {
            "source": source,
            "target": target,
            "players": ", ".join(players),
        }
