"""Clashes between locks and a coach's wishes that a person would see by looking, each with a sentence of its own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations

from planner.core import words as say
from planner.core.plain_clash import Clash, Found, only
from planner.core.problem import Contact, Drill, Keep, Lock, Session
from planner.core.reach import Reach
from planner.core.words import Words


def _too_many_themes(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """Locked stations of one session with more themes than it may have."""
    for session, here in _by_session(reach, locks):
        themes: dict[str, Lock] = {}
        for lock in here:
            if (theme := reach.problem.drill(lock.drill).theme) is not None:
                themes.setdefault(theme, lock)
        if session.themes_most is not None and len(themes) > session.themes_most:
            over = list(themes.items())[: session.themes_most + 1]
            text = (
                f"{_stations(words, (lock for _, lock in over))} are locked: {say.count(len(over), 'theme')} "
                f"({say.listed(words.other(theme) for theme, _ in over)}), but the limit is {session.themes_most}."
            )
            yield Clash(("H11",), tuple(only(lock) for _, lock in over), text)


def _wrong_order(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A fresh drill locked after a tiring one."""
    if (order := reach.problem.order) is None:
        return
    for _, here in _by_session(reach, locks):
        for first, later in ((a, b) for a in here for b in here if a.slot < b.slot):
            if reach.problem.drill(first.drill).rpe >= order.tiring_rpe and reach.problem.drill(later.drill).fresh:
                text = f"{words.station(later)} wants fresh players and is locked after {words.station(first)}, which"
                yield Clash(("H13",), (only(first), only(later)), f"{text} tires them.")


def _hard_row(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A player locked to hard drills in too many slots in a row."""
    if (rule := reach.problem.hard_row) is None:
        return
    for session, here in _by_session(reach, locks):
        hard = [lock for lock in here if reach.problem.drill(lock.drill).rpe >= rule.rpe]
        for player in dict.fromkeys(player for lock in hard for player in lock.players):
            at = {lock.slot: lock for lock in hard if player in lock.players}
            for row in _rows(session, rule.most + 1):
                if row <= at.keys():
                    over = [at[slot] for slot in sorted(row)]
                    text = (
                        f"{words.player(player)} is locked to {_stations(words, over)}: hard drills in "
                        f"{say.count(len(over), 'slot')} in a row, but the limit is {rule.most}."
                    )
                    yield Clash(("H14",), tuple(only(lock, player) for lock in over), text)


def _rows(session: Session, length: int) -> Iterator[set[int]]:
    """So many slots in a row, without a break between them."""
    for first in range(len(session.slots) - length + 1):
        row = set(range(first, first + length))
        if not (row - {first}) & set(session.breaks):
            yield row


def _too_often(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """A drill locked more often than it may run in the block, or on dates that are too near."""
    by_drill: dict[str, list[Lock]] = defaultdict(list)
    for lock in locks:
        by_drill[lock.drill].append(lock)
    for name, runs in by_drill.items():
        repeats = reach.problem.drill(name).repeats
        if repeats.most is not None and len(runs) > repeats.most:
            over = runs[: repeats.most + 1]
            most = say.count(repeats.most, "time")
            text = f"{_stations(words, over)} are locked, but {words.drill(name)} runs at most {most} in the block."
            yield Clash(("H15",), tuple(map(only, over)), text)
        for one, other in combinations(runs, 2):
            days = abs((reach.problem.session(one.session).date - reach.problem.session(other.session).date).days)
            if 0 < days < repeats.gap_days:
                text = f"{_stations(words, (one, other))} are locked, {say.count(days, 'day')} apart; it has to be"
                yield Clash(("H15",), (only(one), only(other)), f"{text} {repeats.gap_days} at least.")


def _kept_apart(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """Two players who are kept apart, locked to one station."""
    for lock in locks:
        kind = reach.problem.drill(lock.drill).kind
        for pair in reach.problem.apart:
            if set(pair.players) <= set(lock.players) and not (pair.contact_only and kind is Contact.NONE):
                both = say.listed(map(words.player, pair.players))
                text = f"{both} are kept apart, but both are locked to {words.station(lock)}."
                yield Clash(("H16",), (only(lock, *pair.players),), text)


def _parted_units(reach: Reach, locks: Sequence[Lock], words: Words) -> Found:
    """Players of two units locked to a station that keeps them to themselves."""
    for lock in locks:
        members = _first_of_each_unit(reach, reach.problem.drill(lock.drill), lock)
        if len(members) > 1:
            (one, first), (other, second) = list(members.items())[:2]
            text = (
                f"{words.player(first)} ({words.other(one)}) and {words.player(second)} ({words.other(other)}) are "
                f"locked to {words.station(lock)}, which keeps units to themselves."
            )
            yield Clash(("H17",), (only(lock, first, second),), text)


def _first_of_each_unit(reach: Reach, drill: Drill, lock: Lock) -> dict[str, str]:
    found: dict[str, str] = {}
    if drill.units is not None and drill.units.keep is Keep.TOGETHER:
        for player in lock.players:
            if (unit := drill.units.of(reach.problem.player(player))) is not None:
                found.setdefault(unit, player)
    return found


def _by_session(reach: Reach, locks: Iterable[Lock]) -> list[tuple[Session, list[Lock]]]:
    found: dict[str, list[Lock]] = defaultdict(list)
    for lock in locks:
        found[lock.session].append(lock)
    return [(reach.problem.session(session), here) for session, here in found.items()]


def _stations(words: Words, locks: Iterable[Lock]) -> str:
    return say.listed(words.station(lock) for lock in locks)


PLAIN_WISHES: tuple[Callable[[Reach, Sequence[Lock], Words], Found], ...] = (
    _too_many_themes,
    _wrong_order,
    _hard_row,
    _too_often,
    _kept_apart,
    _parted_units,
)
