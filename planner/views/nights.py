"""The nights of a season: adding one, changing one, ending one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.calendar_actions import remove_night, save_night
from planner.changes import Refused
from planner.forms.calendar import NightForm
from planner.forms.slots import SlotRows, rows_of
from planner.models import TrainingNight
from planner.slot_plans import plans_in, usual_night
from planner.views.calendar import season_of
from shared.access import needs
from shared.models import Club
from shared.roles import Permission

NIGHT_FIELDS = ("weekday", "starts", "venue", "pitch", "width", "length", "coaches", "stations", "lights_until")


@needs(Permission.EDIT_CALENDAR)
def new_night(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    return night_form(request, club, TrainingNight(season=season_of(club, season), template=[]))


@needs(Permission.EDIT_CALENDAR)
def edit_night(request: HttpRequest, club: Club, night: int) -> HttpResponse:
    return night_form(request, club, night_of(club, night))


def night_of(club: Club, key: int) -> TrainingNight:
    nights = TrainingNight.objects.filter(season__squad__club=club).select_related("season__squad__club")
    return get_object_or_404(nights, pk=key)


def night_form(request: HttpRequest, club: Club, night: TrainingNight) -> HttpResponse:
    given = request.POST or None
    initial = {name: getattr(night, name) for name in NIGHT_FIELDS} if night.pk else {}
    form = NightForm(given, kit=night.kit, initial=initial)
    plans = plans_in(night.template) if night.pk else usual_night()
    slots = SlotRows(given, prefix="slots", initial=rows_of(plans))
    if all([form.is_valid(), slots.is_valid()]):
        try:
            save_night(night=night, slots=slots.plans, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("%(night)s is saved. Sessions laid out before stay.") % {"night": night})
            return redirect("season", club=club.slug, season=night.season_id)
    shown = {"form": form, "slots": slots, "night": night, "minutes": sum(plan.minutes for plan in plans)}
    return render(request, "planner/calendar/night_form.html", shown)


@needs(Permission.EDIT_CALENDAR)
@require_POST
def drop_night(request: HttpRequest, club: Club, night: int) -> HttpResponse:
    found = night_of(club, night)
    remove_night(night=found, by=request.user)
    messages.success(request, _("%(night)s is removed. Its sessions stay in the calendar.") % {"night": found})
    return redirect("season", club=club.slug, season=found.season_id)


patterns = [
    path("seasons/<int:season>/nights/new/", new_night, name="new_night"),
    path("nights/<int:night>/", edit_night, name="edit_night"),
    path("nights/<int:night>/remove/", drop_night, name="remove_night"),
]
