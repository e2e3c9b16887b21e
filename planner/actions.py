"""Every change of a programme: edits by hand, runs asked for and accepted, and taking a change back.

An edit returns a Verdict: with breaches nothing was written. `version` is the plan_version of the session
that the person saw, `today` a day in the club's zone. All verbs raise Refused when there is nothing to judge.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import asdict, replace
from typing import Any
from zlib import crc32

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.build import BuiltProblem, drill_id, is_ran, key_of, problem_of, session_id
from planner.building.nights import begun_in
from planner.changes import Refused, edit, hold, keep, put_in_place
from planner.core import problem as core
from planner.core.compare import Standing
from planner.core.writing import plain
from planner.models import Block, PlanChange, PlanRun, Slot, Station
from planner.programme import Programme, StationState, is_still_possible, sessions_of, standing_in
from planner.settling import proposal, split_by_attendance, stations_of
from planner.swap_models import swaps_of
from planner.verdicts import Verdict
from shared import audit, jobs
from shared.clock import clock_at
from shared.models import JobState, User
from squads.models import Player

__all__ = [
    "Refused", "Verdict", "accept_run", "add_station", "lock_station", "move_player", "place_players",
    "record_best", "remove_station", "set_coach", "start_run", "swap_drill", "undo", "unlock_station",
]  # fmt: skip

LONGEST_RUN = 3000  # seconds: a job is taken to hang after an hour


# Edits by hand


@transaction.atomic
def swap_drill(*, station: Station, drill: Drill, by: User, version: int, today: dt.date | None = None) -> Verdict:
    """Another drill at a station, with the same coach, letter and players, less those who are away by now."""

    def swapped(built: BuiltProblem) -> Programme:
        state = state_of(station, built)
        refuse_drill(drill, station.slot_id, built)
        return with_drill(state, drill, built)

    what = _("%(old)s replaced by %(new)s") % {"old": station.drill, "new": drill}
    return edit(station.slot, swapped, what, by=by, version=version, today=today)


@transaction.atomic
def add_station(
    *,
    slot: Slot,
    drill: Drill,
    players: Collection[Player] | None = None,
    by: User,
    version: int,
    today: dt.date | None = None,
) -> Verdict:
    """One more drill in a slot. Without players it takes those who stand idle there and fit, in squad order."""

    def added(built: BuiltProblem) -> Programme:
        refuse_drill(drill, slot.pk, built)
        keys = idle_for(drill, slot, built) if players is None else [player.pk for player in players]
        letter = max((state.order for state in built.programme.in_slot(slot.pk)), default=-1) + 1
        state = StationState(slot.session_id, slot.pk, letter, drill.pk, drill.version, "", False, ())
        return built.programme.lifted(keys, slot.pk).put(with_players(state, keys))

    return edit(slot, added, _("%(drill)s added") % {"drill": drill}, by=by, version=version, today=today)


@transaction.atomic
def remove_station(*, station: Station, by: User, version: int, today: dt.date | None = None) -> Verdict:
    def removed(built: BuiltProblem) -> Programme:
        return built.programme.without(state_of(station, built).spot)

    what = _("%(drill)s removed") % {"drill": station.drill}
    return edit(station.slot, removed, what, by=by, version=version, today=today)


@transaction.atomic
def move_player(
    *, player: Player, slot: Slot, to: Station | None, by: User, version: int, today: dt.date | None = None
) -> Verdict:
    """A player to another station of the slot, or to none."""

    def moved(built: BuiltProblem) -> Programme:
        lifted = built.programme.lifted([player.pk], slot.pk)
        if to is None:
            return lifted
        state = lifted.by_spot[state_of(to, built).spot]
        return lifted.put(with_players(state, (*state.players, player.pk)))

    target = to.drill if to else _("no station")
    what = _("%(player)s moved to %(target)s") % {"player": player, "target": target}
    return edit(slot, moved, what, by=by, version=version, today=today)


@transaction.atomic
def place_players(
    *, station: Station, players: Collection[Player], by: User, version: int, today: dt.date | None = None
) -> Verdict:
    """Exactly these players at the station: they leave the slot's others, and who is not named stands idle."""

    def placed(built: BuiltProblem) -> Programme:
        keys = [player.pk for player in players]
        lifted = built.programme.lifted(keys, station.slot_id)
        return lifted.put(with_players(lifted.by_spot[state_of(station, built).spot], keys))

    what = _("players chosen for %(drill)s") % {"drill": station.drill}
    return edit(station.slot, placed, what, by=by, version=version, today=today)


