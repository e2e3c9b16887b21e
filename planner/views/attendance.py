"""The night itself: who is here, and what that means for the stations."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planner.attendance_actions import mark, mark_rest_away
from planner.attendance_here import Here, HereLine, here_of
from planner.attendance_models import MarkState
from planner.attendance_tonight import Tonight, planned_words, tonight_of
from planner.changes import Refused
from planner.forms.attendance import tapped_in_form, taps_in
from planner.forms.tonight import FoundForm
from planner.models import Session
from planner.tonight_actions import say_what_is_found
from planner.views.sessions import session_of
from shared.access import needs
from shared.clock import clock_at, today_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_AVAILABILITY)
def here(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """A button of the list writes one tap; `?by=group` orders, `?find=` looks for a name."""
    found = session_of(club, session)
    if request.method == "POST":
        return tapped(request, here_of(found))
    night, find = here_of(found), request.GET.get("find", "").strip()
    by_group = request.GET.get("by") == "group"
    lines = night.by_group() if by_group else night.by_surname()
    shown = {
        "session": found,
        "night": night,
        "lines": [line for line in lines if find.casefold() in str(line.player).casefold()],
        "by_group": by_group,
        "find": find,
        "undo": undo_of(night, request.GET.get("undo", "")),
        "is_to_come": found.day > today_at(club),
        "states": STATES,
    }
    return render(request, "planner/night/here.html", shown)


STATES = (MarkState.HERE, MarkState.AWAY, MarkState.LATE, MarkState.GONE)


def tapped(request: HttpRequest, night: Here) -> HttpResponse:
    tap = tapped_in_form(request.POST)
    before = next((line for line in night.lines if tap and line.player.pk == tap.player), None)
    kept = {name: request.GET.get(name, "") for name in ("by", "find")}
    if before is None:
        messages.error(request, _("This page is too old. Nothing was marked: try again."))
    else:
        try:
            mark(session=night.session, taps=[tap], by=request.user)
            kept["undo"] = f"{before.player.pk}:{before.state}"
        except Refused as refused:
            messages.error(request, str(refused))
    return redirect(with_query(request.path, **kept))


def undo_of(night: Here, asked: str) -> tuple[HereLine, str] | None:
    """The line that was tapped last and the state it had before."""
    player, _colon, state = asked.partition(":")
    line = next((line for line in night.lines if str(line.player.pk) == player), None)
    return (line, state) if line and state in MarkState.values else None


@needs(Permission.EDIT_AVAILABILITY)
def here_marks(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """What counts now, for a page that is open; POST adds the taps that it kept, in its order."""
    found = session_of(club, session)
    if request.method == "POST":
        try:
            mark(session=found, taps=taps_in(request.body), by=request.user)
        except (Refused, ValidationError) as refused:
            said = " ".join(refused.messages) if isinstance(refused, ValidationError) else str(refused)
            return JsonResponse({"said": said}, status=422)
    return JsonResponse({"players": as_json(here_of(found))})


def as_json(night: Here) -> dict[int, Any]:
    return {line.player.pk: line.to_json() for line in night.lines}


@needs(Permission.EDIT_AVAILABILITY)
@require_POST
def rest_away(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Nobody has marked the others: they are not here."""
    night = here_of(session_of(club, session))
    try:
        count = mark_rest_away(session=night.session, players=[line.player for line in night.rest], by=request.user)
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        said = ngettext("%(count)d player is marked not here.", "%(count)d players are marked not here.", count)
        messages.success(request, said % {"count": count})
    return redirect(reverse("here", kwargs={"club": club.slug, "session": session}))


@needs(Permission.SEE_PLAN)
def tonight(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    found = session_of(club, session)
    if found.cancelled:
        raise Http404(_("This session does not take place."))
    return tonight_page(request, club, found, FoundForm(session=found))


def tonight_page(request: HttpRequest, club: Club, found: Session, form: FoundForm) -> HttpResponse:
    now, rows = tonight_of(found, **clock_at(club)), list(found.found.all())
    shown = {
        "session": found,
        "tonight": now,
        "here": here_of(found),
        "deal": deal_address(club, now),
        "form": form,
        "planned": planned_words(rows[0]) if rows else [],
        "said": rows[-1] if rows else None,
        "is_today": found.day == today_at(club),
    }
    return render(request, "planner/night/tonight.html", shown)


@needs(Permission.EDIT_AVAILABILITY)
@require_POST
def as_found(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Coaches, grass, light and kit as they are; the page of the night then says what still works."""
    found = session_of(club, session)
    form = FoundForm(request.POST, session=found)
    if form.is_valid():
        try:
            row = say_what_is_found(session=found, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            told = _("Noted: the stations below are judged by it.") if row else _("Nothing of this is new.")
            messages.success(request, told)
            return redirect("tonight", club=club.slug, session=found.pk)
    return tonight_page(request, club, found, form)


def deal_address(club: Club, now: Tonight) -> str:
    """The page of dealing again, with every planned slot of the night chosen."""
    if now.night.block is None:
        return ""
    page = reverse("deal_again", kwargs={"club": club.slug, "block": now.night.block.pk})
    return f"{page}?{urlencode({'night': now.night.session.pk, 'slots': now.slots}, doseq=True)}"


@needs(Permission.EDIT_PLAN)
@require_POST
def deal_tonight(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Whoever is not marked is not here; then the page of dealing again, which asks before anything changes."""
    found = session_of(club, session)
    night = here_of(found)
    try:
        mark_rest_away(session=night.session, players=[line.player for line in night.rest], by=request.user)
    except Refused as refused:
        messages.error(request, str(refused))
    now = tonight_of(found, **clock_at(club))
    return redirect(deal_address(club, now) or reverse("tonight", kwargs={"club": club.slug, "session": session}))


patterns = [
    path("evenings/<int:session>/", tonight, name="tonight"),
    path("evenings/<int:session>/deal/", deal_tonight, name="deal_tonight"),
    path("evenings/<int:session>/found/", as_found, name="as_found"),
    path("evenings/<int:session>/here/", here, name="here"),
    path("evenings/<int:session>/marks/", here_marks, name="here_marks"),
    path("evenings/<int:session>/rest/", rest_away, name="rest_away"),
]
