"""Dealing again after one change: what the change broke is released, its slots are dealt anew, the rest stays."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace

from planner.core.check import Breach, Cost, breaches, cost
from planner.core.flat import Layout, flatten
from planner.core.problem import Lock, Problem, Station
from planner.core.search import Search
from planner.core.solve import UNSTAFFED, Unfinished, locks_break_a_rule, staffed_locks
from planner.core.words import Words, listed

CONTACT = ("H6", "H7")  # rules that only stations with contact can break
RUNS = ("H8", "H11", "H13", "H15")  # rules about which drills run, whoever stands there
HOT, COLD = 20.0, 1.0  # temperatures in units of cost: the plan around is already good
CHUNK = 50  # rounds between two looks at the clock

QUICK, PATIENT = 0.3, 1.0  # seconds in all, for blocks of up to so many slots and for longer ones
LONG = 250  # slots
SHARE = 0.85  # of the time; the rest is for the referee and the list of moves

Place = tuple[str, int]  # session and slot


@dataclass(frozen=True, slots=True)
class Move:
    """Where a player goes in a slot instead of where he was; None: no station."""

    player: str
    session: str
    slot: int
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class Redeal:
    """The new plan, what the change released (one sentence each), and who moves where."""

    stations: tuple[Station, ...]
    cost: Cost
    released: tuple[str, ...]
    changed: tuple[Move, ...]
    seconds: float


def redeal(
    problem: Problem,
    stations: Sequence[Station],
    *,
    seconds: float | None = None,
    seed: int = 1,
    iterations: int | None = None,
    free: Iterable[Place] = (),
    words: Words | None = None,
) -> Redeal:
    """A plan for the changed problem that differs from `stations` only where the change or `free` asks for it.

    `problem` is the problem after the change. Stations that it no longer allows are released, and so are
    players and stations that depended on them; slots where that happened are dealt anew, with those in
    `free` and those with a lock that is not met. Unless told otherwise it takes 0.3 seconds, and one for a
    season. Raises Impossible and Unfinished as `solve` does.
    """
    started, words = time.monotonic(), words or Words(problem)
    problem, unlocked = loosen(problem, words)
    if locks_break_a_rule(problem):
        staffed_locks(problem)  # raises: whatever else is dealt, these cannot stand
    kept, released = release(problem, stations, words)
    released = unlocked + released
    layout = flatten(problem)
    touched = {*free, *_disturbed(problem, stations, kept), *_unmet(problem, kept)}
    slots: Set[int] = {layout.slots[place] for place in touched if place in layout.slots}
    search = Search(layout, seed, kept, slots)
    if search.unstaffed:
        search, slots, reason = _make_way(layout, seed, kept, slots, search.unstaffed)
        released += (reason,)
    if slots:
        limit = seconds or (QUICK if len(layout.slots) <= LONG else PATIENT)
        _improve(search, started, limit * SHARE, iterations)
    dealt = search.stations()
    if broken := breaches(problem, dealt):
        raise AssertionError(f"dealing again made a plan that breaks a rule: {broken[0].text}")
    moves = tuple(_moves(problem, layout, stations, dealt))
    return Redeal(dealt, cost(problem, dealt), released, moves, time.monotonic() - started)


def _make_way(
    layout: Layout, seed: int, kept: Sequence[Station], slots: Set[int], unstaffed: Sequence[int]
) -> tuple[Search, Set[int], str]:
    """A new lock whose players are taken elsewhere: its week is dealt anew, and if that is not enough, all is."""
    problem, week = layout.problem, layout.flat.slot_week
    weeks = {int(week[s]) for s in unstaffed}
    rest = [station for station in kept if problem.week_of(station.session) not in weeks]
    wider = slots | {s for s in layout.slots.values() if week[s] in weeks}
    search = Search(layout, seed, rest, wider)
    if not search.unstaffed:
        which = listed(f"week {w + 1}" for w in sorted(weeks))
        return search, wider, f"To staff the locked stations, {which} had to be dealt anew."
    search = Search(layout, seed, staffed_locks(problem))
    if search.unstaffed:
        raise Unfinished(UNSTAFFED)
    everything = set(layout.slots.values())
    return search, everything, "To staff the locked stations, the whole block had to be dealt anew."


def _improve(search: Search, started: float, seconds: float, iterations: int | None) -> None:
    while True:
        if iterations is not None:
            gone = search.rounds / max(1, iterations)
        else:
            gone = (time.monotonic() - started) / max(1e-9, seconds)
        if gone >= 1:
            return
        search.improve(CHUNK, HOT * (COLD / HOT) ** gone)


def loosen(problem: Problem, words: Words) -> tuple[Problem, tuple[str, ...]]:
    """The problem without locks on what is no longer there, and without players who are not there in the others."""
    drills, slots = _drills(problem), _slots(problem)
    locks, reasons = [], []
    for lock in problem.locks:
        if lock.drill not in drills or (lock.session, lock.slot) not in slots:
            where = f"slot {lock.slot + 1} of {words.gone_session(lock.session)}"
            reasons.append(f"The lock on {words.drill(lock.drill)} in {where} is gone with it.")
            continue
        here = tuple(player for player in lock.players if _is_there(problem, player, lock))
        reasons += [
            f"{words.player(player)} {words.not_there(player, lock)} and no longer locked to {words.station(lock)}."
            for player in lock.players
            if player not in here
        ]
        locks.append(replace(lock, players=here))
    return replace(problem, locks=tuple(locks)), tuple(reasons)


def _drills(problem: Problem) -> set[str]:
    return {drill.id for drill in problem.drills}


def _slots(problem: Problem) -> set[Place]:
    return {(session.id, slot) for session in problem.sessions for slot in range(len(session.slots))}


def release(problem: Problem, stations: Iterable[Station], words: Words) -> tuple[tuple[Station, ...], tuple[str, ...]]:
    """As much of a plan as the problem allows, and the reason for everything that had to go.

    What goes may have carried something else, so the referee is asked until it has nothing left to say.
    """
    kept, reasons = _known(problem, stations, words)
    while broken := _broken(problem, kept, words):
        before = kept
        for breach in broken:
            kept = _without(problem, kept, breach)
        if kept == before:
            break  # only what locks break among themselves
        reasons += [breach.text for breach in broken]
    return tuple(kept), tuple(dict.fromkeys(reasons))


def _broken(problem: Problem, kept: Sequence[Station], words: Words) -> list[Breach]:
    """What the stations break, and what they would beside the locked ones that are still to be dealt."""
    there = set(map(_place, kept))
    places = dict.fromkeys(map(_place, problem.locks))
    beside = [*kept, *(Station(*place, ()) for place in places if place not in there)]
    alone = [breach for breach in breaches(problem, kept, words) if breach.rule != "H10"]
    return alone + [
        breach for breach in breaches(problem, beside, words) if breach.rule in RUNS and breach not in alone
    ]


def _known(problem: Problem, stations: Iterable[Station], words: Words) -> tuple[list[Station], list[str]]:
    """Stations whose session, slot, drill and players the problem still has."""
    kept, reasons = [], []
    drills, slots = _drills(problem), _slots(problem)
    for station in stations:
        if (station.session, station.slot) not in slots:
            reasons.append(f"Slot {station.slot + 1} of {words.gone_session(station.session)} is no longer there.")
        elif station.drill not in drills:
            reasons.append(f"{words.drill(station.drill)} is no longer to be used.")
        else:
            here = tuple(player for player in station.players if player in problem.player_ids)
            kept.append(replace(station, players=here))
    return kept, reasons


def _without(problem: Problem, stations: list[Station], breach: Breach) -> list[Station]:
    """The plan without what breaks this rule: one player of a station if that helps, else the station."""
    blamed = [station for station in stations if _is_at(problem, station, breach)]
    if all(_hold(problem, station, breach)[0] for station in blamed):
        blamed = [station for station in stations if _stands_in_the_way(problem, station, breach)] or blamed
    if not blamed:
        return stations
    loser = min(blamed, key=lambda station: _hold(problem, station, breach))
    rest = [station for station in stations if station is not loser]
    if breach.player is not None:
        goes = _who_goes(problem, loser, breach.player, breach.rule)
        rest.append(replace(loser, players=tuple(p for p in loser.players if p != goes)))
    return rest


def _stands_in_the_way(problem: Problem, station: Station, breach: Breach) -> bool:
    """The other one of two that cannot both run, where the rule blames one that a lock keeps (H13, H15)."""
    if breach.session is None:
        return False
    if breach.rule == "H13" and problem.order is not None:
        tires = problem.drill(station.drill).rpe >= problem.order.tiring_rpe
        return tires and station.session == breach.session and station.slot < (breach.slot or 0)
    if breach.rule == "H15" and station.drill == breach.drill:
        days = abs((problem.session(station.session).date - problem.session(breach.session).date).days)
        return 0 < days < problem.drill(station.drill).repeats.gap_days
    return False


def _who_goes(problem: Problem, station: Station, player: str, rule: str) -> str:
    """The player, or of two who are kept apart the other one, if only the first is locked there (H16)."""
    held = {p for lock in problem.locks if _place(lock) == _place(station) for p in lock.players}
    if rule == "H16" and player in held:
        foes = {p for pair in problem.apart if player in pair.players for p in pair.players} - {player, *held}
        return next((foe for foe in station.players if foe in foes), player)
    return player


def _place(what: Lock | Station) -> tuple[str, int, str]:
    return what.session, what.slot, what.drill


def _is_at(problem: Problem, station: Station, breach: Breach) -> bool:
    return (
        breach.session in (None, station.session)
        and breach.slot in (None, station.slot)
        and breach.drill in (None, station.drill)
        and breach.week in (None, problem.week_of(station.session))
        and (breach.player is None or breach.player in station.players)
        and (breach.rule not in CONTACT or problem.drill(station.drill).kind.value != "none")
        and (breach.rule != "H11" or problem.drill(station.drill).theme is not None)
        and (breach.rule != "H14" or _is_hard(problem, station))
    )


def _is_hard(problem: Problem, station: Station) -> bool:
    return problem.hard_row is not None and problem.drill(station.drill).rpe >= problem.hard_row.rpe


def _hold(problem: Problem, station: Station, breach: Breach) -> tuple[bool, int, int]:
    """Who stays longest: what a lock asks for, then the station with most players, then the earlier one."""
    locked = any(
        _place(lock) == _place(station) and (breach.player is None or breach.player in lock.players)
        for lock in problem.locks
    )
    return locked, len(station.players), -station.slot


def _disturbed(problem: Problem, before: Iterable[Station], kept: Iterable[Station]) -> Iterator[Place]:
    """Slots where a station is gone, or a player who is there has lost his place."""
    left = {(station.session, station.slot, station.drill): set(station.players) for station in kept}
    for station in before:
        here = left.get((station.session, station.slot, station.drill))
        lost = set(station.players) - (here or set())
        if here is None or any(_is_there(problem, player, station) for player in lost):
            yield station.session, station.slot


def _is_there(problem: Problem, player: str, place: Lock | Station) -> bool:
    return player in problem.player_ids and problem.is_there(player, place.session, place.slot)


def _unmet(problem: Problem, kept: Iterable[Station]) -> Iterator[Place]:
    there = {(station.session, station.slot, station.drill): set(station.players) for station in kept}
    for lock in problem.locks:
        if not set(lock.players) <= there.get((lock.session, lock.slot, lock.drill), {None}):
            yield lock.session, lock.slot


def _moves(problem: Problem, layout: Layout, before: Iterable[Station], after: Iterable[Station]) -> Iterator[Move]:
    old, new = _whereabouts(before), _whereabouts(after)
    for session, slot in dict.fromkeys([*layout.slots, *(place[:2] for place in old)]):
        for player in problem.players:
            was, now = old.get((session, slot, player.id)), new.get((session, slot, player.id))
            if was != now:
                yield Move(player.id, session, slot, was, now)


def _whereabouts(stations: Iterable[Station]) -> dict[tuple[str, int, str], str]:
    return {(s.session, s.slot, player): s.drill for s in stations for player in s.players}
