"""Says in the coach's words what a problem calls by its ids: who, what, when and how much."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from planner.core.problem import Ceiling, Contact, Problem
from planner.core.wishes import Place

KINDS = {
    Contact.NONE: "no contact",
    Contact.CONTROLLED: "controlled contact",
    Contact.SET_PIECE: "set-piece contact",
    Contact.FULL: "full contact",
}

AT_MOST = {
    Ceiling.ABSENT: "is absent",
    Ceiling.NONE: "may do no contact",
    Ceiling.CONTROLLED: "may do controlled contact at most",
    Ceiling.FULL: "may do full contact",
}


@dataclass(frozen=True, slots=True)
class Lowered:
    """A weekly limit of one week that is lower than the others'.

    The problem knows one limit for all weeks, so the `minutes` between stand in it as spent; people are told neither.
    """

    minutes: float
    why: str


@dataclass(frozen=True, slots=True)
class Words:
    """Names for the ids of a problem; an id without a name is shown as it is.

    Slots and weeks count from 0 in the problem and from 1 for people.
    """

    problem: Problem
    players: Mapping[str, str] = field(default_factory=dict)
    drills: Mapping[str, str] = field(default_factory=dict)
    sessions: Mapping[str, str] = field(default_factory=dict)
    others: Mapping[str, str] = field(default_factory=dict)  # skills, roles, ladders and kit
    lowered: Mapping[tuple[int, Contact], Lowered] = field(default_factory=dict)  # by week

    def player(self, player: str) -> str:
        return self.players.get(player, player)

    def drill(self, drill: str) -> str:
        return self.drills.get(drill, drill)

    def session(self, session: str) -> str:
        """A session without a name is shown with its day."""
        return self.sessions.get(session) or f"{session} ({self.problem.session(session).date:%a %d %b})"

    def gone_session(self, session: str) -> str:
        """One that the problem may no longer hold."""
        return self.sessions.get(session, session)

    def not_there(self, player: str, place: Place) -> str:
        """How somebody is not there who does not see all of a slot."""
        attends = player in self.problem.player_ids and self.problem.attends(player, place.session)
        return "is not there for all of the slot" if attends else "is absent"

    def other(self, thing: str) -> str:
        return self.others.get(thing, thing.replace("_", " "))

    def spent(self, minutes: float, week: int, kind: Contact) -> str:
        """Minutes of a week, counted as the problem does."""
        lowered = self.lowered.get((week, kind))
        return number(minutes - lowered.minutes if lowered else minutes)

    def weekly_limit(self, week: int, kind: Contact) -> str:
        limit, lowered = self.problem.limits.weekly[kind], self.lowered.get((week, kind))
        return f"{number(limit - lowered.minutes)} ({lowered.why})" if lowered else number(limit)

    def slot(self, session: str, slot: int) -> str:
        return f"{self.session(session)}, slot {slot + 1}"

    def station(self, place: Place) -> str:
        return f"{self.drill(place.drill)} on {self.slot(place.session, place.slot)}"


def week(number: int) -> str:
    return f"week {number + 1}"


def number(amount: float) -> str:
    """At most two decimals, none of them idle."""
    return f"{amount:.2f}".rstrip("0").rstrip(".")


def count(amount: float, thing: str) -> str:
    """`1 player`, `2 players`."""
    return f"{number(amount)} {thing}{'' if amount == 1 else 's'}"


def span(least: int, most: int, thing: str) -> str:
    return count(most, thing) if least == most else f"{least} to {count(most, thing)}"


def listed(things: Iterable[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    *rest, end = list(things) or ["none"]
    return f"{', '.join(rest)} {last} {end}" if rest else end
