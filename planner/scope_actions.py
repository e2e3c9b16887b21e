"""Changing a night of a season: one session, that and later ones, or all; and ending it from a day on.

All verbs raise Refused, with sentences for the person who asked, when nothing was written. Past, marked and locked
sessions never change; what a session holds instead of its night's own, because somebody changed it by hand, stays.
"""

from __future__ import annotations

import datetime as dt
from copy import copy
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from planner.build import key_of
from planner.calendar_actions import OF_THE_NIGHT
from planner.changes import Refused
from planner.core.scope import Merged, Scope, day_in_week_of
from planner.falling_out import FallingOut, breaks_of, set_cancelled
from planner.falling_out import write as write_falling_out
from planner.models import Session, TrainingNight
from planner.moved_told import Effects, effects_of
from planner.moving import Difference, what_if
from planner.night_models import FellOut
from planner.scope import Asked, Ending, ScopePlan, digest_of, is_past_or_begun, slots_after
from planner.session_actions import SlotEdit, write_slots
from planner.slot_plans import template_of
from planner.turns import take_turn
from shared import audit
from shared.models import User

MOST_ROUNDS = 4  # of taking out sessions whose programme would be broken, before all with stations stay


@transaction.atomic
def look_ahead(*, asked: Asked, by: User, today: dt.date, was: str | None = None) -> tuple[ScopePlan, Effects]:
    """What the change would do, tried and taken back. Refused as by change_night."""
    plan, difference = settled(held(asked, was), by, today)
    refuse_out_of_reach(plan)
    return plan, effects_of(difference)


@transaction.atomic
def change_night(
    *, asked: Asked, by: User, today: dt.date, was: str | None = None, seen: str | None = None
) -> ScopePlan:
    """Make the change, or Refused where the night (`was`, its digest) or what changes is not what the person saw."""
    asked = held(asked, was)
    plan, _difference = settled(asked, by, today)
    refuse_out_of_reach(plan)
    if seen is not None and seen != plan.digest:
        raise Refused(_("A session has changed since you saw this. Nothing was written: look through it again."))
    carry_out(plan, by)
    return plan


def refuse_out_of_reach(plan: ScopePlan) -> None:
    if plan.is_out_of_reach:
        raise Refused(_("The night has no day from then on. Choose an earlier day."))


def held(asked: Asked, was: str | None) -> Asked:
    """With the rows as they stand now, and nobody else changing this calendar until the transaction ends."""
    take_turn(asked.night.season.squad)
    night = TrainingNight.objects.select_related("season__squad__club").filter(pk=asked.night.pk).first()
    if night is None or (was is not None and digest_of(night) != was):
        raise Refused(
            _("Somebody has changed this night since you opened it. Nothing was written: look at it, then try again.")
        )
    list(night.sessions.select_for_update(of=("self",)).order_by("pk"))
    return replace(asked, night=night)


def settled(asked: Asked, by: User, today: dt.date) -> tuple[ScopePlan, Difference | None]:
    """What would change and what that does to the weeks around it. A session whose programme would break stays, unless
    it is asked to change all the same.

    Tried and taken back, until no programme breaks that was kept before; nothing is left written.
    """
    if asked.though_broken:
        plan = ScopePlan.of(asked, today)
        return plan, tried(plan, by)
    broken: dict[int, str] = {}
    for _round in range(MOST_ROUNDS):
        plan = ScopePlan.of(asked, today, broken)
        difference = tried(plan, by)
        found = broken_by(plan, difference)
        if not found:
            return plan, difference
        broken |= found
    broken |= {session.pk: _("its programme would be broken") for session, _m in plan.changed if has_stations(session)}
    plan = ScopePlan.of(asked, today, broken)
    return plan, tried(plan, by)


def tried(plan: ScopePlan, by: User) -> Difference | None:
    return what_if(plan.asked.night.season.squad, plan.days, lambda: carry_out(plan, by), plan.today)


def broken_by(plan: ScopePlan, difference: Difference | None) -> dict[int, str]:
    """The first rule that each changed session would newly break, by its key."""
    found: dict[int, str] = {}
    for _block, breach in difference.newly_broken if difference else ():
        key = key_of(breach.session) if breach.session else None
        if key in plan.sorted.changed:
            found.setdefault(key, breach.text)
    return found