@transaction.atomic
def lock_station(*, station: Station, by: User, version: int, today: dt.date | None = None) -> Verdict:
    """Keep the station with its players through every later run."""
    return _mark(station, _("%(drill)s locked"), by, version, today, locked=True)


@transaction.atomic
def unlock_station(*, station: Station, by: User, version: int, today: dt.date | None = None) -> Verdict:
    return _mark(station, _("%(drill)s unlocked"), by, version, today, locked=False)


@transaction.atomic
def set_coach(*, station: Station, coach: str, by: User, version: int, today: dt.date | None = None) -> Verdict:
    coach, longest = coach.strip(), Station._meta.get_field("coach").max_length
    if len(coach) > longest:
        raise Refused(_("A coach's name has at most %(count)d letters.") % {"count": longest})
    return _mark(station, _("coach of %(drill)s set"), by, version, today, coach=coach)


def _mark(station: Station, what: str, by: User, version: int, today: dt.date | None, **marks: bool | str) -> Verdict:
    def marked(built: BuiltProblem) -> Programme:
        return built.programme.put(replace(state_of(station, built), **marks))

    return edit(station.slot, marked, what % {"drill": station.drill}, by=by, version=version, today=today)


def state_of(station: Station, built: BuiltProblem) -> StationState:
    state = built.programme.by_spot.get((station.slot_id, station.drill_id))
    if state is None:
        raise Refused(_("That station is no longer there. Nothing was written."))
    return state


def with_drill(state: StationState, drill: Drill, built: BuiltProblem) -> Programme:
    """The programme with that drill in place of the station's own."""
    there = tuple(player for player in state.players if built.is_there(player, state.slot))
    station = replace(state, drill=drill.pk, version=drill.version, players=there)
    return built.programme.without(state.spot).put(station)


def with_players(state: StationState, players: Collection[int]) -> StationState:
    return replace(state, players=tuple(sorted(set(players))))


def refuse_drill(drill: Drill, slot: int, built: BuiltProblem) -> None:
    if (slot, drill.pk) in built.programme.by_spot:
        raise Refused(_("%(drill)s already stands in this slot.") % {"drill": drill})
    if drill.retired_on or not any(each.id == drill_id(drill.pk) for each in built.problem.drills):
        raise Refused(
            _(
                "%(drill)s cannot be planned here: it is retired, left out of this block, meant for older players, "
                "or needs more kit or grass than any night has."
            )
            % {"drill": drill}
        )


def idle_for(drill: Drill, slot: Slot, built: BuiltProblem) -> list[int]:
    """Who stands at no station of the slot and may do the drill, at most as many as it takes."""
    problem, session = built.problem, session_id(slot.session_id)
    wanted = problem.drill(drill_id(drill.pk))
    busy = {player for state in built.programme.in_slot(slot.pk) for player in state.players}
    idle = (
        key_of(player.id)
        for player in problem.players
        if player.has(wanted.roles) and problem.ceiling(player.id, session).allows(wanted.kind)
    )
    return [key for key in idle if key not in busy and built.is_there(key, slot.pk)][: wanted.players[1]]


# Runs


