"""The report on one player, as a page and on paper."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from planner.report import Report, report_of
from planner.views.excess import player_of, week_asked
from planner.views.prints import printed
from planner.welfare_paper import report_pdf
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission

SPANS = (4, 12)  # weeks


def report_asked(request: HttpRequest, club: Club, key: int) -> Report:
    """`?week=` the last of `?weeks=` 4 or 12."""
    player, today = player_of(club, key), today_at(club)
    weeks = 12 if request.GET.get("weeks") == "12" else 4
    return report_of(player, week_asked(request, today), weeks, today)


@needs(Permission.SEE_TOTALS)
def report(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = report_asked(request, club, player)
    return render(request, "planner/welfare/report.html", {"report": found, "player": found.player, "spans": SPANS})


@needs(Permission.SEE_TOTALS)
def paper(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = report_asked(request, club, player)
    return printed(request, f"contact-{found.player.pk}-{found.last_day}.pdf", lambda: report_pdf(found))


patterns = [
    path("players/<int:player>/report/", report, name="player_report"),
    path("players/<int:player>/report.pdf", paper, name="report_paper"),
]
