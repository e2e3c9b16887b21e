"""Why a plan is as it is: of a run, of the programme that stands, and of one station in either."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from planner.build import problem_of
from planner.explanations import explained, players_why, reason_lines
from planner.models import Block, Session
from planner.overview import Overview
from planner.prices_told import more_time_lines, price_lines
from planner.settling import proposal
from planner.stations_told import against_others, station_lines, station_of, station_sentences
from planner.views.blocks import block_of
from planner.views.runs import run_of
from shared.access import needs
from shared.clock import clock_at
from shared.models import Club
from shared.roles import Permission


def overview_of_run(club: Club, key: uuid.UUID) -> tuple[Block, Overview]:
    """The block as accepting the run would leave it."""
    run = run_of(club, key)
    if not run.plan:
        raise Http404(_("This run has no plan."))
    built = problem_of(run.block, **clock_at(club), as_it_stands=True)
    found = proposal(run, built)
    if found.misfits:
        raise Http404(_("The plan of this run no longer fits, so there is nothing to explain. Plan again."))
    return run.block, Overview(built, found.programme)


def overview_of_block(club: Club, key: int) -> tuple[Block, Overview]:
    block = block_of(club, key)
    built = problem_of(block, **clock_at(club), as_it_stands=True)
    return block, Overview(built, built.programme)


@needs(Permission.SEE_PLAN)
def run_why(request: HttpRequest, club: Club, run: uuid.UUID) -> HttpResponse:
    block, overview = overview_of_run(club, run)
    words = {"back": reverse("run", args=[club.slug, run]), "back_to": _("Plan of the block"), "run": run}
    return _why(request, block, overview, words)


@needs(Permission.SEE_PLAN)
def block_why(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    found, overview = overview_of_block(club, block)
    words = {"back": reverse("block", args=[club.slug, block]), "back_to": str(found)}
    return _why(request, found, overview, words)


def _why(request: HttpRequest, block: Block, overview: Overview, shown: dict[str, Any]) -> HttpResponse:
    shown |= {"stretch": block, "breaches": overview.breaches}
    if not overview.breaches:
        explanation, words = explained(overview), overview.built.words
        shown |= {
            "reasons": reason_lines(explanation),
            "players": players_why(explanation, words),
            "prices": price_lines(explanation, words),
            "more_time": more_time_lines(explanation, words),
            "stations": station_lines(explanation, overview.built),
        }
    part = "planner/blocks/why_part.html" if request.htmx else "planner/blocks/why.html"
    return render(request, part, shown)


@needs(Permission.SEE_PLAN)
def run_station_why(request: HttpRequest, club: Club, run: uuid.UUID, slot: int, drill: int) -> HttpResponse:
    _block, overview = overview_of_run(club, run)
    return _station_why(request, overview, slot, drill, reverse("run_why", args=[club.slug, run]))


@needs(Permission.SEE_PLAN)
def station_why(request: HttpRequest, club: Club, block: int, slot: int, drill: int) -> HttpResponse:
    """`slot` and `drill` are the keys of the station's slot and drill; 404 where it does not stand."""
    found, overview = overview_of_block(club, block)
    night = get_object_or_404(Session.objects.of(club), slots=slot)
    monday = night.day - dt.timedelta(days=night.day.weekday())
    week = reverse("week", args=[club.slug, found.squad.slug, monday])
    return _station_why(request, overview, slot, drill, reverse("block_why", args=[club.slug, block]), week)


def _station_why(
    request: HttpRequest, overview: Overview, slot: int, drill: int, back: str, week: str = ""
) -> HttpResponse:
    built, explanation = overview.built, explained(overview)
    station = station_of(explanation, built, slot, drill)
    if station is None:
        raise Http404(_("That station is not in this plan."))
    shown: dict[str, Any] = {
        "back": back,
        "week": week,
        "slot": slot,
        "name": built.words.drill(station.drill),
        "place": built.words.slot(station.session, station.slot),
        "breaches": overview.breaches,
    }
    if not overview.breaches:
        why = explanation.why(station)
        runner_up = built.words.drill(why.runner_up.drill) if why.runner_up else ""
        shown |= {
            "sentences": station_sentences(why, built.words),
            "tables": against_others(explanation, why),
            "runner_up": runner_up,
        }
    part = "planner/blocks/station_why_part.html" if request.htmx else "planner/blocks/station_why.html"
    return render(request, part, shown)


patterns = [
    path("runs/<uuid:run>/why/", run_why, name="run_why"),
    path("runs/<uuid:run>/why/<int:slot>/<int:drill>/", run_station_why, name="run_station_why"),
    path("blocks/<int:block>/why/", block_why, name="block_why"),
    path("blocks/<int:block>/why/<int:slot>/<int:drill>/", station_why, name="station_why"),
]
