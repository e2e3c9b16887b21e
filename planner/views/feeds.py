"""The calendar feed behind a secret address, and the pages that give such addresses out."""

from __future__ import annotations

import datetime as dt
import hashlib

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from planner.codes import code_of
from planner.feed_actions import Given, give_member_feed, give_player_feeds, players_now, revoke_feed
from planner.feed_models import Feed
from planner.feeds import WEEKS_BACK, Reading, may_read, note_reading, reading_of
from planner.views.behind_secrets import NO_ROBOT, shown_once
from shared import tokens
from shared.access import for_anyone, needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Player, Squad
from squads.views.fetch import squad_of

PRIVATE = {
    "Cache-Control": "private",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": NO_ROBOT,
}


# A calendar program cannot log in: the secret in the address is all that it can show.
@for_anyone
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    found = tokens.find(Feed.objects.with_reader(), token)
    today = today_at(found.club) if found else None
    if found is None or not may_read(found, today):
        return private(HttpResponseNotFound(_("There is no calendar here."), content_type="text/plain; charset=utf-8"))
    now = timezone.now()
    reading = reading_of(found, today)
    note_reading(found, reading.stamp, today, now)
    return private(answer(request, found, reading, now))


def private(response: HttpResponse) -> HttpResponse:
    for name, value in PRIVATE.items():
        response[name] = value
    return response


def answer(request: HttpRequest, found: Feed, reading: Reading, now: dt.datetime) -> HttpResponse:
    """304 without writing anything out if the reader has it all, else the calendar."""
    etag, changed = etag_of(reading, found), int(found.changed_at.timestamp())
    response = get_conditional_response(request, etag=etag, last_modified=changed)
    if response is None:
        response = HttpResponse(reading.text(now), content_type="text/calendar; charset=utf-8")
    response["ETag"], response["Last-Modified"] = etag, http_date(changed)
    return response


def etag_of(reading: Reading, found: Feed) -> str:
    """Weak: it vouches for what the reader sees, not for every octet."""
    told = hashlib.sha256(f"{reading.stamp} {found.changed_at}".encode()).hexdigest()
    return f'W/"{told[:32]}"'


# One's own


@needs(Permission.SEE_PLAN)
def my_feed(request: HttpRequest, club: Club) -> HttpResponse:
    return my_page(request, club)


@needs(Permission.SEE_PLAN)
@require_POST
def new_my_feed(request: HttpRequest, club: Club) -> HttpResponse:
    """The answer itself shows the address: it is written nowhere from which a second page could take it."""
    token = give_member_feed(membership=request.membership, by=request.user)
    return my_page(request, club, address=address_of(request, token))


def my_page(request: HttpRequest, club: Club, address: str = "") -> HttpResponse:
    others = Feed.objects.of(club).filter(membership__isnull=False).exclude(membership=request.membership)
    shown = {
        "feed": Feed.objects.filter(membership=request.membership).first(),
        "address": address,
        "code": code_of(address) if address else "",
        "weeks_back": WEEKS_BACK,
        "others": others.with_reader() if request.membership.may(Permission.MANAGE_CLUB) else (),
        "squads": club.squads.all() if request.membership.may(Permission.EDIT_SQUAD) else (),
    }
    return shown_once(render(request, "planner/feeds/mine.html", shown))


@needs(Permission.SEE_PLAN)
@require_POST
def revoke_my_feed(request: HttpRequest, club: Club) -> HttpResponse:
    for found in Feed.objects.filter(membership=request.membership).with_reader():
        revoke_feed(feed=found, by=request.user)
        messages.success(request, _("Your address opens nothing any more."))
    return redirect("my_feed", club=club.slug)


@needs(Permission.MANAGE_CLUB)
@require_POST
def revoke(request: HttpRequest, club: Club, feed: int) -> HttpResponse:
    """Anybody's in the club."""
    found = get_object_or_404(Feed.objects.of(club).with_reader(), pk=feed)
    revoke_feed(feed=found, by=request.user)
    messages.success(request, _("The address of %(whose)s opens nothing any more.") % {"whose": found})
    if found.player:
        return redirect("player_feeds", club=club.slug, squad=found.player.squad.slug)
    return redirect("my_feed", club=club.slug)


# Those of players


@needs(Permission.EDIT_SQUAD)
def player_feeds(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    found = squad_of(club, squad)
    players = players_now(found)
    without = [player for player in players if not hasattr(player, "feed")]
    shown = {"squad": found, "players": players, "without": without, "weeks_back": WEEKS_BACK}
    return render(request, "planner/feeds/players.html", shown)


@needs(Permission.EDIT_SQUAD)
@require_POST
def new_player_feeds(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """`for`: one player by number, `all` of them anew, or those `without` one. The answer is the sheet to hand out."""
    found = squad_of(club, squad)
    chosen = asked_players(found, request.POST.get("for", ""))
    given = give_player_feeds(players=chosen, by=request.user)
    slips = [slip(request, one) for one in given]
    return shown_once(render(request, "planner/feeds/slips.html", {"squad": found, "slips": slips}))


def asked_players(squad: Squad, asked: str) -> list[Player]:
    players = players_now(squad)
    if asked == "all":
        return players
    if asked == "without":
        return [player for player in players if not hasattr(player, "feed")]
    return [player for player in players if str(player.pk) == asked]


def slip(request: HttpRequest, given: Given) -> dict[str, object]:
    address = address_of(request, given.token)
    return {"name": given.player.sheet_name, "address": address, "code": code_of(address)}


def address_of(request: HttpRequest, token: str) -> str:
    return request.build_absolute_uri(reverse("feed", kwargs={"token": token}))


patterns = [
    path("calendar-feed/", my_feed, name="my_feed"),
    path("calendar-feed/new/", new_my_feed, name="new_my_feed"),
    path("calendar-feed/revoke/", revoke_my_feed, name="revoke_my_feed"),
    path("calendar-feed/<int:feed>/revoke/", revoke, name="revoke_feed"),
    path("squads/<slug:squad>/calendar-feeds/", player_feeds, name="player_feeds"),
    path("squads/<slug:squad>/calendar-feeds/new/", new_player_feeds, name="new_player_feeds"),
]
