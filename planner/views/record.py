"""The record of a night: what really ran, confirmed in two taps where it ran as planned, or told station by station."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.core.record import Block
from planner.forms.beside import BesideForm
from planner.forms.record import CONTACT, RUNG_CHOICES, STAYS, StationForm, coaches_in
from planner.record_actions import add_block, bring_back, confirm_night, correct_charge, correct_line, drop_rung
from planner.record_night import NightRecord, night_record
from planner.record_page import stations_told
from planner.record_paper import record_pdf
from planner.views.prints import printed
from planner.views.sessions import session_of
from shared.access import needs
from shared.clock import today_at
from shared.core.contact import below_or_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_PLAN)
def record(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    night = night_of(club, session)
    shown = {"night": night, "session": night.session, "stations": stations_told(night)}
    return render(request, "planner/record/record.html", shown | {"may_tell": may_tell(request, night)})


@needs(Permission.RECORD_NIGHT)
@require_POST
def confirm(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """`version`: the plan that the page showed; coaches and first aider as the page asked for them, if it did."""
    found, given = session_of(club, session), request.POST
    try:
        confirm_night(
            session=found, by=request.user, version=number_in(given.get("version", "")) or 0, **charge_in(given)
        )
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("The night is confirmed: what ran counts from now on."))
    return redirect("record", club=club.slug, session=session)


@needs(Permission.CORRECT_RECORD)
@require_POST
def charge(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Of a confirmed night; `seen`: the number of the record that the page showed."""
    found, given = session_of(club, session), request.POST
    try:
        seen = number_in(given.get("seen", "")) or 0
        correct_charge(session=found, seen=seen, **charge_in(given), **teller(request))
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("It is in the record, with your name."))
    return redirect("record", club=club.slug, session=session)


def charge_in(given: QueryDict) -> dict[str, Any]:
    """Coaches and first aider as a page asked for them, if it did."""
    read = {"coaches": lambda text: coaches_in(text)[:12], "first_aider": lambda text: text.strip()[:80]}
    return {name: reader(given[name]) for name, reader in read.items() if name in given}


@needs(Permission.RECORD_NIGHT)
def station(request: HttpRequest, club: Club, session: int, spot: str) -> HttpResponse:
    """One station: what it says, how that came to be, and the form that tells it anew."""
    night = night_of(club, session)
    block = block_or_404(night, spot)
    if request.method != "POST":
        return station_page(request, night, StationForm.of(night, block))
    form = StationForm.read(night, block, request.POST)
    if not form.is_valid:
        return station_page(request, night, form)

    def tell() -> None:
        told = {"parts": form.parts, "seen": form.seen_key, "why": form.why}
        correct_line(session=night.session, spot=spot, **told, **teller(request))

    return told(request, night, spot, tell, form)


@needs(Permission.RECORD_NIGHT)
@require_POST
def drop(request: HttpRequest, club: Club, session: int, spot: str) -> HttpResponse:
    night = night_of(club, session)
    form = StationForm.of(night, block_or_404(night, spot))
    minute, given = number_in(request.POST.get("minute", "")), request.POST
    if minute is None:
        form.refused.append(_("From which minute on? Write a whole number."))
        return station_page(request, night, form)

    def tell() -> None:
        seen = number_in(given.get("seen", ""))
        rung = given.get("rung", "")
        drop_rung(session=night.session, spot=spot, rung=rung, minute=minute, seen=seen, **teller(request))

    return told(request, night, spot, tell, form)


@needs(Permission.RECORD_NIGHT)
@require_POST
def back(request: HttpRequest, club: Club, session: int, spot: str) -> HttpResponse:
    """`account`: the key of an earlier line; empty: as planned."""
    night, given = night_of(club, session), request.POST
    form = StationForm.of(night, block_or_404(night, spot))

    def tell() -> None:
        account, seen = number_in(given.get("account", "")), number_in(given.get("seen", ""))
        bring_back(session=night.session, spot=spot, account=account, seen=seen, **teller(request))

    return told(request, night, spot, tell, form)


