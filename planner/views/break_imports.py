"""Breaks from pasted lines, a list or a calendar, with a preview of them and of what they do to sessions."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from planner.break_actions import choose_break_columns, import_breaks, look_at_import
from planner.break_files.columns import BREAKS
from planner.break_imports import PASTED, breaks_in, is_table
from planner.changes import Refused
from planner.column_models import BreakColumns
from planner.columns import ColumnsUnclear
from planner.forms.breaks import BreaksImportForm
from planner.models import Season
from planner.views.calendar import season_of
from planner.views.columns import columns_page, no_day_above_12
from shared import uploads
from shared.access import needs
from shared.cells import Unreadable
from shared.clock import today_at
from shared.models import Club, Upload
from shared.roles import Permission


@needs(Permission.EDIT_CALENDAR)
def upload_breaks(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    """`?lines=` brings pasted lines back to be mended."""
    found = season_of(club, season)
    initial = {"lines": lines_kept(request, club)}
    posted = (request.POST, request.FILES) if request.method == "POST" else ()
    form = BreaksImportForm(*posted, initial=initial)
    if form.is_valid():
        try:
            kept = uploads.keep(club, form.content, request.user)
            step = "break_columns" if left_open(found, kept) else "confirm_breaks"
            return redirect(step, club=club.slug, season=found.pk, upload=kept.pk)
        except Unreadable as problem:
            form.add_error("file" if form.cleaned_data["file"] else "lines", str(problem))
    return render(request, "planner/breaks/import.html", {"form": form, "season": found})


def left_open(season: Season, kept: Upload) -> str:
    """What somebody has to say before the list can be read, in words; "" if nothing. Raises Unreadable."""
    try:
        found = breaks_in(season, bytes(kept.content), kept.name)
    except ColumnsUnclear as problem:
        return str(problem)
    return no_day_above_12() if found.day_order_is_open else ""


@needs(Permission.EDIT_CALENDAR)
def break_columns(request: HttpRequest, club: Club, season: int, upload: uuid.UUID) -> HttpResponse:
    """Which column of a list holds what; remembered for the squad."""
    found = season_of(club, season)
    try:
        kept = uploads.take(club, upload, request.user)
        return columns_page(
            request,
            kept,
            found.squad,
            of=BREAKS,
            chosen=BreakColumns.objects.reading_for(found.squad),
            why=left_open(found, kept),
            choose=lambda reading: choose_break_columns(squad=found.squad, reading=reading, by=request.user),
            onward=reverse("confirm_breaks", args=[club.slug, found.pk, kept.pk]),
            back=reverse("import_breaks", args=[club.slug, found.pk]),
        )
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("import_breaks", club=club.slug, season=found.pk)


def lines_kept(request: HttpRequest, club: Club) -> str:
    try:
        kept = uploads.take(club, uuid.UUID(request.GET.get("lines", "")), request.user)
    except (ValueError, Unreadable):
        return ""
    return bytes(kept.content).decode() if kept.name == PASTED else ""


@needs(Permission.EDIT_CALENDAR)
def confirm_breaks(request: HttpRequest, club: Club, season: int, upload: uuid.UUID) -> HttpResponse:
    """What the lines or the file would do; pressing the button does it, after they were read once more."""
    found = season_of(club, season)
    try:
        kept = uploads.take(club, upload, request.user)
        if request.method == "POST":
            return taken(request, found, kept)
        return preview(request, found, kept)
    except ColumnsUnclear as problem:
        messages.warning(request, str(problem))
        return redirect("break_columns", club=club.slug, season=found.pk, upload=upload)
    except Unreadable as problem:
        messages.error(request, str(problem))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("import_breaks", club=club.slug, season=found.pk)


def preview(request: HttpRequest, season: Season, kept: Upload) -> HttpResponse:
    given = {"season": season, "content": bytes(kept.content), "filename": kept.name}
    lines, plan, effects, seen = look_at_import(**given, by=request.user, today=today_at(season.squad.club))
    shown = {"season": season, "upload": kept, "preview": lines, "plan": plan, "seen": seen}
    shown |= {"effects": effects.near_a_match, "is_table": is_table(given["content"], kept.name)}
    return render(request, "planner/breaks/import_preview.html", shown | {"is_pasted": kept.name == PASTED})


def taken(request: HttpRequest, season: Season, kept: Upload) -> HttpResponse:
    given = {"season": season, "content": bytes(kept.content), "filename": kept.name}
    seen = request.POST.get("seen", "")
    try:
        written = import_breaks(**given, by=request.user, today=today_at(season.squad.club), seen=seen)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return preview(request, season, kept)
    kept.delete()
    messages.success(request, _("The breaks are saved: %(counts)s.") % {"counts": written.told})
    return redirect("breaks", club=season.squad.club.slug, season=season.pk)


patterns = [
    path("seasons/<int:season>/breaks/import/", upload_breaks, name="import_breaks"),
    path("seasons/<int:season>/breaks/import/<uuid:upload>/columns/", break_columns, name="break_columns"),
    path("seasons/<int:season>/breaks/import/<uuid:upload>/", confirm_breaks, name="confirm_breaks"),
]