def has_stations(session: Session) -> bool:
    return any(slot.stations.all() for slot in session.slots.all())


# Ending a night


@transaction.atomic
def end_night(*, night: TrainingNight, from_day: dt.date, by: User, today: dt.date, was: str | None = None) -> Ending:
    """No more of it from that day on: its sessions are called off and keep their programme.

    A night of which nothing comes before is removed; its sessions stay in the calendar, called off.
    """
    night = held(Asked(night, Scope.LATER, {}), was).night
    ending = Ending.of(night, from_day, today)
    close(ending, by)
    return ending


def close(ending: Ending, by: User) -> None:
    night, last = ending.night, ending.since - dt.timedelta(days=1)
    set_cancelled(ending.off, True)
    FellOut.objects.filter(session__in=ending.reached).delete()
    audit.record(
        night.season.squad.club, "ended night", night, by=by, last=last.isoformat(), called_off=len(ending.off)
    )
    if ending.has_begun:
        TrainingNight.objects.filter(pk=night.pk).update(last_day=last)
    else:
        TrainingNight.objects.filter(pk=night.pk).delete()


# Writing a plan


def carry_out(plan: ScopePlan, by: User) -> None:
    night = night_after(plan)
    for session, merged in plan.changed:
        write_session(session, merged, plan)
    if plan.asked.scope is not Scope.ONE:
        write_pattern_days(night, plan)
    season = plan.asked.night.season
    moved = {session.pk for session, _m in plan.changed if plan.moments[session.pk].date() != session.day}
    write_falling_out(FallingOut.of(season, breaks_of(season), plan.today, moved))
    audit.record(
        season.squad.club,
        "changed night",
        plan.asked.night,
        by=by,
        scope=str(plan.asked.scope),
        since=plan.first_monday.isoformat() if plan.first_monday else "",
        sessions={session.pk: sorted(merged.changes) for session, merged in plan.changed},
        kept=len(plan.kept),
    )


def night_after(plan: ScopePlan) -> TrainingNight:
    """The night that holds what was asked: itself, changed; or a new one from the first Monday on, beside the old."""
    night = copy(plan.asked.night)
    if plan.asked.scope is Scope.ONE:
        return night
    if plan.first_monday:
        last = plan.first_monday - dt.timedelta(days=1)
        TrainingNight.objects.filter(pk=night.pk).update(last_day=last)
        night.pk, night._state.adding = None, True
        night.first_day = plan.first_monday
    values = dict(plan.asked.values)
    night.template = template_of(values.pop("slots"))
    for name, value in values.items():
        setattr(night, name, value)
    night.save()
    return night


def write_pattern_days(night: TrainingNight, plan: ScopePlan) -> None:
    """Sessions from the first Monday on are the new night's, and all that are not past or begun are for its weekday."""
    for session in plan.sessions.values():
        if plan.first_monday and session.pattern_day < plan.first_monday:
            continue
        is_past = is_past_or_begun(session, plan.today)
        day = session.pattern_day if is_past else day_in_week_of(session.pattern_day, night.weekday)
        if (session.night_id, session.pattern_day) != (night.pk, day):
            Session.objects.filter(pk=session.pk).update(night=night, pattern_day=day)


def write_session(session: Session, merged: Merged, plan: ScopePlan) -> None:
    """Its fields and slots; whoever has an older page of it open finds out by its version."""
    moment = plan.moments[session.pk]
    fields: dict[str, Any] = {name: new for name, (_old, new) in merged.changes.items() if name in OF_THE_NIGHT}
    if "where" in fields:
        fields["venue"], fields["venue_words"] = fields.pop("where")
    fields |= {"starts_at": moment, "day": moment.date(), "plan_version": F("plan_version") + 1}
    Session.objects.filter(pk=session.pk).update(**fields)
    if "slots" in merged.changes:
        known = list(session.slots.all())
        places = slots_after(session, merged) or []
        _old, plans = merged.changes["slots"]
        edits = [
            SlotEdit(plan, known[place].pk if place is not None else None)
            for plan, place in zip(plans, places, strict=True)
        ]
        write_slots(session, edits, {slot.pk: slot for slot in known})
