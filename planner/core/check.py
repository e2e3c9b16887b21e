"""The referee: every hard rule that a plan breaks, in words, and what the plan costs.

It shares no code with the search, only the problem itself, so that an error of one cannot hide in the
other. One function stands for one rule of docs/planning-problem.md; those on wishes are in planner.core.wish_rules.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from datetime import date

from planner.core import words as say
from planner.core.breach import Breach, Rule, at
from planner.core.cost import Cost, cost
from planner.core.problem import Contact, LadderRule, Lock, Problem, Station
from planner.core.sheet import TOLERANCE, Run, Sheet
from planner.core.tally import PlayerTally, tally
from planner.core.wish_rules import WISH_RULES
from planner.core.words import Words

__all__ = ["Breach", "Cost", "PlayerTally", "Words", "breaches", "cost", "tally"]


def breaches(problem: Problem, stations: Iterable[Station], words: Words | None = None) -> list[Breach]:
    """Every broken rule in the order of the rules; a plan without one is feasible."""
    sheet, words = Sheet.of(problem, stations), words or Words(problem)
    return [breach for rule in RULES for breach in rule(sheet, words)]


def one_place_at_a_time(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H1: one station in a slot, none in a session that the player is absent from, nor in a slot that he misses."""
    for (session, slot), runs in sheet.by_slot().items():
        for player, times in Counter(p for run in runs for p in run.station.players).items():
            if times > 1:
                where = say.listed(words.drill(run.drill.id) for run in runs if player in run.station.players)
                text = f"{words.player(player)} is listed {times} times on {words.slot(session, slot)}: {where}."
                yield Breach("H1", text, session, slot, player=player)
    for run in sheet.runs:
        for player in dict.fromkeys(run.station.players):
            if not sheet.problem.is_there(player, run.session.id, run.station.slot):
                away = words.not_there(player, run.station)
                text = f"{words.player(player)} {away}, but stands at {words.station(run.station)}."
                yield at(run, "H1", text, player)