@needs(Permission.RECORD_NIGHT)
def beside(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    """Something ran that no plan held."""
    night = night_of(club, session)
    form = BesideForm(request.POST or None, night=night)
    if form.is_valid():
        try:
            add_block(session=night.session, **form.told, **teller(request))
        except Refused as refused:
            form.add_error(None, list(refused.reasons))
        else:
            messages.success(request, _("It is in the record."))
            return redirect("record", club=club.slug, session=session)
    shown = {"form": form, "night": night, "session": night.session, "may_tell": may_tell(request, night)}
    return render(request, "planner/record/beside.html", shown)


@needs(Permission.PRINT_SHEETS)
def paper(request: HttpRequest, club: Club, session: int) -> HttpResponse:
    night = night_of(club, session)
    name = f"as-run-{night.session.day}.pdf"
    return printed(request, name, lambda: record_pdf(night, today_at(club)))


# What the pages share


def night_of(club: Club, session: int) -> NightRecord:
    found = session_of(club, session)
    if found.cancelled:
        raise Http404(_("This session does not take place."))
    return night_record(found)


def block_or_404(night: NightRecord, spot: str) -> Block:
    block = night.block(spot)
    if block is None:
        raise Http404(_("There is no such station in this night."))
    return block


def may_tell(request: HttpRequest, night: NightRecord) -> bool:
    """Coaches tell a night until it is confirmed; from then on a correction is the head coach's."""
    wanted = Permission.CORRECT_RECORD if night.confirmation else Permission.RECORD_NIGHT
    return request.membership.may(wanted) and night.has_begun


def teller(request: HttpRequest) -> dict[str, Any]:
    """Who tells, for the verbs: they ask under the lock whether the night is confirmed."""
    return {"by": request.user, "may_correct": request.membership.may(Permission.CORRECT_RECORD)}


def told(
    request: HttpRequest, night: NightRecord, spot: str, tell: Callable[[], None], form: StationForm
) -> HttpResponse:
    """Write it, or show the form as it was typed with what stands against it."""
    try:
        tell()
    except Refused as refused:
        fresh = night_record(night.session)
        standing = fresh.standing.get(spot)
        form.refused, form.seen = list(refused.reasons), str(standing.pk) if standing else ""
        return station_page(request, fresh, form)
    messages.success(request, _("It is in the record, with your name."))
    return redirect("record", club=night.session.squad.club.slug, session=night.session.pk)


def station_page(request: HttpRequest, night: NightRecord, form: StationForm) -> HttpResponse:
    block = night.block(form.block.spot) or form.block
    if not (night.confirmation is None or request.membership.may(Permission.CORRECT_RECORD) or form.refused):
        raise PermissionDenied(_("This night is confirmed: from then on the head coach corrects it."))
    lower = below_or_at(block.parts[-1].rung) - {block.parts[-1].rung}
    shown: dict[str, Any] = {
        "night": night,
        "session": night.session,
        "form": form,
        "station": next((each for each in stations_told(night) if each.block.spot == block.spot), None),
        "rungs": RUNG_CHOICES,
        "lower": [choice for choice in RUNG_CHOICES if choice[0] in lower],
        "stays": STAYS,
        "contact": CONTACT,
        "may_tell": may_tell(request, night),
    }
    return render(request, "planner/record/station.html", shown, status=422 if form.problems or form.refused else 200)


def number_in(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None


patterns = [
    path("evenings/<int:session>/record/", record, name="record"),
    path("evenings/<int:session>/record/as-run.pdf", paper, name="record_paper"),
    path("evenings/<int:session>/record/confirm/", confirm, name="confirm_record"),
    path("evenings/<int:session>/record/charge/", charge, name="record_charge"),
    path("evenings/<int:session>/record/beside/", beside, name="record_beside"),
    path("evenings/<int:session>/record/at/<str:spot>/", station, name="record_station"),
    path("evenings/<int:session>/record/at/<str:spot>/drop/", drop, name="record_drop"),
    path("evenings/<int:session>/record/at/<str:spot>/back/", back, name="record_back"),
]
