"""A squad with nights around the real today, since the pages under test go by the clock."""

from __future__ import annotations

import datetime as dt

from drills.models import Drill
from planner.models import Session
from shared.clock import today_at
from squads.models import Player, Squad
from tests import factories as f

SLOTS = [(10, "Warm-up"), 12, 12, 10, 10]


def next_monday(squad: Squad) -> dt.date:
    """Never today, so that every night from it on can still be planned."""
    today = today_at(squad.club)
    return today + dt.timedelta(days=7 - today.weekday())


def night(squad: Squad, day: dt.date, coaches: list[str]) -> Session:
    starts = dt.datetime.combine(day, dt.time(19), squad.club.tzinfo)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=SLOTS, coach_names=coaches, first_aider="P. Hollin")


def players(squad: Squad, count: int) -> list[Player]:
    return [
        f.PlayerFactory(squad=squad, given_name=f"Given{n}", family_name=f"Name{n}", main_position=n % 15 + 1)
        for n in range(count)
    ]


def library(squad: Squad) -> list[Drill]:
    """A drill on pads, then seven walk-throughs of two skills."""
    names = ["Rope Line", "Long Fence", "Two Gates", "Slow Door", "High Wall", "Corner Post", "Low Bridge"]
    few = {"club": squad.club, "players_least": 2}
    pads = {"rung": "C2", "contact_share": 50, "contacts_most": 6, "safety": ["Pads high."]}
    walks = [f.DrillFactory(name=name, skills={("I04", "U01")[n % 2]: 100}, **few) for n, name in enumerate(names)]
    return [f.DrillFactory(name="Pad Walk", **few, **pads), *walks]
