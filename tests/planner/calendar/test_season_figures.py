"""A season's sums by the database against the totals that count stretch by stretch."""

from __future__ import annotations

import datetime as dt
import random

import pytest

from planner.attendance_models import Reply
from planner.core.totals import LIMITED, Room
from planner.models import Place, Session, Slot, Station
from planner.pattern_models import WeekPattern
from planner.record_models import Declared
from planner.season_figures import KEPT, audit_end, figures_of
from planner.season_figures import counted as counted_with
from planner.totals import WeekTotals, totals_of
from shared.core.contact import Kind
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import night, stand

MONDAY = dt.date(2026, 9, 28)
WEEKS = 12
MONDAYS = [MONDAY + dt.timedelta(weeks=n) for n in range(WEEKS)]


def counted(squad, mondays):
    """The sessions of these weeks, and all the matches."""
    sessions = squad.sessions.filter(day__range=(mondays[0], mondays[-1] + dt.timedelta(days=6))).with_length()
    return counted_with(squad, mondays, sessions, [fixture.day for fixture in squad.fixtures.played_or_due()])


def some_weeks(squad, seed: int) -> None:
    """Nights with drills of each rung, fixed contact, matches, people who come and go, and rules that change."""
    dice, club = random.Random(seed), squad.club
    f.ContactRulesFactory(club=club)
    f.ContactRulesFactory(club=club, valid_from=dt.date(2026, 10, 22), full_minutes=9, full_days=1)
    f.ContactRulesFactory(club=club, squad=squad, valid_from=dt.date(2026, 11, 10), controlled_minutes=None)
    players = [f.PlayerFactory(squad=squad, main_position=n % 15 + 1) for n in range(10)]
    drills = [
        f.DrillFactory(club=club, rung=rung, contact_share=share, contacts_most=9 * bool(share), skills=skills)
        for rung, share, skills in (
            ("C0", 0, {"I04": 100}),
            ("C1", 30, {"U01": 60, "B01": 40}),
            ("C2", 55, {"I04": 50, "I05": 25, "T01": 25}),
            ("C3", 35, {"I06": 100}),
            ("C4", 45, {"I04": 70, "U10": 30}),
            ("SP4", 60, {"S01": 100}),
        )
    ]
    for week, weekday in ((week, weekday) for week in range(WEEKS) for weekday in (1, 3)):
        some_night(squad, MONDAY + dt.timedelta(days=7 * week + weekday), players, drills, dice)
    for week in dice.sample(range(WEEKS), 6):
        day = MONDAY + dt.timedelta(days=7 * week + dice.choice([2, 5, 6]))
        state = dice.choice(["planned", "planned", "postponed"])
        f.FixtureFactory(squad=squad, kick_off=dt.datetime.combine(day, dt.time(15), f.LONDON), state=state)
    come_and_go(players, dice)
    for session in dice.sample(list(squad.sessions.all()), 8):
        player, coming = dice.choice(players), dice.random() < 0.4
        Reply.objects.create(player=player, session=session, coming=coming, said_by="himself")
    for _n in range(15):
        told = {"day": MONDAY + dt.timedelta(days=dice.randrange(7 * WEEKS)), "minutes": dice.randrange(9)}
        Declared.objects.create(
            player=dice.choice(players),
            place="school",
            kind=dice.choice(list(Kind)),
            declared_by="x",
            by_name="x",
            **told,
        )
    for monday, figures in zip(dice.sample(MONDAYS, 3), PATTERNS, strict=True):
        WeekPattern.objects.create(squad=squad, monday=monday, name="Tight week", holds_from=monday, **figures)


PATTERNS = ({"full_minutes": 3}, {"full_minutes": 0, "controlled_minutes": 5}, {"full_days": 1, "full_first": 2})


def some_night(squad, day: dt.date, players: list, drills: list, dice: random.Random) -> None:
    session = f.SessionFactory(
        squad=squad, starts_at=dt.datetime.combine(day, dt.time(19), f.LONDON), slots=[(10, "Warm-up"), 12, 15],
        cancelled=dice.random() < 0.1,
    )  # fmt: skip
    kind = dice.choice(list(Kind))
    Slot.objects.create(session=session, order=9, minutes=8, title="Units", kind=kind, contact_share=40, rpe=6)
    for order in (1, 2):
        standing = dice.sample(players, len(players))
        pair = dice.sample(drills, 2)
        stand(session.slots.get(order=order), pair[0], standing[:5])
        stand(session.slots.get(order=order), pair[1], standing[5 : dice.choice([5, 7, 10])], order=1)


def come_and_go(players: list, dice: random.Random) -> None:
    days = [MONDAY + dt.timedelta(days=n) for n in range(7 * WEEKS)]
    players[0].left, players[1].joined = dice.choice(days), dice.choice(days)
    for player in players[:2]:
        player.save()
    for player in players[2:5]:
        first = dice.choice(days)
        Absence.objects.create(player=player, first_day=first, last_day=first + dt.timedelta(days=dice.randrange(15)))
    for player in players[4:7]:
        day = dice.choice(days)
        level = dice.choice(["none", "controlled", "absent"])
        Clearance.objects.create(
            player=player, level=level, from_day=day, decided_by="Robin Ash", decided_as="physio", decided_on=day
        )


def told(week: WeekTotals) -> dict:
    """What the season's figures tell of a week, from the totals of each player."""
    figures = {kind: [line.week.figure(kind) for line in week.lines] for kind in LIMITED}
    return {
        "most": {kind: max((each.hundredths for each in figures[kind]), default=0) for kind in LIMITED},
        "rooms": {kind: max((each.against_limit for each in figures[kind]), key=lambda r: r.rank) for kind in LIMITED},
        "limits": week.limits,
        "not_allowed": sum(any(figure.not_allowed for figure in line.week.figures) for line in week.lines),
        "too_many_days": sum(line.week.has_too_many_full_days for line in week.lines),
        "room": max((line.room for line in week.lines), key=lambda room: room.rank),
    }


