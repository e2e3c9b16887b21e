"""One player: the page, adding, changing, leaving."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.actions import Refused, add_player, edit_player, leave_squad
from squads.forms import LeaveForm, PlayerForm
from squads.models import Player
from squads.return_models import EntryKind
from squads.standing import standing_of
from squads.views.fetch import player_of, squad_of


@needs(Permission.SEE_SQUAD)
def player(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = get_object_or_404(Player.objects.of(club).with_availability(), pk=player)
    today = today_at(club)
    absences = list(found.absences.all())
    shown = {
        "player": found,
        "group": _(club.names.group(found.group)),
        "main_position": f"{found.main_position} {_(club.names.position(found.main_position))}",
        "today": today,
        "standing": standing_of(found, today),
        "absences": [absence for absence in absences if absence.last_day >= today],
        "past_absences": [absence for absence in absences if absence.last_day < today],
        "clearances": list(found.clearances.all())[::-1],
        "cases": [entry for entry in found.return_entries.all() if entry.kind == EntryKind.STARTED],
    }
    return render(request, "squads/player.html", shown)


@needs(Permission.EDIT_SQUAD)
def player_add(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    form = PlayerForm(request.POST or None, instance=Player(squad=found), today=today_at(club))
    if form.is_valid():
        try:
            added = add_player(squad=found, by=request.user, **form.fields_of_player)
        except Refused as refused:
            form.add_error("key", str(refused))
        else:
            messages.success(request, _("%(player)s is in the squad.") % {"player": added})
            return redirect("squad", club=club.slug, squad=found.slug)
    return render(request, "squads/player_form.html", {"form": form, "squad": found})


@needs(Permission.EDIT_SQUAD)
def player_edit(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    name = str(found)
    form = PlayerForm(request.POST or None, instance=found, today=today_at(club))
    if form.is_valid():
        try:
            saved = edit_player(player=found, by=request.user, seen=form.cleaned_data["seen"], **form.fields_of_player)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("%(player)s is saved.") % {"player": saved})
            return redirect("player", club=club.slug, player=saved.pk)
    return render(
        request, "squads/player_form.html", {"form": form, "squad": found.squad, "player": found, "name": name}
    )


@needs(Permission.EDIT_SQUAD)
def player_leave(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = LeaveForm(request.POST or None, initial={"left": found.left})
    if form.is_valid():
        try:
            leave_squad(player=found, left=form.cleaned_data["left"], by=request.user)
        except Refused as refused:
            form.add_error("left", str(refused))
        else:
            messages.success(request, _("%(player)s is saved.") % {"player": found})
            return redirect("player", club=club.slug, player=found.pk)
    return render(request, "squads/player_leave.html", {"form": form, "player": found})


patterns = [
    path("squads/<slug:squad>/players/add/", player_add, name="player_add"),
    path("players/<int:player>/", player, name="player"),
    path("players/<int:player>/edit/", player_edit, name="player_edit"),
    path("players/<int:player>/leave/", player_leave, name="player_leave"),
]
