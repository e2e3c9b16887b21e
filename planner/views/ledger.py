"""A player's ledger of skills and loads, as a page, as a table for other programs, and on paper."""

from __future__ import annotations

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils.translation import gettext as _

from planner.forms.own import key_in
from planner.ledger import SPANS, Weeks, ledger_of, weeks_of_season, with_terms
from planner.ledger_paper import ledger_csv_text, ledger_pdf
from planner.squad_ledger import squad_ledger_of
from planner.totals import LOOK_BACK
from planner.views.drawn import drawn
from planner.views.excess import week_asked
from planner.views.prints import printed
from planner.views.week import squad_of
from planner.welfare import stamp
from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.roles import Permission
from squads.models import Player

SEASON = "season"


def asked(request: HttpRequest, club: Club, key: int) -> tuple[Player, Weeks, dt.date]:
    """What `ledger_of` asks: `?week=` the last of `?weeks=` 4, 12 or all of the season."""
    today = today_at(club)
    last = week_asked(request, today)
    player = get_object_or_404(with_terms(Player.objects.of(club), last + LOOK_BACK), pk=key)
    span = request.GET.get("weeks", "")
    if span == SEASON:
        return player, weeks_of_season(player, last), today
    if span and span not in map(str, SPANS):
        raise Http404(_("The ledger shows 4 weeks, 12 weeks or the season."))
    return player, Weeks(last, int(span or SPANS[0])), today


@needs(Permission.SEE_TOTALS)
def ledger(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found, weeks, today = asked(request, club, player)
    span = SEASON if request.GET.get("weeks") == SEASON else weeks.count
    key = ("ledger", found.pk, weeks, span, stamp(found.squad, today))
    shown = drawn(
        request,
        "planner/ledger/body.html",
        key,
        lambda: {"ledger": ledger_of(found, weeks, today), "player": found, "spans": SPANS, "span": span},
    )
    return render(request, "planner/ledger/ledger.html", {"player": found, "drawn": shown})


@needs(Permission.SEE_TOTALS)
def table(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """With a byte order mark, by which spreadsheets know the encoding."""
    found = ledger_of(*asked(request, club, player))
    name = f"ledger-{found.player.pk}-{found.weeks.last_monday}.csv"
    return download(ledger_csv_text(found).encode("utf-8-sig"), name, "text/csv; charset=utf-8")


@needs(Permission.SEE_TOTALS)
def paper(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = ledger_of(*asked(request, club, player))
    return printed(request, f"ledger-{found.player.pk}-{found.weeks.last_monday}.pdf", lambda: ledger_pdf(found))


@needs(Permission.SEE_TOTALS)
def squad_ledgers(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """`?week=` the one whose load is shown, and the last of four for the minutes."""
    found, today = squad_of(club, squad), today_at(club)
    last = week_asked(request, today)
    key = ("ledgers", found.pk, last, stamp(found, today))
    shown = drawn(
        request,
        "planner/ledger/squad_body.html",
        key,
        lambda: {"ledger": squad_ledger_of(found, last, today), "squad": found},
    )
    return render(request, "planner/ledger/squad.html", {"squad": found, "drawn": shown})


@needs(Permission.SEE_CLUB)
def against_loads(request: HttpRequest, club: Club) -> HttpResponse:
    """What the figures of load are, and what is published against them."""
    return render(request, "planner/ledger/against.html", {"back": key_in(request.GET.get("player", ""))})


patterns = [
    path("players/<int:player>/ledger/", ledger, name="player_ledger"),
    path("players/<int:player>/ledger.csv", table, name="player_ledger_csv"),
    path("players/<int:player>/ledger.pdf", paper, name="player_ledger_pdf"),
    path("squads/<slug:squad>/ledgers/", squad_ledgers, name="squad_ledgers"),
    path("figures/load/", against_loads, name="against_loads"),
]
