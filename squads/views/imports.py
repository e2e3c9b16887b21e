"""A squad list by file: upload, look, confirm."""

from __future__ import annotations

import uuid
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from shared import uploads
from shared.access import needs
from shared.clock import today_at
from shared.models import Club, Upload
from shared.preview import Outdated
from shared.roles import Permission
from shared.tables import Unreadable
from squads.actions import import_squad
from squads.imports import squad_in
from squads.models import Squad
from squads.views.fetch import squad_of


@needs(Permission.EDIT_SQUAD)
def squad_import(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    form = uploads.UploadForm(request.POST or None, request.FILES or None)
    read = partial(squad_in, found, today=today_at(club))
    if kept := uploads.keep_if_read(club, form, request.user, read):
        return redirect("squad_import_confirm", club=club.slug, squad=found.slug, upload=kept.pk)
    return render(request, "squads/squad_import.html", {"form": form, "squad": found})


@needs(Permission.EDIT_SQUAD)
def squad_import_confirm(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    """What the file would do. The button does exactly that, or shows what has become of it meanwhile."""
    found = squad_of(club, squad)
    try:
        kept = uploads.take(club, upload, request.user)
        if request.method == "POST":
            return take_squad(request, found, kept)
        preview = squad_in(found, bytes(kept.content), kept.name, today=today_at(club)).preview
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("squad_import", club=club.slug, squad=found.slug)
    except Outdated as outdated:
        messages.warning(request, str(outdated))
        preview = outdated.preview
    return render(request, "squads/squad_import_confirm.html", {"squad": found, "upload": kept, "preview": preview})


def take_squad(request: HttpRequest, squad: Squad, kept: Upload) -> HttpResponse:
    preview = import_squad(
        squad=squad,
        content=bytes(kept.content),
        filename=kept.name,
        by=request.user,
        seen=request.POST.get("seen", ""),
    )
    kept.delete()
    messages.success(request, _("The list is in the squad: %(counts)s.") % {"counts": preview.told})
    return redirect("squad", club=squad.club.slug, squad=squad.slug)


patterns = [
    path("squads/<slug:squad>/import/", squad_import, name="squad_import"),
    path("squads/<slug:squad>/import/<uuid:upload>/", squad_import_confirm, name="squad_import_confirm"),
]
