"""Blocks: the list, making and changing one, its page, taking back a change; minutes per position group."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.models import Skill
from planner.actions import Refused, undo
from planner.block_actions import save_block, set_targets, usual_minutes
from planner.build import problem_of
from planner.building.house_rules import QUICK, THOROUGH
from planner.forms.blocks import BlockForm, TargetsForm, UndoForm, next_monday
from planner.models import Block, GroupTarget
from planner.overview import Overview, figure_lines
from planner.programme import sessions_of
from shared.access import needs
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad

SHOWN_RUNS, SHOWN_CHANGES = 8, 8


def today_in(club: Club) -> dt.date:
    return timezone.localdate(timezone=club.tzinfo)


def given(request: HttpRequest) -> QueryDict | None:
    """What was sent; a form that was sent empty is still one that was sent."""
    return request.POST if request.method == "POST" else None


def block_of(club: Club, key: int) -> Block:
    return get_object_or_404(Block.objects.of(club).select_related("squad__club"), pk=key)


@needs(Permission.SEE_PLAN)
def blocks(request: HttpRequest, club: Club) -> HttpResponse:
    shown = Block.objects.of(club).select_related("squad").prefetch_related("focus")
    squads = Squad.objects.filter(club=club)
    return render(request, "planner/blocks/blocks.html", {"blocks": shown, "squads": squads, "today": today_in(club)})


@needs(Permission.EDIT_PLAN)
def new_block(request: HttpRequest, club: Club) -> HttpResponse:
    if not Squad.objects.filter(club=club).exists():
        messages.error(request, _("A block is for a squad: add the squad and its players first."))
        return redirect("squads", club=club.slug)
    return _block_form(request, club, Block(), {"first_day": next_monday(today_in(club))})


@needs(Permission.EDIT_PLAN)
def edit_block(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    found = block_of(club, block)
    initial = {name: getattr(found, name) for name in BLOCK_FIELDS}
    return _block_form(request, club, found, initial | {"focus": found.focus.all()})


BLOCK_FIELDS = ("squad", "name", "first_day", "weeks", "target_percent", "load_low", "load_high")


def _block_form(request: HttpRequest, club: Club, block: Block, initial: dict[str, Any]) -> HttpResponse:
    form = BlockForm(given(request), club=club, block=block, initial=initial)
    if form.is_valid():
        saved = save_block(block=block, by=request.user, **form.cleaned_data)
        messages.success(request, _("“%(block)s” is saved.") % {"block": saved})
        return redirect("block", club=club.slug, block=saved.pk)
    return render(request, "planner/blocks/block_form.html", {"form": form, "stretch": block})


@needs(Permission.SEE_PLAN)
def block(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    found = block_of(club, block)
    built = problem_of(found, today=today_in(club), as_it_stands=True)
    overview = Overview(built, built.programme)
    changes = list(found.changes.select_related("made_by").defer("before", "after")[:SHOWN_CHANGES])
    shown = {
        "stretch": found,  # Django itself uses the word block in templates
        "overview": overview,
        "nights": overview.nights(sessions_of(found).select_related("squad").prefetch_related("slots")),
        "figures": figure_lines(overview.figures.to_json()),
        "focus": found.focus.all(),
        "runs": [(run, figure_lines(run.cost) if run.cost else []) for run in found.runs.listed()[:SHOWN_RUNS]],
        "changes": changes,
        "quick": QUICK,
        "thorough": THOROUGH,
        "last_change": next((change for change in changes if not change.undone_at), None),
    }
    return render(request, "planner/blocks/block.html", shown)


@needs(Permission.EDIT_PLAN)
@require_POST
def undo_change(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    found = block_of(club, block)
    form = UndoForm(request.POST)
    if form.is_valid():
        try:
            undone = undo(block=found, by=request.user, change=form.cleaned_data["change"])
            messages.success(request, _("Undone: %(what)s") % {"what": undone.what})
        except Refused as refusal:
            messages.error(request, str(refusal))
    return redirect("block", club=club.slug, block=found.pk)


@needs(Permission.EDIT_PLAN)
def targets(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """`?usual=1` fills the table with the starter set; nothing is written before it is saved."""
    found = get_object_or_404(Squad, club=club, slug=squad)
    skills = list(Skill.objects.of(club).current())
    is_usual = "usual" in request.GET and request.method == "GET"
    minutes = usual_minutes(skills) if is_usual else minutes_of(found)
    form = TargetsForm(given(request), skills=skills, minutes=minutes, names=club.names)
    if form.is_valid():
        set_targets(squad=found, minutes=form.minutes, by=request.user)
        messages.success(request, _("The minutes of %(squad)s are saved.") % {"squad": found})
        return redirect("targets", club=club.slug, squad=found.slug)
    return render(request, "planner/blocks/targets.html", {"squad": found, "form": form, "is_usual": is_usual})


def minutes_of(squad: Squad) -> dict[tuple[str, int], int]:
    return {(t.group, t.skill_id): t.minutes for t in GroupTarget.objects.filter(squad=squad)}


patterns = [
    path("blocks/", blocks, name="blocks"),
    path("blocks/new/", new_block, name="new_block"),
    path("blocks/<int:block>/", block, name="block"),
    path("blocks/<int:block>/edit/", edit_block, name="edit_block"),
    path("blocks/<int:block>/undo/", undo_change, name="undo_change"),
    path("targets/<slug:squad>/", targets, name="targets"),
]
