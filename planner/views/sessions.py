"""One session: its page, its details, its time, its slots, and calling it off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.calendar_actions import OF_THE_NIGHT
from planner.changes import Refused
from planner.core.calendar import at_wall_time, monday_of, timeline
from planner.forms.calendar import KIT, DetailsForm, NewSessionForm, WhenForm, details_of
from planner.forms.days import day_asked
from planner.forms.slots import SlotRows, rows_of
from planner.light import light_of
from planner.models import Block, Session, Slot, Station
from planner.moved_told import Effects, effects_of
from planner.moving import what_if
from planner.record_models import Confirmation
from planner.season_place import place_in_season
from planner.session_actions import (
    add_session,
    cancel_session,
    change_session,
    edit_slots,
    move_session,
    restore_session,
)
from planner.slot_plans import SlotPlan, plans_in, usual_night
from planner.views.calendar import chosen_squad
from shared.access import needs
from shared.clock import today_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


@dataclass(frozen=True)
class TimedSlot:
    slot: Slot
    starts: datetime
    ends: datetime


def session_of(club: Club, key: int) -> Session:
    return get_object_or_404(Session.objects.of(club).select_related("squad__club"), pk=key)


@needs(Permission.SEE_CALENDAR)
def session(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    slots = timed_slots(found)
    ends = slots[-1].ends if slots else found.starts
    shown = {
        "session": found,
        "slots": slots,
        "minutes": sum(timed.slot.minutes for timed in slots),
        "ends": ends,
        "is_past": found.day < today_at(club),
        "has_begun": found.starts_at <= timezone.now(),
        "confirmed_by": Confirmation.objects.filter(session=found, number=1).first(),
        "runs_past_lights": runs_past_lights(found, ends),
        "light": light_of(found, [timed.slot.minutes for timed in slots]),
        "place": place_in_season(found),
        "kit": [(label, found.kit[item]) for item, label in KIT.items() if item in found.kit],
        "monday": monday_of(found.day),
        "stretch": Block.objects.holding(found),
    }
    return render(request, "planner/calendar/session.html", shown)


def timed_slots(session: Session) -> list[TimedSlot]:
    slots = list(session.slots.prefetch_related("stations__drill"))
    times = timeline(session.starts, (slot.minutes for slot in slots))
    return [TimedSlot(slot, starts, ends) for slot, (starts, ends) in zip(slots, times, strict=True)]


def runs_past_lights(session: Session, ends: datetime) -> bool:
    lights = session.lights_until
    return lights is not None and ends > at_wall_time(session.day, lights, session.zone)


@needs(Permission.EDIT_CALENDAR)
def new_session(request: HttpRequest, club: Club) -> HttpResponse:
    squad = chosen_squad(request, list(Squad.objects.filter(club=club)))
    if squad is None:
        messages.error(request, _("A session is for a squad: add the squad first."))
        return redirect("squads", club=club.slug)
    form = NewSessionForm(request.POST or None, club=club, initial={"squad": squad})
    if form.is_valid():
        night = form.cleaned_data["like"]
        try:
            added = add_session(
                squad=form.cleaned_data["squad"],
                starts_at=form.starts_at,
                slots=plans_in(night.template) if night else usual_night(),
                by=request.user,
                today=today_at(club),
                **({name: getattr(night, name) for name in OF_THE_NIGHT} if night else {}),
            )
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("%(session)s is in the calendar.") % {"session": added})
            return redirect("session", club=club.slug, session=added.pk)
    return render(request, "planner/calendar/session_new.html", {"form": form})


@needs(Permission.EDIT_CALENDAR)
def edit_session(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    form = DetailsForm(request.POST or None, club=club, where=found.where, kit=found.kit, initial=details_of(found))
    if form.is_valid():
        try:
            change_session(session=found, by=request.user, today=today_at(club), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("%(session)s is saved.") % {"session": found})
            return redirect("session", club=club.slug, session=found.pk)
    return render(request, "planner/calendar/session_edit.html", {"form": form, "session": found})


@needs(Permission.EDIT_CALENDAR)
def move(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """The form; what the move would do to the weeks around it; and, once that was seen, the move."""
    found = session_of(club, session)
    day = day_asked(request.GET.get("day", "")) or found.day
    form = WhenForm(
        request.POST or None,
        zone=found.zone,
        has_plan=Station.objects.filter(slot__session=found).exists(),
        initial={"version": found.plan_version, "day": day, "starts": found.starts.time()},
    )
    shown = {"form": form, "session": found}
    if not form.is_valid() or "again" in request.POST:
        return render(request, "planner/calendar/session_move.html", shown)
    try:
        days = {found.day, form.new_day}
        effects = effects_of(what_if(found.squad, days, lambda: moved(request, found, form), today_at(club)))
        is_plain = effects.is_nothing and (form.new_day == found.day or not form.takes_stations_along)
        if is_plain or request.POST.get("seen") == effects.digest:
            return after_move(request, moved(request, found, form), effects)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        return render(request, "planner/calendar/session_move.html", shown)
    return render(request, "planner/calendar/moved.html", shown | {"effects": effects})


def moved(request: HttpRequest, session: Session, form: WhenForm) -> Session:
    given = form.cleaned_data
    drop_plan = given.get("drop_plan", False)
    return move_session(
        session=session,
        starts_at=form.starts_at,
        by=request.user,
        version=given["version"],
        today=today_at(session.squad.club),
        drop_plan=drop_plan,
        keep_plan=not drop_plan,
    )


def after_move(request: HttpRequest, session: Session, effects: Effects) -> HttpResponse:
    messages.success(request, _("%(session)s is moved.") % {"session": session})
    club = session.squad.club.slug
    if "deal" in request.POST and effects.to_deal_again and request.membership.may(Permission.EDIT_PLAN):
        return redirect("deal_again", club=club, block=effects.to_deal_again.pk)
    return redirect("session", club=club, session=session.pk)


@needs(Permission.EDIT_CALENDAR)
def slots(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """The version that the person saw comes back with the form, beside the slots."""
    found = session_of(club, session)
    known = list(found.slots.prefetch_related("stations"))
    plans, let_go = [SlotPlan.of(slot) for slot in known], "let_go" in request.POST
    rows = SlotRows(request.POST or None, prefix="slots", initial=rows_of(plans, known))
    reasons: tuple[str, ...] = ()
    if rows.is_valid():
        try:
            edit_slots(
                session=found,
                slots=rows.edits,
                by=request.user,
                version=version_in(request),
                today=today_at(club),
                let_go=let_go,
            )
        except Refused as refusal:
            reasons = refusal.reasons
        else:
            messages.success(request, _("The slots of %(session)s are saved.") % {"session": found})
            return redirect(after_slots(found, let_go))
    shown = {
        "session": found,
        "slots": rows,
        "reasons": reasons,
        "minutes": sum(plan.minutes for plan in plans),
        "held": [(number, slot) for number, slot in enumerate(known, start=1) if slot.stations.all()],
        "version": found.plan_version,
    }
    return render(request, "planner/calendar/session_slots.html", shown)


def after_slots(session: Session, let_go: bool) -> str:
    """To the page that mends the night, if something of it may have been let go."""
    club, block = session.squad.club.slug, Block.objects.holding(session)
    if block is None or not let_go:
        return reverse("session", args=[club, session.pk])
    return with_query(reverse("deal_again", args=[club, block.pk]), night=session.pk)


def version_in(request: HttpRequest) -> int:
    given = request.POST.get("version", "")
    return int(given) if given.isdecimal() and len(given) < 10 else -1


@needs(Permission.EDIT_CALENDAR)
@require_POST
def cancel(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Calls it off, or with `restore` puts it back."""
    verb = restore_session if "restore" in request.POST else cancel_session
    try:
        changed = verb(session=session_of(club, session), by=request.user, today=today_at(club))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        told = _("%(session)s is cancelled.") if changed.cancelled else _("%(session)s takes place. Look at its week.")
        messages.success(request, told % {"session": changed})
    return redirect("session", club=club.slug, session=session)


patterns = [
    path("sessions/new/", new_session, name="new_session"),
    path("sessions/<int:session>/", session, name="session"),
    path("sessions/<int:session>/edit/", edit_session, name="edit_session"),
    path("sessions/<int:session>/move/", move, name="move_session"),
    path("sessions/<int:session>/slots/", slots, name="edit_slots"),
    path("sessions/<int:session>/cancel/", cancel, name="cancel_session"),
]
