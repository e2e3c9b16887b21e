"""Public holidays of a season: whose they are, and which of them are days without training."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from planner.break_actions import choose_holidays
from planner.breaks import digest
from planner.changes import Refused
from planner.core.breaks import Offered, offered, with_chosen
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.forms.breaks import PlaceForm
from planner.laying_out import night_of
from planner.models import Season
from planner.public_holidays import HOLIDAY, holidays_in, place_of
from planner.views.breaks import before_or_after
from planner.views.calendar import season_of
from shared.access import needs
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_CALENDAR)
def holidays(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    """`place` chooses the country; otherwise the ticks are looked at, and written once that was seen."""
    found = season_of(club, season)
    if "place" in request.POST:
        return choose_place(request, found)
    place = place_of(found)
    listed = listed_for(request, found, place)
    if request.method == "POST" and "again" not in request.POST:
        try:
            wanted = with_chosen(breaks_of(found), listed, chosen_in(request, listed, place))
            return before_or_after(request, found, wanted, _("Before the public holidays change"))
        except Refused as refusal:
            for reason in refusal.reasons:
                messages.error(request, reason)
    return show(request, found, PlaceForm(place=place), listed, ticked_in(request), named(place))


def choose_place(request: HttpRequest, season: Season) -> HttpResponse:
    """Another country is first shown as a whole; its parts can be chosen then."""
    form = PlaceForm(request.POST, place=place_of(season))
    if form.is_valid():
        region = "" if form.moves_on else form.cleaned_data["region"]
        choose_holidays(season=season, country=form.cleaned_data["country"], region=region, by=request.user)
        return redirect("holidays", club=season.squad.club.slug, season=season.pk)
    return show(request, season, form)


def listed_for(request: HttpRequest, season: Season, place: tuple[str, str]) -> tuple[Break, ...]:
    country, region = place
    try:
        return holidays_in(country, region, Stretch(season.first_day, season.last_day)) if country else ()
    except Refused as refusal:
        messages.error(request, str(refusal))
        return ()


def chosen_in(request: HttpRequest, listed: tuple[Break, ...], place: tuple[str, str]) -> list[str]:
    chosen = request.POST.getlist("chosen")
    if request.POST.get("listed") != named(place) or not set(chosen) <= {gap.uid for gap in listed}:
        raise Refused(_("Somebody has chosen another country meanwhile. Nothing was written: these are its holidays."))
    return chosen


def ticked_in(request: HttpRequest) -> set[str] | None:
    """What the person ticked, so that a refusal loses none of it."""
    return set(request.POST.getlist("chosen")) if "listed" in request.POST else None


def named(place: tuple[str, str]) -> str:
    return "-".join(filter(None, place))


def show(
    request: HttpRequest,
    season: Season,
    form: PlaceForm,
    listed: tuple[Break, ...] = (),
    ticked: set[str] | None = None,
    place: str = "",
) -> HttpResponse:
    known, nights = breaks_of(season), {night.pk: night for night in season.nights.all()}
    found = offered(listed, [night_of(night, season) for night in nights.values()], known)
    if ticked is not None:
        found = [replace(each, chosen=each.gap.uid in ticked) for each in found]
    here = {gap.uid for gap in listed}
    shown: dict[str, Any] = {
        "season": season,
        "form": form,
        "on_nights": [with_nights(each, nights) for each in found if each.nights],
        "others": [with_nights(each, nights) for each in found if not each.nights],
        "elsewhere": [gap for gap in known if gap.uid.startswith(HOLIDAY) and gap.uid not in here],
        "place": place,
        "was": digest(known),
    }
    return render(request, "planner/breaks/holidays.html", shown)


def with_nights(each: Offered, nights: dict[int, Any]) -> tuple[Offered, str]:
    return each, ", ".join(str(nights[key]) for key in each.nights)


patterns = [path("seasons/<int:season>/holidays/", holidays, name="holidays")]
