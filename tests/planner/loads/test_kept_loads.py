"""Kept loads against the record, with answers, confirmations and corrections in any order."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.calendar_actions import save_fixture
from planner.changes import Refused
from planner.core.load import Missing
from planner.core.rpe import Did, load_of_day, sure_load
from planner.models import FixtureState
from planner.record_actions import confirm_night, correct_line
from planner.record_models import PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from planner.rpe_days import loads_reckoned
from planner.rpe_models import Rpe
from tests import factories as f
from tests.planner.loads.conftest import NEXT_DAY

DAY = dt.date(2026, 10, 6)
A_WEEK_ON = dt.datetime(2026, 10, 10, 12, tzinfo=f.LONDON)

answers = st.tuples(st.just("say"), st.integers(0, 3), st.none() | st.integers(0, 10), st.none() | st.integers(1, 600))
corrections = st.tuples(st.just("correct"), st.integers(0, 30), st.integers(0, 4), st.none())
confirmation = st.tuples(st.just("confirm"), st.none(), st.none(), st.none())


class Undone(Exception):
    pass


@pytest.mark.django_db
# Each example is rolled back, so the rows of the fixtures stand as they stood.
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(steps=st.lists(answers | corrections | confirmation, max_size=10))
def test_kept_loads_are_always_those_of_the_record(evening, tell, head, steps):
    try:
        with transaction.atomic():
            for step in steps:
                take(evening, tell, head, step)
            assert_equal_to_the_record(evening)
            raise Undone
    except Undone:
        pass


def take(evening, tell, head, step) -> None:
    what, first, second, third = step
    if what == "say":
        tell(first, second, third if second is not None else None)
        return
    session = evening.session
    try:
        with transaction.atomic():
            if what == "confirm":
                confirm_night(session=session, by=head, version=session.plan_version, now=NEXT_DAY)
            else:
                spot = evening.spot(evening.live)
                standing = evening.record(NEXT_DAY).standing.get(spot)
                parts = evening.parts(first, players=second if first else 0)
                seen = standing and standing.pk
                how = {"by": head, "may_correct": True, "now": NEXT_DAY}
                correct_line(session=session, spot=spot, parts=parts, seen=seen, **how)
    except Refused:
        pass


def assert_equal_to_the_record(evening) -> None:
    """By a second way: player by player from the night as it stands now and his last answer."""
    night = evening.record(NEXT_DAY)
    kept = {row.player_id: row.load for row in PlayerDay.objects.filter(load__isnull=False)}
    assert kept == {player: load for (player, _day), load in loads_reckoned(evening.cast.squad, DAY, DAY).items()}
    for player in evening.players:
        last = Rpe.objects.filter(player=player).order_by("pk").last()
        minutes = sum(part.here[player.pk].minutes for b in night.blocks for part in b.parts if player.pk in part.here)
        known = (last and last.minutes) or (minutes if night.confirmation and minutes else None)
        wanted = None if not last or last.number is None or known is None else float(last.number * known)
        assert kept.get(player.pk) == wanted


someone = st.builds(Did, rpe=st.none() | st.integers(0, 10), minutes=st.none() | st.integers(0, 600))


@given(st.lists(someone, max_size=5))
def test_a_day_is_the_sum_of_what_is_known_or_not_known_at_all(did):
    """Products and sums of whole numbers, so equality is exact."""
    load = load_of_day(did)
    if any(each.rpe is None or each.minutes is None for each in did):
        assert load is Missing.NOT_KNOWN
        assert sure_load(did) is None
    else:
        assert load == sum(each.rpe * each.minutes for each in did)
        assert sure_load(did) == load


@given(st.lists(someone, max_size=5), st.integers(0, 10))
def test_what_has_no_sure_minutes_leaves_the_day_without_a_load(did, rpe):
    assert sure_load([*did, Did(rpe, None)]) is None


# What is changed afterwards in the calendar


def played(squad, head, day: int = 3, number: int = 7):
    """A match of October 2026 of which the first player said how hard its 80 minutes were."""
    match = f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, day, 15, tzinfo=f.LONDON))
    player = f.PlayerFactory(squad=squad)
    note_rpe(told=[Told(player, Occasion(fixture=match), number, minutes=80)], by=head, now=A_WEEK_ON)
    return match, player


def loads_of(player) -> dict[int, float]:
    return {row.day.day: row.load for row in PlayerDay.objects.filter(player=player)}


def test_the_load_goes_with_a_match_whose_day_is_corrected(squad, head):
    match, player = played(squad, head)
    assert loads_of(player) == {3: 560}
    save_fixture(fixture=match, by=head, kick_off=dt.datetime(2026, 10, 4, 15, tzinfo=f.LONDON))
    assert loads_of(player) == {4: 560}


def test_a_match_that_did_not_take_place_leaves_no_load(squad, head):
    match, player = played(squad, head)
    save_fixture(fixture=match, by=head, state=FixtureState.CANCELLED)
    assert loads_of(player) == {}
