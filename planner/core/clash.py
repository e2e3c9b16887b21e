"""Why locks cannot hold: a small set of clashing locks and the rules that they break, in words.

Clashes that adding up shows come first; what is left is proven by planner.core.lock_model and narrowed
to locks and rules none of which can be left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from planner.core import words as say
from planner.core.plain_clash import PLAIN, Clash, locked_words
from planner.core.problem import Lock, Problem
from planner.core.reach import Reach
from planner.core.unserved import Unserved, unserved
from planner.core.wish_clash import PLAIN_WISHES
from planner.core.words import Words

__all__ = ["Clash", "Unserved", "clash", "unserved"]


def clash(problem: Problem, locks: Iterable[Lock] | None = None, words: Words | None = None) -> Clash | None:
    """The smallest clash found among the locks (of the problem, if none are given), or None if they can hold.

    None also when nothing could be proven within the effort allowed.
    """
    merged, reach = merge(problem.locks if locks is None else locks), Reach(problem)
    if not merged:
        return None
    words = words or Words(problem)
    plain = (found for search in (*PLAIN, *PLAIN_WISHES) for found in search(reach, merged, words))
    return min(plain, key=_size, default=None) or _hidden(reach, merged, words)


def merge(locks: Iterable[Lock]) -> list[Lock]:
    """One lock for each drill in a slot, with the players of all locks there."""
    players: dict[tuple[str, int, str], dict[str, None]] = defaultdict(dict)
    for lock in locks:
        players[lock.session, lock.slot, lock.drill].update(dict.fromkeys(lock.players))
    return [Lock(*place, tuple(names)) for place, names in players.items()]


def _size(found: Clash) -> int:
    return sum(1 + len(lock.players) for lock in found.locks)


def _hidden(reach: Reach, locks: Sequence[Lock], words: Words) -> Clash | None:
    """A clash that only shows when all rules are looked at together."""
    from planner.core.lock_model import proof  # loads OR-Tools, which takes a second

    if (proven := proof(reach, locks)) is None:
        return None
    wishes, rules = proven
    clashing = merge(wish.as_lock() for wish in wishes)
    return Clash(rules, tuple(clashing), _text(reach, clashing, rules, words))


BECAUSE = {
    "H1": "nobody can stand at two stations at once",
    "H2": "every drill needs its number of players with the right roles",
    "H3": "a slot has only so many stations, coaches, metres and kit",
    "H6": "contact minutes of a week are limited",
    "H7": "days of full contact in a week are limited",
    "H8": "a drill may not run so often",
    "H9": "a rung needs minutes at the rung below on earlier days",
    "H11": "a session may have only so many themes",
    "H12": "where nothing new may run a drill has to have run before",
    "H13": "no fresh drill comes after a tiring one",
    "H14": "nobody stands at hard drills in so many slots in a row",
    "H15": "a drill may run only so often and so near to itself in the block",
    "H16": "some players are kept apart",
    "H17": "some drills keep units to themselves or need some of each",
}


def _text(reach: Reach, locks: Sequence[Lock], rules: Sequence[str], words: Words) -> str:
    which = say.listed(locked_words(words, lock) for lock in locks)
    hold = "cannot hold" if len(locks) == 1 else "cannot hold together"
    because = say.listed(BECAUSE[rule] for rule in rules)
    return f"{which} {hold}, because {_shortage(reach, locks) or because}."


def _shortage(reach: Reach, locks: Sequence[Lock]) -> str | None:
    """That there are too few players for the stations of one slot, if that is all."""
    wanted = sum(reach.problem.drill(lock.drill).players[0] for lock in locks)
    there = {player.id for lock in locks for player in reach.who(lock)}
    if len({(lock.session, lock.slot) for lock in locks}) > 1 or len(there) >= wanted:
        return None
    return f"they need {say.count(wanted, 'player')} between them and only {len(there)} could stand there"
