"""Staffing one slot afresh: which drills run at its stations, and who stands where.

Within a slot a player's gain at a drill does not depend on where the others stand, so the gains are
worked out once and stations are then opened one by one, each with the players who gain most from it.
"""

# Numba infers the types of kernels; annotations there would only repeat the tables above.
# mypy: allow-untyped-defs, allow-untyped-calls

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.core.flat import Flat
from planner.core.flat_wishes import THEME, UNITS
from planner.core.kernels.chance import fraction
from planner.core.kernels.compiled import kernel
from planner.core.kernels.gains import BARRED, weigh_gains
from planner.core.kernels.state import copy_row, is_free_to_run, join, open_station
from planner.core.kernels.wishes import has_foe, is_known, run_gain, themes_left


class Bench(NamedTuple):
    """Room to work in; nothing here outlives one rebuild."""

    gain: NDArray[np.int64]  # [i, p] what the player saves at option i, against standing idle
    now: NDArray[np.int64]  # [p] what he saves where he stands in the draft
    place: NDArray[np.int64]  # [p] station of the draft, or -1
    drafted: NDArray[np.int64]  # [k] drill
    row: NDArray[np.int64]  # [k] its option
    head: NDArray[np.int64]  # [k]
    fixed: NDArray[np.int64]  # [k] 1 if a lock or the search keeps it
    option: NDArray[np.int64]  # drills in question; one that keeps units to themselves is one option for each
    unit: NDArray[np.int64]  # [i] whom the option is for, or -1
    bonus: NDArray[np.int64]  # [i] what the wishes save if it runs
    theme: NDArray[np.int64]  # [0] how many more the session may have, then 1 for each that it has
    promise: NDArray[np.int64]  # no more than this can option i save
    left: NDArray[np.int64]  # coaches, area, kit
    spare: NDArray[np.int64]  # [k] players it can give away
    order: NDArray[np.int64]  # [p] players, keenest first
    keen: NDArray[np.int64]  # [p] what a move would save him
    chosen: NDArray[np.int64]  # [p] 1 if the station looked at takes him
    best: NDArray[np.int64]  # [p] the same for the best one so far
    band_gain: NDArray[np.int64]  # [rpe]
    group: NDArray[np.int64]  # [g, 3] least, next to least and most contact of an evenness group


def bench(flat: Flat) -> Bench:
    players, drills = flat.allowed.shape[1:]
    wide = max(1, int(flat.room.max(initial=0)))
    options = drills + int(flat.wish.drill[:, UNITS].sum()) + 1
    return Bench(
        gain=np.zeros((options, players), dtype=np.int64),
        now=np.zeros(players, dtype=np.int64),
        place=np.zeros(players, dtype=np.int64),
        drafted=np.zeros(wide, dtype=np.int64),
        row=np.zeros(wide, dtype=np.int64),
        head=np.zeros(wide, dtype=np.int64),
        fixed=np.zeros(wide, dtype=np.int64),
        option=np.zeros(options, dtype=np.int64),
        unit=np.zeros(options, dtype=np.int64),
        bonus=np.zeros(options, dtype=np.int64),
        theme=np.zeros(flat.wish.themes + 1, dtype=np.int64),
        promise=np.zeros(options, dtype=np.int64),
        left=np.zeros(flat.use.shape[1], dtype=np.int64),
        spare=np.zeros(wide, dtype=np.int64),
        order=np.zeros(players, dtype=np.int64),
        keen=np.zeros(players, dtype=np.int64),
        chosen=np.zeros(players, dtype=np.int64),
        best=np.zeros(players, dtype=np.int64),
        band_gain=np.zeros(11, dtype=np.int64),
        group=np.zeros((len(flat.group_first), 3), dtype=np.int64),
    )


@kernel
def gather_options(flat, state, work, s, skip, dice):
    """Drills that may still run in the slot; each is passed over with chance `skip`, for variety."""
    n = 0
    for i in range(flat.option_first[s], flat.option_first[s + 1]):
        d = flat.option[i]
        if flat.locked[s, d]:
            if is_known(flat, state, s, d):
                n = add_option(flat, work, d, n)
        elif is_free_to_run(flat, state, s, d) and fraction(dice) >= skip:
            n = add_option(flat, work, d, n)
    return n


@kernel
def add_option(flat, work, d, n):
    """Option n, and more for the other units of a drill that keeps them to themselves; gives the next number."""
    units = flat.wish.drill[d, UNITS]
    for unit in range(max(units, 1)):
        work.option[n] = d
        work.unit[n] = unit if units > 0 else -1
        n += 1
    return n


@kernel
def fits_in(flat, work, d):
    for k in range(len(work.left)):  # noqa: SIM110 - numba has no all()
        if flat.use[d, k] > work.left[k]:
            return False
    return True


@kernel
def promise_of(gain, now):
    """An upper bound on what opening a drill saves: everybody who gains moves there."""
    total = np.int64(0)
    for p in range(len(now)):
        total += max(gain[p] - now[p], 0)
    return total


