"""Where a session or a match stands: between matches, in which week and phases of which season."""

from __future__ import annotations

from dataclasses import dataclass

from planner.core.calendar import MatchDistance, match_distance, week_number
from planner.models import Fixture, Phase, Season, Session


@dataclass(frozen=True)
class PlaceInSeason:
    """`season` is None outside all of them."""

    distance: MatchDistance
    season: Season | None
    week: int | None
    phases: list[Phase]


def place_in_season(row: Session | Fixture) -> PlaceInSeason:
    """A match stands between the others."""
    day, fixtures = row.day, row.squad.fixtures.played_or_due()
    others = fixtures.exclude(pk=row.pk) if isinstance(row, Fixture) else fixtures
    matches = others.order_by("day").values_list("day", flat=True)
    season = row.squad.seasons.filter(first_day__lte=day, last_day__gte=day).first()
    phases = list(season.phases.filter(first_day__lte=day, last_day__gte=day)) if season else []
    number = week_number(day, season.first_day) if season else None
    return PlaceInSeason(match_distance(day, list(matches)), season, number, phases)
