"""Two plans of a block beside each other."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from planner.build import problem_of
from planner.comparing import Comparison, side_of
from planner.forms.compare import STANDING, CompareForm
from planner.models import Block
from planner.programme import Names
from planner.views.blocks import block_of
from shared.access import needs
from shared.clock import clock_at
from shared.models import Club
from shared.roles import Permission

MOST_RUNS = 30


@needs(Permission.SEE_PLAN)
def compare_runs(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    """`?left=` and `?right=`: the key of a run, or `now` for what stands; by default what stands and the last run."""
    found = block_of(club, block)
    runs = list(found.runs.select_related("made_by").defer("problem", "trace").filter(plan__isnull=False)[:MOST_RUNS])
    usual = {"left": STANDING, "right": str(runs[0].pk) if runs else STANDING}
    form = CompareForm({name: request.GET.get(name, value) for name, value in usual.items()}, runs=runs)
    shown = {"stretch": found, "form": form, "runs": runs}
    if runs and form.is_valid():
        shown["comparison"] = _comparison(club, found, form)
    return render(request, "planner/blocks/compare.html", shown)


def _comparison(club: Club, block: Block, form: CompareForm) -> Comparison:
    built = problem_of(block, **clock_at(club), as_it_stands=True)
    left, right = (side_of(built, form.run(field), form.name(field)) for field in ("left", "right"))
    return Comparison(left, right, Names.of(block))


patterns = [path("blocks/<int:block>/compare/", compare_runs, name="compare_runs")]
