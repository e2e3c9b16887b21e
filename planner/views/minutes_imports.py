"""Match minutes from a file: its preview, and the button that writes it."""

from __future__ import annotations

import uuid
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.core.totals import monday_of
from planner.minutes_actions import import_match_minutes as import_verb
from planner.minutes_imports import MinutesImport, minutes_in
from shared import uploads
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from shared.tables import Unreadable
from squads.models import Squad
from squads.views.fetch import squad_of


@needs(Permission.DECLARE)
def import_match_minutes(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    form = uploads.UploadForm(request.POST or None, request.FILES or None)
    if kept := uploads.keep_if_read(club, form, request.user, partial(minutes_in, found)):
        return redirect("confirm_match_minutes", club=club.slug, squad=found.slug, upload=kept.pk)
    shown = {"form": form, "squad": found, "monday": monday_of(today_at(club))}
    return render(request, "planner/declared/import.html", shown)


@needs(Permission.DECLARE)
def confirm_match_minutes(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    found = squad_of(club, squad)

    def write(content: bytes, name: str, seen: str) -> HttpResponse:
        try:
            done = import_verb(squad=found, content=content, filename=name, by=request.user, seen=seen)
        except Refused as refused:
            raise Unreadable(str(refused)) from refused
        return noted(request, found, done)

    return uploads.confirmation(
        request,
        club,
        upload,
        look=lambda content, name: minutes_in(found, content, name).preview,
        write=write,
        again=reverse("import_match_minutes", args=[club.slug, found.slug]),
        template="planner/declared/confirm.html",
        shown={"squad": found},
    )


def noted(request: HttpRequest, squad: Squad, done: MinutesImport) -> HttpResponse:
    """To the week of the last match that the file says something new of."""
    messages.success(request, _("The minutes are noted: %(counts)s.") % {"counts": done.preview.told})
    monday = monday_of(done.last_day or today_at(squad.club))
    return redirect("told_of_squad", club=squad.club.slug, squad=squad.slug, monday=monday)


patterns = [
    path("squads/<slug:squad>/match-minutes/import/", import_match_minutes, name="import_match_minutes"),
    path(
        "squads/<slug:squad>/match-minutes/import/<uuid:upload>/", confirm_match_minutes, name="confirm_match_minutes"
    ),
]
