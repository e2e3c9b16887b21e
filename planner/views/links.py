"""Giving out, exchanging and ending the addresses of players' own pages."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.codes import code_of
from planner.feed_actions import Given
from planner.link_actions import give_links, players_now, revoke_link
from planner.link_models import PlayerLink
from planner.views.behind_secrets import shown_once
from shared.access import needs
from shared.models import Club
from shared.roles import Permission
from squads.models import Player, Squad
from squads.views.fetch import squad_of


@needs(Permission.EDIT_AVAILABILITY)
def player_links(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    players = players_now(found)
    without = [player for player in players if not hasattr(player, "link")]
    return render(request, "planner/own/links.html", {"squad": found, "players": players, "without": without})


@needs(Permission.EDIT_AVAILABILITY)
@require_POST
def new_player_links(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """`for`: one player by number, `all` of them anew, or those `without` one. The answer is the sheet to hand out."""
    found = squad_of(club, squad)
    given = give_links(players=asked_players(found, request.POST.get("for", "")), by=request.user)
    slips = [slip(request, one) for one in given]
    return shown_once(render(request, "planner/own/slips.html", {"squad": found, "slips": slips}))


def asked_players(squad: Squad, asked: str) -> list[Player]:
    players = players_now(squad)
    if asked == "all":
        return players
    if asked == "without":
        return [player for player in players if not hasattr(player, "link")]
    return [player for player in players if str(player.pk) == asked]


def slip(request: HttpRequest, given: Given) -> dict[str, object]:
    address = request.build_absolute_uri(reverse("own", kwargs={"token": given.token}))
    return {"name": given.player.sheet_name, "address": address, "code": code_of(address)}


@needs(Permission.EDIT_AVAILABILITY)
@require_POST
def revoke_player_link(request: HttpRequest, club: Club, link: int) -> HttpResponse:
    found = get_object_or_404(PlayerLink.objects.of(club).with_player(), pk=link)
    revoke_link(link=found, by=request.user)
    messages.success(request, _("The own page of %(whose)s opens no more.") % {"whose": found})
    return redirect("player_links", club=club.slug, squad=found.player.squad.slug)


patterns = [
    path("squads/<slug:squad>/own-pages/", player_links, name="player_links"),
    path("squads/<slug:squad>/own-pages/new/", new_player_links, name="new_player_links"),
    path("own-pages/<int:link>/revoke/", revoke_player_link, name="revoke_player_link"),
]
