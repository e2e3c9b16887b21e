"""Whether locks can hold together: an exact model of the locked stations and of the rungs below them.

Every rule but H9 (the ladder), H10 (the locks) and H12 (nothing new) only ever forbids, so a plan for some
locks stays a plan when stations are taken out that neither are locked nor carry a remaining one: by minutes at
the rung that it asks for, or by making its drill known. The model therefore holds just these kinds of station
and is still exact.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from ortools.sat.python import cp_model

from planner.core.lock_wishes import keep_wishes, places_before, wish_rules_of
from planner.core.problem import Contact, Lock, Problem, Station
from planner.core.reach import Reach

ALWAYS = ("H1", "H2", "H3", "H6", "H7", "H8", "H9")  # H4 and H5 are settled before: see planner.core.reach
LONGEST_PROOF = 1.0  # of CP-SAT's deterministic time, about as many seconds
# So many stations that carry it are thought of for each station that asks for some: a plan with few of
# them is a plan, and where few do not do, all are thought of, but only for the locks that seem to clash.
FEW_FIRST = (0, 3, 12, None)

Var = cp_model.IntVar


@dataclass(frozen=True, slots=True)
class Wish:
    """That a drill runs in a slot, or (with a player) that he stands there."""

    place: Lock  # without players
    player: str | None = None

    def as_lock(self) -> Lock:
        players = () if self.player is None else (self.player,)
        return Lock(self.place.session, self.place.slot, self.place.drill, players)


def wishes_of(locks: Iterable[Lock]) -> list[Wish]:
    """Each lock as the wish that it runs and one for each of its players; all stations before all players."""
    places = [(Lock(lock.session, lock.slot, lock.drill), lock.players) for lock in locks]
    players = [Wish(place, player) for place, players in places for player in players]
    return list(dict.fromkeys([Wish(place) for place, _ in places] + players))


def proof(reach: Reach, locks: Iterable[Lock]) -> tuple[list[Wish], tuple[str, ...]] | None:
    """Wishes that cannot all hold and the rules that prove it, none of which can be left out.

    None when all can hold, or when nothing was proven within the effort allowed.
    """
    wishes = wishes_of(locks)
    for most in FEW_FIRST:
        if (core := LockModel(reach, wishes, most=most).contradiction(wishes)) is None:
            return None
        if most != 0 and (proven := LockModel(reach, core).contradiction(core)) is not None:
            core = _narrowed(LockModel(reach, proven), proven)
            return core, _rules_needed(reach, core)
    return None


def _narrowed(model: LockModel, core: list[Wish]) -> list[Wish]:
    """Leaves out one wish after another for as long as the rest still clash: players first, then stations."""
    core = wishes_of(wish.as_lock() for wish in core)
    for wish in reversed(core):
        if wish in core and (smaller := model.contradiction([other for other in core if other != wish])):
            core = [other for other in wishes_of(w.as_lock() for w in smaller) if other != wish]
    return core


def rules_of(problem: Problem) -> tuple[str, ...]:
    return (*ALWAYS, *wish_rules_of(problem))


def _rules_needed(reach: Reach, core: list[Wish]) -> tuple[str, ...]:
    needed = rules_of(reach.problem)
    for rule in needed:
        rest = tuple(other for other in needed if other != rule)
        if LockModel(reach, core, rest).contradiction(core) is not None:
            needed = rest
    return needed


class LockModel:
    """Exact with `most` None; else with so many stations below each, and then only a plan proves something."""

    def __init__(
        self,
        reach: Reach,
        wishes: Sequence[Wish],
        rules: Collection[str] | None = None,
        *,
        most: int | None = None,
    ) -> None:
        self.reach, self.problem = reach, reach.problem
        self.rules = rules_of(reach.problem) if rules is None else rules
        self.model = cp_model.CpModel()
        self.runs: dict[Lock, Var] = {}
        self.stands: dict[tuple[str, Lock], Var] = {}
        places = dict.fromkeys(wish.place for wish in wishes)
        places |= dict.fromkeys(_carriers(reach, places, self.rules, most))
        for place in places:
            self._add_station(place)
        for rule in (self._players, self._slots, self._contact, self._full_days, self._repeats, self._ladders):
            rule()
        keep_wishes(self)

    def contradiction(self, wishes: Sequence[Wish]) -> list[Wish] | None:
        """Some of the wishes that cannot hold together, or None when they can or when no proof was found."""
        solver, status = self._solve(wishes)
        if status != cp_model.INFEASIBLE:
            return None
        by_index = {self._variable(wish).index: wish for wish in wishes}
        return [by_index[i] for i in solver.sufficient_assumptions_for_infeasibility()]

    def stations(self, wishes: Sequence[Wish]) -> tuple[Station, ...] | None:
        """A plan in which the wishes hold, or None when there is none or none was found."""
        solver, status = self._solve(wishes)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return tuple(
            Station(place.session, place.slot, place.drill, tuple(p for p, at in standing if solver.boolean_value(at)))
            for place, standing in self._of_place().items()
            if solver.boolean_value(self.runs[place])
        )

    def _solve(self, wishes: Sequence[Wish]) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
        self.model.clear_assumptions()
        self.model.add_assumptions([self._variable(wish) for wish in wishes])
        solver = quick_solver()
        return solver, solver.solve(self.model)

    def _variable(self, wish: Wish) -> Var:
        return self.runs[wish.place] if wish.player is None else self.stands[wish.player, wish.place]

    def _add_station(self, place: Lock) -> None:
        self.runs[place] = run = self.model.new_bool_var("")
        for player in self.reach.who(place):
            self.stands[player.id, place] = stand = self.model.new_bool_var("")
            self.model.add_implication(stand, run)

    def _of_place(self) -> dict[Lock, list[tuple[str, Var]]]:
        found: dict[Lock, list[tuple[str, Var]]] = {place: [] for place in self.runs}
        for (player, place), stand in self.stands.items():
            found[place].append((player, stand))
        return found

    def _players(self) -> None:
        """H2: enough players with the right roles, and not too many."""
        for place, standing in self._of_place().items() if "H2" in self.rules else ():
            drill, run = self.problem.drill(place.drill), self.runs[place]
            here = sum(stand for _, stand in standing)
            self.model.add(here >= drill.players[0] * run)
            self.model.add(here <= drill.players[1])
            for role, wanted in drill.needs.items():
                having = (stand for player, stand in standing if role in self.problem.player(player).roles)
                self.model.add(sum(having) >= wanted * run)

    def _slots(self) -> None:
        """H1: one station for each player in a slot; H3: what the session has."""
        in_slot, at_once = defaultdict(list), defaultdict(list)
        for place in self.runs:
            in_slot[place.session, place.slot].append(place)
        for (player, place), stand in self.stands.items():
            at_once[player, place.session, place.slot].append(stand)
        for places in in_slot.values() if "H3" in self.rules else ():
            self._room(places)
        for stands in at_once.values() if "H1" in self.rules else ():
            self.model.add_at_most_one(stands)

    def _room(self, places: list[Lock]) -> None:
        session = self.problem.session(places[0].session)
        drills = [(self.problem.drill(place.drill), self.runs[place]) for place in places]
        self.model.add(sum(run for _, run in drills) <= session.stations)
        self.model.add(sum(drill.coaches * run for drill, run in drills) <= session.coaches)
        self.model.add(sum(hundredths(drill.area) * run for drill, run in drills) <= hundredths(session.area))
        for item in {item for drill, _ in drills for item in drill.kit}:
            self.model.add(sum(d.kit.get(item, 0) * run for d, run in drills) <= session.kit.get(item, 0))

    def _contact(self) -> None:
        """H6: contact minutes of a week."""
        terms = defaultdict(list)
        for (player, place), stand in self.stands.items() if "H6" in self.rules else ():
            drill, week = self.problem.drill(place.drill), self.problem.week_of(place.session)
            if minutes := hundredths(drill.contact_minutes(self.problem.minutes(place))):
                terms[player, week, drill.kind].append(minutes * stand)
        for (who, week, kind), sums in terms.items():
            if (limit := self.problem.limits.weekly.get(kind)) is not None:
                left = hundredths(limit) - hundredths(self.problem.player(who).spent(week, kind))
                self.model.add(sum(sums) <= max(0, left))

    def _full_days(self) -> None:
        """H7: days of full contact in a week."""
        most = self.problem.limits.full_days_per_week
        days: dict[tuple[str, int], dict[date, Var]] = defaultdict(dict)
        for (player, place), stand in self.stands.items() if most is not None and "H7" in self.rules else ():
            if self.problem.drill(place.drill).kind is Contact.FULL:
                on = days[player, self.problem.week_of(place.session)]
                day = self.problem.session(place.session).date
                if day not in on:
                    on[day] = self.model.new_bool_var("")
                self.model.add_implication(stand, on[day])
        for on in days.values():
            self.model.add(sum(on.values()) <= (most or 0))

    def _repeats(self) -> None:
        """H8: a drill once in a session and so often in a week."""
        in_session, in_week = defaultdict(list), defaultdict(list)
        for place, run in self.runs.items() if "H8" in self.rules else ():
            in_session[place.session, place.drill].append(run)
            in_week[self.problem.week_of(place.session), place.drill].append(run)
        for runs in in_session.values():
            self.model.add_at_most_one(runs)
        if (most := self.problem.limits.repeats_per_week) is not None:
            for runs in in_week.values():
                self.model.add(sum(runs) <= most)

    def _ladders(self) -> None:
        """H9: minutes at the rung below on earlier days."""
        if (rule := self.problem.limits.ladder) is None or "H9" not in self.rules:
            return
        steps: dict[tuple[str, str, int], dict[date, list[tuple[int, Var]]]] = defaultdict(lambda: defaultdict(list))
        for (player, place), stand in self.stands.items():
            drill, day = self.problem.drill(place.drill), self.problem.session(place.session).date
            if drill.ladder is not None:
                steps[player, drill.ladder, drill.rung][day].append((self.problem.minutes(place), stand))
        for (player, ladder, rung), days in steps.items():
            for day, stands in days.items() if rung > 1 else ():
                below = steps.get((player, ladder, rung - 1), {}).items()
                lower = [step for on, taken in below if 1 <= (day - on).days <= rule.days for step in taken]
                lacking = rule.minutes - self.reach.done_minutes(player, ladder, rung - 1, day, rule)
                self._ask(lacking, lower, [stand for _, stand in stands])

    def _ask(self, lacking: int, lower: list[tuple[int, Var]], stands: list[Var]) -> None:
        """Any of the stands asks for so many minutes of the lower ones."""
        if lacking <= 0:
            return
        asks = stands[0] if len(stands) == 1 else self.model.new_bool_var("")
        for stand in stands:
            self.model.add_implication(stand, asks)
        self.model.add(sum(minutes * step for minutes, step in lower) >= lacking * asks)


def quick_solver() -> cp_model.CpSolver:
    """One thread and a fixed effort, so that the answer is the same each time; little presolve: models are small."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = LONGEST_PROOF
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.symmetry_level = 0
    return solver


