"""Cards on paper: choose them, print them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from drills.cards import CardTooLong, cards_pdf
from drills.models import Drill, DrillQuerySet, Ladder
from shared.access import needs
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable
from shared.roles import Permission


@needs(Permission.PRINT_SHEETS)
def cards(request: HttpRequest, club: Club) -> HttpResponse:
    """Tick the cards to print, or take a ladder or all of them."""
    drills = Drill.objects.of(club).current()
    ladders = Ladder.objects.of(club).filter(drills__in=drills).distinct()
    return render(request, "drills/cards.html", {"drills": drills, "ladders": ladders})


@needs(Permission.PRINT_SHEETS)
def cards_print(request: HttpRequest, club: Club) -> HttpResponse:
    """`?number=5&number=12`, `?ladder=A` from its lowest step up, or `?all=1`."""
    drills = list(chosen(request.GET, Drill.objects.of(club).current()).for_card())
    if not drills:
        messages.error(request, _("No card was chosen. Tick at least one."))
        return redirect("cards", club=club.slug)
    try:
        return download(cards_pdf(drills), f"cards-{club.slug}.pdf", "application/pdf", inline=True)
    except (CardTooLong, PrintingUnavailable) as problem:
        messages.error(request, str(problem))
        return redirect("cards", club=club.slug)


def chosen(wanted: QueryDict, drills: DrillQuerySet) -> DrillQuerySet:
    if wanted.get("all"):
        return drills
    if wanted.get("ladder"):
        return drills.on_ladder(wanted["ladder"]).order_by("step", "number")
    return drills.filter(number__in=[int(number[:6]) for number in wanted.getlist("number") if number.isdecimal()])


patterns = [
    path("drills/cards/", cards, name="cards"),
    path("drills/cards.pdf", cards_print, name="cards_pdf"),
]
