"""Ten seasons of one squad, and other squads beside it: rows for benchmarks, written in bulk past the verbs.

`ten_seasons(squad, today)` gives a squad players, seasons, blocks, matches, nights with slots, stations and places;
the tenth season runs on `today`. `squads_beside(club, today)` makes twenty more with the same calendar, whose
programmes stand in the latest season only, so that a benchmark is ready within a minute.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from drills.models import Drill, Skill
from planner.models import (
    Block,
    Break,
    Fixture,
    GroupTarget,
    Phase,
    Place,
    Season,
    Session,
    Slot,
    Station,
    TrainingNight,
)
from shared.core.positions import GROUPS
from shared.models import Club
from squads.models import Absence, Player, Squad
from tests import factories as f

PLAYERS, SEASONS, WEEKS = 44, 10, 40
WEEKS_SO_FAR = 30  # of the latest season, up to the week of today
WEEKDAYS = (1, 3)  # Tuesday and Thursday
BATCH = 2_000
WEEK = dt.timedelta(weeks=1)

# Minutes and title of each slot; an empty title is a planned one, with three stations side by side.
SLOTS = (
    (2, "Brief"),
    (10, "Warm-up"),
    (12, ""),
    (12, ""),
    (2, "Water and change"),
    (10, "Set-piece units"),
    (12, ""),
    (14, ""),
    (4, "Close and knocks"),
)
# Name, first and last week.
PHASES = (("Pre-season", 0, 5), ("In season", 6, 30), ("Taper", 31, 33), ("Off-season", 34, 39))
STATIONS = 3
RUNGS = ("C0", "C1", "C2", "C3", "C4", "C3", "C2", "C1", "C0", "C2", "C3", "C4")
CODES = ("I01", "I04", "I06", "U01", "U04", "U08", "B02", "B04", "T01", "T03", "K01", "K02")


def ten_seasons(squad: Squad, today: dt.date, seasons: int = SEASONS) -> list[Session]:
    """All rows of one squad; gives back its sessions in the order of time."""
    add_players(squad)
    sessions = add_calendar(squad, today, seasons)
    add_programme(sessions, library_of(squad.club))
    return sessions


def squads_beside(club: Club, today: dt.date, count: int = 20) -> list[Squad]:
    """Squads with ten seasons of nights and matches, and with a programme in the latest season."""
    squads = [f.SquadFactory(club=club, name=f"Side {n}", slug=f"side-{n}") for n in range(count)]
    for squad in squads:
        add_players(squad)
        sessions = add_calendar(squad, today, SEASONS)
        add_programme(sessions[-WEEKS * len(WEEKDAYS) :], library_of(club))
    return squads


def add_players(squad: Squad) -> None:
    players = Player.objects.bulk_create(
        Player(
            squad=squad,
            key=f"T{n:02}",
            given_name=f"Given{n}",
            family_name=f"Family{n}",
            main_position=n % 15 + 1,
        )
        for n in range(PLAYERS)
    )
    first = dt.date(2020, 1, 1)
    Absence.objects.bulk_create(
        Absence(player=player, first_day=first + n * WEEK, last_day=first + n * WEEK + dt.timedelta(days=3))
        for n, player in enumerate(players)
    )


def library_of(club: Club) -> list[Drill]:
    """Twelve drills that teach two skills each, with targets for every squad of the club."""
    drills = list(Drill.objects.of(club).order_by("number")[: len(RUNGS)])
    for n, rung in list(enumerate(RUNGS))[len(drills) :]:
        skills = {CODES[n]: 60, CODES[(n + 1) % len(CODES)]: 40}
        drills.append(f.DrillFactory(club=club, rung=rung, contact_share=25 if rung > "C1" else 0, skills=skills))
    return drills


def add_calendar(squad: Squad, today: dt.date, seasons: int) -> list[Session]:
    """Seasons, targets, blocks of four weeks, a match on each Saturday, and two nights a week with their slots."""
    starts = first_mondays(today, seasons)
    add_seasons(squad, starts)
    Block.objects.bulk_create(
        Block(squad=squad, name=f"Block {start + n * WEEK}", first_day=start + n * WEEK, weeks=4)
        for start in starts
        for n in range(0, WEEKS, 4)
    )
    GroupTarget.objects.bulk_create(
        GroupTarget(squad=squad, group=group, skill=skill, minutes=20)
        for group in GROUPS
        for skill in Skill.objects.of(squad.club)
    )
    mondays = [start + n * WEEK for start in starts for n in range(WEEKS)]
    Fixture.objects.bulk_create(matches_of(squad, mondays), batch_size=BATCH)
    return add_nights(squad, mondays)


def add_seasons(squad: Squad, starts: Iterable[dt.date]) -> None:
    """Each with four phases, two breaks and the two nights of its weeks."""
    seasons = Season.objects.bulk_create(
        Season(squad=squad, name=f"Season {start}", first_day=start, last_day=start + WEEKS * WEEK) for start in starts
    )
    Phase.objects.bulk_create(
        Phase(season=season, name=name, **days(season, first, last))
        for season in seasons
        for name, first, last in PHASES
    )
    Break.objects.bulk_create(
        Break(season=season, name=name, **days(season, week, week))
        for season in seasons
        for name, week in (("Midwinter", 16), ("Spring", 30))
    )
    TrainingNight.objects.bulk_create(
        TrainingNight(
            season=season,
            weekday=weekday,
            starts=dt.time(19),
            template=[{"minutes": minutes, "title": title} for minutes, title in SLOTS],
        )
        for season in seasons
        for weekday in WEEKDAYS
    )


def days(season: Season, first: int, last: int) -> dict[str, dt.date]:
    """From the Monday of one week of the season to the Sunday of another, counted from 0."""
    return {
        "first_day": season.first_day + first * WEEK,
        "last_day": season.first_day + last * WEEK + dt.timedelta(days=6),
    }


def first_mondays(today: dt.date, seasons: int) -> list[dt.date]:
    latest = today - dt.timedelta(days=today.weekday()) - WEEKS_SO_FAR * WEEK
    return [latest - 52 * n * WEEK for n in reversed(range(seasons))]


def at(squad: Squad, day: dt.date, hour: int) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour), squad.club.tzinfo)


def matches_of(squad: Squad, mondays: Iterable[dt.date]) -> Iterator[Fixture]:
    for monday in mondays:
        day = monday + dt.timedelta(days=5)
        yield Fixture(squad=squad, uid=f"match-{day}", kick_off=at(squad, day, 15), day=day, opponent="Netherby Cross")


def add_nights(squad: Squad, mondays: Iterable[dt.date]) -> list[Session]:
    days = [monday + dt.timedelta(days=weekday) for monday in mondays for weekday in WEEKDAYS]
    sessions = Session.objects.bulk_create(
        [Session(squad=squad, starts_at=at(squad, day, 19), day=day, coaches=3) for day in days], batch_size=BATCH
    )
    Slot.objects.bulk_create(
        [
            Slot(session=session, order=order, minutes=minutes, title=title, rpe=3 if title else 0)
            for session in sessions
            for order, (minutes, title) in enumerate(SLOTS)
        ],
        batch_size=BATCH,
    )
    return sessions


def add_programme(sessions: Sequence[Session], drills: Sequence[Drill]) -> None:
    """Three drills in each planned slot, and each player at one of them; both move on from night to night."""
    slots = list(Slot.objects.filter(session__in=sessions, title="").order_by("session__day", "order"))
    stations = Station.objects.bulk_create(
        [
            Station(slot=slot, order=order, drill=drills[(n * STATIONS + order) % len(drills)], coach="T. Fenwright")
            for n, slot in enumerate(slots)
            for order in range(STATIONS)
        ],
        batch_size=BATCH,
    )
    players = list(sessions[0].squad.players.values_list("pk", flat=True))
    Place.objects.bulk_create(
        [
            Place(station=station, slot_id=station.slot_id, player_id=player)
            for station in stations
            for n, player in enumerate(players)
            if (n + station.slot_id) % STATIONS == station.order
        ],
        batch_size=BATCH,
    )