@kernel
def rank_players(flat, work, s, option):
    """Players who may join an option, keenest first; gives their number."""
    n = 0
    for p in range(len(work.now)):
        if work.gain[option, p] <= BARRED or (work.place[p] >= 0 and flat.pinned[s, p] >= 0):
            continue
        keen = work.gain[option, p] - work.now[p]
        i = n
        while i > 0 and work.keen[i - 1] < keen:
            work.keen[i] = work.keen[i - 1]
            work.order[i] = work.order[i - 1]
            i -= 1
        work.keen[i] = keen
        work.order[i] = p
        n += 1
    return n


@kernel
def can_spare(flat, work, p):
    """True if the draft station where p stands, if any, does without him."""
    k = work.place[p]
    if k < 0:
        return True
    if work.spare[k] <= 0:
        return False
    d = work.drafted[k]
    for i in range(flat.need_first[d], flat.need_first[d + 1]):
        role = flat.need_role[i]
        if flat.has_role[p, role]:
            have = 0
            for q in range(len(work.place)):
                have += work.place[q] == k and not work.chosen[q] and flat.has_role[q, role]
            if have <= flat.need_count[i]:
                return False
    return True


@kernel
def may_choose(flat, work, p, d):
    """True if p can be spared where he is and nobody chosen is kept apart from him."""
    return can_spare(flat, work, p) and not has_foe(flat, work.chosen, 1, p, d)


@kernel
def choose(work, p):
    work.chosen[p] = 1
    if work.place[p] >= 0:
        work.spare[work.place[p]] -= 1


@kernel
def staff(flat, work, s, option, drafted):
    """Choose players for an option; gives what it saves, BARRED if it cannot be staffed."""
    d = work.option[option]
    ranked = rank_players(flat, work, s, option)
    if ranked < flat.fewest[d]:
        return BARRED
    work.chosen[:] = 0
    for k in range(drafted):
        work.spare[k] = work.head[k] - flat.fewest[work.drafted[k]]
    taken, saved = 0, np.int64(0)
    for i in range(ranked):  # whom a lock puts here comes first
        if flat.pinned[s, work.order[i]] == d:
            choose(work, work.order[i])
            taken += 1
            saved += work.keen[i]
    for j in range(flat.need_first[d], flat.need_first[d + 1]):
        role, missing = flat.need_role[j], flat.need_count[j]
        for i in range(ranked):
            missing -= work.chosen[work.order[i]] and flat.has_role[work.order[i], role]
        for i in range(ranked):
            p = work.order[i]
            if missing <= 0:
                break
            if flat.has_role[p, role] and not work.chosen[p] and may_choose(flat, work, p, d):
                choose(work, p)
                taken += 1
                saved += work.keen[i]
                missing -= 1
        if missing > 0:
            return BARRED
    for i in range(ranked):
        p = work.order[i]
        if taken >= flat.most[d] or (work.keen[i] <= 0 and taken >= flat.fewest[d]):
            break
        if not work.chosen[p] and may_choose(flat, work, p, d):
            choose(work, p)
            taken += 1
            saved += work.keen[i]
    if taken < flat.fewest[d] or taken > flat.most[d] or (taken == 0 and not flat.locked[s, d]):
        return BARRED
    return saved


@kernel
def draft(flat, work, option, k, chosen, fixed):
    """Add an option as station k of the draft with the players chosen."""
    d = work.option[option]
    work.drafted[k] = d
    work.row[k] = option
    work.fixed[k] = fixed
    work.head[k] = 0
    for p in range(len(work.place)):
        if chosen[p]:
            if work.place[p] >= 0:
                work.head[work.place[p]] -= 1
            work.place[p] = k
            work.now[p] = work.gain[option, p]
            work.head[k] += 1
    for i in range(len(work.left)):
        work.left[i] -= flat.use[d, i]
    theme = flat.wish.drill[d, THEME]
    if theme >= 0 and not work.theme[1 + theme]:
        work.theme[0] -= 1
        work.theme[1 + theme] = 1


@kernel
def has_theme_left(flat, work, d):
    """H11 beside the drills that are drafted already."""
    theme = flat.wish.drill[d, THEME]
    return theme < 0 or work.theme[1 + theme] > 0 or work.theme[0] > 0


@kernel
def is_drafted(work, d, drafted):
    for k in range(drafted):  # noqa: SIM110 - numba has no any()
        if work.drafted[k] == d:
            return True
    return False


@kernel
def most_promising(promise, options):
    best = 0
    for i in range(1, options):
        if promise[i] > promise[best]:
            best = i
    return best


