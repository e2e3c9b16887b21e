"""A planning problem as whole-number arrays that compiled kernels can walk.

Minutes stay whole; shares, weights, areas and accrued minutes are held times 100, so skill minutes and
contact minutes come out times 100 and every cost times 10 000: sums are exact and an undone change
leaves no trace. Index letters: p player, s slot of the whole block in time order, n session, d drill,
w week, a training day (distinct date), t target, u weekly target, r rung of a ladder, g evenness group.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.flat_wishes import UNITS, Wishes, flat_wishes
from planner.core.problem import Ceiling, Contact, Drill, Player, Problem

Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]
Facts = dict[str, Any]  # fields of Flat by name

NO_LIMIT = 10**9  # more minutes times 100 than any block holds
COST_SCALE = 10_000
KINDS = (Contact.NONE, Contact.CONTROLLED, Contact.SET_PIECE, Contact.FULL)
FULL = KINDS.index(Contact.FULL)


class Flat(NamedTuple):
    """What never changes while a plan is searched for. A pair `x_first` holds where row i of a list starts."""

    slot_session: Ints  # [s]
    slot_week: Ints  # [s]
    slot_day: Ints  # [s]
    slot_minutes: Ints  # [s]
    session_first: Ints  # [n+1] slots of session n are session_first[n] .. session_first[n+1]
    week_first: Ints  # [w+1]
    day_first: Ints  # [a+1]
    room: Ints  # [n]     stations a slot of the session can hold
    have: Ints  # [n, k]  coaches, area x 100, then each kind of kit
    use: Ints  # [d, k]
    fewest: Ints  # [d] players
    most: Ints  # [d]
    rpe: Ints  # [d]
    kind: Ints  # [d] index into KINDS
    contact: Ints  # [d] contact share x 100, 0 for no contact
    rung: Ints  # [d] rung that it trains, -1 for none
    below: Ints  # [d] rung that it asks for first, -1 for none
    rung_above: Ints  # [r] the rung that builds on it, -1 for none
    need_first: Ints  # [d+1]
    need_role: Ints
    need_count: Ints
    has_role: Flags  # [p, role]
    option_first: Ints  # [s+1] drills that can run in slot s at all
    option: Ints
    allowed: Flags  # [s, p, d] the player may stand there, as far as fixed facts go
    present: Flags  # [s, p] there for all of the slot
    attended: int  # player-minutes of all slots of those who attend, slots that they miss counted
    effect_first: Ints  # [p, d+1] a drill's effects on a player's targets
    effect_target: Ints
    effect_share: Ints  # x 100
    target_minutes: Ints  # [t] x 100
    target_weight: Ints  # [t] x 100
    target_touch: Ints  # [t] its weekly target, or -1
    target_player: Ints  # [t]
    touch_due: Flags  # [u, w] the player trains at all in that week
    touch_cost: Ints  # [u] of one missed week, x 10 000
    touch_player: Ints  # [u]
    band_first: Ints  # [p, w+1]
    band_low: Ints
    band_high: Ints
    band_weight: Ints  # cost of one AU outside, x 10 000
    spent: Ints  # [p, w, kind] contact minutes x 100 before the block's own
    weekly_limit: Ints  # [kind] x 100
    full_days_limit: int
    repeats_limit: int
    ladder_minutes: int
    window_end: Ints  # [a] the last training day on which day a still counts
    done_before: Ints  # [p, r, a] minutes done before the block that count on day a
    group_first: Ints  # [g+1] comparable players of a role
    group_player: Ints
    evenness_weight: int  # x 100
    idle_weight: int  # x 100
    locked: Flags  # [s, d]
    pinned: Ints  # [s, p] the drill that a lock puts the player at, or -1
    wish: Wishes


class Layout(NamedTuple):
    """A flat problem and the names behind its indices."""

    problem: Problem
    flat: Flat
    players: dict[str, int]
    drills: dict[str, int]
    slots: dict[tuple[str, int], int]


def flatten(problem: Problem) -> Layout:
    players = {player.id: i for i, player in enumerate(problem.players)}
    drills = {drill.id: i for i, drill in enumerate(problem.drills)}
    places = [(session.id, k) for session in problem.sessions for k in range(len(session.slots))]
    slots = {place: s for s, place in enumerate(places)}
    times = _times(problem)
    rungs = _rungs(problem)
    needs = _needs(problem)
    targets = _targets(problem, players)
    attends = _attends(problem, times["slot_session"])
    present = attends & ~_missed(problem, players, slots)
    facts: Facts = (
        times
        | _resources(problem)
        | _drill_facts(problem)
        | _ladders(problem, rungs, drills)
        | needs
        | targets
        | {"touch_due": _touch_due(targets["touch_player"], attends, times["slot_week"], problem.weeks)}
        | {"attended": int((attends * times["slot_minutes"][:, None]).sum()), "present": present}
        | _effects(problem)
        | _bands(problem, players)
        | _limits(problem)
        | _evenness(problem)
        | _locks(problem, players, drills, slots)
        | {"wish": flat_wishes(problem, players)}
    )
    allowed = _allowed(problem, facts)
    option_first, option = _options(facts, allowed)
    flat = Flat(**facts, allowed=allowed, option_first=option_first, option=option)
    return Layout(problem, flat, players, drills, slots)


def _ints(values: Iterable[int]) -> Ints:
    return np.fromiter(values, dtype=np.int64)


def hundredths(value: float) -> int:
    return round(value * 100)


def _starts(lengths: Iterable[int]) -> Ints:
    return _ints(np.concatenate(([0], np.cumsum(list(lengths), dtype=np.int64))))


def training_days(problem: Problem) -> list[date]:
    return sorted({session.date for session in problem.sessions})


def _times(problem: Problem) -> dict[str, Ints]:
    sessions = problem.sessions
    days = {day: a for a, day in enumerate(training_days(problem))}
    lengths = [len(session.slots) for session in sessions]
    session_of = np.repeat(np.arange(len(sessions), dtype=np.int64), lengths)
    week = _ints(problem.week_of(session.id) for session in sessions)
    day = _ints(days[session.date] for session in sessions)
    return {
        "slot_session": session_of,
        "slot_week": week[session_of],
        "slot_day": day[session_of],
        "slot_minutes": _ints(minutes for session in sessions for minutes in session.slots),
        "session_first": _starts(lengths),
        "week_first": _ints(np.searchsorted(week[session_of], np.arange(problem.weeks + 1))),
        "day_first": _ints(np.searchsorted(day[session_of], np.arange(len(days) + 1))),
    }


def _resources(problem: Problem) -> dict[str, Ints]:
    """Coaches, area and kit are one kind of row to the search: what a session has and a drill uses."""
    kit = sorted({item for drill in problem.drills for item in drill.kit})
    have = [
        [session.coaches, hundredths(session.area), *(session.kit.get(item, 0) for item in kit)]
        for session in problem.sessions
    ]
    use = [
        [drill.coaches, hundredths(drill.area), *(drill.kit.get(item, 0) for item in kit)] for drill in problem.drills
    ]
    return {
        "room": _ints(session.stations for session in problem.sessions),
        "have": np.array(have, dtype=np.int64).reshape(-1, 2 + len(kit)),
        "use": np.array(use, dtype=np.int64).reshape(-1, 2 + len(kit)),
    }


def _drill_facts(problem: Problem) -> dict[str, Ints]:
    drills = problem.drills
    return {
        "fewest": _ints(drill.players[0] for drill in drills),
        "most": _ints(drill.players[1] for drill in drills),
        "rpe": _ints(drill.rpe for drill in drills),
        "kind": _ints(KINDS.index(drill.kind) for drill in drills),
        "contact": _ints(hundredths(drill.contact_minutes(1)) for drill in drills),
    }


def _rungs(problem: Problem) -> dict[tuple[str, int], int]:
    """Every rung that a drill trains or asks for; rungs of one ladder in order."""
    rungs = {(d.ladder, d.rung - step) for d in problem.drills if d.ladder for step in (0, 1) if d.rung > step}
    return {rung: r for r, rung in enumerate(sorted(rungs))}


def _ladders(problem: Problem, rungs: dict[tuple[str, int], int], drills: dict[str, int]) -> Facts:
    rule, days = problem.limits.ladder, training_days(problem)
    done = np.zeros((len(problem.players), len(rungs), len(days)), dtype=np.int64)
    if rule is None:
        nothing = np.full(len(drills), -1, dtype=np.int64)
        return {
            "rung": nothing,
            "below": nothing,
            "rung_above": np.full(len(rungs), -1, dtype=np.int64),
            "ladder_minutes": 0,
            "window_end": np.arange(len(days), dtype=np.int64),
            "done_before": done,
        }
    for p, player in enumerate(problem.players):
        for entry in player.done:
            if (r := rungs.get((entry.ladder, entry.rung))) is not None:
                ages = [(day - entry.date).days for day in days]
                done[p, r, [a for a, age in enumerate(ages) if 1 <= age <= rule.days]] += entry.minutes
    return {
        "rung": _ints(_rung_index(rungs, drill, 0) for drill in problem.drills),
        "below": _ints(_rung_index(rungs, drill, 1) for drill in problem.drills),
        "rung_above": _ints(rungs.get((ladder, rung + 1), -1) for ladder, rung in rungs),
        "ladder_minutes": rule.minutes,
        "window_end": _ints(sum(other <= day + timedelta(rule.days) for other in days) - 1 for day in days),
        "done_before": done,
    }


def _rung_index(rungs: dict[tuple[str, int], int], drill: Drill, step: int) -> int:
    return rungs.get((drill.ladder or "", drill.rung - step), -1)


def _needs(problem: Problem) -> Facts:
    needed = [drill.all_needs() for drill in problem.drills]
    roles = sorted({role for of_drill in needed for role in of_drill})
    needs = [[(roles.index(role), n) for role, n in of_drill.items() if n > 0] for of_drill in needed]
    return {
        "need_first": _starts(map(len, needs)),
        "need_role": _ints(role for row in needs for role, _ in row),
        "need_count": _ints(n for row in needs for _, n in row),
        "has_role": np.array(
            [[player.has([role]) for role in roles] for player in problem.players], dtype=np.uint8
        ).reshape(len(problem.players), len(roles)),
    }


def _targets(problem: Problem, players: dict[str, int]) -> dict[str, Ints]:
    weekly = [target for target in problem.targets if target.weekly]
    touch = iter(range(len(weekly)))
    return {
        "target_minutes": np.array([100 * t.minutes for t in problem.targets], dtype=np.int64),
        "target_weight": np.array([hundredths(t.weight) for t in problem.targets], dtype=np.int64),
        "target_touch": _ints(next(touch) if t.weekly else -1 for t in problem.targets),
        "target_player": _ints(players[t.player] for t in problem.targets),
        "touch_cost": np.array([500 * hundredths(t.weight) for t in weekly], dtype=np.int64),
        "touch_player": _ints(players[t.player] for t in weekly),
    }


def _attends(problem: Problem, slot_session: Ints) -> Flags:
    attends = np.array(
        [[problem.attends(player.id, session.id) for player in problem.players] for session in problem.sessions],
        dtype=np.uint8,
    ).reshape(len(problem.sessions), len(problem.players))
    return attends[slot_session]


def _missed(problem: Problem, players: dict[str, int], slots: dict[tuple[str, int], int]) -> NDArray[np.bool_]:
    missed = np.zeros((len(slots), len(players)), dtype=bool)
    for player, row in problem.misses.items():
        for session, those in row.items():
            missed[[slots[session, slot] for slot in those], players[player]] = True
    return missed


def _touch_due(touch_player: Ints, attends: Flags, slot_week: Ints, weeks: int) -> Flags:
    due = np.zeros((len(touch_player), weeks), dtype=np.uint8)
    for s, week in enumerate(slot_week):
        due[:, week] |= attends[s, touch_player]
    return due


def _effects(problem: Problem) -> dict[str, Ints]:
    """For each player and drill: the targets that it serves and the share x 100 of its minutes."""
    first = np.zeros((len(problem.players), len(problem.drills) + 1), dtype=np.int64)
    targets: list[int] = []
    shares: list[int] = []
    wanted: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for t, target in enumerate(problem.targets):
        wanted[target.player].append((t, target.skill))
    for p, player in enumerate(problem.players):
        for d, drill in enumerate(problem.drills):
            first[p, d] = len(targets)
            for t, skill in wanted[player.id]:
                if share := hundredths(drill.share_for(player, skill)):
                    targets.append(t)
                    shares.append(share)
        first[p, len(problem.drills)] = len(targets)
    return {"effect_first": first, "effect_target": _ints(targets), "effect_share": _ints(shares)}


def _bands(problem: Problem, players: dict[str, int]) -> dict[str, Ints]:
    bands = sorted(problem.bands, key=lambda band: (players[band.player], band.week))
    where = np.array([players[b.player] * problem.weeks + b.week for b in bands], dtype=np.int64)
    first = np.zeros((len(players), problem.weeks + 1), dtype=np.int64)
    for p in range(len(players)):
        first[p] = np.searchsorted(where, p * problem.weeks + np.arange(problem.weeks + 1))
    return {
        "band_first": first,
        "band_low": np.array([b.low for b in bands], dtype=np.int64),
        "band_high": np.array([b.high for b in bands], dtype=np.int64),
        "band_weight": np.array([10 * 100 * b.weight for b in bands]).round().astype(np.int64),
    }


def _limits(problem: Problem) -> Facts:
    limits = problem.limits
    spent = np.zeros((len(problem.players), problem.weeks, len(KINDS)), dtype=np.int64)
    for p, player in enumerate(problem.players):
        for entry in player.accrued:
            spent[p, entry.week, KINDS.index(entry.contact)] += hundredths(entry.minutes)
    most = [NO_LIMIT if kind not in limits.weekly else hundredths(limits.weekly[kind]) for kind in KINDS]
    most[KINDS.index(Contact.NONE)] = NO_LIMIT
    days, repeats = limits.full_days_per_week, limits.repeats_per_week
    return {
        "spent": spent,
        "weekly_limit": _ints(most),
        "full_days_limit": NO_LIMIT if days is None else days,
        "repeats_limit": NO_LIMIT if repeats is None else repeats,
        "idle_weight": hundredths(problem.idle_weight),
    }


def _evenness(problem: Problem) -> Facts:
    full = [
        sum(problem.ceiling(player.id, session.id) is Ceiling.FULL for session in problem.sessions)
        for player in problem.players
    ]
    groups = [_comparable(problem.players, full, role) for role in problem.evenness.roles]
    groups = [group for group in groups if len(group) > 1]
    return {
        "group_first": _starts(map(len, groups)),
        "group_player": _ints(p for group in groups for p in group),
        "evenness_weight": hundredths(problem.evenness.weight),
    }


def _comparable(players: Sequence[Player], full: list[int], role: str) -> list[int]:
    """Players of the role who may take full contact nearly as often as the one who may most often."""
    group = [p for p, player in enumerate(players) if player.has([role])]
    most = max((full[p] for p in group), default=0)
    return [p for p in group if full[p] and 4 * full[p] >= 3 * most]


def _locks(
    problem: Problem, players: dict[str, int], drills: dict[str, int], slots: dict[tuple[str, int], int]
) -> Facts:
    locked = np.zeros((len(slots), len(drills)), dtype=np.uint8)
    pinned = np.full((len(slots), len(players)), -1, dtype=np.int64)
    for lock in problem.locks:
        s, d = slots[lock.session, lock.slot], drills[lock.drill]
        locked[s, d] = 1
        pinned[s, [players[player] for player in lock.players]] = d
    return {"locked": locked, "pinned": pinned}


def _allowed(problem: Problem, facts: Facts) -> Flags:
    """Who is there, roles, the day's ceiling, slot minutes, a contact limit that one slot alone breaks, and locks."""
    kind, contact, minutes = facts["kind"], facts["contact"], facts["slot_minutes"]
    fits = np.array(
        [[player.has(drill.roles) for drill in problem.drills] for player in problem.players], dtype=bool
    ).reshape(len(problem.players), len(problem.drills))
    may = np.array(
        [[[problem.ceiling(p.id, s.id).allows(k) for k in KINDS] for p in problem.players] for s in problem.sessions],
        dtype=bool,
    ).reshape(len(problem.sessions), len(problem.players), len(KINDS))
    right_length = np.array(
        [[d.minutes[0] <= m <= d.minutes[1] for d in problem.drills] for m in minutes], dtype=bool
    ).reshape(len(minutes), len(problem.drills))
    room_left = (facts["weekly_limit"] - facts["spent"])[:, :, kind].swapaxes(0, 1)
    asked = minutes[:, None] * contact
    within = (asked[:, None, :] <= room_left[facts["slot_week"]]) | (asked[:, None, :] == 0)
    pinned = facts["pinned"][:, :, None]
    free = (pinned < 0) | (pinned == np.arange(len(problem.drills)))
    there = facts["present"][:, :, None].astype(bool)
    allowed = may[facts["slot_session"]][:, :, kind] & there & fits & right_length[:, None, :] & within & free
    flags: Flags = allowed.astype(np.uint8)
    _bar_from_locked(facts, flags)
    return flags


