"""Blocks: the list, making and changing one, its page, taking back a change; minutes per position group."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.models import Skill
from planner.actions import Refused, last_change, undo, what_undo_replaces
from planner.block_actions import save_block, set_targets, usual_minutes
from planner.build import BuiltProblem, problem_of
from planner.building.house_rules import QUICK, THOROUGH
from planner.core.totals import monday_of
from planner.forms.blocks import BlockForm, TargetsForm, UndoForm, next_monday
from planner.models import Block, GroupTarget, PlanChange, Session
from planner.overview import FigureLine, Overview, figure_lines
from planner.programme import Names, Programme, sessions_of, what_changed
from planner.verdicts import judge
from shared.access import needs
from shared.clock import clock_at, today_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad

SHOWN_RUNS, SHOWN_CHANGES = 8, 8


def given(request: HttpRequest) -> QueryDict | None:
    """What was sent; a form that was sent empty is still one that was sent."""
    return request.POST if request.method == "POST" else None


def block_of(club: Club, key: int) -> Block:
    return get_object_or_404(Block.objects.of(club).select_related("squad__club"), pk=key)


def back_to(block: Block, night: Session | None) -> str:
    """The week of a night, else the block."""
    club = block.squad.club.slug
    if night is None:
        return reverse("block", args=[club, block.pk])
    return f"{reverse('week', args=[club, block.squad.slug, monday_of(night.day)])}#night-{night.pk}"


@needs(Permission.SEE_PLAN)
def blocks(request: HttpRequest, club: Club) -> HttpResponse:
    shown = Block.objects.of(club).select_related("squad").prefetch_related("focus")
    squads = Squad.objects.filter(club=club)
    return render(request, "planner/blocks/blocks.html", {"blocks": shown, "squads": squads, "today": today_at(club)})


@needs(Permission.EDIT_PLAN)
def new_block(request: HttpRequest, club: Club) -> HttpResponse:
    if not Squad.objects.filter(club=club).exists():
        messages.error(request, _("A block is for a squad: add the squad and its players first."))
        return redirect("squads", club=club.slug)
    return _block_form(request, club, Block(), {"first_day": next_monday(today_at(club))})


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
    built = problem_of(found, **clock_at(club), as_it_stands=True)
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
    return undone(request, found, back_to(found, None))


def undone(request: HttpRequest, block: Block, back: str) -> HttpResponse:
    """Take the last change back and return; a change that asks first leads to the page that does, unless it did."""
    form = UndoForm(request.POST)
    try:
        seen = form.cleaned_data["change"] if form.is_valid() else None
        if last_change(block, seen).asks_first and not form.cleaned_data.get("sure"):
            address = reverse("before_undo", args=[block.squad.club.slug, block.pk])
            return redirect(with_query(address, change=seen, monday=form.cleaned_data.get("monday")))
        change = undo(block=block, by=request.user, change=seen)
        messages.success(request, _("Undone: %(what)s") % {"what": change.what})
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(back)


@needs(Permission.EDIT_PLAN)
def before_undo(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    """What taking back the last change would lose; `?monday=` is the week to return to."""
    found, form = block_of(club, block), UndoForm(request.GET)
    monday = form.cleaned_data.get("monday") if form.is_valid() else None
    back = reverse("week", args=[club.slug, found.squad.slug, monday]) if monday else back_to(found, None)
    try:
        change = last_change(found, form.cleaned_data.get("change"))
        shown = lost_by_undo(found, change)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(back)
    words = {"stretch": found, "change": change, "back": back, "monday": monday}
    return render(request, "planner/blocks/before_undo.html", words | shown)


def lost_by_undo(block: Block, change: PlanChange) -> dict[str, Any]:
    clock = clock_at(block.squad.club)
    now, before = what_undo_replaces(block, change, **clock)
    built = problem_of(block, **clock, as_it_stands=True)
    touched = {station.session for station in now.stations + before.stations}
    wanted = built.beside(touched).joined_to(before)
    return {
        "stations": len(now.stations),
        "returning": len(before.stations),
        "nights": len(touched),
        "comparison": figures_of_change(built, wanted),
        "changes": what_changed(built.programme, wanted, Names.of(block)),
    }


def figures_of_change(built: BuiltProblem, wanted: Programme) -> list[FigureLine]:
    """Empty when a drill would come back that the problem no longer knows."""
    known = {drill.id for drill in built.problem.drills}
    if not {station.drill for station in built.stations(wanted)} <= known:
        return []
    verdict = judge(built, wanted)
    return figure_lines(verdict.before.to_json(), verdict.after.to_json())


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
    path("blocks/<int:block>/undo/first/", before_undo, name="before_undo"),
    path("targets/<slug:squad>/", targets, name="targets"),
]
