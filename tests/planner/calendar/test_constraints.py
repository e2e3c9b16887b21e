"""What the database itself keeps right in the calendar, tried both ways."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from planner.models import Break, Phase, Season, Session, Slot, TrainingNight
from tests import factories as f

DAY = dt.date(2026, 9, 1)
NEXT = dt.date(2026, 9, 2)


def refused(make) -> bool:
    try:
        with transaction.atomic():
            make()
    except IntegrityError:
        return True
    return False


@pytest.mark.django_db
def test_a_season_ends_after_it_starts():
    assert refused(lambda: f.SeasonFactory(first_day=DAY, last_day=DAY))
    assert not refused(lambda: f.SeasonFactory(first_day=DAY, last_day=NEXT))


def test_a_squad_has_one_season_of_a_name(squad):
    f.SeasonFactory(squad=squad)
    assert refused(lambda: f.SeasonFactory(squad=squad))
    assert not refused(lambda: f.SeasonFactory())
    assert Season.objects.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize("model", [Phase, Break])
def test_a_phase_or_break_may_last_one_day_but_not_less(model):
    season = f.SeasonFactory()
    assert refused(lambda: model.objects.create(season=season, name="x", first_day=NEXT, last_day=DAY))
    assert not refused(lambda: model.objects.create(season=season, name="x", first_day=DAY, last_day=DAY))


@pytest.mark.django_db
def test_a_night_is_on_a_day_of_the_week():
    season = f.SeasonFactory()
    assert refused(lambda: TrainingNight.objects.create(season=season, weekday=7, starts=dt.time(19)))
    assert not refused(lambda: TrainingNight.objects.create(season=season, weekday=6, starts=dt.time(19)))


def test_a_uid_is_known_once_in_a_squad(squad):
    f.FixtureFactory(squad=squad, uid="a")
    assert refused(lambda: f.FixtureFactory(squad=squad, uid="a"))
    assert not refused(lambda: f.FixtureFactory(uid="a"))


def test_a_match_is_in_a_known_state(squad):
    assert refused(lambda: f.FixtureFactory(squad=squad, state="rained off"))
    assert not refused(lambda: f.FixtureFactory(squad=squad, state="cancelled"))


def test_a_squad_is_at_one_session_at_a_time(squad):
    f.SessionFactory(squad=squad)
    assert refused(lambda: f.SessionFactory(squad=squad))
    assert not refused(lambda: f.SessionFactory(squad__club=squad.club))


def test_a_night_gives_one_session_a_day(squad):
    night = TrainingNight.objects.create(season=f.SeasonFactory(squad=squad), weekday=1, starts=dt.time(19))

    def laid_out(day: int, pattern_day: dt.date) -> Session:
        starts = dt.datetime(2026, 9, day, 19, tzinfo=f.LONDON)
        return f.SessionFactory(squad=squad, starts_at=starts, night=night, pattern_day=pattern_day)

    laid_out(1, DAY)
    assert refused(lambda: laid_out(2, DAY))
    assert not refused(lambda: laid_out(2, NEXT))


def test_a_session_has_some_grass(squad):
    assert refused(lambda: f.SessionFactory(squad=squad, width=0))
    assert not refused(lambda: f.SessionFactory(squad=squad, width=1))


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ({"minutes": 0}, {"minutes": 1}),
        ({"rpe": 11}, {"rpe": 10}),
        ({"contact_share": 101}, {"contact_share": 100}),
        ({"order": 0}, {"order": 9}),
    ],
)
def test_a_slot_keeps_its_figures_within_bounds_and_its_place_alone(squad, wrong, right):
    session = f.SessionFactory(squad=squad)
    usual = {"session": session, "order": 8, "minutes": 10, "title": "Warm-up"}
    assert refused(lambda: Slot.objects.create(**usual | wrong))
    assert not refused(lambda: Slot.objects.create(**usual | right))
