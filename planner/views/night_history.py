"""What the plan of a night said that day, and what was changed later."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from planner.night_history import night_history
from planner.views.sessions import session_of
from shared.access import needs
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_PLAN)
def history(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    return render(request, "planner/record/history.html", {"history": night_history(found), "session": found})


patterns = [path("evenings/<int:session>/history/", history, name="night_history")]
