"""The club's venues: the list, one, and retiring one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.forms.venues import VenueForm
from planner.venue_actions import bring_venue_back, retire_venue, save_venue
from planner.venue_models import Venue
from planner.views.blocks import given
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_CALENDAR)
def venues_of_club(request: HttpRequest, club: Club) -> HttpResponse:
    rows = list(Venue.objects.of(club))
    shown = {
        "on_offer": [row for row in rows if row.retired_on is None],
        "retired": [row for row in rows if row.retired_on is not None],
    }
    return render(request, "planner/venues/venues.html", shown)


@needs(Permission.EDIT_CALENDAR)
def new_venue(request: HttpRequest, club: Club) -> HttpResponse:
    return venue_form(request, Venue(club=club, zone=club.zone))


@needs(Permission.EDIT_CALENDAR)
def edit_venue(request: HttpRequest, club: Club, venue: int) -> HttpResponse:
    return venue_form(request, venue_of(club, venue))


def venue_of(club: Club, key: int) -> Venue:
    return get_object_or_404(Venue.objects.of(club).select_related("club"), pk=key)


def venue_form(request: HttpRequest, venue: Venue) -> HttpResponse:
    """The verb gets a row of its own: the form has written into this one, whatever its zone was."""
    name = str(venue)
    form = VenueForm(given(request), instance=venue)
    if form.is_valid():
        stands = venue_of(venue.club, venue.pk) if venue.pk else Venue(club=venue.club)
        try:
            saved = save_venue(venue=stands, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("“%(venue)s” is saved.") % {"venue": saved})
            return redirect("venues", club=venue.club.slug)
    return render(request, "planner/venues/form.html", {"form": form, "venue": venue, "name": name})


@needs(Permission.EDIT_CALENDAR)
@require_POST
def retire(request: HttpRequest, club: Club, venue: int) -> HttpResponse:
    """Takes it from the offer, or with `back` puts it there again."""
    found = venue_of(club, venue)
    try:
        if "back" in request.POST:
            bring_venue_back(venue=found, by=request.user)
            messages.success(request, _("“%(venue)s” is on offer again.") % {"venue": found})
        else:
            retire_venue(venue=found, by=request.user, today=today_at(club))
            messages.success(
                request, _("“%(venue)s” is retired. What took place there still says so.") % {"venue": found}
            )
    except Refused as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
    return redirect("venues", club=club.slug)


patterns = [
    path("venues/", venues_of_club, name="venues"),
    path("venues/new/", new_venue, name="new_venue"),
    path("venues/<int:venue>/", edit_venue, name="edit_venue"),
    path("venues/<int:venue>/retire/", retire, name="retire_venue"),
]
