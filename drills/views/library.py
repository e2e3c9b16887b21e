"""The library: find a drill, read its card."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from drills.forms import FindForm, Used
from drills.ladders import Steps
from drills.models import Drill
from drills.pages import CardPage, ListLine
from drills.pictures import pictures, played, signs
from drills.views.fetch import drill_of
from shared.access import needs
from shared.models import Club
from shared.roles import Permission

A_PAGE = 50


def library(request: HttpRequest, club: Club, used: Used | None = None) -> HttpResponse:
    """The list. The planner opens it, and says which drills ran lately: the library itself knows no nights."""
    form = FindForm(request.GET, club=club, used=used)
    found = list(form.found_in(Drill.objects.of(club)).values_list("pk", flat=True))  # looked through once
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    others = request.GET.copy()
    others.pop("page", None)
    shown = {"form": form, "page": page, "filter": others.urlencode()}
    lines = [ListLine(drill) for drill in Drill.objects.filter(pk__in=page).for_list()]
    return render(request, "drills/library.html", shown | {"lines": lines})


@needs(Permission.SEE_DRILLS)
def drill(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    found = drill_of(club, number)
    page = CardPage(found, Steps.of(club).beside(found))
    shown = {"drill": found, "page": page, "pictures": pictures(found), "played": played(found)}
    return render(request, "drills/drill.html", shown)


@needs(Permission.SEE_DRILLS)
def drill_signs(request: HttpRequest, club: Club) -> HttpResponse:
    return render(request, "drills/signs.html", {"signs": signs()})


patterns = [
    path("drills/signs/", drill_signs, name="drill_signs"),
    path("drills/<int:number>/", drill, name="drill"),
]