@pytest.mark.parametrize("seed", range(8))
def test_every_week_of_a_season_has_the_figures_of_the_totals(squad, seed):
    some_weeks(squad, seed)
    found = counted(squad, MONDAYS)
    assert {
        monday: {
            "most": {most.kind: most.hundredths for most in week.contact},
            "rooms": {most.kind: most.room for most in week.contact},
            "limits": week.limits,
            "not_allowed": week.not_allowed,
            "too_many_days": week.too_many_days,
            "room": week.room,
        }
        for monday, week in found.items()
    } == {monday: told(totals_of(squad, monday, 1, MONDAY).weeks[0]) for monday in MONDAYS}


def test_the_weeks_that_are_compared_hold_every_standing(squad):
    """A comparison over weeks in which nothing happens would say little."""
    rooms = set()
    for seed in range(4):
        other = f.SquadFactory(club__slug=f"club-{seed}")
        some_weeks(other, seed)
        found = counted(other, MONDAYS).values()
        rooms |= {most.room for week in found for most in week.contact} | {week.room for week in found}
    assert rooms == set(Room)


def family_by_hand(squad, monday: dt.date) -> dict[str, float]:
    """Player by player: the mean over those who stand in a slot of what each gets there of a family."""
    found: dict[str, float] = {}
    for slot in Slot.objects.filter(session__in=squad.sessions.between(monday, monday + dt.timedelta(days=6))):
        places = list(Place.objects.filter(slot=slot).select_related("station__drill"))
        for place in places:
            for share in place.station.drill.skill_shares.all():
                much = slot.minutes * share.share / 100 / len(places)
                found[share.skill.family] = found.get(share.skill.family, 0) + much
    return found


def test_minutes_of_a_family_are_what_a_player_gets_of_it_on_average(squad):
    some_weeks(squad, seed=1)
    found = counted(squad, MONDAYS)
    for monday in MONDAYS:
        assert dict(found[monday].families) == pytest.approx(family_by_hand(squad, monday))


def test_the_families_of_a_week_add_up_to_its_planned_minutes(squad):
    some_weeks(squad, seed=2)
    for monday, week in counted(squad, MONDAYS).items():
        sessions = squad.sessions.between(monday, monday + dt.timedelta(days=6))
        planned = sum(slot.minutes for slot in Slot.objects.filter(session__in=sessions, title=""))
        assert sum(week.families.values()) == pytest.approx(planned)


def test_stations_where_nobody_stands_share_their_slot_evenly(squad):
    session = night(squad, 6)
    for order, code in enumerate(("I04", "U01")):
        stand(session.slots.get(order=1), f.DrillFactory(club=squad.club, skills={code: 100}), [], order=order)
    assert counted(squad, [dt.date(2026, 10, 5)])[dt.date(2026, 10, 5)].families == {"I": 6, "U": 6}


def test_a_season_takes_the_same_queries_for_one_week_as_for_twelve(squad, django_assert_num_queries):
    some_weeks(squad, seed=3)
    for mondays in (MONDAYS[:1], MONDAYS):
        with django_assert_num_queries(14):
            counted(squad, mondays)


# What is kept


def asked(squad):
    near = (MONDAY - dt.timedelta(days=14), MONDAY + dt.timedelta(days=100))
    end, sessions = audit_end(squad), squad.sessions.filter(day__range=near).with_length()
    return figures_of(squad, MONDAYS, sessions, squad.fixtures.filter(day__range=near), end)


@pytest.fixture
def live(squad):
    """One player on a live drill in the second week: 12 minutes at 50 per cent."""
    f.ContactRulesFactory(club=squad.club)
    drill = f.DrillFactory(club=squad.club, rung="C4", contact_share=50, contacts_most=9)
    player = f.PlayerFactory(squad=squad)
    session = night(squad, 6)
    stand(session.slots.get(order=1), drill, [player])
    return session


def most_full(squad) -> int:
    return asked(squad)[dt.date(2026, 10, 5)].contact[0].hundredths


def test_figures_are_counted_once_until_something_changes(squad, live, django_assert_num_queries):
    assert most_full(squad) == 600
    with django_assert_num_queries(3):
        assert most_full(squad) == 600


def test_what_is_kept_can_be_thrown_away(squad, live):
    asked(squad)
    Station.objects.all().delete()
    KEPT.forget()
    assert most_full(squad) == 0


def the_programme(cast, by):
    from planner import actions

    station = Station.objects.get()
    f.BlockFactory(squad=cast.squad)
    actions.remove_station(station=station, by=by, version=0, today=dt.date(2026, 10, 1))


def the_session(cast, by):
    from planner.session_actions import cancel_session

    cancel_session(session=cast, by=by, today=dt.date(2026, 10, 1))


def the_match(cast, by):
    from planner.calendar_actions import save_fixture
    from planner.models import Fixture

    fixture = Fixture(squad=cast.squad, uid="x", opponent="Hollin")
    save_fixture(fixture=fixture, by=by, kick_off=dt.datetime(2026, 10, 7, 19, tzinfo=f.LONDON))


@pytest.mark.parametrize("change", [the_programme, the_session, the_match])
def test_no_figure_outlives_a_change_of(squad, live, head, change):
    assert most_full(squad) == 600
    change(Session.objects.get(), head)
    assert most_full(squad) == 0
