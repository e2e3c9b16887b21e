"""What is left of the wishes in the coach's own units, and who gains and who loses between two plans."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from functools import cached_property

from planner.core import cost as priced
from planner.core.problem import Contact, Problem, Station
from planner.core.sheet import TOLERANCE, Sheet
from planner.core.tally import PlayerTally, tally


@dataclass(frozen=True, slots=True)
class Figures:
    """What a plan leaves open, over all players.

    `short` skill minutes below the targets, `untouched` weeks of players without the weekly touch,
    `outside` AU of load outside the bands, `idle` minutes of players without a station, `uneven` contact
    minutes between most and least, summed over the groups, `unmet` runs of drills that coaches wish for and
    that are missing (None where none are wished for); `cost` is the weighted sum that is minimised.
    """

    short: float
    untouched: int
    outside: int
    idle: int
    uneven: float
    cost: float
    unmet: int | None = None

    def to_json(self) -> dict[str, float | None]:
        return asdict(self)


@dataclass(frozen=True)
class Standing:
    """A problem with the stations that stand in it, and what these give each player."""

    problem: Problem
    stations: tuple[Station, ...]
    tallies: tuple[PlayerTally, ...]

    @classmethod
    def of(cls, problem: Problem, stations: Iterable[Station]) -> Standing:
        stations = tuple(stations)
        return cls(problem, stations, tally(problem, stations))

    @cached_property
    def idle(self) -> dict[str, int]:
        return idle_minutes(self.problem, self.stations)

    @property
    def figures(self) -> Figures:
        return Figures(
            short=round(sum(skill.short for each in self.tallies for skill in each.skills), 2),
            untouched=sum(len(skill.untouched) for each in self.tallies for skill in each.skills),
            outside=sum(abs(load.outside) for each in self.tallies for load in each.loads),
            idle=sum(self.idle.values()),
            uneven=round(self._uneven(), 2),
            cost=round(priced.cost(self.problem, self.stations).total, 2),
            unmet=self._unmet(),
        )

    def _unmet(self) -> int | None:
        repeats = any(drill.repeats.least and drill.repeats.weight for drill in self.problem.drills)
        if not repeats and not self.problem.favourites:
            return None
        return sum(times for weight, times in priced.unmet(Sheet.of(self.problem, self.stations)) if weight)

    def _uneven(self) -> float:
        plain = replace(self.problem, evenness=replace(self.problem.evenness, weight=1))
        return priced.evenness(Sheet.of(plain, self.stations))


def idle_minutes(problem: Problem, stations: Iterable[Station]) -> dict[str, int]:
    """Minutes of slots that each player is there for without standing at a station."""
    busy = {(player, s.session, s.slot) for s in stations for player in s.players}
    return {
        player.id: sum(
            minutes
            for session in problem.sessions
            for slot, minutes in enumerate(session.slots)
            if problem.is_there(player.id, session.id, slot) and (player.id, session.id, slot) not in busy
        )
        for player in problem.players
    }


class Part(StrEnum):
    """What a player can gain or lose by a change."""

    SHORT = "short"
    TOUCH = "untouched"
    LOAD = "outside"
    IDLE = "idle"


@dataclass(frozen=True, slots=True)
class Delta:
    """One figure of one player that a change moved; all are better when smaller.

    `before` and `after`: minutes short of a skill, weeks without the weekly touch, AU outside the band
    (`load`: the load of that week afterwards), minutes without a station.
    """

    player: str
    part: Part
    before: float
    after: float
    skill: str | None = None
    week: int | None = None
    load: int | None = None

    @property
    def is_better(self) -> bool:
        return self.after < self.before


def deltas(before: Standing, after: Standing) -> list[Delta]:
    """Every figure that differs, player by player; both standings are of one problem."""
    return [
        delta
        for was, now in zip(before.tallies, after.tallies, strict=True)
        for delta in (*_skills(was, now), *_loads(was, now), *_idle(was.player, before, after))
        if abs(delta.after - delta.before) > TOLERANCE
    ]


def _skills(was: PlayerTally, now: PlayerTally) -> Iterator[Delta]:
    for one, other in zip(was.skills, now.skills, strict=True):
        yield Delta(was.player, Part.SHORT, one.short, other.short, skill=one.skill)
        yield Delta(was.player, Part.TOUCH, len(one.untouched), len(other.untouched), skill=one.skill)


def _loads(was: PlayerTally, now: PlayerTally) -> Iterator[Delta]:
    for one, other in zip(was.loads, now.loads, strict=True):
        yield Delta(was.player, Part.LOAD, abs(one.outside), abs(other.outside), week=one.week, load=other.load)


def _idle(player: str, before: Standing, after: Standing) -> Iterator[Delta]:
    yield Delta(player, Part.IDLE, before.idle[player], after.idle[player])


def raised_contact(before: Standing, after: Standing) -> set[tuple[str, int]]:
    """The (player, week) pairs in which some contact, or the number of days with full contact, went up."""
    was = _contact(before)
    return {
        (player, week)
        for (player, week, kind), much in _contact(after).items()
        if much > was[player, week, kind] + TOLERANCE
    }


def _contact(standing: Standing) -> dict[tuple[str, int, Contact | None], float]:
    """Planned minutes by player, week and kind; under None the days with full contact."""
    booked: dict[tuple[str, int, Contact | None], float] = {}
    for each in standing.tallies:
        booked |= {(each.player, entry.week, entry.kind): entry.planned for entry in each.contact}
        booked |= {(each.player, entry.week, None): entry.days for entry in each.full_days}
    return booked
