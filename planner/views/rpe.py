"""How hard a night or a match was: the coaches' list, and the same by file."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.changes import Refused
from planner.forms.rpe import Entry, RpeForm
from planner.models import Fixture, Session
from planner.rpe import SCALE, Grid, Line, Occasion, grid_of, lately
from planner.rpe_actions import import_rpe as import_verb
from planner.rpe_actions import note_rpe
from planner.rpe_imports import rpe_in
from shared import uploads
from shared.access import needs
from shared.models import Club
from shared.roles import Permission
from squads.views.fetch import squad_of


@dataclass(frozen=True)
class LineShown:
    """A line with what its fields hold: what was said, or what was typed and could not be saved yet."""

    line: Line
    entry: Entry
    problem: str = ""
    is_unseen: bool = False


@needs(Permission.ENTER_RPE)
def rpe_lately(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    return render(request, "planner/rpe/lately.html", {"squad": found, "asked": lately(found, timezone.now())})


@needs(Permission.ENTER_RPE)
def session_rpe(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    rows = Session.objects.of(club).select_related("squad__club").prefetch_related("slots")
    return listed(request, Occasion(session=get_object_or_404(rows, pk=session)))


@needs(Permission.ENTER_RPE)
def match_rpe(request: HttpRequest, club: Club, fixture: int) -> HttpResponse:
    rows = Fixture.objects.of(club).select_related("squad__club")
    return listed(request, Occasion(fixture=get_object_or_404(rows, pk=fixture)))


def listed(request: HttpRequest, occasion: Occasion) -> HttpResponse:
    grid = grid_of(occasion)
    if request.method != "POST":
        return shown(request, grid)
    form = RpeForm.read(request.POST, grid, timezone.now())
    if form.problems:
        messages.error(request, _("Nothing is saved yet: mend what is marked, then save again."))
        return shown(request, grid, form)
    try:
        noted = note_rpe(told=form.told, by=request.user)
    except Refused as refused:
        messages.error(request, str(refused))
        return shown(request, grid, form)
    said = ngettext("%(count)d number is noted.", "%(count)d numbers are noted.", noted.count)
    messages.success(request, said % {"count": noted.count})
    if not noted.unseen:
        return redirect(request.path)
    told = _("Somebody said something else meanwhile: both are shown where it is so. Save again to keep yours.")
    messages.warning(request, told)
    form.keep_only({each.player.pk for each in noted.unseen})
    return shown(request, grid_of(occasion), form)


def shown(request: HttpRequest, grid: Grid, form: RpeForm | None = None) -> HttpResponse:
    form = form or RpeForm(shown=keys_of(grid))
    words = {
        "grid": grid,
        "occasion": grid.occasion,
        "squad": grid.occasion.squad,
        "lines": [line_shown(line, form) for line in grid.lines],
        # Whoever saw what somebody else said answers that from now on; after a mistake he still answers what he saw.
        "shown": keys_of(grid) if form.unseen else form.shown,
        "scale": [(str(number), word) for number, word in SCALE],
        "is_early": grid.occasion.ends > timezone.now(),
    }
    return render(request, "planner/rpe/grid.html", words)


def line_shown(line: Line, form: RpeForm) -> LineShown:
    key = line.player.pk
    return LineShown(line, form.typed.get(key) or Entry.of(line.said), form.problems.get(key, ""), key in form.unseen)


def keys_of(grid: Grid) -> str:
    return " ".join(str(line.said.pk) for line in grid.lines if line.said)


@needs(Permission.ENTER_RPE)
def import_rpe(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    form = uploads.UploadForm(request.POST or None, request.FILES or None)
    if kept := uploads.keep_if_read(club, form, request.user, partial(rpe_in, found)):
        return redirect("confirm_rpe", club=club.slug, squad=found.slug, upload=kept.pk)
    return render(request, "planner/rpe/import.html", {"form": form, "squad": found})


@needs(Permission.ENTER_RPE)
def confirm_rpe(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    found = squad_of(club, squad)

    def write(content: bytes, name: str, seen: str) -> HttpResponse:
        preview = import_verb(squad=found, content=content, filename=name, by=request.user, seen=seen)
        messages.success(request, _("The numbers are noted: %(counts)s.") % {"counts": preview.told})
        return redirect("squad", club=club.slug, squad=found.slug)

    return uploads.confirmation(
        request,
        club,
        upload,
        look=lambda content, name: rpe_in(found, content, name).preview,
        write=write,
        again=reverse("import_rpe", args=[club.slug, found.slug]),
        template="planner/rpe/confirm.html",
        shown={"squad": found},
    )


patterns = [
    path("sessions/<int:session>/rpe/", session_rpe, name="session_rpe"),
    path("fixtures/<int:fixture>/rpe/", match_rpe, name="match_rpe"),
    path("squads/<slug:squad>/rpe/", rpe_lately, name="rpe_lately"),
    path("squads/<slug:squad>/rpe/import/", import_rpe, name="import_rpe"),
    path("squads/<slug:squad>/rpe/import/<uuid:upload>/", confirm_rpe, name="confirm_rpe"),
]
