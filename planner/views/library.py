"""The library with what only the planner knows: which drills ran when."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from drills.views.fetch import drill_of
from drills.views.library import library
from planner.drill_use import nights_with, ran_lately
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_DRILLS)
def drills(request: HttpRequest, club: Club) -> HttpResponse:
    return library(request, club, used=ran_lately)


@needs(Permission.SEE_DRILLS)
def drill_nights(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """On which nights a drill ran or is planned, and by which version of its card."""
    drill = drill_of(club, number)
    return render(request, "planner/drill_nights.html", {"drill": drill, "nights": nights_with(drill, today_at(club))})


patterns = [
    path("drills/", drills, name="drills"),
    path("drills/<int:number>/nights/", drill_nights, name="drill_nights"),
]
