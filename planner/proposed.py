"""The stations of a proposed plan slot by slot, each with its mark to keep it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from planner.build import BuiltProblem
from planner.programme import Names, Programme, Spot, StationState


@dataclass(frozen=True, slots=True)
class ProposedStation:
    """`key` names its spot in a form."""

    key: str
    drill: str
    players: tuple[str, ...]
    is_kept: bool
    is_locked: bool


@dataclass(frozen=True, slots=True)
class ProposedSlot:
    name: str
    stations: tuple[ProposedStation, ...]


def key_of_spot(spot: Spot) -> str:
    return f"{spot[0]}-{spot[1]}"


def proposed(built: BuiltProblem, programme: Programme, names: Names, kept: Collection[Spot]) -> list[ProposedSlot]:
    """The slots of the nights that are still open, in the order of time."""
    there = programme.of_sessions(built.open_sessions).outside_slots(built.begun)
    slots = {station.slot for station in there.stations}
    locked = {state.spot for state in built.programme.stations if state.locked}

    def told(state: StationState) -> ProposedStation:
        players = tuple(names.player(player) for player in state.players)
        return ProposedStation(
            key_of_spot(state.spot), names.drill(state), players, state.spot in kept, state.spot in locked
        )

    return [
        ProposedSlot(name, tuple(told(state) for state in there.in_slot(slot)))
        for slot, name in names.slots.items()
        if slot in slots
    ]