@kernel
def draft_best(flat, state, work, s, options, drafted):
    """Open the option that saves most; gives whether there was one."""
    if options == 0:
        return False
    for i in range(options):
        d = work.option[i]
        if flat.wish.about_runs:
            work.bonus[i] = run_gain(flat, state, s, d, work.drafted, drafted)
        fits = fits_in(flat, work, d) and not is_drafted(work, d, drafted) and has_theme_left(flat, work, d)
        work.promise[i] = promise_of(work.gain[i], work.now) + work.bonus[i] if fits else -1
    best, best_option = np.int64(0), -1
    while True:
        i = most_promising(work.promise, options)
        if work.promise[i] <= best:
            break
        work.promise[i] = -1
        saved = staff(flat, work, s, i, drafted) + work.bonus[i]
        if saved > best:
            best, best_option = saved, i
            copy_row(work.chosen, work.best)
    if best_option < 0:
        return False
    draft(flat, work, best_option, drafted, work.best, 0)
    return True


@kernel
def has_pinned(flat, work, s, d):
    """H10: everybody whom a lock puts at drill d has been chosen."""
    for p in range(len(work.chosen)):  # noqa: SIM110 - numba has no all()
        if flat.pinned[s, p] == d and not work.chosen[p]:
            return False
    return True


@kernel
def staff_locked(flat, work, s, options, drafted, d):
    """The option of a locked drill that saves most, its players left in `work.best`; -1 if none can be staffed."""
    best, best_option = BARRED, -1
    for i in range(options):
        if work.option[i] == d:
            saved = staff(flat, work, s, i, drafted)
            if saved > best and has_pinned(flat, work, s, d):
                best, best_option = saved, i
                copy_row(work.chosen, work.best)
    return best_option


@kernel
def draft_locked(flat, work, s, options):
    """Open the locked drills with as many as they need; gives how many, or -1 if one cannot be staffed."""
    drafted = 0
    for d in range(flat.locked.shape[1]):
        if flat.locked[s, d]:
            if drafted >= len(work.drafted) or not fits_in(flat, work, d):
                return -1
            option = staff_locked(flat, work, s, options, drafted, d)
            if option < 0:
                return -1
            draft(flat, work, option, drafted, work.best, 1)
            drafted += 1
    return drafted


@kernel
def settle(flat, work, s, drafted):
    """Move single players to where they gain more, while stations have places."""
    work.chosen[:] = 0
    for k in range(drafted):
        work.spare[k] = work.head[k] - flat.fewest[work.drafted[k]]
    for p in range(len(work.place)):
        if work.place[p] >= 0 and flat.pinned[s, p] >= 0:
            continue
        best, best_k = work.now[p], -1
        for k in range(drafted):
            gain, d = work.gain[work.row[k], p], work.drafted[k]
            if work.head[k] < flat.most[d] and gain > best and not has_foe(flat, work.place, k, p, d):
                best, best_k = gain, k
        if best_k >= 0 and can_spare(flat, work, p):
            if work.place[p] >= 0:
                work.head[work.place[p]] -= 1
                work.spare[work.place[p]] -= 1
            work.place[p], work.now[p] = best_k, best
            work.head[best_k] += 1
            work.spare[best_k] += 1


@kernel
def start_draft(flat, state, work, s):
    work.now[:] = 0
    work.place[:] = -1
    n = flat.slot_session[s]
    copy_row(flat.have[n], work.left)
    if flat.wish.about_runs:
        work.theme[0] = themes_left(flat, state, n)
        for theme in range(state.theme_runs.shape[1]):
            work.theme[1 + theme] = state.theme_runs[n, theme] > 0
    else:
        work.theme[:] = 1


@kernel
def give_way(flat, work, s, options, chance, dice):
    """Whoever is kept apart from others leaves the slot to them with this chance, or the keenest always came first."""
    for p in range(len(work.now)):
        has_foes = flat.wish.foe_first[p + 1] > flat.wish.foe_first[p]
        if has_foes and flat.pinned[s, p] < 0 and fraction(dice) < chance:
            for i in range(options):
                work.gain[i, p] = BARRED


@kernel
def rebuild(flat, state, work, s, skip, only_locked, dice):
    """Staff the empty slot s; False, and the slot still empty, if a locked drill cannot be staffed."""
    options = gather_options(flat, state, work, s, skip, dice)
    weigh_gains(flat, state, work, s, options, fraction(dice) >= skip / 8)  # or no two ever go in together
    give_way(flat, work, s, options, skip / 2, dice)
    start_draft(flat, state, work, s)
    drafted = draft_locked(flat, work, s, options)
    if drafted < 0:
        return False
    room = min(flat.room[flat.slot_session[s]], len(work.drafted))
    if drafted > room:
        return False
    while not only_locked and drafted < room and draft_best(flat, state, work, s, options, drafted):
        drafted += 1
    settle(flat, work, s, drafted)
    enter(flat, state, work, s, drafted)
    return True


@kernel
def enter(flat, state, work, s, drafted):
    """Put the draft into the plan."""
    for k in range(drafted):
        open_station(flat, state, s, work.drafted[k])
    for p in range(len(work.place)):
        if work.place[p] >= 0:
            join(flat, state, s, p, work.place[p])
