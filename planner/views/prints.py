"""Paper as files: the sheet of a night, its cards, and the contact totals."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path

from drills.cards import CardRefused
from drills.views.prints import size_of
from planner.models import Session
from planner.papers import totals_pdf as totals_pdf_of
from planner.sheets import NothingToPrint, cards_tonight_pdf, sheet_pdf
from planner.totals import totals_of
from planner.views.totals import span_or_404
from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable
from shared.roles import Permission

PDF = "application/pdf"


@needs(Permission.PRINT_SHEETS)
def session_sheet(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    site = request.build_absolute_uri("/")
    return printed(request, f"sheet-{found.day}.pdf", lambda: sheet_pdf(found, today_at(club), site=site))


@needs(Permission.PRINT_SHEETS)
def session_cards(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Tonight's cards; `?size=` as for other cards."""
    found = session_of(club, session)

    def make() -> bytes:
        return cards_tonight_pdf(found, today_at(club), size=size_of(request.GET), site=request.build_absolute_uri("/"))

    return printed(request, f"cards-{found.day}.pdf", make)


@needs(Permission.SEE_TOTALS)
def totals_pdf(request: HttpRequest, club: Club) -> HttpResponse:
    """The same squad and weeks as the page of totals, by the same words in the address."""
    span = span_or_404(request, club)
    found = totals_of(span.squad, span.monday, span.weeks, today_at(club))
    return printed(request, f"contact-{span.squad.slug}-{span.monday}.pdf", lambda: totals_pdf_of(found))


def printed(request: HttpRequest, name: str, make: Callable[[], bytes]) -> HttpResponse:
    """The file, or a page that says why there is none and how to mend it."""
    try:
        return download(make(), name, PDF, inline=True)
    except NothingToPrint as reason:
        return render(request, "planner/no_print.html", {"reason": reason}, status=404)
    except (PrintingUnavailable, CardRefused) as reason:
        return render(request, "planner/no_print.html", {"reason": reason}, status=503)


def session_of(club: Club, key: int) -> Session:
    return get_object_or_404(Session.objects.of(club).select_related("squad__club"), pk=key)


patterns = [
    path("sessions/<int:session>/sheet.pdf", session_sheet, name="session_sheet"),
    path("sessions/<int:session>/cards.pdf", session_cards, name="session_cards"),
    path("totals.pdf", totals_pdf, name="totals_pdf"),
]
