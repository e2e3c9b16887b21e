"""Runs of the planner: asked for, watched, cancelled, marked, accepted or left aside."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.models import Drill
from planner.actions import Refused, accept_run, stamp_of, start_run
from planner.build import BuiltProblem, is_ran, key_of, problem_of
from planner.building.house_rules import QUICK, THOROUGH
from planner.dealing import drop_run, mark_kept
from planner.forms.blocks import RunForm
from planner.forms.dealing import TOO_OLD, KeepForm, SeenForm
from planner.models import PlanRun, Session
from planner.overview import Overview, figure_lines
from planner.programme import Names, what_changed
from planner.proposed import key_of_spot, proposed
from planner.recommending import recommendation
from planner.settling import Proposal, proposal, stations_of
from planner.trace import falling_line
from planner.verdicts import gains_and_losses
from planner.views.blocks import back_to, block_of
from planner.wishes_told import unmet
from shared import jobs
from shared.access import needs
from shared.clock import clock_at
from shared.models import Club
from shared.roles import Permission

STOP_POLLING = 286  # what htmx takes as "this was the last answer"
SHOWN_SKILLS = 12


def run_of(club: Club, key: uuid.UUID) -> PlanRun:
    runs = PlanRun.objects.of(club).select_related("job", "block__squad__club", "made_by", "accepted_by")
    return get_object_or_404(runs, pk=key)


@needs(Permission.EDIT_PLAN)
@require_POST
def plan_block(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    found = block_of(club, block)
    form = RunForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Choose a quick or a thorough run."))
        return redirect("block", club=club.slug, block=found.pk)
    try:
        run = start_run(block=found, seconds=form.cleaned_data["seconds"], by=request.user)
    except Refused as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
        return redirect("block", club=club.slug, block=found.pk)
    return redirect("run", club=club.slug, run=run.pk)


@needs(Permission.SEE_PLAN)
def run(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    """The page, and for htmx the part of it that changes; without JavaScript the page loads itself anew."""
    found = run_of(club, run)
    shown = progress_of(found)
    if shown["is_over"] and found.plan:
        shown |= outcome_of(found)
    if not request.htmx:
        return render(request, "planner/blocks/run.html", shown)
    return render(request, "planner/blocks/run_state.html", shown, status=STOP_POLLING if shown["is_over"] else 200)


def progress_of(run: PlanRun) -> dict[str, Any]:
    progress = run.job.progress if run.job else {}
    return {
        "percent": round(100 * progress.get("fraction", 0)),
        "run": run,
        "stretch": run.block,
        "job": run.job,
        "is_over": run.job is None or run.job.is_over,
        "figures": figure_lines(run.cost) if run.cost else [],
        "first_cost": run.trace[0][1] if run.trace else None,
        "line": falling_line(run.trace, run.bound, seconds=run.seconds, until=progress.get("seconds", run.seconds)),
        "back": back_from(run),
    }


def back_from(run: PlanRun) -> str:
    """Where the person came from: the week of the night that was dealt again, else the block."""
    return back_to(run.block, Session.objects.filter(pk=run.asked.get("night")).first())


def outcome_of(run: PlanRun) -> dict[str, Any]:
    """The plan beside the programme as it stands, and what accepting it would change."""
    built = problem_of(run.block, **clock_at(run.block.squad.club), as_it_stands=True)
    found, names = proposal(run, built), Names.of(run.block)
    now, then = Overview(built, built.programme), Overview(built, found.programme)
    return {
        "proposal": found,
        "seen": stamp_of(run.block),
        "recommendation": recommendation(now, then),
        "comparison": figure_lines(now.figures.to_json(), then.figures.to_json()),
        "changes": what_changed(built.programme, found.programme, names),
        "short_skills": then.short_skills[:SHOWN_SKILLS],
        "unmet": unmet(built, then.standing.stations),
        "notes": built.notes,
    } | (redealt(run, now, then) if run.is_redeal else offered(run, built, found, names))


def redealt(run: PlanRun, now: Overview, then: Overview) -> dict[str, Any]:
    """Who gains and who loses by it, and what was asked for besides mending."""
    gains, losses = gains_and_losses(now.standing, then.standing, now.built.words)
    instead = Drill.objects.filter(pk=run.asked.get("instead")).first()
    return {"gains": gains, "losses": losses, "instead": instead}


def offered(run: PlanRun, built: BuiltProblem, found: Proposal, names: Names) -> dict[str, Any]:
    """The stations one by one, to be marked."""
    marked = {(slot, drill) for slot, drill in run.kept}
    slots = [] if found.misfits else proposed(built, found.programme, names, marked)
    return {"proposed": slots, "quick": QUICK, "thorough": THOROUGH}


@needs(Permission.SEE_PLAN)
def unserved(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    """Wishes that the plan gives nothing because nothing can: apart, since looking for the reasons takes a second."""
    found = run_of(club, run)
    if not found.plan:
        raise Http404(_("This run has no plan."))
    built = problem_of(found.block, **clock_at(club), as_it_stands=True)
    sentences = Overview(built, proposal(found, built).programme).unserved
    template = "planner/blocks/unserved_list.html" if request.htmx else "planner/blocks/unserved.html"
    return render(request, template, {"run": found, "sentences": sentences})


@needs(Permission.EDIT_PLAN)
@require_POST
def cancel_run(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    found = run_of(club, run)
    if found.job and not found.job.is_over:
        jobs.cancel(found.job)
        messages.success(request, _("The run stops; the best plan so far is kept."))
    return redirect("run", club=club.slug, run=found.pk)


@needs(Permission.EDIT_PLAN)
@require_POST
def accept(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    found, form = run_of(club, run), SeenForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused(str(TOO_OLD))
        left_out = accept_run(run=found, by=request.user, seen=form.cleaned_data["seen"])
    except Refused as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
        return redirect("run", club=club.slug, run=found.pk)
    messages.success(request, _("The plan is now the programme of “%(block)s”.") % {"block": found.block})
    for words in left_out:
        messages.warning(request, words)
    return redirect(back_from(found))


@needs(Permission.EDIT_PLAN)
@require_POST
def drop(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    found = drop_run(run=run_of(club, run), by=request.user)
    messages.success(request, _("Nothing was changed: what stands is kept."))
    return redirect(back_from(found))


@needs(Permission.EDIT_PLAN)
@require_POST
def keep(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    """Marks as they stand on the page; with a length of a run also that run around them."""
    found = run_of(club, run)
    form = KeepForm(request.POST, keys=keys_of(found))
    try:
        if not form.is_valid():
            raise Refused(*(text for errors in form.errors.values() for text in errors))
        mark_kept(run=found, spots=form.spots)
        seconds = form.cleaned_data["seconds"]
        if seconds:
            started = start_run(block=found.block, seconds=seconds, by=request.user, around=found)
            return redirect("run", club=club.slug, run=started.pk)
    except Refused as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
        return redirect("run", club=club.slug, run=found.pk)
    if request.htmx:
        return render(request, "planner/blocks/kept.html", {"run": found})
    messages.success(request, _("Marked: %(count)d to keep.") % {"count": len(found.kept)})
    return redirect(f"{reverse('run', args=[club.slug, found.pk])}#keep")


def keys_of(run: PlanRun) -> list[str]:
    """The spots of the run's plan on the slots that are still there."""
    if not run.plan or run.is_redeal:
        return []
    slots = problem_of(run.block, **clock_at(run.block.squad.club)).slots
    stations = stations_of(run.plan["stations"])
    return [
        key_of_spot((slots[station.session, station.slot], key_of(station.drill)))
        for station in stations
        if not is_ran(station.drill) and (station.session, station.slot) in slots
    ]


patterns = [
    path("blocks/<int:block>/plan/", plan_block, name="plan_block"),
    path("runs/<uuid:run>/", run, name="run"),
    path("runs/<uuid:run>/unserved/", unserved, name="unserved"),
    path("runs/<uuid:run>/cancel/", cancel_run, name="cancel_run"),
    path("runs/<uuid:run>/accept/", accept, name="accept_run"),
    path("runs/<uuid:run>/drop/", drop, name="drop_run"),
    path("runs/<uuid:run>/keep/", keep, name="keep_stations"),
]
