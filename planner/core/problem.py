"""The planning problem and its plan as plain values, read from and written to their file format.

docs/planning-problem.md describes the format, the rules and the cost. Minutes, counts and RPE are
whole; shares, weights and accrued minutes have at most two decimals. Everything here is a value: no
part of it changes after it has been made.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any, Protocol, TypeVar

from planner.core.parts import (
    Accrued,
    Ceiling,
    Contact,
    Done,
    Drill,
    Keep,
    LadderRule,
    Limits,
    Player,
    Repeats,
    Session,
    SkillShare,
    Units,
)
from planner.core.reading import Malformed, Node
from planner.core.wishes import Apart, Band, Evenness, Favourite, HardRow, Lock, Order, Place, Station, Target
from planner.core.writing import WHEN_GIVEN, as_object

__all__ = [
    "Accrued", "Apart", "Band", "Ceiling", "Contact", "Done", "Drill", "Evenness", "Favourite", "HardRow", "Keep",
    "LadderRule", "Limits", "Lock", "Malformed", "Order", "Plan", "Player", "Problem", "Repeats", "Session",
    "SkillShare", "Station", "Status", "Target", "Units",
]  # fmt: skip

Misses = Mapping[str, Mapping[str, tuple[int, ...]]]  # by player and session: slots, counted from 0

PROBLEM_FORMAT = "plumbline-problem/1"
PLAN_FORMAT = "plumbline-plan/1"
LONGEST_BLOCK = 52  # weeks


class Status(StrEnum):
    """Whether a plan is proven to be the best there is."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"


@dataclass(frozen=True, slots=True)
class Problem:
    """One training block of one squad. Look-ups take ids and raise KeyError for an unknown one."""

    name: str
    start: date
    weeks: int
    skills: tuple[str, ...]
    players: tuple[Player, ...]
    drills: tuple[Drill, ...]
    sessions: tuple[Session, ...]
    ceilings: Mapping[str, Mapping[str, Ceiling]] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)
    targets: tuple[Target, ...] = ()
    bands: tuple[Band, ...] = ()
    evenness: Evenness = field(default_factory=Evenness)
    idle_weight: float = 0
    locks: tuple[Lock, ...] = ()
    known: tuple[str, ...] = field(default=(), metadata=WHEN_GIVEN)
    apart: tuple[Apart, ...] = field(default=(), metadata=WHEN_GIVEN)
    order: Order | None = field(default=None, metadata=WHEN_GIVEN)
    hard_row: HardRow | None = field(default=None, metadata=WHEN_GIVEN)
    favourites: tuple[Favourite, ...] = field(default=(), metadata=WHEN_GIVEN)
    misses: Misses = field(default_factory=dict, metadata=WHEN_GIVEN)
    _player: dict[str, Player] = field(init=False, repr=False, compare=False)
    _drill: dict[str, Drill] = field(init=False, repr=False, compare=False)
    _session: dict[str, Session] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_player", {player.id: player for player in self.players})
        object.__setattr__(self, "_drill", {drill.id: drill for drill in self.drills})
        object.__setattr__(self, "_session", {session.id: session for session in self.sessions})

    def player(self, player: str) -> Player:
        return self._player[player]

    def drill(self, drill: str) -> Drill:
        return self._drill[drill]

    def session(self, session: str) -> Session:
        return self._session[session]

    @property
    def player_ids(self) -> Collection[str]:
        return self._player.keys()

    @property
    def drill_ids(self) -> Collection[str]:
        return self._drill.keys()

    @property
    def session_ids(self) -> Collection[str]:
        return self._session.keys()

    def week_of(self, session: str) -> int:
        """Weeks count from 0 at the first day of the block."""
        return (self._session[session].date - self.start).days // 7

    def ceiling(self, player: str, session: str) -> Ceiling:
        return self.ceilings.get(player, {}).get(session, Ceiling.FULL)

    def attends(self, player: str, session: str) -> bool:
        return self.ceiling(player, session) is not Ceiling.ABSENT

    def missed(self, player: str, session: str) -> tuple[int, ...]:
        """Slots that somebody who attends the session is not there for, or not for all of."""
        return self.misses.get(player, {}).get(session, ())

    def is_there(self, player: str, session: str, slot: int) -> bool:
        return self.attends(player, session) and slot not in self.missed(player, session)

    def share(self, player: str, drill: str, skill: str) -> float:
        """The part of the drill's minutes that counts towards the skill for this player."""
        return self._drill[drill].share_for(self._player[player], skill)

    def minutes(self, place: Place) -> int:
        """Minutes of the slot that a station or a lock stands in."""
        return self._session[place.session].slots[place.slot]

    @classmethod
    def from_json(cls, data: object) -> Problem:
        """The problem that parsed JSON holds; raises Malformed when it does not hold one."""
        node = Node(data, "problem")
        _needs_format(node, PROBLEM_FORMAT)
        facts = _read_facts(node)
        return cls(
            **{name: getattr(facts, name) for name in _FACTS},
            ceilings=_read_ceilings(node.get("ceilings"), facts),
            limits=Limits.read(node.get("limits")),
            targets=tuple(Target.read(entry, facts) for entry in node.get("targets").items()),
            bands=tuple(Band.read(entry, facts) for entry in node.get("bands").items()),
            evenness=Evenness.read(node.get("evenness")),
            idle_weight=node.get("idle_weight").amount() if node.get("idle_weight").given else 0,
            locks=tuple(
                Lock(*_read_place(entry, facts), _read_players(entry.get("players"), facts))
                for entry in node.get("locks").items()
            ),
            known=node.get("known").ids(facts.drill_ids, "drill"),
            apart=tuple(Apart.read(entry, facts) for entry in node.get("apart").items()),
            order=Order.read(node.get("order")),
            hard_row=HardRow.read(node.get("hard_row")),
            favourites=tuple(Favourite.read(entry, facts) for entry in node.get("favourites").items()),
            misses=_read_misses(node.get("misses"), facts),
        )

    def to_json(self) -> dict[str, Any]:
        return {"format": PROBLEM_FORMAT} | as_object(self)