@transaction.atomic
def start_run(
    *,
    block: Block,
    seconds: int,
    by: User,
    around: PlanRun | None = None,
    today: dt.date | None = None,
    now: dt.datetime | None = None,
) -> PlanRun:
    """Ask for a plan of the block's open nights; its message leaves when the transaction is committed.

    It begins with the programme that stands. `around` a run it begins with that run's plan, and what is marked
    there to keep is locked.
    """
    if not 1 <= seconds <= LONGEST_RUN:
        raise Refused(_("A run takes 1 to %(most)d seconds.") % {"most": LONGEST_RUN})
    block = idle(block)
    built, start = problem_of(block, **clock_at(block.squad.club, today, now)), None
    if around is not None:
        built, start = with_locks(built, around), around.plan["stations"]
    if reasons := [*hopeless(built), *locks_that_clash(built)]:
        raise Refused(*reasons)
    kept = around.kept if around else []
    return ask_run("planner.tasks.run_plan", block, built, by, seconds=seconds, kept=kept, start=start)


def idle(block: Block) -> Block:
    """The block with its row locked, and no run of it under way."""
    block = hold(block)
    if block.runs.filter(job__state__in=[JobState.QUEUED, JobState.RUNNING]).exists():
        raise Refused(_("A run for this block is already under way. Wait for it, or cancel it."))
    return block


def ask_run(task: str, block: Block, built: BuiltProblem, by: User, **fields: Any) -> PlanRun:
    """A run and its job; unless it is told another, its start is the programme that stands."""
    start = fields.pop("start", None)
    fields["start"] = plain(built.standing) if start is None else start
    run = PlanRun.objects.create(block=block, problem=built.problem.to_json(), made_by=by, **fields)
    run.job = jobs.ask(task, club=block.squad.club, by=by, run=str(run.pk))
    run.save(update_fields=["job"])
    audit.record(block.squad.club, "started run", block, by=by, kind=str(run.kind), seconds=run.seconds)
    return run


def with_locks(built: BuiltProblem, run: PlanRun) -> BuiltProblem:
    """The problem with a lock on what is marked to keep in the run's plan, as far as it is still there."""
    marked, known = {(slot, drill) for slot, drill in run.kept}, {drill.id for drill in built.problem.drills}
    slots = built.slots
    held = [
        station
        for station in stations_of(run.plan["stations"])
        if not is_ran(station.drill) and station.drill in known
        if (slots.get((station.session, station.slot)), key_of(station.drill)) in marked
    ]
    here, _away = split_by_attendance(held, built)
    standing = {(lock.session, lock.slot, lock.drill) for lock in built.problem.locks}
    more = [
        core.Lock(station.session, station.slot, station.drill, station.players)
        for station in here
        if (station.session, station.slot, station.drill) not in standing
    ]
    return replace(built, problem=replace(built.problem, locks=(*built.problem.locks, *more)))


def hopeless(built: BuiltProblem) -> list[str]:
    """Why no plan can come of this, in sentences; empty if one can."""
    if not built.open_sessions:
        return [_("No night of this block is left to plan. Lay out its sessions in the calendar, with slots to plan.")]
    if not built.problem.players:
        return [_("Nobody of the squad can come to any night of this block. Add players, or look at who is away.")]
    if not built.problem.drills:
        return [_("No drill can be planned here. Add the starter library, or see whether kit or ground is short.")]
    return []


def locks_that_clash(built: BuiltProblem) -> list[str]:
    """A plan without stations always exists, so without locks there is nothing to look for."""
    if len(built.problem.locks) == len(built.past):
        return []
    from planner.core.clash import clash  # loads OR-Tools, which few requests need

    found = clash(built.problem, words=built.words)
    return [found.text] if found else []


def record_best(
    *, run: PlanRun, problem: core.Problem, stations: Collection[core.Station], bound: float, seconds: float
) -> None:
    """The best plan so far, what it leaves open in the coach's units, and one more point of the line."""
    standing = Standing.of(problem, stations)
    figures = standing.figures
    run.plan = core.Plan(problem.name, tuple(stations), cost=figures.cost, bound=bound, seconds=seconds).to_json()
    run.cost, run.bound = asdict(figures), bound
    run.trace = [*run.trace, [round(seconds, 2), figures.cost, round(bound, 2)]]
    run.save(update_fields=["plan", "cost", "bound", "trace"])


