"""One exact model of every hard rule, for problems small enough: finds a plan or proves that there is none.

Written from docs/planning-problem.md without a look at planner.core.lock_model, and far too slow for
real blocks: every drill may run in every slot with every player.
"""

from __future__ import annotations

from datetime import date
from itertools import product

from ortools.sat.python import cp_model

from planner.core.problem import Ceiling, Contact, Keep, Lock, Problem, Station

Run = dict[tuple[str, int, str], cp_model.IntVar]
At = dict[tuple[str, str, int, str], cp_model.IntVar]
RANK = {Ceiling.ABSENT: -1, Ceiling.NONE: 0, Ceiling.CONTROLLED: 1, Ceiling.FULL: 2}
ASKS = {Contact.NONE: 0, Contact.CONTROLLED: 1, Contact.SET_PIECE: 2, Contact.FULL: 2}


def some_plan(problem: Problem, locks: tuple[Lock, ...]) -> tuple[Station, ...] | None:
    """Stations that keep every rule and these locks, or None when there are none."""
    m = cp_model.CpModel()
    places = [(s, k, d) for s in problem.sessions for k in range(len(s.slots)) for d in problem.drills]
    run = {(s.id, k, d.id): m.new_bool_var("") for s, k, d in places}
    at = {(p.id, s.id, k, d.id): m.new_bool_var("") for p in problem.players for s, k, d in places}
    week = {s.id: problem.week_of(s.id) for s in problem.sessions}
    limits = problem.limits

    for p, (s, k, d) in product(problem.players, places):
        here = at[p.id, s.id, k, d.id]
        m.add_implication(here, run[s.id, k, d.id])
        rank = RANK[problem.ceiling(p.id, s.id)]
        if rank < 0 or rank < ASKS[d.kind] or not set(p.roles) & set(d.roles):  # H1, H5, H2
            m.add(here == 0)
        if k in problem.misses.get(p.id, {}).get(s.id, ()):  # H1
            m.add(here == 0)
        if limits.ladder and d.ladder and d.rung > 1:  # H9
            age = {day: (s.date - day).days for day in {x.date for x in problem.sessions}}
            before = sum(
                entry.minutes
                for entry in p.done
                if (entry.ladder, entry.rung) == (d.ladder, d.rung - 1)
                and 1 <= (s.date - entry.date).days <= limits.ladder.days
            )
            planned = [
                s2.slots[k2] * at[p.id, s2.id, k2, d2.id]
                for s2, k2, d2 in places
                if (d2.ladder, d2.rung) == (d.ladder, d.rung - 1) and 1 <= age[s2.date] <= limits.ladder.days
            ]
            m.add(before + sum(planned) >= limits.ladder.minutes).only_enforce_if(here)
    for s, k, d in places:  # H2, H4
        standing = sum(at[p.id, s.id, k, d.id] for p in problem.players)
        m.add(standing >= d.players[0]).only_enforce_if(run[s.id, k, d.id])
        m.add(standing <= d.players[1])
        for role, wanted in d.needs.items():
            having = sum(at[p.id, s.id, k, d.id] for p in problem.players if role in p.roles)
            m.add(having >= wanted).only_enforce_if(run[s.id, k, d.id])
        if not d.minutes[0] <= s.slots[k] <= d.minutes[1]:
            m.add(run[s.id, k, d.id] == 0)
    for s in problem.sessions:  # H1, H3, H8
        for k in range(len(s.slots)):
            for p in problem.players:
                m.add(sum(at[p.id, s.id, k, d.id] for d in problem.drills) <= 1)
            used = [(d, run[s.id, k, d.id]) for d in problem.drills]
            m.add(sum(r for _, r in used) <= s.stations)
            m.add(sum(d.coaches * r for d, r in used) <= s.coaches)
            m.add(sum(round(100 * d.area) * r for d, r in used) <= round(100 * s.area))
            for item in {item for d in problem.drills for item in d.kit}:
                m.add(sum(d.kit.get(item, 0) * r for d, r in used) <= s.kit.get(item, 0))
        for d in problem.drills:
            m.add(sum(run[s.id, k, d.id] for k in range(len(s.slots))) <= 1)
    for w, d in product(range(problem.weeks), problem.drills):
        if limits.repeats_per_week is not None:
            runs = [run[s.id, k, d2.id] for s, k, d2 in places if week[s.id] == w and d2 is d]
            m.add(sum(runs) <= limits.repeats_per_week)
    for p, w in product(problem.players, range(problem.weeks)):  # H6, H7
        for kind, limit in limits.weekly.items():
            spent = sum(a.minutes for a in p.accrued if (a.week, a.contact) == (w, kind))
            terms = [
                round(100 * s.slots[k] * d.share) * at[p.id, s.id, k, d.id]
                for s, k, d in places
                if week[s.id] == w and d.kind is kind and kind is not Contact.NONE
            ]
            m.add(sum(terms) <= max(0, round(100 * limit) - round(100 * spent)))
        if limits.full_days_per_week is not None:
            days = []
            for day in {s.date for s in problem.sessions if week[s.id] == w}:
                days.append(m.new_bool_var(""))
                for s, k, d in places:
                    if s.date == day and d.kind is Contact.FULL:
                        m.add_implication(at[p.id, s.id, k, d.id], days[-1])
            m.add(sum(days) <= limits.full_days_per_week)
    _coachs_wishes(m, problem, run, at)
    for lock in locks:  # H10
        m.add(run[lock.session, lock.slot, lock.drill] == 1)
        for player in lock.players:
            m.add(at[player, lock.session, lock.slot, lock.drill] == 1)

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(m)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    if status == cp_model.INFEASIBLE:
        return None
    return tuple(
        Station(*key, tuple(p.id for p in problem.players if solver.boolean_value(at[(p.id, *key)])))
        for key, r in run.items()
        if solver.boolean_value(r)
    )


