"""The calendar week by week, and its seasons."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from planner.calendar_actions import digest_of_season, save_season
from planner.calendar_days import Links, SquadCalendar, season_span
from planner.changes import Refused
from planner.core.pattern_fit import IN_SEASON
from planner.forms.calendar import NamedDaysRows, SeasonForm
from planner.models import Season
from planner.season_list import SeasonList
from planner.slot_plans import plans_in
from shared.access import needs
from shared.clock import today_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


def season_of(club: Club, key: int) -> Season:
    return get_object_or_404(Season.objects.of(club).select_related("squad__club"), pk=key)


def chosen_squad(request: HttpRequest, squads: list[Squad]) -> Squad | None:
    """The one that the address names, or the first."""
    slug = request.GET.get("squad", "")
    return next((squad for squad in squads if squad.slug == slug), squads[0] if squads else None)


def calendar_of(squad: Squad, season: Season | None = None) -> str:
    """The address of its weeks: of the season, else of the one that today falls in."""
    asked = {"season": season.pk} if season else {"squad": squad.slug}
    return with_query(reverse("calendar", args=[squad.club.slug]), **asked)


@needs(Permission.SEE_CALENDAR)
def calendar(request: HttpRequest, club: Club) -> HttpResponse:
    """`?season=` or `?squad=` chooses; otherwise the season that today falls in. `?past=1` opens the weeks before."""
    squads, today = list(Squad.objects.filter(club=club)), today_at(club)
    seasons = seasons_beside(club, request.GET.get("season", ""))
    squad = squad_among(squads, seasons[0].squad_id) if seasons else chosen_squad(request, squads)
    if squad and not seasons:
        seasons = list(squad.seasons.all())
    season = asked_among(seasons, request.GET.get("season", "")) or current(seasons, today)
    shown = {
        "squads": squads,
        "squad": squad,
        "seasons": seasons,
        "season": season,
        "weeks": weeks_in(request, squad, season, today) if season else None,
        "past_open": "past" in request.GET,
        "today": today,
    }
    return render(request, "planner/calendar/calendar.html", shown)


def seasons_beside(club: Club, key: str) -> list[Season]:
    """All seasons of the squad whose season an address names; none where it names none of the club's."""
    if not key.isdecimal() or len(key) > 9:
        return []
    return list(Season.objects.of(club).filter(squad__seasons=int(key)))


def asked_among(seasons: list[Season], key: str) -> Season | None:
    return next((season for season in seasons if str(season.pk) == key), None)


def squad_among(squads: list[Squad], key: int) -> Squad:
    return next(squad for squad in squads if squad.pk == key)


def current(seasons: list[Season], today: dt.date) -> Season | None:
    """The season of today, else the next one, else the last; `seasons` with the latest first."""
    not_over = [season for season in seasons if season.last_day >= today]
    return not_over[-1] if not_over else next(iter(seasons), None)


def weeks_in(request: HttpRequest, squad: Squad, season: Season, today: dt.date) -> SeasonList:
    """Matches are fetched so far around the season that a week without any can be told from the time off."""
    squad.club, may = request.membership.club, request.membership.may
    links = Links(squad.club, squad, may_edit=may(Permission.EDIT_CALENDAR))
    found = SquadCalendar(squad, season, *season_span(season), today, links, near=IN_SEASON)
    return SeasonList.of(found, with_proposals=may(Permission.EDIT_PLAN))


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
    initial |= {"was": digest_of_season(found)}
    return season_form(request, club, found, initial)


def season_form(request: HttpRequest, club: Club, season: Season, initial: dict[str, Any]) -> HttpResponse:
    given = request.POST or None
    form = SeasonForm(given, club=club, initial=initial)
    form.fields["squad"].disabled = season.pk is not None
    # A row that is sent counts as it is sent; beside its like of before it would pass for one left empty.
    phases = NamedDaysRows(given, prefix="phases", initial=None if given else phases_in(season))
    # Those of a season that is there have pages of their own, which show what becomes of its sessions.
    breaks = None if season.pk else NamedDaysRows(given, prefix="breaks")
    if all(part.is_valid() for part in (form, phases, breaks) if part is not None):
        days = {"phases": phases.days, "breaks": breaks.days if breaks else None}
        try:
            save_season(season=season, by=request.user, **days, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("The season “%(season)s” is saved.") % {"season": season})
            return redirect("season", club=club.slug, season=season.pk)
    shown = {"form": form, "phases": phases, "breaks": breaks, "season": season}
    return render(request, "planner/calendar/season_form.html", shown)


def phases_in(season: Season) -> list[dict[str, Any]]:
    rows = season.phases.all() if season.pk else ()
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


patterns = [
    path("calendar/", calendar, name="calendar"),
    path("seasons/new/", new_season, name="new_season"),
    path("seasons/<int:season>/", season, name="season"),
    path("seasons/<int:season>/edit/", edit_season, name="edit_season"),
]
