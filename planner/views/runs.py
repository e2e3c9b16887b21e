"""Runs of the planner: asked for, watched, cancelled, accepted."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.actions import Refused, accept_run, start_run
from planner.build import problem_of
from planner.forms.blocks import RunForm
from planner.models import PlanRun
from planner.overview import Overview, figure_lines
from planner.programme import Names, what_changed
from planner.settling import proposal
from planner.trace import falling_line
from planner.views.blocks import block_of, today_in
from shared import jobs
from shared.access import needs
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
        shown |= outcome_of(found, today_in(club))
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
    }


def outcome_of(run: PlanRun, today: Any) -> dict[str, Any]:
    """The plan beside the programme as it stands, and what accepting it would change."""
    built = problem_of(run.block, today=today, as_it_stands=True)
    found = proposal(run, built)
    now, then = Overview(built, built.programme), Overview(built, found.programme)
    return {
        "proposal": found,
        "comparison": figure_lines(now.figures.to_json(), then.figures.to_json()),
        "changes": what_changed(built.programme, found.programme, Names.of(run.block)),
        "short_skills": then.short_skills[:SHOWN_SKILLS],
        "notes": built.notes,
    }


@needs(Permission.SEE_PLAN)
def unserved(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    """Wishes that the plan gives nothing because nothing can: apart, since looking for the reasons takes a second."""
    found = run_of(club, run)
    if not found.plan:
        raise Http404(_("This run has no plan."))
    built = problem_of(found.block, today=today_in(club), as_it_stands=True)
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
    found = run_of(club, run)
    try:
        left_out = accept_run(run=found, by=request.user)
    except Refused as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
        return redirect("run", club=club.slug, run=found.pk)
    messages.success(request, _("The plan is now the programme of “%(block)s”.") % {"block": found.block})
    for words in left_out:
        messages.warning(request, words)
    return redirect("block", club=club.slug, block=found.block_id)


patterns = [
    path("blocks/<int:block>/plan/", plan_block, name="plan_block"),
    path("runs/<uuid:run>/", run, name="run"),
    path("runs/<uuid:run>/unserved/", unserved, name="unserved"),
    path("runs/<uuid:run>/cancel/", cancel_run, name="cancel_run"),
    path("runs/<uuid:run>/accept/", accept, name="accept_run"),
]
