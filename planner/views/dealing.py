"""Dealing again after a change: what no longer fits, what else to change, and drills left out of a block."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.models import Drill
from planner.actions import Refused, stamp_of
from planner.build import BuiltProblem, is_ran, key_of, problem_of
from planner.dealing import Swap, deal_again, take_back_in, wishes_to_leave_out
from planner.forms.dealing import DealForm
from planner.forms.week import ShownForm
from planner.mending import to_mend
from planner.models import Block, PlanRun, Session
from planner.views.blocks import back_to, block_of, given
from shared.access import needs
from shared.clock import clock_at, today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_PLAN)
def deal(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    """`?night=` adds what can be changed on that night; `?ban=` and `?station=` choose something beforehand."""
    found = block_of(club, block)
    night = night_in(found, request)
    built = problem_of(found, **clock_at(club))
    chosen = {"seen": stamp_of(found), "ban": request.GET.get("ban"), "station": request.GET.get("station")}
    chosen["slots"] = request.GET.getlist("slots")
    misfits = to_mend(built)
    form = DealForm(
        given(request), night=night, begun=built.begun, drills=on_offer(built), fits=not misfits, initial=chosen
    )
    if form.is_valid():
        try:
            run = asked_for(found, night, form, request)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            return redirect("run", club=club.slug, run=run.pk)
    shown = {
        "stretch": found,
        "night": night,
        "form": form,
        "misfits": misfits,
        "left_out": [wish.drill for wish in wishes_to_leave_out(found)],
        "back": back_to(found, night),
    }
    return render(request, "planner/blocks/deal.html", shown)


def night_in(block: Block, request: HttpRequest) -> Session | None:
    """The night of the block that the address names, if it is still open."""
    form = ShownForm(request.GET)
    nights = Session.objects.filter(squad=block.squad_id).between(block.first_day, block.last_day)
    open_nights = nights.filter(day__gte=today_at(block.squad.club)).prefetch_related("slots")
    key = form.chosen("night")
    return get_object_or_404(open_nights.select_related("squad"), pk=key) if key else None


def on_offer(built: BuiltProblem) -> list[int]:
    return [key_of(drill.id) for drill in built.problem.drills if not is_ran(drill.id)]


def asked_for(block: Block, night: Session | None, form: DealForm, request: HttpRequest) -> PlanRun:
    wanted = form.cleaned_data
    station, drill = wanted.get("station"), wanted.get("drill")
    return deal_again(
        block=block,
        by=request.user,
        night=night,
        slots=[int(slot) for slot in wanted.get("slots", ())],
        swap=Swap(station, drill) if station and drill else None,
        ban=wanted["ban"],
        seen=wanted["seen"],
    )


@needs(Permission.EDIT_PLAN)
@require_POST
def bring_back(request: HttpRequest, club: Club, block: int, drill: int) -> HttpResponse:
    found = block_of(club, block)
    row = get_object_or_404(Drill.objects.of(club), pk=drill)
    take_back_in(block=found, drill=row, by=request.user)
    messages.success(request, _("%(drill)s can be planned in this block again.") % {"drill": row})
    return redirect("deal_again", club=club.slug, block=found.pk)


patterns = [
    path("blocks/<int:block>/deal/", deal, name="deal_again"),
    path("blocks/<int:block>/drills/<int:drill>/back/", bring_back, name="bring_drill_back"),
]
