"""Drill packs in and out, and the starter library."""

from __future__ import annotations

import json
import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.actions import add_starter_library, export_pack, import_pack
from drills.forms import PackUploadForm
from drills.imports import preview_pack
from drills.models import Drill, DrillQuerySet
from drills.tables import library_csv
from shared import uploads
from shared.access import needs
from shared.cells import Unreadable
from shared.clock import today_at
from shared.http import download
from shared.models import Club, Upload
from shared.preview import Outdated
from shared.roles import Permission


@needs(Permission.EDIT_DRILLS)
def drills_import(request: HttpRequest, club: Club) -> HttpResponse:
    form = PackUploadForm(request.POST or None, request.FILES or None)
    if kept := uploads.keep_if_read(club, form, request.user, lambda content, _name: preview_pack(club, content)):
        return redirect("drills_import_confirm", club=club.slug, upload=kept.pk)
    return render(request, "drills/import.html", {"form": form})


@needs(Permission.EDIT_DRILLS)
def drills_import_confirm(request: HttpRequest, club: Club, upload: uuid.UUID) -> HttpResponse:
    """What the pack would do. The button does exactly that, or shows what has become of it meanwhile."""
    try:
        kept = uploads.take(club, upload, request.user)
        if request.method == "POST":
            return take_pack(request, club, kept)
        preview = preview_pack(club, bytes(kept.content))
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("drills_import", club=club.slug)
    except Outdated as outdated:
        messages.warning(request, str(outdated))
        preview = outdated.preview
    return render(request, "drills/import_confirm.html", {"upload": kept, "preview": preview})


def take_pack(request: HttpRequest, club: Club, kept: Upload) -> HttpResponse:
    seen = request.POST.get("seen", "")
    preview = import_pack(club, bytes(kept.content), name=kept.name, by=request.user, today=today_at(club), seen=seen)
    kept.delete()
    messages.success(request, _("The pack is in the library: %(counts)s.") % {"counts": preview.told})
    return redirect("drills", club=club.slug)


@needs(Permission.SEE_DRILLS)
def drills_export(request: HttpRequest, club: Club) -> HttpResponse:
    """The drills in use as a pack, or with `?retired=on` the retired ones."""
    pack = json.dumps(export_pack(given_out(request, club)), ensure_ascii=False, indent=1)
    return download(pack, f"drills-{club.slug}.json", "application/json")


@needs(Permission.SEE_DRILLS)
def drills_csv(request: HttpRequest, club: Club) -> HttpResponse:
    """The same as a table, with a mark at its start by which spreadsheets know its encoding."""
    table = library_csv(given_out(request, club))
    return download(table.encode("utf-8-sig"), f"drills-{club.slug}.csv", "text/csv; charset=utf-8")


def given_out(request: HttpRequest, club: Club) -> DrillQuerySet:
    drills = Drill.objects.of(club)
    return drills.retired() if request.GET.get("retired") else drills.current()


@needs(Permission.EDIT_DRILLS)
@require_POST
def drills_starter(request: HttpRequest, club: Club) -> HttpResponse:
    added = add_starter_library(club, by=request.user, today=today_at(club))
    messages.success(request, _("%(count)d drills of the starter library added.") % {"count": added})
    return redirect("drills", club=club.slug)


patterns = [
    path("drills/import/", drills_import, name="drills_import"),
    path("drills/import/<uuid:upload>/", drills_import_confirm, name="drills_import_confirm"),
    path("drills/pack.json", drills_export, name="drills_export"),
    path("drills/table.csv", drills_csv, name="drills_csv"),
    path("drills/starter/", drills_starter, name="drills_starter"),
]
