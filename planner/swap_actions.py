"""Settling groups that swap stations, and ending it.

The rounds are written as stations of the night, one slot for each, so that contact, skills, the record and every paper
count them as they count any station. That a drill runs more than once a night (H8) is what swapping means; every other
rule of the referee that protects a player holds for it, and what breaks one is not written. Nor is what somebody has
told in the record dealt anew or taken off.

Both verbs lock the block first and the night after it, so that neither waits for the other in a circle.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping

from django.db import transaction
from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _

from planner.attendance import slots_missed, words_of
from planner.build import BuiltProblem, player_id, problem_of, session_id
from planner.building.nights import begun_in
from planner.changes import Refused, hold, put_in_place, refuse_confirmed, refuse_told
from planner.core.check import breaches
from planner.core.rotation import Round, change_overs
from planner.models import Block, Session, Slot
from planner.programme import Programme, StationState, standing_in
from planner.record_models import Account
from planner.session_actions import SlotEdit, held, write_slots
from planner.slot_plans import SlotPlan, refuse_slots
from planner.swap_models import Swap, swaps_of
from planner.swapping import Proposed, bare_gaps, changes_between, round_of
from planner.tonight_actions import refuse_other_days
from shared import audit
from shared.clock import clock_at
from shared.models import User

# Room, coaches and kit (H3) are those of the groups as they are dealt, which the rotation has counted.
PROTECTS = {"H1", "H2", "H4", "H5", "H6", "H7", "H9", "H16"}


@transaction.atomic
def settle_swap(*, proposed: Proposed, by: User, today: dt.date | None = None, now: dt.datetime | None = None) -> Swap:
    """The night runs these rounds from now on. Raises Refused with every reason against it."""
    session = proposed.evening.session
    clock = clock_at(session.squad.club, today, now)
    refuse_other_days(session, clock["today"])
    if proposed.troubles or not proposed.rotation.rounds:
        raise Refused(*(proposed.troubles or [_("Choose at least one card to swap.")]))
    block = hold(Block.objects.holding(session))
    session = held(session, session.plan_version)
    refuse_confirmed(session)
    # From the first round on: with more or fewer slots all that come later move as well.
    refuse_told(Account.objects.filter(session=session, order__gte=proposed.slots[0].order))
    before = problem_of(block, **clock, as_it_stands=True)
    old = {breach.text for breach in breaches(before.problem, before.standing, before.words)}
    unsettle(session, by)  # so that the rounds are judged like a plan
    slots = cut_again(proposed, session, block)
    programme = standing_in(block)
    put_in_place(programme, programme.joined_to(Programme(tuple(states(proposed, session, slots)))))
    refuse_harm(problem_of(block, **clock, as_it_stands=True), session, old, in_contact(proposed))
    return note(session, proposed, slots, by)


def cut_again(proposed: Proposed, session: Session, block: Block) -> list[int]:
    """The chosen slots, empty, one for each round with changes between them; returns their keys in order."""
    evening, rounds = proposed.evening, len(proposed.rotation.rounds)
    chosen, minutes = [slot.pk for slot in evening.slots], proposed.asked.minutes
    standing = standing_in(block)
    put_in_place(standing, standing.outside_slots(chosen))
    bare = bare_gaps(evening, rounds)
    pauses = dict(zip(bare, change_overs(len(bare) + 1, proposed.asked.change), strict=True))
    own = {slot.pk for slot in changes_between(evening)}
    edits = list(cut(session.slots.all(), chosen, own, rounds, minutes, pauses))
    refuse_slots([edit.plan for edit in edits])
    write_slots(session, edits, {})
    keys = dict(session.slots.order_by("order").values_list("order", "pk"))
    return [keys[order] for order, edit in enumerate(edits) if is_round(edit, chosen)]


def is_round(edit: SlotEdit, chosen: Collection[int]) -> bool:
    return not edit.plan.title and (edit.slot is None or edit.slot in chosen)


def cut(
    slots: Iterable[Slot],
    chosen: list[int],
    own: Collection[int],
    rounds: int,
    minutes: int,
    pauses: Mapping[int, int],
) -> Iterator[SlotEdit]:
    """The night's slots with so many rounds in place of the chosen ones; `pauses`: minutes after a round by number."""
    done = 0
    for slot in slots:
        if slot.pk in own:
            continue
        if slot.pk not in chosen:
            yield SlotEdit(SlotPlan.of(slot), slot.pk)
            continue
        count = rounds - done if slot.pk == chosen[-1] else min(1, rounds - done)
        for n in range(count):
            yield SlotEdit(SlotPlan(minutes), None if n else slot.pk)
            if pauses.get(done):
                yield SlotEdit(SlotPlan(pauses[done], _("Change")))
            done += 1


