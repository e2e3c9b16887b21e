"""Groups that swap stations on a night: proposed from who is here, settled, and ended."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.forms.swap import SwapForm
from planner.models import Block, Session
from planner.swap_actions import end_swap, settle_swap
from planner.swap_told import told_of_proposal
from planner.swapping import Evening, Proposed, evening_of, propose
from planner.views.sessions import session_of
from shared.access import needs
from shared.clock import clock_at, today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_PLAN)
def swap(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """GET proposes: as the night stands, or as the address asks. POST settles what the form says."""
    found = session_of(club, session)
    if reason := why_not(found):
        return back_to_the_night(request, found, reason)
    given = request.POST or request.GET
    evening = evening_of(found, clock_at(club)["now"], chosen_in(given))
    form = SwapForm(given if "minutes" in given else SwapForm.usual(evening), evening=evening)
    proposed = propose(evening, form.asked) if form.is_valid() else None
    if request.method == "POST" and proposed:
        try:
            settle_swap(proposed=proposed, by=request.user)
        except Refused as refused:
            form.add_error(None, list(refused.reasons))
        else:
            messages.success(request, _("The groups are settled: they stand on the sheet and the cards."))
            return redirect("tonight", club=club.slug, session=found.pk)
    return render(request, "planner/night/swap.html", shown(found, evening, form, proposed))


def why_not(night: Session) -> str:
    """Why no groups are dealt on it, "" if they are."""
    if night.cancelled or night.day != today_at(night.squad.club):
        return _("Groups are dealt on the day of the night itself.")
    return "" if Block.objects.holding(night) else _("This night is in no block. Make a block that holds its date.")


def back_to_the_night(request: HttpRequest, night: Session, reason: str) -> HttpResponse:
    messages.error(request, reason)
    return redirect("tonight", club=night.squad.club.slug, session=night.pk)


def chosen_in(given: Any) -> list[int] | None:
    """Keys of the slots that the address or the form names."""
    keys = [int(key) for key in given.getlist("slots") if key.isdecimal()]
    return keys or None


def shown(found: Session, evening: Evening, form: SwapForm, proposed: Proposed | None) -> dict[str, Any]:
    works = proposed is not None and not proposed.troubles
    return {
        "session": found,
        "evening": evening,
        "form": form,
        "proposed": proposed,
        "told": told_of_proposal(proposed) if proposed else None,
        "works": works,
        "kept": kept_of(form),
    }


def kept_of(form: SwapForm) -> list[tuple[str, Any]]:
    """What the form says, to be sent along with the answer."""
    if not form.is_bound or not form.is_valid():
        return []
    lists = {"drills": [drill.pk for drill in form.cleaned_data["drills"]], "slots": form.cleaned_data["slots"]}
    single = [(name, form.cleaned_data[name]) for name in ("minutes", "change", "in_all")]
    return [(name, value) for name, values in lists.items() for value in values] + single


@needs(Permission.EDIT_PLAN)
@require_POST
def swap_end(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    try:
        end_swap(session=found, by=request.user)
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("Nobody swaps any more. The slots are empty: deal tonight again."))
    return redirect("tonight", club=club.slug, session=found.pk)


patterns = [
    path("evenings/<int:session>/groups/", swap, name="swap"),
    path("evenings/<int:session>/groups/end/", swap_end, name="swap_end"),
]
