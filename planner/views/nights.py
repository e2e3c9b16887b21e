"""The nights of a season: adding one, changing one, ending one."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.calendar_actions import save_night
from planner.changes import Refused
from planner.core.scope import Scope
from planner.forms.calendar import NightForm
from planner.forms.nights import ChangeNightForm, EndNightForm
from planner.forms.slots import SlotRows, rows_of
from planner.models import Season, Session, TrainingNight
from planner.scope import Asked, Ending, digest_of, night_values
from planner.scope_actions import change_night, end_night, look_ahead
from planner.scope_told import changed_sessions, stays_told
from planner.slot_plans import plans_in, refuse_slots, usual_night
from planner.views.calendar import season_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission

GROUND_FIELDS = ("pitch", "width", "length", "coaches", "stations", "lights_until")
NIGHT_FIELDS = ("weekday", "starts", *GROUND_FIELDS)


@needs(Permission.EDIT_CALENDAR)
def new_night(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    return night_form(request, club, TrainingNight(season=season_of(club, season), template=[]))


def night_of(club: Club, key: int) -> TrainingNight:
    nights = TrainingNight.objects.filter(season__squad__club=club).select_related("season__squad__club")
    return get_object_or_404(nights, pk=key)


def last_night(season: Season) -> TrainingNight | None:
    """The night that was added last: to the season, else to one before it."""
    nights = TrainingNight.objects.filter(season__squad=season.squad, season__first_day__lte=season.first_day)
    return nights.select_related("season__squad__club").order_by("-season__first_day", "-pk").first()


def night_form(request: HttpRequest, club: Club, night: TrainingNight) -> HttpResponse:
    """Ground, kit and slots are filled in as on the night that was added last: most nights of a club are alike."""
    given, like = request.POST or None, last_night(night.season)
    known = like or night
    initial = {name: getattr(known, name) for name in GROUND_FIELDS}
    form = NightForm(given, club=club, where=known.where, kit=known.kit, initial=initial)
    plans = plans_in(known.template) or usual_night()
    slots = SlotRows(given, prefix="slots", initial=None if given else rows_of(plans))
    if all([form.is_valid(), slots.is_valid()]):
        try:
            save_night(night=night, slots=slots.plans, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("%(night)s is saved. Lay out its sessions next.") % {"night": night})
            return redirect("season", club=club.slug, season=night.season_id)
    minutes = sum(plan.minutes for plan in plans)
    shown = {"form": form, "slots": slots, "night": night, "like": like, "minutes": minutes}
    return render(request, "planner/calendar/night_form.html", shown)


@needs(Permission.EDIT_CALENDAR)
def edit_night(request: HttpRequest, club: Club, night: int) -> HttpResponse:
    """The form; what the change would do to each session; once that was seen, the change. `?session=` one of its."""
    found = night_of(club, night)
    session = session_asked(request, found)
    initial = {name: getattr(found, name) for name in NIGHT_FIELDS} | {"was": digest_of(found), "scope": Scope.LATER}
    given: dict[str, Any] = {"club": club, "where": found.where, "kit": found.kit, "initial": initial}
    form = ChangeNightForm(request.POST or None, has_session=session is not None, **given)
    plans = plans_in(found.template)
    slots = SlotRows(request.POST or None, prefix="slots", initial=rows_of(plans))
    shown = {"form": form, "slots": slots, "night": found, "minutes": sum(plan.minutes for plan in plans)}
    shown |= {"session": session}
    if all([form.is_valid(), slots.is_valid()]) and "again" not in request.POST:
        try:
            return before_or_after_change(request, form, asked_in(form, slots, found, session), shown)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
    return render(request, "planner/calendar/night_form.html", shown)


def session_asked(request: HttpRequest, night: TrainingNight) -> Session | None:
    key = request.GET.get("session", "")
    return night.sessions.filter(pk=key).first() if key.isdecimal() and len(key) < 10 else None


def asked_in(form: ChangeNightForm, slots: SlotRows, night: TrainingNight, session: Session | None) -> Asked:
    refuse_slots(slots.plans)
    given = form.cleaned_data
    values = {name: given[name] for name in night_values(night) if name in given} | {"slots": tuple(slots.plans)}
    return Asked(night, Scope(given["scope"]), values, session, given.get("from_day"), given["though_broken"])


def before_or_after_change(
    request: HttpRequest, form: ChangeNightForm, asked: Asked, shown: dict[str, Any]
) -> HttpResponse:
    """The page before the change, or the change itself if that page was seen and still says what would happen."""
    club, was = asked.night.season.squad.club, form.cleaned_data["was"]
    plan, effects = look_ahead(asked=asked, by=request.user, today=today_at(club), was=was)
    seen = f"{plan.digest}{effects.digest}"
    if request.POST.get("seen") != seen:
        told = {"changed": changed_sessions(plan), "stays": stays_told(plan), "plan": plan, "seen": seen}
        told |= {"effects": effects.near_a_match, "scope": dict(form.fields["scope"].choices)[asked.scope]}
        return render(request, "planner/nights/change.html", shown | told)
    change_night(asked=asked, by=request.user, today=today_at(club), was=was, seen=plan.digest)
    text = ngettext("%(count)d session is changed.", "%(count)d sessions are changed.", len(plan.changed))
    messages.success(request, text % {"count": len(plan.changed)})
    if "deal" in request.POST and effects.to_deal_again and request.membership.may(Permission.EDIT_PLAN):
        return redirect("deal_again", club=club.slug, block=effects.to_deal_again.pk)
    return redirect("season", club=club.slug, season=asked.night.season_id)


@needs(Permission.EDIT_CALENDAR)
def drop_night(request: HttpRequest, club: Club, night: int) -> HttpResponse:
    """From which day on there is no more of it; which sessions that calls off; and, once that was seen, the end."""
    found, today = night_of(club, night), today_at(club)
    form = EndNightForm(request.POST or None, initial={"from_day": today, "was": digest_of(found)})
    shown: dict[str, Any] = {"form": form, "night": found}
    if form.is_valid() and "again" not in request.POST:
        ending = Ending.of(found, form.cleaned_data["from_day"], today)
        if request.POST.get("seen") != ending.digest:
            return render(request, "planner/nights/end.html", shown | {"ending": ending})
        try:
            end_night(night=found, by=request.user, today=today, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            text = ngettext("%(count)d session is called off.", "%(count)d sessions are called off.", len(ending.off))
            messages.success(request, text % {"count": len(ending.off)})
            return redirect("season", club=club.slug, season=found.season_id)
    return render(request, "planner/nights/end.html", shown)


patterns = [
    path("seasons/<int:season>/nights/new/", new_night, name="new_night"),
    path("nights/<int:night>/", edit_night, name="edit_night"),
    path("nights/<int:night>/end/", drop_night, name="remove_night"),
]
