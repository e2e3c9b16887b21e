"""The page on which a drill is drawn."""

from __future__ import annotations

import json
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.actions import DrillRefused, EditedMeanwhile, copy_with_diagram, set_diagram
from drills.core import diagram as diagrams
from drills.core import draw
from drills.core.inkbox import inkbox
from drills.core.legend import legend
from drills.diagram_form import DiagramForm
from drills.diagram_words import where, words
from drills.models import Drill
from drills.views.fetch import drill_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_DRILLS)
def drill_diagram(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """The editor, and what its plain form sends."""
    drill = drill_of(club, number)
    form = DiagramForm(request.POST or None, drill=drill)
    if request.method != "POST" or not form.is_valid():
        return _page(request, drill, form)
    if "one_more" in request.POST:
        return _page(request, drill, form.with_one_more_frame())
    try:
        saved = _saved(request, drill, form.value, form.version, copy=request.POST.get("choice") == "copy")
    except DrillRefused as refused:
        form.refuse(refused.faults)
        return _page(request, drill, form)
    except EditedMeanwhile as newer:
        both = _both(form.value, newer.drill) | {"told": str(newer)}
        return render(request, "drills/diagram_conflict.html", both, status=409)
    messages.success(request, _("%(drill)s is version %(n)d.") % {"drill": saved, "n": saved.version})
    return redirect("drill", club=club.slug, number=saved.number)


@needs(Permission.EDIT_DRILLS)
@require_POST
def drill_diagram_save(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """What the editor sends and gets: JSON. 200 saved, 409 somebody else saved meanwhile, 422 refused."""
    drill = drill_of(club, number)
    try:
        sent = json.loads(request.body)
        diagram, version, copy = sent["diagram"], int(sent["version"]), bool(sent.get("copy"))
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return JsonResponse(
            {"faults": [{"where": _("The drawing"), "why": _("did not arrive whole"), "frame": None}]}, status=422
        )
    try:
        saved = _saved(request, drill, diagram, version, copy=copy)
    except DrillRefused as refused:
        faults = [
            {"where": where(fault, diagram), "why": fault.why, "frame": _frame(fault)} for fault in refused.faults
        ]
        return JsonResponse({"faults": faults}, status=422)
    except EditedMeanwhile as newer:
        html = render_to_string("drills/diagram_both.html", _both(diagram, newer.drill), request)
        return JsonResponse({"html": html, "version": newer.drill.version, "theirs": newer.drill.diagram}, status=409)
    address = reverse("drill_diagram", kwargs={"club": club.slug, "number": saved.number})
    return JsonResponse({"version": saved.version, "url": address, "copy": copy})


def _refused(faults: list[dict[str, Any]]) -> JsonResponse:
    return JsonResponse({"faults": faults}, status=422)


def _saved(request: HttpRequest, drill: Drill, diagram: Any, version: int, *, copy: bool) -> Drill:
    if copy:
        return copy_with_diagram(drill, diagram, by=request.user, today=today_at(drill.club))
    return set_diagram(drill, diagram, version=version, by=request.user, today=today_at(drill.club))


def _page(request: HttpRequest, drill: Drill, form: DiagramForm) -> HttpResponse:
    data = {
        "inkbox": inkbox(),
        "words": words(),
        "diagram": drill.diagram,
        "grid": [drill.grid_width, drill.grid_length],
        "version": drill.version,
        "club": drill.club.slug,
        "drill": drill.number,
        "user": request.user.pk,
        "save": reverse("drill_diagram_save", kwargs={"club": drill.club.slug, "number": drill.number}),
    }
    known = legend()
    tools = {"place": known[: len(diagrams.Kind)], "draw": known[len(diagrams.Kind) :][: len(diagrams.Way)]}
    shown = {"drill": drill, "form": form, "data": data, "tools": _tools(tools)}
    return render(request, "drills/diagram_edit.html", shown)


def _tools(entries: dict[str, list]) -> dict[str, list[tuple[str, Any]]]:
    """The legend's lines with the words by which the editor knows them."""
    keys = {"place": list(diagrams.Kind), "draw": list(diagrams.Way)}
    return {mode: list(zip(map(str, keys[mode]), lines, strict=True)) for mode, lines in entries.items()}


def _both(mine: Any, newer: Drill) -> dict[str, Any]:
    """Two drawings of one drill, to choose from."""
    return {
        "drill": newer,
        "mine": draw.strip(diagrams.read(mine), ident="mine"),
        "theirs": draw.strip(diagrams.read(newer.diagram), ident="theirs") if newer.diagram else "",
        "sent": json.dumps(mine),
    }


def _frame(fault: diagrams.Fault) -> int | None:
    path = [part for part in fault.path if part != "diagram"]
    return path[1] if path[:1] == ["frames"] and len(path) > 1 else None


patterns = [
    path("drills/<int:number>/diagram/", drill_diagram, name="drill_diagram"),
    path("drills/<int:number>/diagram/save/", drill_diagram_save, name="drill_diagram_save"),
]
