"""Venues of an invented club at home and on tour."""

from __future__ import annotations

from planner.venue_models import Venue

GROUND = {"name": "The Withy Ground", "zone": "Europe/London", "latitude": 52.9, "longitude": -1.3}


def venue_of(club, **fields) -> Venue:
    return Venue.objects.create(club=club, **(GROUND | fields))
