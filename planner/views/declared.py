"""Contact and matches elsewhere as somebody tells them, and the minutes of the squad's own matches."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.changes import Refused
from planner.core.totals import monday_of
from planner.declared import TeamSheet, team_sheet, told_in_week, told_of_player
from planner.declared_actions import declare_contact, note_match_elsewhere, note_match_minutes
from planner.forms.days import day_asked
from planner.forms.declared import QUICK, ContactForm, MatchElsewhereForm, SheetForm
from planner.forms.own import key_in
from planner.models import Fixture, FixtureState
from planner.record_models import Declared, MatchMinutes
from planner.views.blocks import given
from planner.views.week import monday_in
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Player
from squads.views.fetch import player_of, squad_of

WEEK = dt.timedelta(days=7)


@needs(Permission.SEE_TOTALS)
def of_player(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """`?all=yes`: whatever was told, else that of the last half year."""
    found = told_of_player(player_of(club, player), today_at(club), everything="all" in request.GET)
    return render(request, "planner/declared/player.html", {"told": found, "player": found.player})


@needs(Permission.SEE_TOTALS)
def of_squad(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    found, day = squad_of(club, squad), monday_in(monday)
    shown = {"told": told_in_week(found, day), "squad": found, "before": day - WEEK, "after": day + WEEK}
    return render(request, "planner/declared/squad.html", shown | {"now": timezone.now()})


@needs(Permission.DECLARE)
def contact(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """`?replaces=`: the key of the line that is corrected; `?day=`: the day to begin with."""
    found = player_of(club, player)
    old = replaced(request, found, Declared)
    initial = ContactForm.filled_from(old) if old else asked_first(request, found, Declared)
    form = ContactForm(given(request), replaces=old, initial=initial)

    def tell() -> None:
        declare_contact(player=found, by=request.user, replaces=old, **form.told)

    return told(request, found, form, tell, "planner/declared/contact.html", old)


@needs(Permission.DECLARE)
def match(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """A match of another team; `?replaces=` and `?day=` as above."""
    found = player_of(club, player)
    old = replaced(request, found, MatchMinutes)
    initial = MatchElsewhereForm.filled_from(old, club.tzinfo) if old else asked_first(request, found, MatchMinutes)
    form = MatchElsewhereForm(given(request), zone=club.tzinfo, initial=initial)

    def tell() -> None:
        note_match_elsewhere(player=found, by=request.user, replaces=old, **form.told)

    return told(request, found, form, tell, "planner/declared/match_elsewhere.html", old)


def replaced(
    request: HttpRequest, player: Player, model: type[Declared] | type[MatchMinutes]
) -> Declared | MatchMinutes | None:
    key = key_in(request.GET.get("replaces", ""))
    return None if key is None else get_object_or_404(model, pk=key, player=player)


def asked_first(request: HttpRequest, player: Player, model: type[Declared] | type[MatchMinutes]) -> dict[str, object]:
    """The day asked for, and who told last or is to be asked, with what he told of."""
    last = model.objects.filter(player=player).exclude(declared_by="").order_by("pk")
    row = (last.filter(fixture=None) if model is MatchMinutes else last).last()
    elsewhere = player.plays_elsewhere.last()
    by = row.declared_by if row else elsewhere.asked if elsewhere else ""
    place = row.place if isinstance(row, Declared) else None
    return {"day": day_asked(request.GET.get("day", "")), "declared_by": by, "place": place}


def told(
    request: HttpRequest, player: Player, form: Form, tell: Callable[[], None], template: str, old: object
) -> HttpResponse:
    """Write it, or show the form as it was typed with what stands against it."""
    if form.is_valid():
        try:
            tell()
        except Refused as refused:
            form.add_error(None, list(refused.reasons))
        else:
            messages.success(request, _("It is in the record, with your name."))
            return redirect("told_of_player", club=player.squad.club.slug, player=player.pk)
    return render(request, template, {"form": form, "player": player, "old": old}, status=422 if form.errors else 200)


# The squad's own matches


@needs(Permission.SEE_TOTALS)
def match_minutes(request: HttpRequest, club: Club, fixture: int) -> HttpResponse:
    return sheet_page(request, SheetForm.of(team_sheet(fixture_of(club, fixture))))


@needs(Permission.DECLARE)
def note_minutes(request: HttpRequest, club: Club, fixture: int) -> HttpResponse:
    """The whole team sheet at once: what differs from what the page showed is written, or nothing."""
    found = fixture_of(club, fixture)
    sheet = team_sheet(found)
    if request.method != "POST":
        return sheet_page(request, SheetForm.of(sheet))
    form = SheetForm.read(sheet, request.POST)
    if not form.is_valid:
        return sheet_page(request, form)
    try:
        count = note_match_minutes(
            fixture=found, minutes=form.told, seen=form.seen, declared_by=form.declared_by, by=request.user
        )
    except Refused as refused:
        return sheet_page(request, form.again(team_sheet(found), refused.reasons))
    noted = ngettext("%(count)d player is noted.", "%(count)d players are noted.", count) % {"count": count}
    messages.success(request, noted)
    return redirect("match_minutes", club=club.slug, fixture=found.pk)


def fixture_of(club: Club, key: int) -> Fixture:
    return get_object_or_404(Fixture.objects.of(club).select_related("squad__club"), pk=key)


def sheet_page(request: HttpRequest, form: SheetForm) -> HttpResponse:
    fixture = form.sheet.fixture
    shown = {
        "form": form,
        "sheet": form.sheet,
        "fixture": fixture,
        "squad": fixture.squad,
        "quick": QUICK,
        "monday": monday_of(fixture.day),
        "closed": why_closed(form.sheet),
    }
    status = 200 if form.is_valid and not form.refused else 422
    return render(request, "planner/declared/match.html", shown, status=status)


def why_closed(sheet: TeamSheet) -> str:
    """Why nothing can be entered yet, "" if it can."""
    if sheet.fixture.state != FixtureState.PLANNED:
        return _("This match is %(state)s: nobody has played in it.") % {"state": sheet.fixture.get_state_display()}
    if sheet.fixture.day > today_at(sheet.fixture.squad.club):
        return _("This match is still to come: minutes are entered after it.")
    return ""


patterns = [
    path("players/<int:player>/told/", of_player, name="told_of_player"),
    path("players/<int:player>/told/contact/", contact, name="declare_contact"),
    path("players/<int:player>/told/match/", match, name="declare_match"),
    path("squads/<slug:squad>/told/<str:monday>/", of_squad, name="told_of_squad"),
    path("fixtures/<int:fixture>/minutes/", match_minutes, name="match_minutes"),
    path("fixtures/<int:fixture>/minutes/note/", note_minutes, name="note_match_minutes"),
]
