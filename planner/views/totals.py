"""Contact totals: who is past or near a limit, as a page, as a table for other programs, and player by player."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from planner.core.totals import monday_of
from planner.forms.days import day_asked
from planner.forms.totals import Span, SpanForm, blocks_of_season
from planner.totals import WEEK, totals_csv_text, totals_of
from planner.views.drawn import drawn
from planner.welfare import stamp
from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.roles import Permission
from squads.models import Player, Squad

LEDGER_WEEKS = 4


def form_of(request: HttpRequest, club: Club) -> SpanForm:
    squads = list(Squad.objects.filter(club=club).select_related("club"))
    return SpanForm(request.GET, club=club, squads=squads, today=today_at(club))


def span_or_404(request: HttpRequest, club: Club) -> Span:
    form = form_of(request, club)
    if not form.is_valid() or form.span is None:
        raise Http404(_("There is no such squad, week or block. Choose them on the page of contact totals."))
    return form.span


@needs(Permission.SEE_TOTALS)
def totals(request: HttpRequest, club: Club) -> HttpResponse:
    form = form_of(request, club)
    span, again, shown = form.span, form, ""
    if span:
        shown = weeks_drawn(request, span, form.today)
        if form.is_valid():
            chosen = {"squad": span.squad.slug, "week": span.monday, "block": span.block}
            again = SpanForm(initial=chosen, club=club, squads=form.squads, today=form.today)
        again.offer(blocks_of_season(span.squad, span.monday))
    return render(request, "planner/totals/totals.html", {"form": again, "span": span, "drawn": shown})


def weeks_drawn(request: HttpRequest, span: Span, today: dt.date) -> SafeString:
    asks = (span.squad, span.monday, span.weeks, today)
    key = (span.squad.pk, span.monday, span.weeks, stamp(span.squad, today))
    return drawn(request, "planner/totals/weeks.html", key, lambda: {"totals": totals_of(*asks), "span": span})


@needs(Permission.SEE_TOTALS)
def totals_csv(request: HttpRequest, club: Club) -> HttpResponse:
    """With a byte order mark, by which spreadsheets know the encoding."""
    span = span_or_404(request, club)
    text = totals_csv_text(totals_of(span.squad, span.monday, span.weeks, today_at(club)))
    name = f"contact-{span.squad.slug}-{span.monday}.csv"
    return download(text.encode("utf-8-sig"), name, "text/csv; charset=utf-8")


@needs(Permission.SEE_TOTALS)
def player_totals(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """`?week=2026-10-05`: the four weeks up to that one, with the slots that made each figure."""
    found = get_object_or_404(Player.objects.of(club).select_related("squad__club"), pk=player)
    today = today_at(club)
    last = monday_of(day_asked(request.GET.get("week", "")) or today)
    key = (found.pk, last, stamp(found.squad, today))
    shown = drawn(request, "planner/totals/player_body.html", key, lambda: ledger_of(found, last, today))
    return render(request, "planner/totals/player.html", {"player": found, "drawn": shown})


def ledger_of(found: Player, last: dt.date, today: dt.date) -> dict[str, Any]:
    ledger = totals_of(found.squad, last - (LEDGER_WEEKS - 1) * WEEK, LEDGER_WEEKS, today, only=found)
    return {
        "player": found,
        "weeks": list(reversed(ledger.of(found.pk))),
        "decisions": list(reversed(ledger.days.clearances.get(found.pk, []))),
        "today": today,
        "before": last - WEEK,
        "after": last + WEEK,
        "last": last + WEEK - dt.timedelta(days=1),
    }


patterns = [
    path("totals/", totals, name="totals"),
    path("totals.csv", totals_csv, name="totals_csv"),
    path("players/<int:player>/contact/", player_totals, name="player_totals"),
]
