"""The report on one player, as a page and on paper."""

from __future__ import annotations

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from planner.report import report_of
from planner.views.drawn import drawn
from planner.views.excess import player_of, week_asked
from planner.views.prints import printed
from planner.welfare import stamp
from planner.welfare_paper import report_pdf
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Player

SPANS = (4, 12)  # weeks


def asked(request: HttpRequest, club: Club, key: int) -> tuple[Player, dt.date, int, dt.date]:
    """What `report_of` asks: `?week=` the last of `?weeks=` 4 or 12."""
    player, today = player_of(club, key), today_at(club)
    weeks = 12 if request.GET.get("weeks") == "12" else 4
    return player, week_asked(request, today), weeks, today


@needs(Permission.SEE_TOTALS)
def report(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found, last, weeks, today = asked(request, club, player)
    key = (found.pk, last, weeks, stamp(found.squad, today))
    shown = drawn(
        request,
        "planner/welfare/report_body.html",
        key,
        lambda: {"report": report_of(found, last, weeks, today), "player": found, "spans": SPANS},
    )
    return render(request, "planner/welfare/report.html", {"player": found, "drawn": shown})


@needs(Permission.SEE_TOTALS)
def paper(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = report_of(*asked(request, club, player))
    return printed(request, f"contact-{found.player.pk}-{found.last_day}.pdf", lambda: report_pdf(found))


patterns = [
    path("players/<int:player>/report/", report, name="player_report"),
    path("players/<int:player>/report.pdf", paper, name="report_paper"),
]
