"""Clashes between locks that a person would see by adding up, each with a sentence of its own."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from planner.core import words as say
from planner.core.problem import Contact, Lock, Problem
from planner.core.reach import Reach
from planner.core.sheet import TOLERANCE
from planner.core.words import Words


@dataclass(frozen=True, slots=True)
class Clash:
    """Locks that cannot all hold, each with only those of its players who matter, and the rules that they break."""

    rules: tuple[str, ...]
    locks: tuple[Lock, ...]
    text: str

    def __str__(self) -> str:
        return self.text


def only(lock: Lock, *players: str) -> Lock:
    return Lock(lock.session, lock.slot, lock.drill, players)


def locked_words(words: Words, lock: Lock) -> str:
    names = [words.player(player) for player in lock.players]
    shown = [*names[:3], f"{len(names) - 3} others"] if len(names) > 4 else names
    return words.station(lock) + (f" for {say.listed(shown)}" if names else "")


Found = Iterator[Clash]


def _lone_drill(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A drill that cannot run in that slot whatever else is planned."""
    for lock in locks:
        if bar := reach.slot_bar(lock):
            session = reach.problem.session(lock.session)
            why = bar.text(words, reach.problem.drill(lock.drill), session, lock.slot)
            yield Clash((bar.rule,), (only(lock),), f"{words.station(lock)} is locked, but {why}.")


