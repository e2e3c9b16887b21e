"""The welfare officer's week of a squad: the page, its print, and signing it."""

from __future__ import annotations

import datetime as dt
from functools import cache as cached
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.now import decisions_now
from planner.season_figures import KEPT
from planner.views.drawn import drawn
from planner.views.prints import printed
from planner.views.week import monday_in, squad_of
from planner.welfare import stamp, welfare_week
from planner.welfare_actions import sign_week
from planner.welfare_paper import welfare_pdf
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


def page_of(
    request: HttpRequest, club: Club, squads: list[Squad], squad: Squad | None, monday: dt.date
) -> dict[str, Any]:
    """What the page shows, here and as the first page of a welfare officer. Whether it asks for a signature is kept
    with it, and for which figures."""
    if squad is None:
        return {"part": "planner/welfare/no_squad.html"}
    at = stamp(squad, today_at(club))
    week = cached(lambda: welfare_week(squad, monday, at[0], at))
    key = (squad.pk, monday, at)
    shown = drawn(request, "planner/welfare/week.html", key, lambda: {"squads": squads, "squad": squad, "week": week()})
    digest = KEPT.get(("to sign", key), lambda: week().looked.digest if week().is_to_sign else "")
    return {"part": "planner/welfare/page.html", "squad": squad, "monday": monday, "drawn": shown, "digest": digest}


@needs(Permission.SEE_TOTALS)
def page(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    squads = list(Squad.objects.filter(club=club).select_related("club"))
    found = squad_among(squads, club, squad)
    return render(request, "planner/start/start.html", page_of(request, club, squads, found, monday_in(monday)))


def squad_among(squads: list[Squad], club: Club, slug: str) -> Squad:
    return next((each for each in squads if each.slug == slug), None) or squad_of(club, slug)


@needs(Permission.SEE_TOTALS)
def decisions(request: HttpRequest, club: Club) -> HttpResponse:
    """Whom a decision restricts today, and who changed what."""
    return render(
        request, "planner/welfare/decisions.html", {"now": decisions_now(club, today_at(club)), "today": today_at(club)}
    )


@needs(Permission.SEE_TOTALS)
def paper(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    found, day = squad_of(club, squad), monday_in(monday)
    name = f"welfare-{found.slug}-{day}.pdf"
    return printed(request, name, lambda: welfare_pdf(welfare_week(found, day, today_at(club))))


@needs(Permission.LOOK_AFTER_PLAYERS)
@require_POST
def sign(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    """`digest` stands for the figures that were on the page: other figures are not signed unseen."""
    found, day = squad_of(club, squad), monday_in(monday)
    week = welfare_week(found, day, today_at(club))
    if request.POST.get("digest") != week.looked.digest:
        messages.error(request, _("The figures changed while you looked at them. Look again, then sign."))
    else:
        try:
            sign_week(squad=found, monday=day, digest=week.looked.digest, seen=week.looked.seen, by=request.user)
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, _("The week is signed as checked."))
    return redirect("welfare_week", club=club.slug, squad=found.slug, monday=day.isoformat())


patterns = [
    path("now/decisions/", decisions, name="decisions"),
    path("squads/<slug:squad>/welfare/<str:monday>/", page, name="welfare_week"),
    path("squads/<slug:squad>/welfare/<str:monday>/week.pdf", paper, name="welfare_paper"),
    path("squads/<slug:squad>/welfare/<str:monday>/sign/", sign, name="sign_week"),
]