def states(proposed: Proposed, session: Session, slots: list[int]) -> Iterator[StationState]:
    """A station for each stand of each round, with those who take part in it and see all of it."""
    words = words_of([session])
    missed = {
        int(person.id): {slot.pk for slot in slots_missed(session, words.get((int(person.id), session.pk)))}
        for group in proposed.rotation.groups
        for person in group.people
    }
    for slot, stands in zip(slots, proposed.rotation.rounds, strict=True):
        coaches = coaches_of(stands, proposed, session.coach_names)
        for order, stand in enumerate(stands):
            drill = proposed.drills[stand.card.id]
            there = (int(person.id) for person in stand.workers)
            players = tuple(sorted(player for player in there if slot not in missed[player]))
            yield StationState(session.pk, slot, order, drill.pk, drill.version, coaches[order], False, players)


def coaches_of(stands: Round, proposed: Proposed, names: list[str]) -> list[str]:
    """Names in their order, as many at each stand as its card asks for; where they run out, nobody by name."""
    free, found = list(names), []
    for stand in stands:
        wanted = max(1, proposed.drills[stand.card.id].coaches)
        found.append(", ".join(free[:wanted])[:80])
        free = free[wanted:]
    return found


def in_contact(proposed: Proposed) -> set[str]:
    """Who takes part in contact of any kind, by the ids of the problem."""
    stands = (stand for stands in proposed.rotation.rounds for stand in stands if stand.card.in_pairs)
    return {player_id(int(person.id)) for stand in stands for person in stand.workers}


def refuse_harm(built: BuiltProblem, session: Session, old: Collection[str], contact: Collection[str]) -> None:
    """What the rounds break of the rules that protect players.

    What was broken just so before is left out, unless it is about somebody who is given contact by them.
    """
    reasons = [
        breach.text
        for breach in breaches(built.problem, built.standing, built.words)
        if breach.rule in PROTECTS
        and (breach.session == session_id(session.pk) or breach.session is None)
        and (breach.text not in old or breach.player in contact)
    ]
    if reasons:
        raise Refused(*dict.fromkeys(reasons))


def note(session: Session, proposed: Proposed, slots: list[int], by: User) -> Swap:
    rounds = proposed.rotation.rounds
    swap = Swap.objects.create(
        session=session,
        minutes=proposed.asked.minutes,
        groups=proposed.groups,
        rounds=[round_of(slot, stands) for slot, stands in zip(slots, rounds, strict=True)],
        by=by,
        by_name=str(by)[:150],
    )
    sizes = [len(group) for group in swap.groups]
    audit.record(session.squad.club, "settled groups that swap", session, by=by, groups=sizes, minutes=swap.minutes)
    return swap


def unsettle(session: Session, by: User) -> None:
    if session.pk in swaps_of([session]):
        Swap.objects.create(session=session, by=by, by_name=str(by)[:150])


@transaction.atomic
def end_swap(*, session: Session, by: User, today: dt.date | None = None, now: dt.datetime | None = None) -> None:
    """Nobody swaps any more: what has not begun of it is empty, to be dealt again."""
    clock = clock_at(session.squad.club, today, now)
    refuse_other_days(session, clock["today"])
    block = hold(Block.objects.holding(session))
    session = held(session)
    refuse_confirmed(session)
    swap = swaps_of([session]).get(session.pk)
    if swap is None:
        raise Refused(_("No groups swap on this night."))
    prefetch_related_objects([session], "slots")
    ahead = set(swap.slots) - begun_in([session], clock["now"])
    refuse_told(Account.objects.filter(slot__in=ahead))
    standing = standing_in(block)
    put_in_place(standing, standing.outside_slots(ahead))
    unsettle(session, by)
    audit.record(session.squad.club, "ended groups that swap", session, by=by)
