"""A small block to plan: two weeks, two nights each, a squad of a few players and three walk-through drills."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drills.models import Drill
from planner import actions
from planner.models import Block, GroupTarget, Place, Season, Session, Slot, Station
from shared.models import User
from squads.models import Player, Squad
from tests import factories as f

BEFORE = dt.date(2026, 10, 1)  # no night of the block is past
TUESDAYS_AND_THURSDAYS = (6, 8, 13, 15)


@dataclass
class Cast:
    squad: Squad
    block: Block
    players: list[Player]
    drills: list[Drill]
    nights: list[Session]

    def slot(self, night: int = 0, order: int = 1) -> Slot:
        """By default the first planned slot of the first night: slot 0 holds the warm-up."""
        return self.nights[night].slots.get(order=order)

    def version(self, night: int = 0) -> int:
        return Session.objects.get(pk=self.nights[night].pk).plan_version


def night(squad: Squad, day: int, month: int = 10, **fields: object) -> Session:
    slots = fields.pop("slots", [(10, "Warm-up"), 12, 12])
    starts = dt.datetime(2026, month, day, 19, tzinfo=f.LONDON)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=slots, **fields)


def season_with_days(squad: Squad) -> Season:
    """A season under contact rules, with a phase from its first day and a break of two days in October."""
    f.ContactRulesFactory(club=squad.club)
    season = f.SeasonFactory(squad=squad)
    season.phases.create(name="Early season", first_day=season.first_day, last_day=dt.date(2026, 10, 31))
    season.breaks.create(name="Half term", first_day=dt.date(2026, 10, 26), last_day=dt.date(2026, 10, 27))
    return season


def small_block(squad: Squad, players: int = 8, weeks: int = 2) -> Cast:
    club = squad.club
    f.ContactRulesFactory(club=club)
    drills = [f.DrillFactory(club=club, name=name, players_least=2) for name in ("Rope", "Fence", "Gate")]
    return Cast(
        squad,
        f.BlockFactory(squad=squad, weeks=weeks),
        [f.PlayerFactory(squad=squad, main_position=n % 15 + 1) for n in range(players)],
        drills,
        [night(squad, day, coach_names=["Ash", "Bo", "Cy"]) for day in TUESDAYS_AND_THURSDAYS[: 2 * weeks]],
    )


def stand(slot: Slot, drill: Drill, players: list[Player], order: int = 0, **fields: object) -> Station:
    """A station as it stands, written past all rules."""
    station = Station.objects.create(slot=slot, drill=drill, order=order, **fields)
    Place.objects.bulk_create(Place(station=station, slot=slot, player=player) for player in players)
    return station


def names_at(station: Station) -> set[int]:
    return {place.player_id for place in station.places.all()}


def wish(squad: Squad, code: str = "I04", minutes: int = 12) -> None:
    """That many minutes of one skill in four weeks, for every position group."""
    skill = f.SkillFactory(club=squad.club, code=code)
    for group in ("FR", "SR", "BR", "HB", "CE", "B3"):
        GroupTarget.objects.create(squad=squad, group=group, skill=skill, minutes=minutes)


def add(cast: Cast, by: User, drill: int = 0, night: int = 0, order: int = 1, **how: object):
    return actions.add_station(
        slot=cast.slot(night, order),
        drill=cast.drills[drill],
        by=by,
        version=cast.version(night),
        today=BEFORE,
        **how,
    )
