"""A squad list by file: upload, look, confirm."""

from __future__ import annotations

import uuid
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from shared import uploads
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.actions import import_squad
from squads.imports import squad_in
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
    found = squad_of(club, squad)

    def write(content: bytes, name: str, seen: str) -> HttpResponse:
        preview = import_squad(squad=found, content=content, filename=name, by=request.user, seen=seen)
        messages.success(request, _("The list is in the squad: %(counts)s.") % {"counts": preview.told})
        return redirect("squad", club=club.slug, squad=found.slug)

    return uploads.confirmation(
        request,
        club,
        upload,
        look=lambda content, name: squad_in(found, content, name, today=today_at(club)).preview,
        write=write,
        again=reverse("squad_import", args=[club.slug, found.slug]),
        template="squads/squad_import_confirm.html",
        shown={"squad": found},
    )


patterns = [
    path("squads/<slug:squad>/import/", squad_import, name="squad_import"),
    path("squads/<slug:squad>/import/<uuid:upload>/", squad_import_confirm, name="squad_import_confirm"),
]
