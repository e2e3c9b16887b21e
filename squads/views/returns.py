"""Returns to training: the list that every coach reads, the same on paper, and the case of one player."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable, pdf
from shared.roles import Permission
from squads.actions import Refused
from squads.clearance_actions import allow, close_return, start_return, tell_symptom_free, tell_symptoms
from squads.core.graduated import rule_of
from squads.models import Player
from squads.return_forms import AllowForm, CloseForm, StartReturnForm, SymptomFreeForm, SymptomsForm
from squads.return_models import ReturnEntry, StepChoice
from squads.returning import returning, returning_of
from squads.views.fetch import player_of, squad_of


@needs(Permission.SEE_CLEARANCE)
def returns(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found, today = squad_of(club, squad), today_at(club)
    shown = {"squad": found, "today": today, "lines": returning([found], today)}
    return render(request, "squads/returns.html", shown)


@needs(Permission.PRINT_SHEETS)
def returns_pdf(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """Names and marks, for the wall of the changing room."""
    found, today = squad_of(club, squad), today_at(club)
    context = {"squad": found, "today": today, "lines": returning([found], today)}
    title = _("Who may do what, %(squad)s") % {"squad": found}
    try:
        made = pdf("print/returns.html", context, title=title)
    except PrintingUnavailable as reason:
        return render(request, "squads/no_print.html", {"reason": reason, "squad": found}, status=503)
    return download(made, f"returns-{found.slug}-{today}.pdf", "application/pdf", inline=True)


@needs(Permission.EDIT_CLEARANCE)
def return_start(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = StartReturnForm(request.POST or None, initial={"day": today_at(club), "decided_by": request.user})
    if form.is_valid():
        try:
            case = start_return(player=found, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error("day", str(refused))
        else:
            messages.success(request, _("%(player)s is off the field. A return has begun.") % {"player": found})
            return redirect("return_case", club=club.slug, case=case.pk)
    return render(request, "squads/return_start.html", {"form": form, "player": found})


@needs(Permission.EDIT_CLEARANCE)
def return_case(request: HttpRequest, club: Club, case: int) -> HttpResponse:
    """The days of one return. What they are reckoned from is shown to medical roles only."""
    found, today = case_of(club, case), today_at(club)
    course = found.as_course
    steps = [(StepChoice(step).label, each, course.table.first_day(step)) for step, each in course.dates.items()]
    medical_before = rule_of(course.table).medical_before
    shown = {
        "case": found,
        "player": found.player,
        "course": course,
        "steps": steps,
        "today": today,
        "medical_before": medical_before and StepChoice(medical_before).label,
        "symptoms_last": course.symptoms_last(today),
        "line": returning_of(Player.objects.with_availability().get(pk=found.player_id), today),
    }
    return render(request, "squads/return_case.html", shown)


def case_of(club: Club, key: int) -> ReturnEntry:
    cases = ReturnEntry.objects.of(club).cases().select_related("player__squad__club").prefetch_related("entries")
    return get_object_or_404(cases, pk=key)


Verb = Callable[..., Any]


def entry_page(
    request: HttpRequest, club: Club, case: int, *, form: type[forms.Form], verb: Verb, words: dict[str, Any]
) -> HttpResponse:
    """A form that adds one entry to a case, and its way back."""
    found = case_of(club, case)
    days = {name: today_at(club) for name in ("decided_on",) if name in form.base_fields}
    bound = form(request.POST or None, initial={"decided_by": request.user} | days)
    if bound.is_valid():
        try:
            verb(case=found, by=request.user, **bound.cleaned_data)
        except Refused as refused:
            bound.add_error(None, str(refused))
        else:
            messages.success(request, _("It is entered. See which days it moves."))
            return redirect("return_case", club=club.slug, case=found.pk)
    shown = {"form": bound, "case": found, "player": found.player, **words}
    return render(request, "squads/return_entry.html", shown)


@needs(Permission.EDIT_CLEARANCE)
def return_free(request: HttpRequest, club: Club, case: int) -> HttpResponse:
    return entry_page(request, club, case, form=SymptomFreeForm, verb=tell_symptom_free, words=FREE)


@needs(Permission.EDIT_CLEARANCE)
def return_symptoms(request: HttpRequest, club: Club, case: int) -> HttpResponse:
    return entry_page(request, club, case, form=SymptomsForm, verb=tell_symptoms, words=SYMPTOMS)


@needs(Permission.SEE_MEDICAL)
def return_allow(request: HttpRequest, club: Club, case: int) -> HttpResponse:
    return entry_page(request, club, case, form=AllowForm, verb=allow, words=ALLOW)


@needs(Permission.EDIT_CLEARANCE)
def return_close(request: HttpRequest, club: Club, case: int) -> HttpResponse:
    def close(**told: Any) -> None:
        close_return(medical=request.membership.may(Permission.SEE_MEDICAL), **told)

    return entry_page(request, club, case, form=CloseForm, verb=close, words=CLOSE)


FREE = {
    "title": gettext_lazy("Without symptoms at rest"),
    "explained": gettext_lazy(
        "Ask the player, and the parents of a minor: no symptom at rest, on no day since. When in doubt, enter nothing."
    ),
    "button": gettext_lazy("Enter the day"),
}
SYMPTOMS = {
    "title": gettext_lazy("Symptoms again"),
    "explained": gettext_lazy(
        "The player is off at once, and the days move until the end of the symptoms is entered. Let a doctor look."
    ),
    "button": gettext_lazy("Take off again"),
    "is_grave": True,
}
ALLOW = {
    "title": gettext_lazy("Another day by a medical decision"),
    "explained": gettext_lazy(
        "Write down what a named person decided on having seen the player: sooner or later than the table. It holds "
        "until symptoms come again. It allows nothing by itself: record the clearance too."
    ),
    "button": gettext_lazy("Enter the decision"),
}
CLOSE = {
    "title": gettext_lazy("Close the return"),
    "explained": gettext_lazy(
        "The days of this return limit nothing from today on. What the last clearance says still holds: record a new "
        "one if it says less than all work."
    ),
    "button": gettext_lazy("Close it"),
}

patterns = [
    path("squads/<slug:squad>/returns/", returns, name="returns"),
    path("squads/<slug:squad>/returns.pdf", returns_pdf, name="returns_pdf"),
    path("players/<int:player>/return/", return_start, name="return_start"),
    path("returns/<int:case>/", return_case, name="return_case"),
    path("returns/<int:case>/free/", return_free, name="return_free"),
    path("returns/<int:case>/symptoms/", return_symptoms, name="return_symptoms"),
    path("returns/<int:case>/allow/", return_allow, name="return_allow"),
    path("returns/<int:case>/close/", return_close, name="return_close"),
]
