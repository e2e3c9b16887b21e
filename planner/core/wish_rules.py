"""The referee on a coach's wishes that have to be kept: H11 to H17, one function for each rule, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from planner.core import words as say
from planner.core.breach import Breach, Rule, at
from planner.core.problem import Contact, Drill, Keep, Session, Units
from planner.core.sheet import Run, Sheet
from planner.core.words import Words


def few_themes(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H11: so many different themes in a session."""
    for session, runs in _by_session(sheet):
        themes = dict.fromkeys(run.drill.theme for run in runs if run.drill.theme is not None)
        if session.themes_most is not None and len(themes) > session.themes_most:
            named = say.listed(words.other(theme) for theme in themes)
            text = f"{words.session(session.id)} has {say.count(len(themes), 'theme')}, {named}; the limit is"
            yield Breach("H11", f"{text} {session.themes_most}.", session.id)


def nothing_new(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H12: in such a session only drills that the squad knows, from before the block or from an earlier date."""
    for run in sheet.runs:
        if run.session.nothing_new and run.drill.id not in sheet.problem.known and not _ran_before(sheet, run):
            text = f"{words.station(run.station)} would be new to the squad, and nothing new may run that day."
            yield at(run, "H12", text)


def _ran_before(sheet: Sheet, run: Run) -> bool:
    return any(other.drill.id == run.drill.id and other.session.date < run.session.date for other in sheet.runs)


def fresh_first(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H13: within a session no fresh drill later than a tiring one."""
    if (order := sheet.problem.order) is None:
        return
    for _, runs in _by_session(sheet):
        tiring = min(
            (run for run in runs if run.drill.rpe >= order.tiring_rpe), key=lambda run: run.station.slot, default=None
        )
        for run in runs:
            if tiring is not None and run.drill.fresh and run.station.slot > tiring.station.slot:
                after = f"{words.station(tiring.station)} (RPE {tiring.drill.rpe})"
                yield at(run, "H13", f"{words.station(run.station)} wants fresh players, but comes after {after}.")


def hard_rows(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H14: for each player so many slots in a row at hard drills; a break ends the row."""
    if (rule := sheet.problem.hard_row) is None:
        return
    for player, runs in sheet.of_player.items():
        hard: dict[str, set[int]] = defaultdict(set)
        for run in runs:
            if run.drill.rpe >= rule.rpe:
                hard[run.session.id].add(run.station.slot)
        for session, slots in hard.items():
            for row in _rows(sorted(slots), sheet.problem.session(session).breaks):
                if len(row) > rule.most:
                    text = (
                        f"{words.player(player)} stands at drills of RPE {rule.rpe} or more in {len(row)} slots "
                        f"in a row from {words.slot(session, row[0])} on; the limit is {rule.most}."
                    )
                    yield Breach("H14", text, session, player=player)


def _rows(slots: Sequence[int], breaks: Sequence[int]) -> list[list[int]]:
    """The slots, which are in order, parted where one is left out and before each break."""
    rows = [[slot] for slot in slots[:1]]
    for before, slot in pairwise(slots):
        if slot == before + 1 and slot not in breaks:
            rows[-1].append(slot)
        else:
            rows.append([slot])
    return rows


def repeats_in_the_block(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H15: so many runs of a drill in the block, and so many days between two dates on which it runs."""
    by_drill: dict[str, list[Run]] = defaultdict(list)
    for run in sheet.runs:
        by_drill[run.drill.id].append(run)
    for runs in by_drill.values():
        drill = runs[0].drill
        most = drill.repeats.most
        if most is not None and len(runs) > most:
            text = f"{words.drill(drill.id)} runs {say.count(len(runs), 'time')} in the block; the limit is {most}."
            yield Breach("H15", text, drill=drill.id)
        yield from _too_near(drill, runs, words)


def _too_near(drill: Drill, runs: Sequence[Run], words: Words) -> Iterator[Breach]:
    on = {run.session.date: run.session for run in runs}
    for before, after in pairwise(sorted(on)):
        gap, wanted = (after - before).days, drill.repeats.gap_days
        if gap < wanted:
            text = (
                f"{words.drill(drill.id)} runs on {words.session(on[before].id)} and on {words.session(on[after].id)}, "
                f"{say.count(gap, 'day')} apart; it has to be {wanted} at least."
            )
            yield Breach("H15", text, on[after].id, drill=drill.id)


def kept_apart(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H16: pairs who never share a station, or none with contact."""
    for pair in sheet.problem.apart:
        for run in sheet.runs:
            together = set(pair.players) <= set(run.station.players)
            if together and not (pair.contact_only and run.drill.kind is Contact.NONE):
                first, second = map(words.player, pair.players)
                in_contact = " in contact" if pair.contact_only else ""
                text = f"{first} and {second} are kept apart{in_contact}, but both stand at"
                yield at(run, "H16", f"{text} {words.station(run.station)}.", pair.players[1])


def units_kept(sheet: Sheet, words: Words) -> Iterator[Breach]:
    """H17: a station with players of one unit only, or with enough of each."""
    for run in sheet.runs:
        if (units := run.drill.units) is not None:
            yield from (_parted if units.keep is Keep.TOGETHER else _mixed)(sheet, run, units, words)


def _parted(sheet: Sheet, run: Run, units: Units, words: Words) -> Iterator[Breach]:
    found = {units.of(sheet.problem.player(player)) for player in run.station.players} - {None}
    if len(found) > 1:
        named = say.listed(words.other(role) for role in units.roles if role in found)
        yield at(run, "H17", f"{words.station(run.station)} keeps units to themselves, but has {named}.")


def _mixed(sheet: Sheet, run: Run, units: Units, words: Words) -> Iterator[Breach]:
    there = [sheet.problem.player(player) for player in set(run.station.players)]
    for role in units.roles:
        have = sum(role in player.roles for player in there)
        if have < units.least:
            wanted = f"{units.least} of role {words.other(role)}"
            yield at(run, "H17", f"{words.station(run.station)} mixes units and needs {wanted}, but has {have}.")


def _by_session(sheet: Sheet) -> list[tuple[Session, list[Run]]]:
    found: dict[str, list[Run]] = defaultdict(list)
    for run in sheet.runs:
        found[run.session.id].append(run)
    return [(sheet.problem.session(session), runs) for session, runs in found.items()]


WISH_RULES: tuple[Rule, ...] = (
    few_themes,
    nothing_new,
    fresh_first,
    hard_rows,
    repeats_in_the_block,
    kept_apart,
    units_kept,
)