def _coachs_wishes(m: cp_model.CpModel, problem: Problem, run: Run, at: At) -> None:
    for s in problem.sessions:
        if s.themes_most is not None:  # H11
            themes = {d.theme: m.new_bool_var("") for d in problem.drills if d.theme is not None}
            for (session, _, drill), runs in run.items():
                if session == s.id and problem.drill(drill).theme in themes:
                    m.add_implication(runs, themes[problem.drill(drill).theme])
            m.add(sum(themes.values()) <= s.themes_most)
        for d, k in product(problem.drills, range(len(s.slots))):
            if s.nothing_new and d.id not in problem.known:  # H12
                m.add(sum(_runs_of(problem, run, d.id, before=s.date)) >= run[s.id, k, d.id])
        for tiring, fresh in product(problem.drills, problem.drills):  # H13
            if problem.order and tiring.rpe >= problem.order.tiring_rpe and fresh.fresh:
                for k, later in product(range(len(s.slots)), range(len(s.slots))):
                    if k < later:
                        m.add(run[s.id, k, tiring.id] + run[s.id, later, fresh.id] <= 1)
        if problem.hard_row:  # H14
            hard = [d.id for d in problem.drills if d.rpe >= problem.hard_row.rpe]
            for p, first in product(problem.players, range(len(s.slots) - problem.hard_row.most)):
                row = range(first, first + problem.hard_row.most + 1)
                if not set(row[1:]) & set(s.breaks):
                    m.add(sum(at[p.id, s.id, k, d] for k in row for d in hard) <= problem.hard_row.most)
    for d in problem.drills:  # H15
        if d.repeats.most is not None:
            m.add(sum(_runs_of(problem, run, d.id)) <= d.repeats.most)
        for one, other in product(problem.sessions, problem.sessions):
            if 0 < (other.date - one.date).days < d.repeats.gap_days:
                for k, k2 in product(range(len(one.slots)), range(len(other.slots))):
                    m.add(run[one.id, k, d.id] + run[other.id, k2, d.id] <= 1)
    for (session, k, drill), runs in run.items():
        d = problem.drill(drill)
        for pair in problem.apart:  # H16
            if d.kind is not Contact.NONE or not pair.contact_only:
                m.add(sum(at[p, session, k, drill] for p in pair.players) <= 1)
        if d.units and d.units.keep is Keep.MIXED:  # H17
            for role in d.units.roles:
                having = [at[p.id, session, k, drill] for p in problem.players if role in p.roles]
                m.add(sum(having) >= d.units.least).only_enforce_if(runs)
        elif d.units:
            for p, q in product(problem.players, problem.players):
                mine, other = ([r for r in d.units.roles if r in x.roles][:1] for x in (p, q))
                if mine and other and mine != other:
                    m.add(at[p.id, session, k, drill] + at[q.id, session, k, drill] <= 1)


def _runs_of(problem: Problem, run: Run, drill: str, before: date = date.max) -> list[cp_model.IntVar]:
    return [runs for (s, _, d), runs in run.items() if d == drill and problem.session(s).date < before]
