"""What each hard rule that binds keeps out: the best single move that a little more room would let in.

A price is an estimate from one move, not a proof: a fresh search with the looser rule may gain more.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from planner.core.bars import DAYS, LADDER, WEEKLY
from planner.core.check import breaches, cost
from planner.core.crews import REPEATS, RESOURCE
from planner.core.moves import Move, Moves, Table
from planner.core.problem import Contact, Problem, Session
from planner.core.sheet import TOLERANCE

MOST_ROWS = 500  # moves looked at for each rule, those that save most
MOST_PRICES = 12
STATIONS, COACHES, AREA = "stations", "coaches", "area"


class Rule(StrEnum):
    """A rule that has a price; `thing` of the price says of what."""

    WEEKLY = "weekly"  # minutes of a kind of contact in a week (H6)
    DAYS = "days"  # days of full contact in a week (H7)
    LADDER = "ladder"  # fewer minutes at the rung below (H9)
    REPEATS = "repeats"  # slots of a week in which a drill may run (H8)
    ROOM = "room"  # stations, coaches, area or kit of a session (H3)


@dataclass(frozen=True, slots=True)
class Served:
    """A player whom the looser rule serves, and by how many minutes it eases his shortfalls."""

    player: str
    minutes: float


@dataclass(frozen=True, slots=True)
class Price:
    """`amount` more of `thing` would let `move` in, which changes the cost by `change` (below 0).

    `thing`: a kind of contact, one of STATIONS, COACHES, AREA, or a kind of kit; empty for the other rules.
    `session` only for ROOM. `served`: whom moves let in by the same amount serve, each by a move of its own,
    those of `move` among them.
    """

    rule: Rule
    thing: str
    session: str | None
    amount: int
    move: Move
    change: float
    served: tuple[Served, ...]

    def relaxed(self, problem: Problem) -> Problem:
        """The problem with that much more room."""
        limits = problem.limits
        if self.rule is Rule.WEEKLY:
            kind = Contact(self.thing)
            return replace(
                problem, limits=replace(limits, weekly={**limits.weekly, kind: limits.weekly[kind] + self.amount})
            )
        if self.rule is Rule.DAYS:
            days = (limits.full_days_per_week or 0) + self.amount
            return replace(problem, limits=replace(limits, full_days_per_week=days))
        if self.rule is Rule.REPEATS:
            repeats = (limits.repeats_per_week or 0) + self.amount
            return replace(problem, limits=replace(limits, repeats_per_week=repeats))
        if self.rule is Rule.LADDER and limits.ladder is not None:
            ladder = replace(limits.ladder, minutes=limits.ladder.minutes - self.amount)
            return replace(problem, limits=replace(limits, ladder=ladder))
        return replace(problem, sessions=tuple(map(self._roomier, problem.sessions)))

    def _roomier(self, was: Session) -> Session:
        if was.id != self.session:
            return was
        if self.thing == STATIONS:
            return replace(was, stations=was.stations + self.amount)
        if self.thing == COACHES:
            return replace(was, coaches=was.coaches + self.amount)
        if self.thing == AREA:
            return replace(was, area=was.area + self.amount)
        return replace(was, kit={**was.kit, self.thing: was.kit.get(self.thing, 0) + self.amount})


@dataclass(frozen=True, slots=True)
class Barred:
    """A move that one rule keeps out, and by how much."""

    row: int
    amount: int
    change: float

    @property
    def worth(self) -> float:
        """Saved for each unit of room."""
        return -self.change / self.amount


Key = tuple[Rule, str, "str | None"]


def prices(moves: Moves) -> list[Price]:
    """The dearest first, at most MOST_PRICES. Each has been put to the referee and the independent cost."""
    table = moves.table
    paying = table.where(table.change < -TOLERANCE)
    barred: dict[Key, list[Barred]] = defaultdict(list)
    for key, found in _barred(moves, paying):
        barred[key].append(found)
    dearest = sorted(barred.values(), key=lambda found: min(each.change for each in found))[:MOST_PRICES]
    by_key = {key: found for key, found in barred.items() if any(found is each for each in dearest)}
    before = cost(moves.problem, moves.effects.stations).total
    priced = (_price(moves, paying, key, found, before) for key, found in by_key.items())
    return sorted((price for price in priced if price), key=lambda price: price.change)


def _barred(moves: Moves, table: Table) -> Iterator[tuple[Key, Barred]]:
    """The moves that a single rule keeps out."""
    bits = [WEEKLY, DAYS, LADDER, REPEATS, *(RESOURCE << n for n in range(3 + len(moves.stations.kit)))]
    for bit in bits:
        rows = np.nonzero(table.bars == bit)[0]
        for row in rows[np.argsort(table.change[rows], kind="stable")][:MOST_ROWS].tolist():
            if found := _shortage(moves, table, row, bit):
                key, amount = found
                yield key, Barred(row, math.ceil(amount - TOLERANCE), float(table.change[row]))


def _shortage(moves: Moves, table: Table, row: int, bit: int) -> tuple[Key, float] | None:
    """Which rule lacks how much for the move; None if it lacks room of two kinds."""
    effects, slot = moves.effects, int(table.slot[row])
    if bit == WEEKLY:
        beyond = {(p, d): effects.rules.beyond_weekly[p, slot, d] for p, d in moves.all_crew(table, row)}
        kinds = {effects.drills[d].kind for (_, d), minutes in beyond.items() if minutes > TOLERANCE}
        return ((Rule.WEEKLY, kinds.pop(), None), max(beyond.values())) if len(kinds) == 1 else None
    if bit == DAYS:
        return (Rule.DAYS, "", None), 1
    if bit == REPEATS:
        return (Rule.REPEATS, "", None), 1
    if bit == LADDER:
        return (Rule.LADDER, "", None), max(effects.rules.rung_lacks[p, slot, d] for p, d in moves.all_crew(table, row))
    n = (bit // RESOURCE).bit_length() - 1
    left = int(table.a[row])
    lacking = moves.stations.lacking(slot, left if left >= 0 else None)[int(table.b[row]), n]
    return (Rule.ROOM, [STATIONS, COACHES, AREA, *moves.stations.kit][n], effects.slots[slot][0].id), float(lacking)


def _price(moves: Moves, table: Table, key: Key, barred: list[Barred], before: float) -> Price | None:
    """The move that saves most for each unit of room, if it holds before the referee."""
    best = max(barred, key=lambda each: each.worth)
    within = [best] if key[0] is Rule.ROOM else [each for each in barred if each.amount <= best.amount]
    move = moves.move(table, best.row)
    price = Price(*key, best.amount, move, 0, tuple(_served(moves, table, within)))
    looser, after = price.relaxed(moves.problem), move.applied(moves.effects.stations)
    change = cost(looser, after).total - before
    if change > -TOLERANCE or breaches(looser, after):
        return None
    return replace(price, change=change)


def _served(moves: Moves, table: Table, barred: list[Barred]) -> list[Served]:
    """By the most minutes first."""
    effects, minutes = moves.effects, dict[int, float]()
    for each in barred:
        for p, d in moves.all_crew(table, each.row):
            eased = effects.eased(p, int(table.slot[each.row]), d)
            if eased > TOLERANCE:
                minutes[p] = max(eased, minutes.get(p, 0))
    return [Served(effects.players[p].id, minutes[p]) for p in sorted(minutes, key=lambda p: -minutes[p])]