@transaction.atomic
def accept_run(
    *,
    run: PlanRun,
    by: User,
    seen: str | None = None,
    today: dt.date | None = None,
    now: dt.datetime | None = None,
) -> list[str]:
    """Make the run's plan the programme of the open nights, after a look at the problem as it is now.

    `seen` is the stamp of what stood when the person looked. Returns what had to be left out, in sentences:
    nights that are past by now, players who are away by now. Raises Refused when the rest no longer fits, or
    something else stands by now; locked stations stay as they are.
    """
    if not run.plan:
        raise Refused(_("This run has no plan to accept."))
    block = hold(run.block)
    refuse_unseen(block, seen)
    built = problem_of(block, **clock_at(block.squad.club, today, now), as_it_stands=True)
    found = proposal(run, built)
    if found.misfits:
        lead = _("Something has changed since this run, and its plan no longer fits. Plan again. What does not fit:")
        raise Refused(lead, *found.misfits)
    what = _("dealt again after a change") if run.is_redeal else _("plan of the whole block accepted")
    keep(block, built.programme, found.programme, what, by, whole=not run.is_redeal)
    run.accepted_at, run.accepted_by, run.dropped_at = timezone.now(), by, None
    run.save(update_fields=["accepted_at", "accepted_by", "dropped_at"])
    return found.left_out


def stamp_of(block: Block) -> str:
    """Another one after every change of a night of the block, however small."""
    versions = sessions_of(block).order_by("pk").values_list("pk", "plan_version")
    return f"{crc32(repr(list(versions)).encode()):08x}"


def refuse_unseen(block: Block, seen: str | None) -> None:
    if seen is not None and seen != stamp_of(block):
        raise Refused(
            _(
                "Somebody has changed a night of this block since you opened the page. Nothing was written: look at "
                "what the plan would replace now, then choose."
            )
        )


# Taking back


@transaction.atomic
def undo(
    *,
    block: Block,
    by: User,
    change: int | None = None,
    today: dt.date | None = None,
    now: dt.datetime | None = None,
) -> PlanChange:
    """Put back what stood before the last change that is not undone yet, where nothing has begun yet.

    `change` is the key of the change that the person saw as the last; another one now is refused.
    """
    block = hold(block)
    last = last_change(block, change)
    put_in_place(*what_undo_replaces(block, last, **clock_at(block.squad.club, today, now)))
    last.undone_at = timezone.now()
    last.save(update_fields=["undone_at"])
    audit.record(block.squad.club, "undid change", block, by=by, what=last.what)
    return last


def last_change(block: Block, seen: int | None = None) -> PlanChange:
    """The one that would be undone first."""
    last = block.changes.filter(undone_at=None).first()
    if last is None:
        raise Refused(_("There is nothing to undo in this block."))
    if seen is not None and seen != last.pk:
        raise Refused(_("Somebody has made another change since: %(what)s. Nothing was undone.") % {"what": last.what})
    return last


def what_undo_replaces(
    block: Block, last: PlanChange, today: dt.date, now: dt.datetime | None = None
) -> tuple[Programme, Programme]:
    """What stands on the nights of the change that are still open, less what has begun, and what stood there before."""
    still_open = sessions_of(block).filter(pk__in=last.before["sessions"], day__gte=today)
    still_open = still_open.filter(confirmations__isnull=True)
    sessions = {session.pk: session for session in still_open.prefetch_related("slots")}
    if not sessions:
        raise Refused(_("“%(what)s” concerns past nights only: they stay as they were.") % {"what": last.what})
    begun = begun_in(sessions.values(), now, swaps_of(sessions.values()))
    sides = (Programme.from_json(side["stations"]) for side in (last.before, last.after))
    before, after, standing = (side.of_sessions(sessions).outside_slots(begun) for side in (*sides, standing_in(block)))
    if standing != after or not is_still_possible(before):
        raise Refused(
            _("“%(what)s” cannot be undone: the night, a drill or a player has been changed elsewhere since.")
            % {"what": last.what}
        )
    return after, before
