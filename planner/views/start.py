"""The first page after logging in answers the question that its reader comes with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone

from planner.core.totals import monday_of
from planner.first_steps import first_steps
from planner.now import head_now, to_confirm, tonight
from planner.views.welfare import page_of
from shared.access import needs
from shared.clock import clock_at, today_at
from shared.models import Club
from shared.roles import ASSISTANT, HEAD_COACH, MEDICAL, WELFARE_OFFICER, Permission
from squads.models import Squad
from squads.returning import returning


@needs(Permission.SEE_PLAN)
def start(request: HttpRequest, club: Club) -> HttpResponse:
    squads = list(Squad.objects.filter(club=club).select_related("club"))
    words = {"squads": squads, "today": today_at(club)}
    if request.membership.may(Permission.RECORD_NIGHT):
        words["to_confirm"] = to_confirm(club, timezone.now())
    return render(request, "planner/start/start.html", words | PAGES[request.membership.role](request, club, squads))


def for_head(request: HttpRequest, club: Club, squads: list[Squad]) -> dict[str, Any]:
    """`?squad=` chooses among several."""
    wanted = request.GET.get("squad")
    squad = next((squad for squad in squads if squad.slug == wanted), squads[0] if squads else None)
    now = head_now(squad, **clock_at(club)) if squad else None
    steps = [] if now and now.week.blocks else first_steps(squad, club.slug)
    return {"part": "planner/start/head.html", "squad": squad, "now": now, "steps": steps}


def for_assistant(request: HttpRequest, club: Club, squads: list[Squad]) -> dict[str, Any]:
    return {"part": "planner/start/tonight.html", "evenings": tonight(club, request.user, today_at(club))}


def for_welfare(request: HttpRequest, club: Club, squads: list[Squad]) -> dict[str, Any]:
    """The squad of `?squad=`, or the first; its page leads to the others and to other weeks."""
    wanted = request.GET.get("squad")
    squad = next((squad for squad in squads if squad.slug == wanted), squads[0] if squads else None)
    return page_of(request, club, squads, squad, monday_of(today_at(club)))


def for_medical(request: HttpRequest, club: Club, squads: list[Squad]) -> dict[str, Any]:
    """Whose status waits for a look."""
    return {
        "part": "planner/start/returns.html",
        "lines": returning(squads, today_at(club)),
        "several": len(squads) > 1,
    }


PAGES: dict[str, Callable[[HttpRequest, Club, list[Squad]], dict[str, Any]]] = {
    HEAD_COACH.key: for_head,
    ASSISTANT.key: for_assistant,
    WELFARE_OFFICER.key: for_welfare,
    MEDICAL.key: for_medical,
}

patterns = [path("now/", start, name="start")]