def _lone_player(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A player who cannot stand there whatever else is planned."""
    for lock in locks:
        for player in lock.players:
            if bar := reach.player_bar(player, lock):
                drill, session = reach.problem.drill(lock.drill), reach.problem.session(lock.session)
                why = bar.text(words, reach.problem.player(player), drill, session, lock.slot)
                text = f"{words.player(player)} is locked to {words.station(lock)}, but {why}."
                yield Clash((bar.rule,), (only(lock, player),), text)


def _unmanned(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """Too few players who could stand there, or not those with the roles that the drill needs."""
    for lock in locks:
        for role, there, wanted in reach.short_of(lock):
            asked = [player for player in reach.problem.players if role is None or role in player.roles]
            bars = Counter(bar.rule for player in asked if (bar := reach.player_bar(player.id, lock)))
            needed = say.count(wanted, "player") + (f" of role {words.other(role)}" if role else "")
            away = "".join(f", {n} {KEPT_AWAY[rule]}" for rule, n in sorted(bars.items()))
            text = f"{words.station(lock)} is locked and needs {needed}, but {there or 'nobody'} could stand there"
            yield Clash(("H2", *sorted(bars.keys() - {"H2"})), (only(lock),), f"{text}: of {len(asked)}{away}.")


def _crowded(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """More players than the drill takes."""
    for lock in locks:
        most = reach.problem.drill(lock.drill).players[1]
        if len(lock.players) > most:
            text = f"{locked_words(words, lock)} is locked, but takes at most {say.count(most, 'player')}."
            yield Clash(("H2",), (only(lock, *lock.players[: most + 1]),), text)


KEPT_AWAY = {
    "H1": "are absent or not there for all of it",
    "H2": "have no role that it is for",
    "H5": "may not do as much contact",
    "H6": "have too little left of the weekly contact limit",
    "H7": "may have no day of full contact",
    "H9": "cannot reach the rung below in time",
    "H14": "may stand at no drill so hard",
}


def _repeated(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A drill locked twice in a session or too often in a week."""
    by_session, by_week = defaultdict(list), defaultdict(list)
    for lock in locks:
        by_session[lock.session, lock.drill].append(lock)
        by_week[reach.problem.week_of(lock.session), lock.drill].append(lock)
    most = reach.problem.limits.repeats_per_week
    for twice in (same[:2] for same in by_session.values() if len(same) > 1):
        text = f"{_both(words, twice)} are locked, but a drill runs at most once in a session."
        yield Clash(("H8",), tuple(map(only, twice)), text)
    for often in (same[: most + 1] for same in by_week.values() if most is not None and len(same) > most):
        text = f"{_both(words, often)} are locked, but a drill runs at most {say.count(most or 0, 'time')} in a week."
        yield Clash(("H8",), tuple(map(only, often)), text)


def _both(words: Words, locks: Iterable[Lock]) -> str:
    return say.listed(words.station(lock) for lock in locks)


def _two_places(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A player locked to two stations of a slot."""
    at: dict[tuple[str, int, str], list[Lock]] = defaultdict(list)
    for lock in locks:
        for player in lock.players:
            at[lock.session, lock.slot, player].append(lock)
    for (session, slot, player), (first, *rest) in at.items():
        if rest:
            drills = say.listed(words.drill(lock.drill) for lock in (first, rest[0]))
            text = f"{words.player(player)} is locked to {drills} at once, on {words.slot(session, slot)}."
            yield Clash(("H1",), (only(first, player), only(rest[0], player)), text)


def _overfull_slot(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """Locked stations of one slot that together need more than the session has."""
    for (session, slot), here in _by_slot(locks).items():
        have, kit = reach.problem.session(session), {i for x in here for i in reach.problem.drill(x.drill).kit}
        uses: list[tuple[str, Callable[[Lock], float], float]] = [
            ("stations", lambda _: 1, have.stations),
            ("coaches", lambda lock: reach.problem.drill(lock.drill).coaches, have.coaches),
            ("m² of area", lambda lock: reach.problem.drill(lock.drill).area, have.area),
            *((i, lambda lock, i=i: reach.problem.drill(lock.drill).kit.get(i, 0), have.kit.get(i, 0)) for i in kit),
        ]  # fmt: skip
        for what, use, there in uses:
            if too_many := _fewest_above(here, use, there):
                drills = say.listed(words.drill(lock.drill) for lock in too_many)
                needed = say.number(sum(map(use, too_many)))
                text = (
                    f"{drills} are locked together on {words.slot(session, slot)}: they need {needed} "
                    f"{words.other(what)}, but there are {say.number(there)}."
                )
                yield Clash(("H3",), tuple(map(only, too_many)), text)


def _by_slot(locks: Iterable[Lock]) -> dict[tuple[str, int], list[Lock]]:
    found: dict[tuple[str, int], list[Lock]] = defaultdict(list)
    for lock in locks:
        found[lock.session, lock.slot].append(lock)
    return found


def _fewest_above(locks: Sequence[Lock], use: Callable[[Lock], float], there: float) -> list[Lock]:
    """The greediest locks that together pass what is there; without any one of them they would not."""
    chosen, used = [], 0.0
    for lock in sorted(locks, key=use, reverse=True):
        chosen.append(lock)
        used += use(lock)
        if used > there + TOLERANCE:
            return chosen
    return []


def _too_much_contact(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A player locked into more contact than a week may hold."""
    problem = reach.problem
    for (player, week), mine in _by_player_and_week(problem, locks).items():
        for kind, limit in problem.limits.weekly.items():
            spent = problem.player(player).spent(week, kind)
            of_kind = [lock for lock in mine if problem.drill(lock.drill).kind is kind]
            if over := _fewest_above(of_kind, lambda lock: _contact(problem, lock), max(0, limit - spent)):
                total = sum(_contact(problem, lock) for lock in over)
                before = words.spent(spent, week, kind)
                text = (
                    f"{words.player(player)} is locked to {_both(words, over)}: {say.number(total)} minutes of "
                    f"{say.KINDS[kind]} in {say.week(week)}{f' on top of {before}' if before != '0' else ''}, "
                    f"but the limit is {words.weekly_limit(week, kind)}."
                )
                yield Clash(("H6",), tuple(only(lock, player) for lock in over), text)


def _contact(problem: Problem, lock: Lock) -> float:
    return problem.drill(lock.drill).contact_minutes(problem.minutes(lock))


def _by_player_and_week(problem: Problem, locks: Iterable[Lock]) -> dict[tuple[str, int], list[Lock]]:
    found: dict[tuple[str, int], list[Lock]] = defaultdict(list)
    for lock in locks:
        for player in lock.players:
            found[player, problem.week_of(lock.session)].append(lock)
    return found


def _too_many_full_days(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A player locked into full contact on too many days of a week."""
    if (most := reach.problem.limits.full_days_per_week) is None:
        return
    for (player, week), mine in _by_player_and_week(reach.problem, locks).items():
        full = [lock for lock in mine if reach.problem.drill(lock.drill).kind is Contact.FULL]
        days = {reach.problem.session(lock.session).date: lock for lock in full}
        if len(days) > most:
            over = list(days.values())[: most + 1]
            text = (
                f"{words.player(player)} is locked to {_both(words, over)}: full contact on {len(over)} days of "
                f"{say.week(week)}, but the limit is {most}."
            )
            yield Clash(("H7",), tuple(only(lock, player) for lock in over), text)


PLAIN: tuple[Callable[[Reach, Sequence[Lock], Words], Found], ...] = (
    _lone_drill,
    _unmanned,
    _lone_player,
    _crowded,
    _repeated,
    _two_places,
    _overfull_slot,
    _too_much_contact,
    _too_many_full_days,
)
