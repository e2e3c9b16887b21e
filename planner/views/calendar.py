"""The calendar week by week, and what it is laid out from: seasons with their nights."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planner.calendar_actions import lay_out, remove_night, save_night, save_season
from planner.changes import Refused
from planner.core.calendar import Stretch, monday_of, weeks_of
from planner.forms.calendar import NamedDaysRows, NightForm, SeasonForm
from planner.forms.slots import SlotRows, rows_of
from planner.models import Break, Fixture, Phase, Season, Session, TrainingNight
from planner.patterns import proposals_for
from planner.season_weeks import Patterns, SeasonWeeks
from planner.slot_plans import plans_in, usual_night
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


def season_of(club: Club, key: int) -> Season:
    return get_object_or_404(Season.objects.of(club).select_related("squad__club"), pk=key)


def chosen_squad(request: HttpRequest, squads: list[Squad]) -> Squad | None:
    """The one that the address names, or the first."""
    slug = request.GET.get("squad", "")
    return next((squad for squad in squads if squad.slug == slug), squads[0] if squads else None)


@needs(Permission.SEE_CALENDAR)
def calendar(request: HttpRequest, club: Club) -> HttpResponse:
    """`?season=` or `?squad=` chooses; otherwise the season that today falls in. `?past=1` opens the weeks before."""
    squads = list(Squad.objects.filter(club=club))
    asked = asked_season(request, club)
    squad = asked.squad if asked else chosen_squad(request, squads)
    seasons = list(squad.seasons.prefetch_related("phases", "breaks")) if squad else []
    season = next((season for season in seasons if season == asked), None) or current(seasons, today_at(club))
    shown = {
        "squads": squads,
        "squad": squad,
        "seasons": seasons,
        "season": season,
        "weeks": weeks_in(season, today_at(club)) if season else None,
        "past_open": "past" in request.GET,
        "today": today_at(club),
    }
    return render(request, "planner/calendar/calendar.html", shown)


def asked_season(request: HttpRequest, club: Club) -> Season | None:
    key = request.GET.get("season", "")
    found = Season.objects.of(club).select_related("squad")
    return found.filter(pk=key).first() if key.isdecimal() and len(key) < 10 else None


def current(seasons: list[Season], today: dt.date) -> Season | None:
    """The season of today, else the next one, else the last; `seasons` with the latest first."""
    not_over = [season for season in seasons if season.last_day >= today]
    return not_over[-1] if not_over else next(iter(seasons), None)


def weeks_in(season: Season, today: dt.date) -> SeasonWeeks:
    days = (season.first_day - dt.timedelta(days=7), season.last_day + dt.timedelta(days=7))
    fixtures = Fixture.objects.filter(squad=season.squad_id, day__range=days)
    sessions = Session.objects.filter(squad=season.squad_id, day__range=days).with_length()
    return SeasonWeeks(season, fixtures, sessions, today, patterns_in(season, today))


def patterns_in(season: Season, today: dt.date) -> Patterns:
    """What is on the season's weeks, and what would fit this week and those to come."""
    squad = season.squad
    mondays = [week.first for week in weeks_of(Stretch(season.first_day, season.last_day))]
    on = dict(squad.week_patterns.filter(monday__in=mondays).values_list("monday", "name"))
    open_weeks = [monday for monday in mondays if monday >= monday_of(today) and monday not in on]
    return Patterns(on, proposals_for(squad, open_weeks))


@needs(Permission.EDIT_CALENDAR)
def new_season(request: HttpRequest, club: Club) -> HttpResponse:
    squads = list(Squad.objects.filter(club=club))
    if not squads:
        messages.error(request, _("A season is for a squad: add the squad first."))
        return redirect("squads", club=club.slug)
    return season_form(request, club, Season(), {"squad": chosen_squad(request, squads)})


@needs(Permission.EDIT_CALENDAR)
def edit_season(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    found = season_of(club, season)
    initial = {name: getattr(found, name) for name in ("squad", "name", "first_day", "last_day")}
    return season_form(request, club, found, initial)


def season_form(request: HttpRequest, club: Club, season: Season, initial: dict[str, Any]) -> HttpResponse:
    given = request.POST or None
    form = SeasonForm(given, club=club, initial=initial)
    form.fields["squad"].disabled = season.pk is not None
    phases = NamedDaysRows(given, prefix="phases", initial=days_in(season, "phases"))
    breaks = NamedDaysRows(given, prefix="breaks", initial=days_in(season, "breaks"))
    if all([form.is_valid(), phases.is_valid(), breaks.is_valid()]):
        try:
            save_season(season=season, by=request.user, phases=phases.days, breaks=breaks.days, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("The season “%(season)s” is saved.") % {"season": season})
            return redirect("season", club=club.slug, season=season.pk)
    shown = {"form": form, "phases": phases, "breaks": breaks, "season": season}
    return render(request, "planner/calendar/season_form.html", shown)


def days_in(season: Season, kind: str) -> list[dict[str, Any]]:
    rows: list[Phase] | list[Break] = list(getattr(season, kind).all()) if season.pk else []
    return [{"name": row.name, "first": row.first_day, "last": row.last_day} for row in rows]


@needs(Permission.SEE_CALENDAR)
def season(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    found = season_of(club, season)
    nights = [(night, sum(plan.minutes for plan in plans_in(night.template))) for night in found.nights.all()]
    counted = found.squad.sessions.between(max(found.first_day, today_at(club)), found.last_day).count()
    shown = {
        "season": found,
        "nights": nights,
        "phases": found.phases.all(),
        "breaks": found.breaks.all(),
        "sessions_ahead": counted,
    }
    return render(request, "planner/calendar/season.html", shown)


@needs(Permission.EDIT_CALENDAR)
@require_POST
def lay_out_season(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    found = season_of(club, season)
    new = lay_out(season=found, by=request.user, today=today_at(club))
    if new:
        told = ngettext("%(count)d session is laid out.", "%(count)d sessions are laid out.", len(new))
        messages.success(request, told % {"count": len(new)})
        return redirect("calendar", club=club.slug)
    messages.warning(request, _("Nothing to add: every night from today on has its session, or there is no night."))
    return redirect("season", club=club.slug, season=found.pk)


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


NIGHT_FIELDS = ("weekday", "starts", "venue", "pitch", "width", "length", "coaches", "stations", "lights_until")


@needs(Permission.EDIT_CALENDAR)
@require_POST
def drop_night(request: HttpRequest, club: Club, night: int) -> HttpResponse:
    found = night_of(club, night)
    remove_night(night=found, by=request.user)
    messages.success(request, _("%(night)s is removed. Its sessions stay in the calendar.") % {"night": found})
    return redirect("season", club=club.slug, season=found.season_id)


patterns = [
    path("calendar/", calendar, name="calendar"),
    path("seasons/new/", new_season, name="new_season"),
    path("seasons/<int:season>/", season, name="season"),
    path("seasons/<int:season>/edit/", edit_season, name="edit_season"),
    path("seasons/<int:season>/lay-out/", lay_out_season, name="lay_out"),
    path("seasons/<int:season>/nights/new/", new_night, name="new_night"),
    path("nights/<int:night>/", edit_night, name="edit_night"),
    path("nights/<int:night>/remove/", drop_night, name="remove_night"),
]
