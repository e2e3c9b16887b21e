"""Asking that a limit may be passed, noting that one was, the answer; what was done; who plays elsewhere too."""

from __future__ import annotations

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.core.totals import monday_of
from planner.forms.days import day_asked
from planner.forms.welfare import ActionForm, AnswerForm, ElsewhereForm, ExcessForm
from planner.models import Session
from planner.views.blocks import given
from planner.views.sessions import session_of
from planner.welfare import WelfareWeek, welfare_week
from planner.welfare_actions import (
    Beyond,
    ask_excess,
    decide_excess,
    has_begun,
    note_action,
    note_elsewhere,
    note_excess,
)
from planner.welfare_models import Excess
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Player


def week_asked(request: HttpRequest, today: dt.date) -> dt.date:
    """The Monday of `?week=`, or of today."""
    return monday_of(day_asked(request.GET.get("week", "")) or today)


def player_of(club: Club, key: int) -> Player:
    return get_object_or_404(Player.objects.of(club).select_related("squad__club"), pk=key)


def beyond_in(week: WelfareWeek, session: Session) -> list[Beyond]:
    """What is past its limit in that week, and in part because of that night."""
    return [
        Beyond(line.player, finding)
        for line in week.looked.lines
        for finding in line.windows.past
        if any(part.is_of(session.pk, session.day) for part in finding.parts)
    ]


def beyond_of(week: WelfareWeek, player: Player) -> list[Beyond]:
    lines = (line for line in week.looked.lines if line.player == player)
    return [Beyond(player, finding) for line in lines for finding in line.windows.past]


@needs(Permission.ASK_EXCESS)
def of_session(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Before the night a request, after it a note."""
    found, today = session_of(club, session), today_at(club)
    week = welfare_week(found.squad, monday_of(found.day), today)
    form = ExcessForm(given(request), beyond=beyond_in(week, found))
    if form.is_valid():
        try:
            made = ask_excess(session=found, beyond=form.asked, why=form.cleaned_data["why"], by=request.user)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            told = ngettext("%(n)d limit is asked about.", "%(n)d limits are asked about.", len(made))
            messages.success(request, told % {"n": len(made)} + " " + _("The welfare officer sees it now."))
            return redirect("session_excess", club=club.slug, session=found.pk)
    shown = {"form": form, "session": found, "week": week, "is_note": has_begun(found)}
    return render(request, "planner/welfare/ask.html", shown | {"asked": list(found.excesses.with_answers())})


@needs(Permission.ASK_EXCESS)
def of_player(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """A note about a player's week, for what no single night made: matches, days."""
    found, today = player_of(club, player), today_at(club)
    week = welfare_week(found.squad, week_asked(request, today), today)
    form = ExcessForm(given(request), beyond=beyond_of(week, found))
    if form.is_valid():
        try:
            note_excess(monday=week.monday, beyond=form.asked, why=form.cleaned_data["why"], by=request.user)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("It is noted: the welfare officer sees it now."))
            return redirect("welfare_week", club=club.slug, squad=found.squad.slug, monday=week.monday)
    shown = {"form": form, "player": found, "week": week, "is_note": True}
    asked = Excess.objects.filter(player=found, monday=week.monday).with_answers()
    return render(request, "planner/welfare/ask.html", shown | {"asked": list(asked)})


def excess_of(club: Club, key: int) -> Excess:
    return get_object_or_404(Excess.objects.of(club).with_answers(), pk=key)


@needs(Permission.SEE_TOTALS)
def excess(request: HttpRequest, club: Club, excess: int) -> HttpResponse:
    return answer_page(request, excess_of(club, excess), AnswerForm())


@needs(Permission.DECIDE_EXCESS)
@require_POST
def decide(request: HttpRequest, club: Club, excess: int) -> HttpResponse:
    found, form = excess_of(club, excess), AnswerForm(request.POST)
    if not form.is_valid():
        return answer_page(request, found, form)
    try:
        decide_excess(excess=found, by=request.user, **form.cleaned_data)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        return answer_page(request, found, form)
    messages.success(request, _("Your answer is recorded, and the head coach sees it."))
    return redirect("welfare_week", club=club.slug, squad=found.player.squad.slug, monday=found.monday)


def answer_page(request: HttpRequest, excess: Excess, form: AnswerForm) -> HttpResponse:
    """With the figure as it stands now beside the one that was asked for."""
    squad = excess.player.squad
    week = welfare_week(squad, excess.monday, today_at(squad.club))
    lines = (line for line in week.looked.lines if line.player == excess.player)
    now = next((line.windows.of(excess.measure) for line in lines), None)
    own = excess.by_id == request.user.pk
    return render(request, "planner/welfare/excess.html", {"excess": excess, "form": form, "now": now, "own": own})


@needs(Permission.LOOK_AFTER_PLAYERS)
def action(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    """`?week=`: the week that it is about."""
    found = player_of(club, player)
    monday = week_asked(request, today_at(club))
    form = ActionForm(given(request), monday=monday)
    if form.is_valid():
        note_action(player=found, monday=monday, by=request.user, **form.cleaned_data)
        messages.success(request, _("What was done for %(player)s is noted.") % {"player": found.sheet_name})
        return redirect("welfare_week", club=club.slug, squad=found.squad.slug, monday=monday)
    return render(request, "planner/welfare/action.html", {"form": form, "player": found, "monday": monday})


@needs(Permission.LOOK_AFTER_PLAYERS)
def elsewhere(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = ElsewhereForm(given(request), initial={"from_day": today_at(club)})
    if form.is_valid():
        note_elsewhere(player=found, by=request.user, **form.cleaned_data)
        messages.success(request, _("%(player)s is noted.") % {"player": found.sheet_name})
        return redirect("player_report", club=club.slug, player=found.pk)
    return render(request, "planner/welfare/elsewhere.html", {"form": form, "player": found})


patterns = [
    path("sessions/<int:session>/excess/", of_session, name="session_excess"),
    path("players/<int:player>/excess/", of_player, name="player_excess"),
    path("excess/<int:excess>/", excess, name="excess"),
    path("excess/<int:excess>/decide/", decide, name="decide_excess"),
    path("players/<int:player>/actions/", action, name="player_action"),
    path("players/<int:player>/elsewhere/", elsewhere, name="player_elsewhere"),
]
