"""Who is away, and what somebody decided that a player may do."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shared.access import needs
from shared.clock import today_at
from shared.models import Club, User
from shared.roles import Permission
from squads.actions import Refused, mark_away, remove_absence
from squads.clearance_actions import record_clearance
from squads.forms import AwayForm, ClearanceForm, SeveralAwayForm
from squads.models import Absence, Player
from squads.views.fetch import player_of, squad_of


@needs(Permission.EDIT_AVAILABILITY)
def squad_away(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """Several players at once, as on the evening when eight cry off."""
    found, today = squad_of(club, squad), today_at(club)
    form = SeveralAwayForm(request.POST or None, squad=found, today=today, initial={"first_day": today})
    if form.is_valid():
        made = away(form.cleaned_data["players"], form.cleaned_data, request.user)
        said = ngettext("%(count)d player is marked away.", "%(count)d players are marked away.", made)
        messages.success(request, said % {"count": made})
        return redirect(way_back(request) or reverse("squad", kwargs={"club": club.slug, "squad": found.slug}))
    return render(request, "squads/squad_away.html", {"form": form, "squad": found, "back": way_back(request)})


def way_back(request: HttpRequest) -> str:
    """`?back=` is the page of this club where the person came from; anything else is ignored."""
    back = request.GET.get("back", "")
    inside = back.startswith(f"/c/{request.membership.club.slug}/")
    return back if inside and url_has_allowed_host_and_scheme(back, allowed_hosts=None) else ""


@needs(Permission.EDIT_AVAILABILITY)
def player_away(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found = player_of(club, player)
    form = AwayForm(request.POST or None, initial={"first_day": today_at(club)})
    if form.is_valid():
        if away([found], form.cleaned_data, request.user):
            messages.success(request, _("%(player)s is marked away.") % {"player": found})
        else:
            messages.warning(request, _("%(player)s was marked away on these days already.") % {"player": found})
        return redirect("player", club=club.slug, player=found.pk)
    return render(request, "squads/player_away.html", {"form": form, "player": found})


def away(players: list[Player], told: dict[str, Any], by: User) -> int:
    first, last, said_by = told["first_day"], told["last_day"], told["said_by"]
    return len(mark_away(players=players, first=first, last=last, said_by=said_by, by=by))


@needs(Permission.EDIT_AVAILABILITY)
def absence_remove(request: HttpRequest, club: Club, absence: int) -> HttpResponse:
    """Asks first; the button takes the absence back."""
    found = get_object_or_404(Absence.objects.of(club).select_related("player__squad__club"), pk=absence)
    if request.method == "POST":
        remove_absence(absence=found, by=request.user)
        messages.success(request, _("%(player)s is expected on these days again.") % {"player": found.player})
        return redirect("player", club=club.slug, player=found.player_id)
    return render(request, "squads/absence_remove.html", {"absence": found, "player": found.player})


@needs(Permission.EDIT_CLEARANCE)
def clearance_add(request: HttpRequest, club: Club, player: int) -> HttpResponse:
    found, today = player_of(club, player), today_at(club)
    form = ClearanceForm(request.POST or None, today=today)
    if form.is_valid():
        try:
            medical = request.membership.may(Permission.SEE_MEDICAL)
            record_clearance(player=found, by=request.user, medical=medical, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("The decision on %(player)s is recorded.") % {"player": found})
            return redirect("player", club=club.slug, player=found.pk)
    return render(request, "squads/clearance_form.html", {"form": form, "player": found})


patterns = [
    path("squads/<slug:squad>/away/", squad_away, name="squad_away"),
    path("players/<int:player>/away/", player_away, name="player_away"),
    path("absences/<int:absence>/remove/", absence_remove, name="absence_remove"),
    path("players/<int:player>/clearance/", clearance_add, name="clearance_add"),
]
