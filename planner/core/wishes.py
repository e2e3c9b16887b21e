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
    @property
    def drill_ids(self) -> Collection[str]: ...
    @property
    def session_ids(self) -> Collection[str]: ...


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
class Apart:
    """Two players who never share a station; with `contact_only` none that holds contact."""

    players: tuple[str, str]
    contact_only: bool = False

    @classmethod
    def read(cls, node: Node, known: Known) -> Apart:
        players = node.get("players").needed().ids(known.player_ids, "player")
        if len(set(players)) != 2 or len(players) != 2:
            raise node.refuse("players is not a pair of two different players", "name two players")
        return cls((players[0], players[1]), node.get("contact_only").flag())


@dataclass(frozen=True, slots=True)
class Order:
    """Within a session no fresh drill comes later than one of at least this RPE."""

    tiring_rpe: int

    @classmethod
    def read(cls, node: Node) -> Order | None:
        return cls(node.get("tiring_rpe").whole(1, 10)) if node.given else None


@dataclass(frozen=True, slots=True)
class HardRow:
    """In how many slots in a row a player may stand at drills of at least this RPE; a break ends the row."""

    rpe: int
    most: int

    @classmethod
    def read(cls, node: Node) -> HardRow | None:
        return cls(node.get("rpe").whole(1, 10), node.get("most").whole()) if node.given else None


@dataclass(frozen=True, slots=True)
class Favourite:
    """What a coach would like to run in each of these sessions: one at least of these drills."""

    coach: str
    drills: tuple[str, ...]
    sessions: tuple[str, ...]
    weight: float

    @classmethod
    def read(cls, node: Node, known: Known) -> Favourite:
        return cls(
            node.get("coach").text(),
            node.get("drills").needed().ids(known.drill_ids, "drill"),
            node.get("sessions").needed().ids(known.session_ids, "session"),
            node.get("weight").amount(),
        )


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