@dataclass(frozen=True, slots=True)
class Plan:
    """Stations for the problem of that name; `bound` is a proven lower bound on the cost."""

    problem: str
    stations: tuple[Station, ...]
    cost: float | None = None
    bound: float | None = None
    status: Status | None = None
    seconds: float | None = None

    @classmethod
    def from_json(cls, data: object, problem: Problem) -> Plan:
        """The plan that parsed JSON holds for this problem; raises Malformed when it holds none.

        A plan that breaks rules is still a plan: `planner.core.check` says which.
        """
        node = Node(data, "plan")
        _needs_format(node, PLAN_FORMAT)
        if (name := node.get("problem").text()) != problem.name:
            raise node.refuse(f"it is for {name!a}, not {problem.name!a}", "choose the plan of this problem")
        status = node.get("status")
        return cls(
            name,
            tuple(_read_station(entry, problem) for entry in node.get("stations").needed().items()),
            cost=node.get("cost").real(),
            bound=node.get("bound").real(),
            status=status.choice(Status) if status.given else None,
            seconds=node.get("seconds").real(),
        )

    def to_json(self) -> dict[str, Any]:
        return {"format": PLAN_FORMAT} | as_object(self)


_FACTS = ("name", "start", "weeks", "skills", "players", "drills", "sessions")


def _needs_format(node: Node, known: str) -> None:
    if node.get("format").value != known:
        raise node.refuse("that is another format", f'choose a file that says "format": "{known}"')


def _read_facts(node: Node) -> Problem:
    """What the rest of the file refers to."""
    start, weeks = node.get("start").day(), node.get("weeks").whole(1, LONGEST_BLOCK)
    skills = node.get("skills").needed().texts()
    return Problem(
        node.get("name").text(),
        start,
        weeks,
        skills,
        _distinct([Player.read(entry, weeks) for entry in _entries(node, "players")], node, "player"),
        _distinct([Drill.read(entry, skills) for entry in _entries(node, "drills")], node, "drill"),
        _read_sessions(node, start, weeks),
    )


def _entries(node: Node, key: str) -> list[Node]:
    return node.get(key).needed().items()


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


Thing = TypeVar("Thing", bound=_HasId)


def _distinct(things: Iterable[Thing], node: Node, what: str) -> tuple[Thing, ...]:
    found: dict[str, Thing] = {}
    for thing in things:
        if thing.id in found:
            raise node.refuse(f"{what} {thing.id!a} is given twice", "give each its own id")
        found[thing.id] = thing
    return tuple(found.values())


def _read_sessions(node: Node, start: date, weeks: int) -> tuple[Session, ...]:
    sessions: list[Session] = []
    for entry in _entries(node, "sessions"):
        session = Session.read(entry)
        if not 0 <= (session.date - start).days < 7 * weeks:
            raise entry.refuse(f"{session.date} is outside the block", f"use a date in the {weeks} weeks from {start}")
        if sessions and session.date < sessions[-1].date:
            raise entry.refuse("it is earlier than the session before it", "list sessions in time order")
        sessions.append(session)
    return _distinct(sessions, node, "session")


def _read_ceilings(node: Node, known: Problem) -> dict[str, dict[str, Ceiling]]:
    return {
        player: {session: ceiling.choice(Ceiling) for session, ceiling in row}
        for player, row in _by_player_and_session(node, known)
    }


def _read_misses(node: Node, known: Problem) -> Misses:
    return {
        player: {session: _read_slots(slots, session, known) for session, slots in row}
        for player, row in _by_player_and_session(node, known)
    }


def _by_player_and_session(node: Node, known: Problem) -> Iterator[tuple[str, Iterator[tuple[str, Node]]]]:
    for player, row in node.entries():
        named = ((Node(name, row.where).one_of(known._session, "session"), value) for name, value in row.entries())
        yield Node(player, node.where).one_of(known.player_ids, "player"), named


def _read_slots(node: Node, session: str, known: Problem) -> tuple[int, ...]:
    last = len(known.session(session).slots) - 1
    return tuple(sorted({slot.whole(0, last) for slot in node.items()}))


def _read_place(node: Node, known: Problem) -> tuple[str, int, str]:
    session = node.get("session").one_of(known._session, "session")
    slots = len(known.session(session).slots)
    slot = node.get("slot").whole()
    if slot >= slots:
        raise node.refuse(f"session {session!a} has no slot {slot}", f"slots are numbered 0 to {slots - 1}")
    return session, slot, node.get("drill").one_of(known._drill, "drill")


def _read_players(node: Node, known: Problem) -> tuple[str, ...]:
    return node.ids(known.player_ids, "player")


def _read_station(node: Node, known: Problem) -> Station:
    return Station(*_read_place(node, known), _read_players(node.get("players").needed(), known))
