"""Single sessions: adding, changing, moving, calling off, and their slots.

What is past stays as it was, save for its notes. Stations never lose their slot without a word: a change that
would touch them is refused, or takes them off only when asked to, as an edit that can be undone.

All verbs raise Refused, with sentences for the person who asked, when nothing was written. `today` is a day in
the club's zone; `version` the plan_version of the session that the person saw.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.calendar_actions import save_or_refuse
from planner.called_off import home_of
from planner.changes import Refused, hold, keep, refuse_confirmed, refuse_told
from planner.core.calendar import at_wall_time
from planner.models import Block, Session, Slot, Station, TrainingNight
from planner.night_models import FellOut
from planner.programme import Programme, standing_in
from planner.record_models import Account
from planner.rpe_days import loads_follow
from planner.slot_plans import SlotPlan, refuse_slots
from planner.turns import take_turn
from shared import audit
from shared.clock import WallTime
from shared.models import User
from squads.models import Squad

OUT_OF_THE_WAY = 1000  # above any order of a slot, while slots change places


@dataclass(frozen=True, slots=True)
class SlotEdit:
    """A slot as it should be; `slot` is the key of the one that exists, None for one more."""

    plan: SlotPlan
    slot: int | None = None


@transaction.atomic
def add_session(
    *, squad: Squad, starts_at: dt.datetime, slots: Sequence[SlotPlan], by: User, today: dt.date, **details: Any
) -> Session:
    """A session of its own, beside those of the nights."""
    refuse_slots(slots)
    session = Session(squad=squad, starts_at=starts_at, **details)
    refuse_day(session.starts.date(), today)
    save_or_refuse(session, at_that_time())
    Slot.objects.bulk_create(plan.slot_in(session, order) for order, plan in enumerate(slots))
    audit.record(squad.club, "added session", session, by=by, starts=starts_at.isoformat())
    return session


@transaction.atomic
def change_session(*, session: Session, by: User, version: int, today: dt.date, **details: Any) -> Session:
    """Everything but its time and its slots: place, people, kit, aims, notes. At another venue its wall time stays; a
    session that is past goes to none where that would be another moment."""
    session = held(session, version)
    starts = session.starts
    changed = sorted(name for name, value in details.items() if getattr(session, name) != value)
    for name in changed:
        setattr(session, name, details[name])
    if changed:
        if "where" in changed:
            keep_wall_time(session, starts, today)
        session.plan_version += 1
        save_or_refuse(session, at_that_time())
        audit.record(session.squad.club, "changed session", session, by=by, fields=changed)
    return session


def keep_wall_time(session: Session, starts: WallTime, today: dt.date) -> None:
    if session.zone == starts.tzinfo:
        return
    moment = at_wall_time(starts.date(), starts.time(), session.zone)
    if moment != session.starts_at:
        refuse_past(session, today)
        session.starts_at = moment


@transaction.atomic
def move_session(
    *,
    session: Session,
    starts_at: dt.datetime,
    by: User,
    version: int,
    today: dt.date,
    drop_plan: bool = False,
    keep_plan: bool = False,
) -> Session:
    """To another time. To another day its stations come along only if asked: they were worked out for the old one.

    `drop_plan` takes the stations off first, as a change of the block that can be undone; `keep_plan` moves them
    as they are, for somebody who has seen what they break on the new day.
    """
    take_turn(session.squad)
    session = held_with_block(session, version) if drop_plan else held(session, version)
    refuse_past(session, today)
    was, old_day = session.starts_at, session.day
    new_day = starts_at.astimezone(session.zone).date()
    refuse_day(new_day, today)
    if new_day != old_day and not keep_plan and count_of_stations(session):
        if not drop_plan:
            raise Refused(stations_stay(session))
        take_stations_off(session, by)
    session.starts_at = starts_at
    session.plan_version = F("plan_version") + 1
    with loads_follow(session.squad, Session.objects.filter(pk=session.pk)):
        save_or_refuse(session, at_that_time())
    session.refresh_from_db()
    audit.record(session.squad.club, "moved session", session, by=by, was=was.isoformat(), now=starts_at.isoformat())
    return session


@transaction.atomic
def cancel_session(*, session: Session, by: User, today: dt.date) -> Session:
    """It does not take place, and counts nowhere. Its programme is kept, should it be put back."""
    take_turn(session.squad)
    return set_cancelled(held(session), True, "cancelled session", by, today)


@transaction.atomic
def restore_session(*, session: Session, by: User, today: dt.date) -> Session:
    """It takes place after all, with what stood in it. Where its night has ended, in another that runs then, if any."""
    take_turn(session.squad)
    session = held(session)
    return put_back(session, home_of(session), by, today)


def put_back(session: Session, night: TrainingNight | None, by: User, today: dt.date) -> Session:
    """A session that is held. `night`: the one that it belongs to from now on, if that is another one."""
    return set_cancelled(session, False, "restored session", by, today, night)


def set_cancelled(
    session: Session, cancelled: bool, did: str, by: User, today: dt.date, night: TrainingNight | None = None
) -> Session:
    refuse_past(session, today)
    if session.cancelled != cancelled:
        session.cancelled = cancelled
        if night:
            session.night, session.pattern_day = night, session.day
        session.plan_version += 1
        with loads_follow(session.squad, Session.objects.filter(pk=session.pk)):
            session.save()
        if cancelled:  # by hand, so that no break that goes brings it back
            FellOut.objects.filter(session=session).delete()
        audit.record(session.squad.club, did, session, by=by)
    return session


@transaction.atomic
def edit_slots(
    *,
    session: Session,
    slots: Sequence[SlotEdit],
    by: User,
    version: int,
    today: dt.date,
    let_go: bool = False,
) -> Session:
    """Exactly these slots in this order. One that holds stations must be among them, planned and as long as it was.

    `let_go`: it may be shorter, whatever its drills take, until the night is dealt again; and its stations are taken
    off with it, as a change of the block, if it is not among them or holds fixed content.
    """
    session = held_with_block(session, version) if let_go else held(session, version)
    refuse_past(session, today)
    refuse_slots([edit.plan for edit in slots])
    known = {slot.pk: slot for slot in session.slots.all()}
    kept = {edit.slot: edit.plan for edit in slots if edit.slot is not None}
    if kept.keys() - known.keys() or len(kept) < sum(edit.slot is not None for edit in slots):
        raise Refused(_("A slot of this form is no longer there. Open the form again."))
    if let_go:
        let_stations_go(session, {key for key in known if key not in kept or kept[key].title}, by)
    else:
        refuse_loss(known, kept, stations_by_slot(session))
    before = [SlotPlan.of(slot) for slot in known.values()]
    write_slots(session, slots, known)
    Session.objects.filter(pk=session.pk).update(plan_version=F("plan_version") + 1)
    after = [edit.plan for edit in slots]
    detail = {"before": [plan.to_json() for plan in before], "after": [plan.to_json() for plan in after]}
    audit.record(session.squad.club, "changed slots", session, by=by, **detail)
    return session


def refuse_loss(known: Mapping[int, Slot], kept: Mapping[int, SlotPlan], stations: Mapping[int, int]) -> None:
    reasons = []
    for number, slot in enumerate(known.values(), start=1):
        plan, holds = kept.get(slot.pk), stations.get(slot.pk, 0)
        if holds and (plan is None or plan.title or plan.minutes != slot.minutes):
            reasons.append(
                ngettext(
                    "Slot %(number)d (%(minutes)d min) holds %(count)d station: it stays planned and as long as it is. "
                    "Take the station off on the week page first, or let go what stands in it.",
                    "Slot %(number)d (%(minutes)d min) holds %(count)d stations: it stays planned and as long as it "
                    "is. Take the stations off on the week page first, or let go what stands in it.",
                    holds,
                )
                % {"number": number, "minutes": slot.minutes, "count": holds}
            )
    if reasons:
        raise Refused(*reasons)


def write_slots(session: Session, edits: Sequence[SlotEdit], known: Mapping[int, Slot]) -> None:
    kept = {edit.slot for edit in edits}
    session.slots.exclude(pk__in=[key for key in kept if key]).delete()
    session.slots.update(order=F("order") + OUT_OF_THE_WAY)
    for order, edit in enumerate(edits):
        slot = edit.plan.slot_in(session, order)
        slot.pk = edit.slot
        slot.save(force_update=edit.slot is not None, force_insert=edit.slot is None)


# What the verbs ask


def held(session: Session, version: int | None = None) -> Session:
    """The session as it stands now, its row locked until the transaction ends."""
    rows = Session.objects.select_for_update(of=("self",)).select_related("squad__club")
    session = rows.get(pk=session.pk)
    if version is not None and session.plan_version != version:
        raise Refused(
            _("Somebody has changed this session since you opened it. Nothing was written: look at it, then try again.")
        )
    return session


def held_with_block(session: Session, version: int) -> Session:
    """And the block that it stands in locked before it, for whoever takes stations off."""
    block = Block.objects.holding(session)
    if block:
        hold(block)
    return held(session, version)


def refuse_past(session: Session, today: dt.date) -> None:
    """Nor does a night move, end or change its slots of which somebody has told what ran."""
    refuse_confirmed(session)
    refuse_told(Account.objects.filter(session=session))
    if session.day < today:
        raise Refused(_("%(session)s is past and stays as it was.") % {"session": session})


def refuse_day(day: dt.date, today: dt.date) -> None:
    if day < today:
        raise Refused(_("%(day)s is past: sessions are set for today or later.") % {"day": date_format(day, "D j M Y")})


def at_that_time() -> str:
    return _("The squad has another session at that very time, perhaps a cancelled one. Change its time or this one's.")


def stations_by_slot(session: Session) -> Counter[int]:
    return Counter(Station.objects.filter(slot__session=session).values_list("slot_id", flat=True))


def count_of_stations(session: Session) -> int:
    return stations_by_slot(session).total()


def stations_stay(session: Session) -> str:
    count = count_of_stations(session)
    return ngettext(
        "It holds %(count)d station that was planned for %(day)s. Have it taken off, then plan the new day.",
        "It holds %(count)d stations that were planned for %(day)s. Have them taken off, then plan the new day.",
        count,
    ) % {"count": count, "day": date_format(session.day, "D j M Y")}


def take_stations_off(session: Session, by: User) -> None:
    let_stations_go(session, set(session.slots.values_list("pk", flat=True)), by)


def let_stations_go(session: Session, slots: Collection[int], by: User) -> None:
    block = Block.objects.holding(session)
    if block is None:
        Station.objects.filter(slot__in=slots).delete()
        return
    programme = standing_in(hold(block))
    left = Programme(tuple(station for station in programme.stations if station.slot not in slots))
    keep(block, programme, left, _("%(session)s laid out anew") % {"session": session}, by)
