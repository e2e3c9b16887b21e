"""Sessions of a season that were called off, and bringing them back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.called_off import called_off
from planner.called_off_actions import bring_back, look_at_return
from planner.changes import Refused
from planner.models import Season
from planner.views.calendar import season_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_CALENDAR)
def called_off_sessions(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    """The list with ticks; what bringing the ticked ones back would do; and, once that was seen, doing it."""
    found = season_of(club, season)
    chosen = [int(key) for key in request.POST.getlist("chosen") if key.isdecimal() and len(key) < 10]
    if request.method == "POST" and "again" not in request.POST:
        try:
            return before_or_after(request, found, chosen)
        except Refused as refusal:
            messages.error(request, str(refusal))
    lines = called_off(found, today_at(club))
    return render(request, "planner/breaks/called_off.html", {"season": found, "lines": lines, "chosen": chosen})


def before_or_after(request: HttpRequest, season: Season, chosen: list[int]) -> HttpResponse:
    given: dict[str, Any] = {"season": season, "sessions": chosen, "by": request.user}
    today = today_at(season.squad.club)
    found, effects = look_at_return(**given, today=today)
    seen = f"{found.digest}{effects.digest}"
    if request.POST.get("seen") != seen:
        shown = {"season": season, "found": found, "effects": effects.near_a_match, "seen": seen}
        return render(request, "planner/breaks/bring_back.html", shown)
    back = bring_back(**given, today=today, seen=found.digest)
    told = ngettext("%(n)d session takes place again.", "%(n)d sessions take place again.", len(back))
    messages.success(request, told % {"n": len(back)} + " " + _("Look at its week."))
    return redirect("session", club=season.squad.club.slug, session=back[0].pk)


patterns = [path("seasons/<int:season>/called-off/", called_off_sessions, name="called_off")]
