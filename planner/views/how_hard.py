"""One number from a player: by the code on the night's sheet, and on his own page.

The code holds no secret: whoever opens it on a phone that has opened an own page before is asked for his number, and
whoever does not is told to open his own address. So the sheet may lie about.
"""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from planner.changes import Refused
from planner.forms.replies import Unclear
from planner.forms.rpe import own_told
from planner.link_actions import NoSuchLink
from planner.link_models import PlayerLink
from planner.rpe import asked_of, number_words
from planner.rpe_actions import say_himself
from planner.views.behind_secrets import kept_nowhere
from shared.access import for_anyone
from shared.clock import today_at

COOKIE, SALT = "own", "own page"
PATH = "/how-hard/"
A_YEAR = 365 * 24 * 60 * 60


# A player has no account: that his phone opened his own page before is all that he can show.
@for_anyone
@require_http_methods(["GET", "HEAD", "POST"])
def how_hard(request: HttpRequest, occasion: str) -> HttpResponse:
    """Without an own page on this phone the same plain page for every night, whether or not there is one."""
    link = remembered(request)
    if link is None:
        return kept_nowhere(render(request, "planner/own/how_hard.html", {"asked": None}))
    with timezone.override(link.player.squad.club.tzinfo):
        if request.method == "POST":
            return kept_nowhere(posted(request, link))
        asked = next((a for a in asked_of(link.player, timezone.now()) if a.occasion.name == occasion), None)
        shown = {"asked": asked, "player": link.player, "squad": link.player.squad}
        return kept_nowhere(render(request, "planner/own/how_hard.html", shown))


def posted(request: HttpRequest, link: PlayerLink) -> HttpResponse:
    if "forget" in request.POST:
        answer = redirect(request.path)
        answer.delete_cookie(COOKIE, path=PATH)
        return answer
    say_number(request, link)
    return redirect(request.path)


def say_number(request: HttpRequest, link: PlayerLink) -> str:
    """Notes the number that was pressed, and tells what was sent; the name of the night, "" if nothing was noted."""
    now = timezone.now()
    try:
        told = own_told(request.POST, link.player, now)
        noted = say_himself(link=link, told=told, now=now)
    except (Refused, Unclear, NoSuchLink) as problem:
        messages.error(request, str(problem) or _("This address was ended. Ask a coach for a new slip."))
        return ""
    if noted.unseen:
        messages.warning(request, _("Somebody noted something else for you meanwhile: look, then answer again."))
    elif told.number is None:
        messages.success(request, _("Your number is taken back."))
    else:
        messages.success(request, _("You sent %(number)s. Thank you.") % {"number": number_words(told.number)})
    return told.occasion.name


def remember(request: HttpRequest, response: HttpResponse, link: PlayerLink) -> HttpResponse:
    """This phone leads to his number from now on. The cookie is signed, goes to no other page, and dies with the
    address: it holds the beginning of its digest."""
    value = f"{link.pk}:{link.digest[:16]}"
    response.set_signed_cookie(
        COOKIE, value, salt=SALT, max_age=A_YEAR, path=PATH, secure=request.is_secure(), httponly=True, samesite="Lax"
    )
    return response


def remembered(request: HttpRequest) -> PlayerLink | None:
    value = request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=A_YEAR)
    key, _colon, beginning = value.partition(":")
    if not beginning:
        return None
    link = PlayerLink.objects.with_player().filter(pk=int(key), digest__startswith=beginning).first()
    if link is None or link.player.has_left_by(today_at(link.player.squad.club)):
        return None
    return link


patterns = [path("how-hard/<slug:occasion>/", how_hard, name="how_hard")]
