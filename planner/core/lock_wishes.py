"""A coach's wishes that have to be kept (H11 to H17) as rows of the exact model of locked stations."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING, TypeAlias

from ortools.sat.python import cp_model

from planner.core.problem import Contact, Keep, Lock, Problem
from planner.core.reach import Reach

if TYPE_CHECKING:
    from planner.core.lock_model import LockModel

Var: TypeAlias = cp_model.IntVar


def wish_rules_of(problem: Problem) -> tuple[str, ...]:
    """Those of the rules that the problem asks for at all."""
    drills, sessions = problem.drills, problem.sessions
    asked = {
        "H11": any(session.themes_most is not None for session in sessions),
        "H12": any(session.nothing_new for session in sessions),
        "H13": problem.order is not None,
        "H14": problem.hard_row is not None,
        "H15": any(drill.repeats.most is not None or drill.repeats.gap_days for drill in drills),
        "H16": bool(problem.apart),
        "H17": any(drill.units is not None for drill in drills),
    }
    return tuple(rule for rule, is_asked in asked.items() if is_asked)


def keep_wishes(made: LockModel) -> None:
    for rule, keep in KEEP.items():
        if rule in made.rules:
            keep(made)


def places_before(reach: Reach, place: Lock) -> list[Lock]:
    """Where a drill could run earlier that has to be known by then (H12); one of each session first."""
    problem, session = reach.problem, reach.problem.session(place.session)
    if not session.nothing_new or place.drill in problem.known:
        return []
    earlier = [other for other in problem.sessions if other.date < session.date]
    ranked = [
        (rank, other.nothing_new, Lock(other.id, slot, place.drill))
        for other in earlier
        for rank, slot in enumerate(reach.slots(other.id, place.drill))
    ]
    return [lock for _, _, lock in sorted(ranked, key=lambda entry: entry[:2])]


def _themes(made: LockModel) -> None:
    """H11."""
    themes: dict[str, dict[str, list[Var]]] = defaultdict(lambda: defaultdict(list))
    for place, run in made.runs.items():
        if (theme := made.problem.drill(place.drill).theme) is not None:
            themes[place.session][theme].append(run)
    for session, by_theme in themes.items():
        if (most := made.problem.session(session).themes_most) is not None:
            made.model.add(sum(_any(made, runs) for runs in by_theme.values()) <= most)


def _known(made: LockModel) -> None:
    """H12."""
    for place, run in made.runs.items():
        session = made.problem.session(place.session)
        if session.nothing_new and place.drill not in made.problem.known:
            made.model.add_bool_or([run.negated(), *_earlier(made, place)])


def _earlier(made: LockModel, place: Lock) -> Iterator[Var]:
    day = made.problem.session(place.session).date
    for other, run in made.runs.items():
        if other.drill == place.drill and made.problem.session(other.session).date < day:
            yield run


def _order(made: LockModel) -> None:
    """H13."""
    assert made.problem.order is not None
    tiring = [place for place in made.runs if made.problem.drill(place.drill).rpe >= made.problem.order.tiring_rpe]
    fresh = [place for place in made.runs if made.problem.drill(place.drill).fresh]
    for first in tiring:
        for later in fresh:
            if later.session == first.session and later.slot > first.slot:
                made.model.add_at_most_one([made.runs[first], made.runs[later]])


def _hard_rows(made: LockModel) -> None:
    """H14."""
    rule = made.problem.hard_row
    assert rule is not None
    hard: dict[tuple[str, str], dict[int, list[Var]]] = defaultdict(lambda: defaultdict(list))
    for (player, place), stand in made.stands.items():
        if made.problem.drill(place.drill).rpe >= rule.rpe:
            hard[player, place.session][place.slot].append(stand)
    for (_, session), slots in hard.items():
        at = {slot: _any(made, stands) for slot, stands in slots.items()}
        breaks = made.problem.session(session).breaks
        for first in at:
            row = range(first, first + rule.most + 1)
            if all(slot in at for slot in row) and not any(slot in breaks for slot in row[1:]):
                made.model.add(sum(at[slot] for slot in row) <= rule.most)


def _repeats(made: LockModel) -> None:
    """H15."""
    by_drill: dict[str, list[Lock]] = defaultdict(list)
    for place in made.runs:
        by_drill[place.drill].append(place)
    for name, places in by_drill.items():
        repeats = made.problem.drill(name).repeats
        if repeats.most is not None:
            made.model.add(sum(made.runs[place] for place in places) <= repeats.most)
        for one, other in combinations(places, 2):
            days = abs((made.problem.session(one.session).date - made.problem.session(other.session).date).days)
            if 0 < days < repeats.gap_days:
                made.model.add_at_most_one([made.runs[one], made.runs[other]])


def _apart(made: LockModel) -> None:
    """H16."""
    for pair in made.problem.apart:
        for place in made.runs:
            if pair.contact_only and made.problem.drill(place.drill).kind is Contact.NONE:
                continue
            stands = [made.stands[player, place] for player in pair.players if (player, place) in made.stands]
            made.model.add_at_most_one(stands)


def _units(made: LockModel) -> None:
    """H17."""
    standing: dict[Lock, list[tuple[str, Var]]] = defaultdict(list)
    for (player, place), stand in made.stands.items():
        standing[place].append((player, stand))
    for place, run in made.runs.items():
        if (units := made.problem.drill(place.drill).units) is None:
            continue
        of = {player: made.problem.player(player) for player, _ in standing[place]}
        if units.keep is Keep.TOGETHER:
            there = [
                [stand for player, stand in standing[place] if units.of(of[player]) == role] for role in units.roles
            ]
            made.model.add_at_most_one([_any(made, stands) for stands in there if stands])
            continue
        for role in units.roles:
            having = [stand for player, stand in standing[place] if role in of[player].roles]
            made.model.add(sum(having) >= units.least * run)


def _any(made: LockModel, variables: Iterable[Var]) -> Var:
    """True at least where one of them is."""
    found = list(variables)
    if len(found) == 1:
        return found[0]
    some = made.model.new_bool_var("")
    for variable in found:
        made.model.add_implication(variable, some)
    return some


KEEP: dict[str, Callable[[LockModel], None]] = {
    "H11": _themes,
    "H12": _known,
    "H13": _order,
    "H14": _hard_rows,
    "H15": _repeats,
    "H16": _apart,
    "H17": _units,
}
