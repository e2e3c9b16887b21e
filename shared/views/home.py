"""The way in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from shared.access import for_anyone, for_members


@for_members
def home(request: HttpRequest) -> HttpResponse:
    """Somebody of one club goes straight to it; somebody of several chooses."""
    memberships = list(request.user.memberships.select_related("club"))
    if len(memberships) == 1:
        return redirect("start", club=memberships[0].club.slug)
    return render(request, "shared/clubs.html", {"memberships": memberships})


@for_anyone
def up(request: HttpRequest) -> HttpResponse:
    return HttpResponse("up", content_type="text/plain")
