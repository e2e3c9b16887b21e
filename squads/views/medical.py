"""Medical notes: medical roles read and write them, the welfare officer reads them on a named ground.

Each opening is on record. Browsers and proxies keep none of these pages, and a report of an error holds no word of
what was typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables

from shared.access import View, needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.actions import Refused
from squads.medical_actions import consent_of, keep_notes_for, read_notes, record_consent, write_note
from squads.medical_forms import AskForm, ConsentForm, KeepingForm, NoteForm
from squads.medical_models import Ground, MedicalKeeping, MedicalNote, NoteReading
from squads.models import Player
from squads.views.fetch import player_of

SHOWN_READINGS = 20


def in_confidence(view: View) -> View:
    guarded = never_cache(sensitive_post_parameters()(sensitive_variables()(view)))
    return wraps(view)(guarded)


@needs(Permission.SEE_MEDICAL)
@in_confidence
def medical_notes(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = NoteForm(request.POST or None)
    if form.is_valid():
        write_note(player=found, by=request.user, text=form.cleaned_data["text"])
        messages.success(request, _("The note is kept."))
        return redirect("medical_notes", club=club.slug, player=found.pk)
    notes = read_notes(player=found, ground=Ground.ROLE, by=request.user)
    return render(request, "squads/medical_notes.html", shown(found, notes) | {"form": form})


def shown(player: Player, notes: Sequence[MedicalNote]) -> dict[str, Any]:
    return {
        "player": player,
        "notes": notes,
        "consent": consent_of(player),
        "readings": NoteReading.objects.filter(player=player)[:SHOWN_READINGS],
        "keeping": MedicalKeeping.objects.filter(club=player.squad.club).first(),
    }


@needs(Permission.SEE_MEDICAL)
@in_confidence
def medical_consent(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = ConsentForm(request.POST or None, initial={"said_on": today_at(club)})
    if form.is_valid():
        try:
            record_consent(player=found, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error("said_on", str(refused))
        else:
            messages.success(request, _("It is recorded."))
            return redirect("medical_notes", club=club.slug, player=found.pk)
    return render(request, "squads/medical_consent.html", {"form": form, "player": found})


@needs(Permission.ASK_FOR_MEDICAL)
@in_confidence
def medical_asked(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """The same page whether there are notes or not; they come in the answer to the form, and with no address."""
    found = player_of(club, player)
    form = AskForm(request.POST or None)
    if form.is_valid():
        try:
            notes = read_notes(player=found, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error("ground", str(refused))
        else:
            return render(request, "squads/medical_read.html", {"notes": notes, "player": found})
    return render(request, "squads/medical_asked.html", {"form": form, "player": found})


@needs(Permission.SEE_MEDICAL)
@in_confidence
def medical_keeping(request: HttpRequest, club: Club) -> HttpResponse:
    form = KeepingForm(request.POST or None, instance=MedicalKeeping.objects.filter(club=club).first())
    if form.is_valid():
        keep_notes_for(club=club, months=form.cleaned_data["months"], by=request.user)
        messages.success(request, _("It is recorded."))
        return redirect("start", club=club.slug)
    return render(request, "squads/medical_keeping.html", {"form": form})


patterns = [
    path("players/<int:player>/notes/", medical_notes, name="medical_notes"),
    path("players/<int:player>/notes/consent/", medical_consent, name="medical_consent"),
    path("players/<int:player>/notes/ask/", medical_asked, name="medical_asked"),
    path("medical-keeping/", medical_keeping, name="medical_keeping"),
]
