"""Dealing again after a change, marking what to keep of a proposed plan, leaving a proposal aside.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from drills.models import Drill
from planner.actions import ask_run, hopeless, idle, refuse_drill, refuse_unseen
from planner.build import BuiltProblem, drill_id, problem_of
from planner.changes import Refused
from planner.core import problem as core
from planner.mending import in_the_dark
from planner.models import Block, PlanRun, RunKind, Session, Station
from planner.programme import Spot
from planner.settling import versions_now
from planner.wish_models import BlockWishes, DrillWish
from shared import audit
from shared.clock import clock_at
from shared.models import User

QUICK = 1  # seconds, as the page of the run counts them; the search itself takes less


@dataclass(frozen=True, slots=True)
class Swap:
    """Another drill in place of a station, with whoever suits it best."""

    station: Station
    drill: Drill


@transaction.atomic
def deal_again(
    *,
    block: Block,
    by: User,
    night: Session | None = None,
    slots: Collection[int] = (),
    swap: Swap | None = None,
    ban: Drill | None = None,
    seen: str | None = None,
    today: dt.date | None = None,
    now: dt.datetime | None = None,
) -> PlanRun:
    """Ask for the standing programme with as little changed as the rules of today ask for; what has begun stays.

    `slots` (keys) are dealt anew besides, and `ban` is left out of the block from now on. `night` is where the
    person comes from; `seen` the stamp of what stood when he looked. Nothing changes before the run is accepted.
    """
    block = idle(block)
    refuse_unseen(block, seen)
    if ban is not None:
        leave_out(block=block, drill=ban, by=by)
    built = problem_of(block, **clock_at(block.squad.club, today, now))
    if reasons := hopeless(built):
        raise Refused(*reasons)
    asked: dict[str, object] = {"free": places_of(slots, built), "dark": in_the_dark(built)}
    if night is not None:
        asked["night"] = night.pk
    if swap is not None:
        built = swapped(swap, built)
        asked |= {"swapped": [*built.places[swap.station.slot_id], drill_id(swap.station.drill_id)]}
        asked |= {"instead": swap.drill.pk}
    versions = versions_now(built.open_sessions)
    return ask_run(
        "planner.tasks.deal_again",
        block,
        built,
        by,
        kind=RunKind.REDEAL,
        seconds=QUICK,
        asked=asked,
        versions={f"s{key}": version for key, version in versions.items()},
    )


def places_of(slots: Iterable[int], built: BuiltProblem) -> list[list[str | int]]:
    """Where slots stand in the problem; those that are past or have begun are left out."""
    return [list(built.places[slot]) for slot in slots if built.is_open(slot)]


def swapped(swap: Swap, built: BuiltProblem) -> BuiltProblem:
    """The problem in which the new drill must run, and a lock on the old station no longer holds."""
    slot, old = swap.station.slot_id, drill_id(swap.station.drill_id)
    if not built.is_open(slot) or (slot, swap.station.drill_id) not in built.programme.by_spot:
        raise Refused(_("That station is no longer there, or has begun. Nothing was written."))
    refuse_drill(swap.drill, slot, built)
    place = built.places[slot]
    others = tuple(lock for lock in built.problem.locks if (lock.session, lock.slot, lock.drill) != (*place, old))
    locks = (*others, core.Lock(*place, drill_id(swap.drill.pk)))
    return replace(built, problem=replace(built.problem, locks=locks))


@transaction.atomic
def leave_out(*, block: Block, drill: Drill, by: User) -> None:
    """A wish that the drill does not run in the block; what stands stays until it is dealt again."""
    wishes, _made = BlockWishes.objects.get_or_create(block=block)
    DrillWish.objects.update_or_create(wishes=wishes, drill=drill, defaults={"runs_least": 0, "runs_most": 0})
    one_further(wishes)
    audit.record(block.squad.club, "left out drill", block, by=by, drill=str(drill))


@transaction.atomic
def take_back_in(*, block: Block, drill: Drill, by: User) -> None:
    """What else is wished of the drill stays."""
    for wish in wishes_to_leave_out(block).filter(drill=drill):
        wish.runs_most = None
        if wish.fresh or wish.gap_days or wish.keep:
            wish.save()
        else:
            wish.delete()
        one_further(wish.wishes)
    audit.record(block.squad.club, "took drill back in", block, by=by, drill=str(drill))


def wishes_to_leave_out(block: Block) -> QuerySet[DrillWish]:
    return DrillWish.objects.filter(wishes__block=block, runs_most=0).select_related("drill", "wishes")


def one_further(wishes: BlockWishes) -> None:
    """Whoever has an older page of the wishes open finds out."""
    wishes.version += 1
    wishes.save()


@transaction.atomic
def mark_kept(*, run: PlanRun, spots: Collection[Spot]) -> PlanRun:
    """Exactly these stations of the run's plan are to be kept: accepted they are locked, and planned around."""
    run.kept = sorted(list(spot) for spot in spots)
    run.save(update_fields=["kept"])
    return run


@transaction.atomic
def drop_run(*, run: PlanRun, by: User) -> PlanRun:
    """What stands is kept. The run stays in the list, and can still be accepted."""
    run.dropped_at = timezone.now()
    run.save(update_fields=["dropped_at"])
    audit.record(run.block.squad.club, "left run aside", run.block, by=by, run=str(run))
    return run
