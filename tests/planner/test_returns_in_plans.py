"""A return to training sets the ceilings of nights in every figure: the block's problem, the week, the season."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.building.attendance import Attendance
from planner.building.nights import Nights
from planner.building.rows import rows_of
from planner.days import Days
from shared.core.contact import Level
from squads.models import Clearance
from squads.return_models import ReturnEntry
from tests import factories as f

pytestmark = pytest.mark.django_db
INJURED = dt.date(2026, 10, 3)  # Saturday; Day 8 is Sunday the 11th, contact from Sunday the 18th
FREE = INJURED
NIGHTS = [dt.date(2026, 10, day) for day in (1, 6, 13, 20)]
LEVELS = [Level.FULL, Level.ABSENT, Level.NONE, Level.FULL]


@pytest.fixture
def nights(squad):
    return [f.SessionFactory(squad=squad, starts_at=evening(day), slots=[12]) for day in NIGHTS]


def evening(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(19), f.LONDON)


@pytest.fixture
def ann(squad):
    return brought_back(f.PlayerFactory(squad=squad))


def brought_back(player):
    """Off on the 3rd, and then "all work" decided for every day, which the days of the return lower."""
    case = ReturnEntry.objects.create(player=player, kind="started", day=INJURED, table="uk-grassroots")
    ReturnEntry.objects.create(player=player, case=case, kind="free", day=FREE)
    told = {"player": player, "decided_by": "Dr Quill", "decided_as": "club doctor"}
    Clearance.objects.create(level="absent", from_day=INJURED, decided_on=INJURED, case=case, **told)
    Clearance.objects.create(level="full", from_day=INJURED, decided_on=dt.date(2026, 10, 4), **told)
    return player


def test_a_week_keeps_to_the_days_of_a_return(squad, nights, ann):
    days = Days.of(squad, NIGHTS[0], NIGHTS[-1])
    assert [days.ceiling(ann, night).level for night in nights] == LEVELS
    assert days.ceiling(ann, nights[2]).reason == "no contact before 18 Oct"


def test_a_plan_keeps_to_the_days_of_a_return(squad, nights, ann):
    block = f.BlockFactory(squad=squad, first_day=dt.date(2026, 9, 28), weeks=4)
    rows = rows_of(block)
    attendance = Attendance(rows, Nights(tuple(rows.nights), block.first_day, block.first_day))
    assert [attendance.level(ann.pk, night) for night in nights] == LEVELS


def queries(squad) -> int:
    with CaptureQueriesContext(connection) as asked:
        Days.of(squad, NIGHTS[0], NIGHTS[-1])
    return len(asked)


def test_returns_take_one_query_more_whatever_their_number_and_none_where_there_are_none(squad, nights):
    f.PlayerFactory(squad=squad)
    without = queries(squad)
    counts = []
    for _ in range(3):
        brought_back(f.PlayerFactory(squad=squad))
        counts.append(queries(squad))
    assert counts == [without + 1] * 3