def _bar_from_locked(facts: Facts, allowed: Flags) -> None:
    """Who may not stand with a player whom a lock puts at a drill (H16, H17)."""
    wish, kind = facts["wish"], facts["kind"]
    for s, q in np.argwhere(facts["pinned"] >= 0):
        d = facts["pinned"][s, q]
        foes = slice(wish.foe_first[q], wish.foe_first[q + 1])
        allowed[s, wish.foe[foes][(kind[d] > 0) | (wish.foe_in_contact[foes] == 0)], d] = 0
        if wish.drill[d, UNITS] and wish.unit[q, d] >= 0:
            allowed[s, (wish.unit[:, d] >= 0) & (wish.unit[:, d] != wish.unit[q, d]), d] = 0


def _options(facts: Facts, allowed: Flags) -> tuple[Ints, Ints]:
    """Drills that a slot can hold on its own: within the session's means and with enough players for it."""
    affordable = (facts["use"] <= facts["have"][:, None, :]).all(axis=2)[facts["slot_session"]]
    enough = allowed.sum(axis=1, dtype=np.int64) >= np.maximum(facts["fewest"], 0)
    for d in range(allowed.shape[2]):
        for i in range(facts["need_first"][d], facts["need_first"][d + 1]):
            having = facts["has_role"][:, facts["need_role"][i]].astype(np.int64)
            enough[:, d] &= allowed[:, :, d] @ having >= facts["need_count"][i]
    possible = affordable & enough
    return _starts(possible.sum(axis=1)), _ints(np.nonzero(possible)[1])
