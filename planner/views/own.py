"""A player's own page, behind his secret address and without an account."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from planner.changes import Refused
from planner.forms.own import own_said
from planner.forms.replies import Entry, Unclear
from planner.link_actions import NoSuchLink, note_opening, reply_himself
from planner.link_models import PlayerLink
from planner.own import own_page
from planner.own_training import own_training
from planner.views.behind_secrets import kept_nowhere
from planner.views.how_hard import remember, say_number
from shared import tokens
from shared.access import for_anyone
from shared.clock import today_at


# A player has no account: the secret in the address is all that he can show.
@for_anyone
@require_http_methods(["GET", "HEAD", "POST"])
def own(request: HttpRequest, token: str) -> HttpResponse:
    """Wrong, exchanged, ended and left: the same plain page, so that it tells nothing."""
    link = tokens.find(PlayerLink.objects.with_player(), token)
    if link is None or link.player.has_left_by(today_at(link.player.squad.club)):
        return nothing_here(request)
    with timezone.override(link.player.squad.club.tzinfo):
        try:
            answer = answered(request, link) if request.method == "POST" else shown(request, link)
            return kept_nowhere(remember(request, answer, link))
        except NoSuchLink:
            return nothing_here(request)


# As above.
@for_anyone
@require_safe
def training(request: HttpRequest, token: str) -> HttpResponse:
    """His numbers, his load and what he was trained in; apart, so that the page he answers on stays light."""
    link = tokens.find(PlayerLink.objects.with_player(), token)
    if link is None or link.player.has_left_by(today_at(link.player.squad.club)):
        return nothing_here(request)
    with timezone.override(link.player.squad.club.tzinfo):
        own = own_training(link.player, today_at(link.player.squad.club))
        words = {"training": own, "player": link.player, "squad": link.player.squad, "token": token}
        return kept_nowhere(render(request, "planner/own/training.html", words))


def nothing_here(request: HttpRequest) -> HttpResponse:
    return kept_nowhere(render(request, "planner/own/nothing.html", status=404))


def shown(request: HttpRequest, link: PlayerLink, problem: str = "") -> HttpResponse:
    """With a problem the night that was answered shows it, and what was typed."""
    today = today_at(link.player.squad.club)
    note_opening(link, today)
    page = own_page(link.player, today, timezone.now())
    answered = request.POST.get("session", "") if problem else ""
    nights = [
        (night, Entry.typed(request.POST, answered), problem)
        if str(night.session.pk) == answered
        else (night, Entry.of(night.reply), "")
        for night in page.nights
    ]
    if problem and not any(told for _night, _entry, told in nights):
        messages.error(request, problem)
    words = {"page": page, "nights": nights, "squad": link.player.squad}
    return render(request, "planner/own/own.html", words)


def answered(request: HttpRequest, link: PlayerLink) -> HttpResponse:
    """Notes one reply or one number and goes back to its night."""
    if "rpe_of" in request.POST:
        return redirect(f"{request.path}#hard-{say_number(request, link)}")
    try:
        said = own_said(request.POST, link.player)
        noted = reply_himself(link=link, said=said)
    except (Refused, Unclear) as problem:
        return shown(request, link, str(problem))
    if noted.unseen:
        messages.warning(request, _("Somebody said something else of this night meanwhile: look, then answer again."))
    else:
        messages.success(request, _("Thank you, that is noted."))
    return redirect(f"{request.path}#night-{said.session.pk}")


patterns = [
    path("own/<str:token>/", own, name="own"),
    path("own/<str:token>/training/", training, name="own_training"),
]
