"""A whole ladder from its foot: each card, and what earns the next."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from drills.actions import DrillRefused, EditedMeanwhile
from drills.ladders import climb
from drills.models import Drill, Ladder
from drills.vocabulary import set_steps
from drills.vocabulary_forms import StepsForm
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_DRILLS)
def ladder(request: HttpRequest, club: Club, code: str) -> HttpResponse:
    found = get_object_or_404(Ladder.objects.of(club), code=code)
    return shown(request, found, StepsForm(None, drills=cards_of(found)))


@needs(Permission.EDIT_DRILLS)
@require_POST
def ladder_steps(request: HttpRequest, club: Club, code: str) -> HttpResponse:
    """Cards change their steps, each in its next version."""
    found = get_object_or_404(Ladder.objects.of(club), code=code)
    form = StepsForm(request.POST, drills=cards_of(found))
    if not form.is_valid():
        return shown(request, found, form)
    try:
        changed = set_steps(found, form.steps, by=request.user, today=today_at(club))
    except (DrillRefused, EditedMeanwhile) as problem:
        messages.error(request, _("Nothing was changed: %(why)s") % {"why": problem})
    else:
        told = ngettext("%(n)d card stands on another step.", "%(n)d cards stand on another step.", len(changed))
        messages.success(request, told % {"n": len(changed)})
    return redirect("ladder", club=club.slug, code=code)


def shown(request: HttpRequest, found: Ladder, form: StepsForm) -> HttpResponse:
    rows = [(form[f"step-{drill.number}"], form[f"seen-{drill.number}"]) for drill in form.drills]
    words = {"ladder": found, "steps": climb(form.drills), "form": form, "rows": rows}
    return render(request, "drills/ladder.html", words)


def cards_of(found: Ladder) -> list[Drill]:
    return list(Drill.objects.current().filter(ladder=found).order_by("step", "number"))


patterns = [
    path("drills/ladders/<str:code>/", ladder, name="ladder"),
    path("drills/ladders/<str:code>/steps/", ladder_steps, name="ladder_steps"),
]
