"""A small block with live work on one night and bags on another, a match on Saturday, and a short-week pattern."""

from __future__ import annotations

import datetime as dt

from planner.pattern_actions import put_pattern
from planner.pattern_models import Pattern, WeekPattern
from shared.models import User
from tests import factories as f
from tests.planner.block_cast import BEFORE, Cast, small_block, stand

MONDAY = dt.date(2026, 10, 5)


def planned_block(squad) -> Cast:
    """Eight players: live on Tuesday 6 (6 min full), bags on Thursday 8 (6 min controlled) October."""
    cast = small_block(squad)
    f.SeasonFactory(squad=squad)
    cast.live = f.DrillFactory(club=squad.club, name="Live", rung="C4", contact_share=50, players_least=2)
    cast.bags = f.DrillFactory(club=squad.club, name="Bags", rung="C2", contact_share=50, players_least=2)
    stand(cast.slot(0), cast.live, cast.players)
    stand(cast.slot(1), cast.bags, cast.players)
    cast.match = f.FixtureFactory(squad=squad)
    return cast


def pattern(squad, name: str = "Short week", **figures: object) -> Pattern:
    return Pattern.objects.create(club=squad.club, name=name, **figures)


def put(squad, by: User, monday: dt.date = MONDAY, today: dt.date = BEFORE, **figures: object) -> WeekPattern:
    found = Pattern.objects.filter(club=squad.club, name="Short week").first() or pattern(squad, **figures)
    return put_pattern(pattern=found, squad=squad, monday=monday, by=by, today=today)
