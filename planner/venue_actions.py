"""The club's venues: adding one, changing one, retiring one.

All verbs raise Refused, with sentences for the person who asked, when nothing was written.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.changes import Refused
from planner.models import Fixture, Session, TrainingNight
from planner.venue_models import Venue
from shared import audit
from shared.models import User


@transaction.atomic
def save_venue(*, venue: Venue, by: User, **fields: Any) -> Venue:
    """Add a venue, or change one. Its zone stays while something stands there: its times were meant by that clock."""
    did, zone = ("changed venue", venue.zone) if venue.pk else ("added venue", "")
    for name, value in fields.items():
        setattr(venue, name, value)
    if zone and venue.zone != zone and is_used(venue):
        raise Refused(
            _("Sessions or matches stand at %(venue)s by the clock of %(zone)s. Add another venue for another zone.")
            % {"venue": venue, "zone": zone}
        )
    refuse_known_name(venue)
    try:
        with transaction.atomic():
            venue.save()
    except IntegrityError:
        raise Refused(name_is_known()) from None
    audit.record(venue.club, did, venue, by=by, fields={name: str(value) for name, value in fields.items()})
    return venue


def refuse_known_name(venue: Venue) -> None:
    """Whatever its letters: the database of a small club knows capitals of A to Z only."""
    others = Venue.objects.of(venue.club).exclude(pk=venue.pk).values_list("name", flat=True)
    if venue.name.casefold() in {name.casefold() for name in others}:
        raise Refused(name_is_known())


def name_is_known() -> str:
    return _("The club has a venue of that name already, perhaps a retired one. Choose another name.")


def is_used(venue: Venue) -> bool:
    return any(model.objects.filter(venue=venue).exists() for model in (Session, Fixture))


@transaction.atomic
def retire_venue(*, venue: Venue, by: User, today: dt.date) -> None:
    """It is no longer on offer. What took place there still says so."""
    reasons = why_still_used(venue, today)
    if reasons:
        raise Refused(*reasons)
    venue.retired_on = today
    venue.save(update_fields=["retired_on"])
    audit.record(venue.club, "retired venue", venue, by=by)


def why_still_used(venue: Venue, today: dt.date) -> list[str]:
    """A sentence for each sort of thing that is still to take place there."""
    seasons = Q(season__last_day__gte=today)
    running = TrainingNight.objects.filter(seasons & (Q(last_day=None) | Q(last_day__gte=today)), venue=venue)
    sessions = Session.objects.filter(venue=venue, day__gte=today, cancelled=False)
    matches = Fixture.objects.played_or_due().filter(venue=venue, day__gte=today)
    told = (
        (running.count(), nights_told),
        (sessions.count(), sessions_told),
        (matches.count(), matches_told),
    )
    return [words(count) % {"count": count, "venue": venue} for count, words in told if count]


def nights_told(count: int) -> str:
    return ngettext(
        "%(count)d night of a season is at %(venue)s: change it, or end it, first.",
        "%(count)d nights of a season are at %(venue)s: change them, or end them, first.",
        count,
    )


def sessions_told(count: int) -> str:
    return ngettext(
        "%(count)d session ahead is at %(venue)s: change its venue first.",
        "%(count)d sessions ahead are at %(venue)s: change their venue first.",
        count,
    )


def matches_told(count: int) -> str:
    return ngettext(
        "%(count)d match ahead is at %(venue)s: change its venue first.",
        "%(count)d matches ahead are at %(venue)s: change their venue first.",
        count,
    )


@transaction.atomic
def bring_venue_back(*, venue: Venue, by: User) -> None:
    venue.retired_on = None
    venue.save(update_fields=["retired_on"])
    audit.record(venue.club, "brought venue back", venue, by=by)
