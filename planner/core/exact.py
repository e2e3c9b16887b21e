"""One exact model of a small problem, for a proof that no plan is better or a bound that is nearly as good.

Real blocks are far beyond it; see docs/planner.md for where it stops paying.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TypeAlias

import numpy as np
from ortools.math_opt.python import mathopt

from planner.core.bound import open_options, reachable
from planner.core.flat import COST_SCALE, FULL, NO_LIMIT, Flat, Layout, flatten
from planner.core.problem import Problem, Station

TOUCH = 500  # minutes x 100
MARGIN = 0.005  # costs are whole multiples of 0.0001: no plan is lost between a cost and a cutoff so near

Var: TypeAlias = mathopt.Variable
Stand = tuple[int, int, int]  # player, slot, drill


@dataclass
class Exact:
    """Variables: `run[s, d]`, `stand[p, s, d]`; the objective is the cost."""

    flat: Flat
    model: mathopt.Model = field(default_factory=mathopt.Model)
    run: dict[tuple[int, int], Var] = field(default_factory=dict)
    stand: dict[Stand, Var] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cost: list[mathopt.LinearTypes] = []
        self._stations()
        for part in (self._players, self._slots, self._repeats, self._contact, self._full_days, self._ladders):
            part()
        for wish in (self._targets, self._touches, self._bands, self._idle, self._evenness):
            wish()
        self.model.minimize(mathopt.fast_sum(self.cost))

    def _stations(self) -> None:
        flat, reach, free = self.flat, reachable(self.flat), open_options(self.flat)
        for s in range(len(flat.slot_week)):
            for i in range(flat.option_first[s], flat.option_first[s + 1]):
                d = int(flat.option[i])
                if not (free[i] or flat.locked[s, d]):
                    continue
                run = self.run[s, d] = self.model.add_binary_variable()
                if flat.locked[s, d]:
                    run.lower_bound = 1
                for p in map(int, np.flatnonzero(reach[s, :, d])):
                    stand = self.stand[p, s, d] = self.model.add_binary_variable()
                    self._at_most([(1, stand), (-1, run)], 0)
                    if flat.pinned[s, p] == d:
                        stand.lower_bound = 1

    def _at_most(self, terms: Iterable[tuple[float, Var]], most: float) -> None:
        self.model.add_linear_constraint(mathopt.fast_sum(c * v for c, v in terms) <= most)

    def _of_station(self) -> dict[tuple[int, int], list[tuple[int, Var]]]:
        found: dict[tuple[int, int], list[tuple[int, Var]]] = {place: [] for place in self.run}
        for (p, s, d), stand in self.stand.items():
            found[s, d].append((p, stand))
        return found

    def _players(self) -> None:
        """H2: fewest, most and needs by role."""
        flat = self.flat
        for (s, d), standing in self._of_station().items():
            run = self.run[s, d]
            self._at_most([*((1, v) for _, v in standing), (-int(flat.most[d]), run)], 0)
            self._at_most([*((-1, v) for _, v in standing), (int(flat.fewest[d]), run)], 0)
            for i in range(flat.need_first[d], flat.need_first[d + 1]):
                having = [(-1, v) for p, v in standing if flat.has_role[p, flat.need_role[i]]]
                self._at_most([*having, (int(flat.need_count[i]), run)], 0)

    def _slots(self) -> None:
        """H1: a player at one station; H3: stations, coaches, area and kit."""
        flat = self.flat
        running, standing = defaultdict(list), defaultdict(list)
        for (s, d), run in self.run.items():
            running[s].append((d, run))
        for (p, s, _), stand in self.stand.items():
            standing[p, s].append((1, stand))
        for s, runs in running.items():
            n = flat.slot_session[s]
            self._at_most([(1, run) for _, run in runs], int(flat.room[n]))
            for k in range(flat.use.shape[1]):
                self._at_most([(int(flat.use[d, k]), run) for d, run in runs], int(flat.have[n, k]))
        for terms in standing.values():
            self._at_most(terms, 1)

    def _repeats(self) -> None:
        """H8: once in a session and so often in a week."""
        flat = self.flat
        session, week = defaultdict(list), defaultdict(list)
        for (s, d), run in self.run.items():
            session[flat.slot_session[s], d].append((1, run))
            week[flat.slot_week[s], d].append((1, run))
        for terms in session.values():
            self._at_most(terms, 1)
        for terms in week.values() if flat.repeats_limit < NO_LIMIT else ():
            self._at_most(terms, flat.repeats_limit)

    def _contact(self) -> None:
        """H6: contact minutes of a week."""
        flat = self.flat
        weeks = defaultdict(list)
        for (p, s, d), stand in self.stand.items():
            minutes = int(flat.slot_minutes[s] * flat.contact[d])
            if minutes and flat.weekly_limit[flat.kind[d]] < NO_LIMIT:
                weeks[p, flat.slot_week[s], flat.kind[d]].append((minutes, stand))
        for (p, w, kind), terms in weeks.items():
            self._at_most(terms, max(0, int(flat.weekly_limit[kind] - flat.spent[p, w, kind])))

    def _full_days(self) -> None:
        """H7: days of full contact in a week."""
        flat = self.flat
        days: dict[tuple[int, int], dict[int, Var]] = defaultdict(dict)
        for (p, s, d), stand in self.stand.items() if flat.full_days_limit < NO_LIMIT else ():
            if flat.kind[d] == FULL:
                on, day = days[p, int(flat.slot_week[s])], int(flat.slot_day[s])
                if day not in on:
                    on[day] = self.model.add_binary_variable()
                self._at_most([(1, stand), (-1, on[day])], 0)
        for on in days.values():
            self._at_most([(1, v) for v in on.values()], flat.full_days_limit)

    def _ladders(self) -> None:
        """H9: minutes at the rung below, done or planned on earlier days within reach."""
        flat = self.flat
        earned = defaultdict(list)
        for (p, s, d), stand in self.stand.items():
            if flat.rung[d] >= 0:
                earned[p, flat.rung[d]].append((int(flat.slot_day[s]), int(flat.slot_minutes[s]), stand))
        for (p, s, d), stand in self.stand.items():
            low, day = flat.below[d], int(flat.slot_day[s])
            lacking = 0 if low < 0 else int(flat.ladder_minutes - flat.done_before[p, low, day])
            if lacking > 0:
                rungs = [(-min(m, lacking), v) for a, m, v in earned[p, low] if a < day <= flat.window_end[a]]
                self._at_most([(lacking, stand), *rungs], 0)

    def _gains(self) -> Iterator[tuple[int, int, int, Var]]:
        """Target, week, minutes x 100 and the player's place that brings them."""
        flat = self.flat
        for (p, s, d), stand in self.stand.items():
            for i in range(flat.effect_first[p, d], flat.effect_first[p, d + 1]):
                minutes = int(flat.effect_share[i] * flat.slot_minutes[s])
                yield int(flat.effect_target[i]), int(flat.slot_week[s]), minutes, stand

    def _short(self, terms: Sequence[tuple[float, Var]], wanted: float, weight: float) -> None:
        """Costs `weight` for each unit that the terms stay below `wanted`."""
        missing = self.model.add_variable(lb=0.0)
        self._at_most([*((-c, v) for c, v in terms), (-1, missing)], -wanted)
        self.cost.append(weight * missing)

    def _targets(self) -> None:
        flat = self.flat
        gained: dict[int, list[tuple[float, Var]]] = defaultdict(list)
        for t, _, minutes, stand in self._gains():
            gained[t].append((minutes / 100, stand))
        for t in range(len(flat.target_minutes)):
            weight, wanted = flat.target_weight[t] / 100, flat.target_minutes[t] / 100
            self._short(gained[t], wanted, weight)
            self._short(gained[t], wanted / 2, weight)

    def _touches(self) -> None:
        flat = self.flat
        gained = defaultdict(list)
        for t, w, minutes, stand in self._gains():
            if flat.target_touch[t] >= 0:
                gained[int(flat.target_touch[t]), w].append((-min(minutes, TOUCH) / 100, stand))
        for u, w in np.argwhere(flat.touch_due):
            missed = self.model.add_binary_variable()
            self._at_most([*gained[int(u), int(w)], (-TOUCH / 100, missed)], -TOUCH / 100)
            self.cost.append(float(flat.touch_cost[u] / COST_SCALE) * missed)

    def _bands(self) -> None:
        flat = self.flat
        load = defaultdict(list)
        for (p, s, d), stand in self.stand.items():
            load[p, flat.slot_week[s]].append((int(flat.rpe[d] * flat.slot_minutes[s]), stand))
        for p, w in np.ndindex(flat.band_first.shape[0], flat.band_first.shape[1] - 1):
            for i in range(flat.band_first[p, w], flat.band_first[p, w + 1]):
                weight = float(flat.band_weight[i] / COST_SCALE)
                self._short(load[p, w], int(flat.band_low[i]), weight)
                self._short([(-c, v) for c, v in load[p, w]], -int(flat.band_high[i]), weight)

    def _idle(self) -> None:
        flat = self.flat
        weight = flat.idle_weight / 100
        self.cost.append(weight * float(flat.attended))
        self.cost += [-weight * int(flat.slot_minutes[s]) * stand for (_, s, _), stand in self.stand.items()]

    def _evenness(self) -> None:
        flat = self.flat
        contact = defaultdict(list)
        for (p, s, d), stand in self.stand.items():
            if flat.contact[d]:
                contact[p].append((int(flat.slot_minutes[s] * flat.contact[d]) / 100, stand))
        for g in range(len(flat.group_first) - 1):
            most, least = self.model.add_variable(lb=0.0), self.model.add_variable(lb=0.0)
            for p in flat.group_player[flat.group_first[g] : flat.group_first[g + 1]]:
                self._at_most([*contact[p], (-1, most)], 0)
                self._at_most([*((-c, v) for c, v in contact[p]), (1, least)], 0)
            self.cost.append(flat.evenness_weight / 100 * (most - least))


