"""The squads of a club, and how one of them stands today."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.actions import Refused, save_squad
from squads.forms import SquadForm
from squads.models import Squad
from squads.standing import by_group, counts, standing_of
from squads.views.fetch import squad_of


@needs(Permission.SEE_SQUAD)
def squads(request: HttpRequest, club: Club) -> HttpResponse:
    """A club of one squad goes straight to it."""
    found = list(Squad.objects.filter(club=club))
    if len(found) == 1:
        return redirect("squad", club=club.slug, squad=found[0].slug)
    return render(request, "squads/squads.html", {"squads": found})


@needs(Permission.SEE_SQUAD)
def squad(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found, today = squad_of(club, squad), today_at(club)
    players = list(found.players.with_availability())
    standings = [standing_of(player, today) for player in players if not player.has_left_by(today)]
    shown = {
        "squad": found,
        "today": today,
        "groups": by_group(standings, club.names),
        "counts": counts(standings),
        "players": len(standings),
        "leavers": [player for player in players if player.has_left_by(today)],
        "squads": Squad.objects.filter(club=club).exclude(pk=found.pk),
    }
    return render(request, "squads/squad.html", shown)


@needs(Permission.EDIT_SQUAD)
def squad_add(request: HttpRequest, club: Club) -> HttpResponse:
    return squad_form(request, club, Squad(club=club))


@needs(Permission.EDIT_SQUAD)
def squad_edit(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    return squad_form(request, club, squad_of(club, squad))


def squad_form(request: HttpRequest, club: Club, squad: Squad) -> HttpResponse:
    title = _("Change %(squad)s") % {"squad": squad} if squad.pk else _("New squad")
    back = squad.slug
    form = SquadForm(request.POST or None, instance=squad)
    if form.is_valid():
        try:
            saved = save_squad(squad=squad, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error("slug", str(refused))
        else:
            messages.success(request, _("%(squad)s is saved.") % {"squad": saved})
            return redirect("squad", club=club.slug, squad=saved.slug)
    return render(request, "squads/squad_form.html", {"form": form, "title": title, "back": back})


patterns = [
    path("squads/", squads, name="squads"),
    path("squads/add/", squad_add, name="squad_add"),
    path("squads/<slug:squad>/", squad, name="squad"),
    path("squads/<slug:squad>/edit/", squad_edit, name="squad_edit"),
]
