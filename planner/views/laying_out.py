"""Laying out a season: what would appear, on one page, and the button that makes it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.calendar_actions import lay_out, rest_on_match_days
from planner.changes import Refused
from planner.laying_out import Layout, in_all, rests_on_match_days
from planner.light import dark_nights, unplaced
from planner.models import Season
from planner.views.calendar import calendar_of, season_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_CALENDAR)
def lay_out_season(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    """The preview; `rest` saves the rule for match days; `seen` makes the sessions, unless they would be others."""
    found = season_of(club, season)
    if "rest" in request.POST:
        rest_on_match_days(season=found, rests="rests" in request.POST, by=request.user)
        return redirect("lay_out", club=club.slug, season=found.pk)
    if request.method == "POST":
        return made(request, found)
    layout = Layout.of(found, today_at(club))
    shown = {
        "season": found,
        "layout": layout,
        "in_all": in_all(layout),
        "rests": rests_on_match_days(found),
        "dark": dark_nights(layout),
        "unplaced": unplaced(layout),
        "zone": ", ".join(sorted({night.zone.key for night in layout.nights.values()})),
    }
    return render(request, "planner/nights/lay_out.html", shown)


def made(request: HttpRequest, season: Season) -> HttpResponse:
    club = season.squad.club
    try:
        new = lay_out(season=season, by=request.user, today=today_at(club), seen=request.POST.get("seen", ""))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("lay_out", club=club.slug, season=season.pk)
    if not new:
        messages.warning(request, _("Nothing to add: every night from today on has its session or falls out."))
        return redirect("season", club=club.slug, season=season.pk)
    told = ngettext("%(count)d session is laid out.", "%(count)d sessions are laid out.", len(new))
    messages.success(request, told % {"count": len(new)})
    return redirect(calendar_of(season.squad, season))


patterns = [path("seasons/<int:season>/lay-out/", lay_out_season, name="lay_out")]