def hundredths(amount: float) -> int:
    return round(100 * amount)


def _carriers(reach: Reach, places: Iterable[Lock], rules: Collection[str], most: int | None) -> Iterator[Lock]:
    """Places of drills that a station at one of these places, or of the new ones, may need on an earlier day."""
    seen, waiting = set(), list(places)
    while waiting:
        place = waiting.pop()
        below = _places_below(reach, place)[:most] if "H9" in rules else []
        before = places_before(reach, place)[:most] if "H12" in rules else []
        for carrier in (*below, *before):
            if carrier not in seen:
                seen.add(carrier)
                waiting.append(carrier)
                yield carrier


def _places_below(reach: Reach, place: Lock) -> list[Lock]:
    """Every place at the rung below that may count; one of each session first, the longest first."""
    drill, rule = reach.problem.drill(place.drill), reach.problem.limits.ladder
    if rule is None or drill.ladder is None or drill.rung == 1:
        return []
    day = reach.problem.session(place.session).date
    ranked: list[tuple[int, Lock]] = []
    for session in reach.problem.sessions:
        if 1 <= (day - session.date).days <= rule.days:
            below = reach.rungs.get((drill.ladder, drill.rung - 1), ())
            here = [Lock(session.id, slot, lower.id) for lower in below for slot in reach.slots(session.id, lower.id)]
            ranked += enumerate(sorted(here, key=reach.problem.minutes, reverse=True))
    return [lower for _, lower in sorted(ranked, key=lambda r: (r[0], -reach.problem.minutes(r[1])))]