def prove(problem: Problem, cost: float, left: Callable[[], float]) -> tuple[float, tuple[Station, ...]]:
    """A lower bound on every plan, and the stations of a plan cheaper than `cost` if one was found.

    `left` tells the seconds that are left. The model is asked for a cheaper plan only. If there is none, the
    bound is the cost itself but for MARGIN.
    """
    layout = flatten(problem)
    exact = Exact(layout.flat)
    cutoff = cost - MARGIN
    exact.model.add_linear_constraint(mathopt.fast_sum(exact.cost) <= cutoff)
    limits = mathopt.SolveParameters(time_limit=timedelta(seconds=max(0.1, left())), relative_gap_tolerance=1e-9)
    result = mathopt.solve(exact.model, mathopt.SolverType.HIGHS, params=limits)
    if result.termination.reason is mathopt.TerminationReason.INFEASIBLE:
        return cutoff, ()
    bound = min(cutoff, result.termination.objective_bounds.dual_bound)
    if not result.has_primal_feasible_solution():
        return bound, ()
    return bound, chosen_stations(layout, exact, result.variable_values())


def chosen_stations(layout: Layout, exact: Exact, values: Mapping[Var, float]) -> tuple[Station, ...]:
    """The plan that a solution of the model stands for."""
    places = [place for place, stand in exact.stand.items() if values[stand] > 0.5]
    players, slots, drills = list(layout.players), list(layout.slots), list(layout.drills)
    there = defaultdict(list)
    for p, s, d in places:
        there[s, d].append(players[p])
    return tuple(Station(*slots[s], drills[d], tuple(here)) for (s, d), here in there.items())
