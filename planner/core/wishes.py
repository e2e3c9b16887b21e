"""What is wished for in a planning problem, and the stations that answer it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, Protocol

from planner.core.reading import Node
from planner.core.writing import as_object


class Known(Protocol):
    """The facts that a wish refers to."""

    @property
    def weeks(self) -> int: ...
    @property
    def skills(self) -> tuple[str, ...]: ...
    @property
    def player_ids(self) -> Collection[str]: ...


@dataclass(frozen=True, slots=True)
class Target:
    """Skill minutes that a player should get over the block; `weekly`: and touch in each of his weeks."""

    player: str
    skill: str
    minutes: int
    weight: float
    weekly: bool = False

    @classmethod
    def read(cls, node: Node, known: Known) -> Target:
        return cls(
            node.get("player").one_of(known.player_ids, "player"),
            node.get("skill").one_of(known.skills, "skill"),
            node.get("minutes").whole(),
            node.get("weight").amount(),
            node.get("weekly").flag(),
        )


@dataclass(frozen=True, slots=True)
class Band:
    """The load in AU (RPE x minutes) that a player's planned week should stay within."""

    player: str
    week: int
    low: int
    high: int
    weight: float

    @classmethod
    def read(cls, node: Node, known: Known) -> Band:
        band = cls(
            node.get("player").one_of(known.player_ids, "player"),
            node.get("week").whole(0, known.weeks - 1),
            node.get("low").whole(),
            node.get("high").whole(),
            node.get("weight").amount(),
        )
        if band.low > band.high:
            raise node.refuse(f"low {band.low} is above high {band.high}", "exchange them")
        return band


@dataclass(frozen=True, slots=True)
class Evenness:
    """The wish to even out contact among the players of each of these roles."""

    roles: tuple[str, ...] = ()
    weight: float = 0

    @classmethod
    def read(cls, node: Node) -> Evenness:
        if not node.given:
            return cls()
        return cls(node.get("roles").needed().texts(), node.get("weight").amount())


@dataclass(frozen=True, slots=True)
class Lock:
    """A station that must run, with players who must stand there; others may join them."""

    session: str
    slot: int
    drill: str
    players: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return as_object(self) | {"players": list(self.players) or None}


@dataclass(frozen=True, slots=True)
class Station:
    """A drill that runs in a slot of a session, and the players who stand there."""

    session: str
    slot: int
    drill: str
    players: tuple[str, ...]


class Place(Protocol):
    """What a lock and a station share: a drill in a slot of a session with players."""

    @property
    def session(self) -> str: ...
    @property
    def slot(self) -> int: ...
    @property
    def drill(self) -> str: ...
    @property
    def players(self) -> tuple[str, ...]: ...