def right_players(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H2: enough players, not too many, the roles that the drill needs, and nobody whom it does not fit."""
    for run in sheet.runs:
        yield from _right_number(run, words)
        yield from _needed_roles(run, sheet.problem, words)
        for player in dict.fromkeys(run.station.players):
            if not sheet.problem.player(player).has(run.drill.roles):
                roles = say.listed((words.other(role) for role in run.drill.roles), "or")
                text = f"{words.player(player)} does not fit {words.station(run.station)}, which is for {roles}."
                yield at(run, "H2", text, player)


def _right_number(run: Run, words: Words) -> Iterator[Breach]:
    have, (least, most) = len(set(run.station.players)), run.drill.players
    if not least <= have <= most:
        wanted = say.span(least, most, "player")
        yield at(run, "H2", f"{words.station(run.station)} takes {wanted}, but {have} stand there.")


def _needed_roles(run: Run, problem: Problem, words: Words) -> Iterator[Breach]:
    for role, wanted in run.drill.needs.items():
        have = sum(role in problem.player(player).roles for player in set(run.station.players))
        if have < wanted:
            text = f"{words.station(run.station)} needs {wanted} of role {words.other(role)}, but has {have}."
            yield at(run, "H2", text)


def room_for_all(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H3: in each slot the stations, coaches, area and kit that the session has."""
    for (session, slot), runs in sheet.by_slot().items():
        have, where = sheet.problem.session(session), words.slot(session, slot)
        kit = sorted({item for run in runs for item in run.drill.kit})
        uses: list[tuple[str, float, float]] = [
            ("stations", len(runs), have.stations),
            ("coaches", sum(run.drill.coaches for run in runs), have.coaches),
            ("m² of area", sum(run.drill.area for run in runs), have.area),
            *((words.other(i), sum(r.drill.kit.get(i, 0) for r in runs), have.kit.get(i, 0)) for i in kit),
        ]
        for thing, used, there in uses:
            if used > there + TOLERANCE:
                text = f"{where} uses {say.number(used)} {thing}, but there are {say.number(there)}."
                yield Breach("H3", text, session, slot)


def right_minutes(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H4: the slot is neither too short nor too long for the drill."""
    for run in sheet.runs:
        least, most = run.drill.minutes
        if not least <= run.minutes <= most:
            wanted = say.span(least, most, "minute")
            yield at(run, "H4", f"{words.station(run.station)} gets {run.minutes} minutes, but takes {wanted}.")


def under_the_ceiling(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H5: no more contact than the player may do that day. Who is absent is a matter for H1."""
    for run in sheet.runs:
        for player in dict.fromkeys(run.station.players):
            ceiling = sheet.problem.ceiling(player, run.session.id)
            if sheet.problem.attends(player, run.session.id) and not ceiling.allows(run.drill.kind):
                text = (
                    f"{words.player(player)} {say.AT_MOST[ceiling]} that day, but "
                    f"{words.station(run.station)} is {say.KINDS[run.drill.kind]}."
                )
                yield at(run, "H5", text, player)


def weekly_contact(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H6: contact minutes of a week within its limit; who has had too much already gets no more."""
    for player, runs in sheet.of_player.items():
        planned: dict[tuple[int, Contact], float] = defaultdict(float)
        for run in runs:
            planned[run.week, run.drill.kind] += run.contact_minutes
        for (week, kind), minutes in planned.items():
            before = sheet.problem.player(player).spent(week, kind)
            limit = sheet.problem.limits.weekly.get(kind)
            if limit is not None and minutes > TOLERANCE and before + minutes > limit + TOLERANCE:
                text = (
                    f"{words.player(player)} would have {words.spent(before + minutes, week, kind)} minutes of "
                    f"{say.KINDS[kind]} in {say.week(week)}; the limit is {words.weekly_limit(week, kind)}."
                )
                yield Breach("H6", text, player=player, week=week)


def full_contact_days(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H7: days with full contact in a week."""
    if (most := sheet.problem.limits.full_days_per_week) is None:
        return
    for player, runs in sheet.of_player.items():
        days: dict[int, set[date]] = defaultdict(set)
        for run in runs:
            if run.drill.kind is Contact.FULL:
                days[run.week].add(run.session.date)
        for week, dates in days.items():
            if len(dates) > most:
                text = (
                    f"{words.player(player)} is in full contact on {len(dates)} days of {say.week(week)}; "
                    f"the limit is {most}."
                )
                yield Breach("H7", text, player=player, week=week)


def once_a_session(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H8: a drill runs once in a session."""
    for (session, drill), times in Counter((run.session.id, run.drill.id) for run in sheet.runs).items():
        if times > 1:
            text = f"{words.drill(drill)} runs {times} times on {words.session(session)}; once is the limit."
            yield Breach("H8", text, session, drill=drill)


def repeats_in_a_week(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H8: a drill runs in so many slots of a week."""
    if (most := sheet.problem.limits.repeats_per_week) is None:
        return
    for (week, drill), times in Counter((run.week, run.drill.id) for run in sheet.runs).items():
        if times > most:
            text = f"{words.drill(drill)} runs {times} times in {say.week(week)}; the limit is {most}."
            yield Breach("H8", text, drill=drill, week=week)


def ladder_order(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H9: enough minutes at the rung below, on earlier days and not too long ago."""
    if (rule := sheet.problem.limits.ladder) is None:
        return
    for player, runs in sheet.of_player.items():
        done = _ladder_minutes(sheet.problem, player, runs)
        for run in dict.fromkeys(runs):
            if run.drill.ladder is None or run.drill.rung == 1:
                continue
            had = _fresh(done.get((run.drill.ladder, run.drill.rung - 1), ()), run.session.date, rule)
            if had < rule.minutes:
                text = (
                    f"{words.player(player)} has {had} of the {rule.minutes} minutes at rung "
                    f"{run.drill.rung - 1} of {words.other(run.drill.ladder)} that must come in the "
                    f"{rule.days} days before {words.station(run.station)}."
                )
                yield at(run, "H9", text, player)


def _ladder_minutes(
    problem: Problem, player: str, runs: Iterable[Run]
) -> dict[tuple[str, int], list[tuple[date, int]]]:
    """(ladder, rung) -> (day, minutes), done before or planned."""
    minutes: dict[tuple[str, int], list[tuple[date, int]]] = defaultdict(list)
    for done in problem.player(player).done:
        minutes[done.ladder, done.rung].append((done.date, done.minutes))
    for run in runs:
        if run.drill.ladder is not None:
            minutes[run.drill.ladder, run.drill.rung].append((run.session.date, run.minutes))
    return minutes


def _fresh(done: Iterable[tuple[date, int]], day: date, rule: LadderRule) -> int:
    return sum(minutes for on, minutes in done if 1 <= (day - on).days <= rule.days)


def locks_hold(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H10: locked drills run where they are locked, with the players who are locked there."""
    by_slot = sheet.by_slot()
    for lock in sheet.problem.locks:
        runs = [run for run in by_slot.get((lock.session, lock.slot), ()) if run.drill.id == lock.drill]
        standing = {player for run in runs for player in run.station.players}
        if not runs:
            yield _of_lock(lock, f"{words.station(lock)} is locked, but does not run.")
        for player in dict.fromkeys(lock.players if runs else ()):
            if player not in standing:
                text = f"{words.player(player)} is locked to {words.station(lock)}, but does not stand there."
                yield _of_lock(lock, text, player)


def _of_lock(lock: Lock, text: str, player: str | None = None) -> Breach:
    return Breach("H10", text, lock.session, lock.slot, lock.drill, player)


RULES: tuple[Rule, ...] = (
    one_place_at_a_time,
    right_players,
    room_for_all,
    right_minutes,
    under_the_ceiling,
    weekly_contact,
    full_contact_days,
    once_a_session,
    repeats_in_a_week,
    ladder_order,
    locks_hold,
    *WISH_RULES,
)
