"""A coach's wishes (H11 to H17 and their cost) as whole-number arrays; index letters as in planner.core.flat."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.problem import Drill, Keep, Problem, Session

Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

NEVER = 10**9  # more runs, themes or slots than any block holds
THEME, KNOWN, FRESH, TIRING, LEAST, WEIGHT, MOST, GAP, UNITS = range(9)  # columns of `drill`
THEMES_MOST, NOTHING_NEW = range(2)  # columns of `session`
FIRST, LAST = range(2)  # columns of `row`


class Wishes(NamedTuple):
    """What coaches ask of a plan; with nothing asked every check ends at its first look."""

    about_runs: int  # 1 if any wish is about which drills run
    drill: Ints  # [d, column] theme or -1; flags; least runs, weight x 100 of each missing; most; gap; units or 0
    session: Ints  # [n, column]
    themes: int  # how many there are
    day: Ints  # [a] its date, counted in days
    favourite_first: Ints  # [n+1] favourites that ask something of session n
    favourite_drill: Flags  # [f, d]
    favourite_weight: Ints  # [f] x 100
    hard_rpe: int  # 11, which no drill has, without a rule about hard rows
    hard_most: int
    row: Ints  # [s, column] first and last slot of the session that no break parts from s
    foe_first: Ints  # [p+1] whom player p is kept apart from
    foe: Ints
    foe_in_contact: Flags  # 1: in contact only
    unit: Ints  # [p, d] his unit at a drill that keeps units to themselves, or -1


def flat_wishes(problem: Problem, players: Mapping[str, int]) -> Wishes:
    themes = sorted({drill.theme for drill in problem.drills if drill.theme is not None})
    favourites = _favourites(problem)
    foes = _foes(problem, players)
    return Wishes(
        about_runs=int(_asks_about_runs(problem)),
        drill=_table([_drill_row(problem, drill, themes) for drill in problem.drills], 9),
        session=_table([_session_row(session) for session in problem.sessions], 2),
        themes=len(themes),
        day=_ints(sorted({session.date.toordinal() for session in problem.sessions})),
        favourite_first=_starts([len(rows) for rows in favourites]),
        favourite_drill=np.array(
            [[drill.id in drills for drill in problem.drills] for rows in favourites for drills, _ in rows],
            dtype=np.uint8,
        ).reshape(sum(map(len, favourites)), len(problem.drills)),
        favourite_weight=_ints([weight for rows in favourites for _, weight in rows]),
        hard_rpe=problem.hard_row.rpe if problem.hard_row else 11,
        hard_most=problem.hard_row.most if problem.hard_row else NEVER,
        row=_table(_rows(problem), 2),
        foe_first=_starts([len(row) for row in foes]),
        foe=_ints([q for row in foes for q, _ in row]),
        foe_in_contact=np.array([in_contact for row in foes for _, in_contact in row], dtype=np.uint8),
        unit=np.array(
            [[_unit(drill, player.roles) for drill in problem.drills] for player in problem.players], dtype=np.int64
        ).reshape(len(problem.players), len(problem.drills)),
    )


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _table(rows: Sequence[Sequence[int]], columns: int) -> Ints:
    return np.array(rows, dtype=np.int64).reshape(-1, columns)


def _starts(lengths: Sequence[int]) -> Ints:
    return _ints([sum(lengths[:i]) for i in range(len(lengths) + 1)])


def _asks_about_runs(problem: Problem) -> bool:
    by_session = any(session.nothing_new or session.themes_most is not None for session in problem.sessions)
    by_drill = any(drill.repeats != type(drill.repeats)() for drill in problem.drills)
    return by_session or by_drill or problem.order is not None or bool(problem.favourites)


def _drill_row(problem: Problem, drill: Drill, themes: Sequence[str]) -> list[int]:
    repeats, order, units = drill.repeats, problem.order, drill.units
    return [
        -1 if drill.theme is None else themes.index(drill.theme),
        int(drill.id in problem.known),
        int(order is not None and drill.fresh),
        int(order is not None and drill.rpe >= order.tiring_rpe),
        repeats.least,
        round(100 * repeats.weight),
        NEVER if repeats.most is None else repeats.most,
        repeats.gap_days,
        len(units.roles) if units is not None and units.keep is Keep.TOGETHER else 0,
    ]


def _session_row(session: Session) -> list[int]:
    return [NEVER if session.themes_most is None else session.themes_most, int(session.nothing_new)]


def _favourites(problem: Problem) -> list[list[tuple[tuple[str, ...], int]]]:
    """For each session the (drills, weight x 100) of the favourites that list it, as often as they do."""
    asked: dict[str, list[tuple[tuple[str, ...], int]]] = {session.id: [] for session in problem.sessions}
    for wish in problem.favourites:
        for session in wish.sessions:
            asked[session].append((wish.drills, round(100 * wish.weight)))
    return list(asked.values())


def _rows(problem: Problem) -> list[tuple[int, int]]:
    """First and last slot of each slot's row, as numbers of the block."""
    rows: list[tuple[int, int]] = []
    for session in problem.sessions:
        slots = len(session.slots)
        ends = sorted({0, slots, *(slot for slot in session.breaks if slot < slots)})
        start = len(rows)
        for first, end in pairwise(ends):
            rows += [(start + first, start + end - 1)] * (end - first)
    return rows


def _foes(problem: Problem, players: Mapping[str, int]) -> list[list[tuple[int, bool]]]:
    foes: list[list[tuple[int, bool]]] = [[] for _ in players]
    for pair in problem.apart:
        a, b = (players[player] for player in pair.players)
        foes[a].append((b, pair.contact_only))
        foes[b].append((a, pair.contact_only))
    return foes


def _unit(drill: Drill, roles: Sequence[str]) -> int:
    if drill.units is None or drill.units.keep is not Keep.TOGETHER:
        return -1
    return next((i for i, role in enumerate(drill.units.roles) if role in roles), -1)
