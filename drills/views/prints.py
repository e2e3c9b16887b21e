"""Cards on paper: choose them, print them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from drills.cards import CardRefused, Size, cards_pdf
from drills.models import Drill, DrillQuerySet, Ladder
from shared.access import needs
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable
from shared.roles import Permission

# What each size is for, beside its name.
SIZES = (
    (Size.A5, _lazy("two to a sheet, for a plastic sleeve")),
    (Size.A6, _lazy("four to a sheet, for a pocket: the steps, the cues and the safety box")),
    (Size.A4, _lazy("one to a sheet, everything that the card holds")),
)


@needs(Permission.PRINT_SHEETS)
def cards(request: HttpRequest, club: Club) -> HttpResponse:
    """Tick the cards to print, or take a ladder or all of them."""
    drills = Drill.objects.of(club).current()
    ladders = Ladder.objects.of(club).filter(drills__in=drills).distinct()
    return render(request, "drills/cards.html", {"drills": drills, "ladders": ladders, "sizes": SIZES})


@needs(Permission.PRINT_SHEETS)
def cards_print(request: HttpRequest, club: Club) -> HttpResponse:
    """`?number=5&number=12`, `?ladder=A` from its lowest step up, or `?all=1`; `&size=a4`, `a5` or `a6`."""
    try:
        size = size_of(request.GET)
        drills = list(chosen(request.GET, Drill.objects.of(club).current()).for_card())
        if not drills:
            raise CardRefused(_("No card was chosen. Tick at least one."))
        pdf = cards_pdf(drills, size=size, site=request.build_absolute_uri("/"))
    except (CardRefused, PrintingUnavailable) as problem:
        messages.error(request, str(problem))
        return redirect("cards", club=club.slug)
    return download(pdf, f"cards-{club.slug}-{size}.pdf", "application/pdf", inline=True)


def size_of(wanted: QueryDict) -> Size:
    """A5 unless the address says otherwise; CardRefused for a size that no card has."""
    said = wanted.get("size") or Size.A5
    try:
        return Size(said.lower())
    except ValueError:
        message = _("There is no card of size “%(said)s”: choose %(sizes)s.")
        raise CardRefused(message % {"said": said, "sizes": ", ".join(Size).upper()}) from None


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
