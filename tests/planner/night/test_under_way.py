"""A night that is under way: what has begun stays as it is, and only what is still to come is dealt again."""

from __future__ import annotations

import datetime as dt

import pytest

from planner import actions, tasks
from planner.build import problem_of
from planner.changes import Refused
from planner.core.check import breaches
from planner.core.problem import Station as Stands
from planner.dealing import Swap, deal_again
from planner.mending import to_mend
from planner.models import Session, Station
from planner.programme import standing_in
from planner.weeks import week_of
from planner.wish_models import BlockWishes, DrillWish
from tests import factories as f
from tests.planner.block_cast import BEFORE, names_at, small_block, stand, wish

MONDAY, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)


def at(hour: int, minute: int) -> dt.datetime:
    return dt.datetime(2026, 10, 6, hour, minute, tzinfo=f.LONDON)


@pytest.fixture
def cast(squad, settings):
    """19:00 warm-up, 19:10 Rope, 19:22 Fence; on Thursday nothing stands yet."""
    settings.JOB_LEASE_SECONDS = 600
    cast = small_block(squad, weeks=1)
    wish(squad, minutes=48)
    stand(cast.slot(order=1), cast.drills[0], cast.players, coach="Ash")
    stand(cast.slot(order=2), cast.drills[1], cast.players, coach="Bo")
    return cast


def built_at(cast, now, **how):
    return problem_of(cast.block, today=TUESDAY, now=now, **how)


def dealt(cast, head, now, **wanted):
    run = deal_again(block=cast.block, by=head, today=TUESDAY, now=now, **wanted)
    assert tasks.deal_again(str(run.job_id)) == "worked"
    run.refresh_from_db()
    return run


@pytest.mark.parametrize(
    ("now", "begun", "left"),
    [(None, 0, 2), (at(18, 59), 0, 2), (at(19, 0), 1, 2), (at(19, 10), 2, 1), (at(19, 21), 2, 1), (at(19, 22), 3, 0)],
)
def test_a_slot_has_begun_from_its_first_minute_on(cast, now, begun, left):
    built = built_at(cast, now)
    assert len(built.begun) == begun
    assert sum(slot.session_id == cast.nights[0].pk for slot in _open_slots(cast, built)) == left


def _open_slots(cast, built):
    return [slot for night in cast.nights for slot in night.slots.all() if built.is_open(slot.pk)]


def test_the_plan_that_stands_breaks_nothing_while_it_runs(cast):
    for minute in (5, 12, 25, 50):
        built = built_at(cast, at(19, minute), as_it_stands=True)
        assert breaches(built.problem, built.standing, built.words) == []
        assert sum(len(station.players) for station in built.standing) == 16


def test_a_drill_that_has_run_tonight_does_not_run_again_tonight(cast):
    built = built_at(cast, at(19, 15))
    rope, players = f"d{cast.drills[0].pk}", built.standing[0].players
    again = Stands(f"s{cast.nights[0].pk}", 0, rope, players)
    thursday = Stands(f"s{cast.nights[1].pk}", 0, rope, players)
    told = [breach.text for breach in breaches(built.problem, (*built.past, again), built.words)]
    assert told == [f"Tue 6 Oct, slot 3 uses 1 second run of {cast.drills[0]} tonight, but there are 0."]
    assert breaches(built.problem, (*built.past, thursday), built.words) == []


def test_a_fresh_drill_does_not_come_after_a_tiring_one_that_has_run(cast):
    wishes = BlockWishes.objects.create(block=cast.block, tiring_rpe=5)
    DrillWish.objects.create(wishes=wishes, drill=cast.drills[2], fresh=True)
    built = built_at(cast, at(19, 15))
    gate = Stands(f"s{cast.nights[0].pk}", 0, f"d{cast.drills[2].pk}", built.standing[0].players)
    told = [breach.text for breach in breaches(built.problem, (*built.past, gate), built.words)]
    assert told == [f"Tue 6 Oct, slot 3 uses 1 fresh legs for {cast.drills[2]} tonight, but there are 0."]


def test_dealing_again_touches_only_what_is_still_to_come(cast, head):
    """At 19:15 only three are left of eight, and the drill that runs needs more."""
    before = standing_in(cast.block)
    asked = [cast.slot(order=1).pk, cast.slot(order=2).pk]
    run = dealt(cast, head, at(19, 15), slots=asked)
    assert run.asked["free"] == [[f"s{cast.nights[0].pk}", 0]]
    actions.accept_run(run=run, by=head, today=TUESDAY, now=at(19, 16))
    first = cast.slot(order=1).pk
    assert standing_in(cast.block).in_slot(first) == before.in_slot(first)


def test_fewer_coaches_than_ran_before_is_no_matter_for_what_has_begun(cast, head):
    stand(cast.slot(order=1), cast.drills[2], [], order=1)
    Session.objects.filter(pk=cast.nights[0].pk).update(coaches=1)
    assert to_mend(built_at(cast, at(19, 15))) == []
    assert to_mend(built_at(cast, at(19, 5))) != []


def test_a_slot_that_begins_between_dealing_and_accepting_is_said(cast, head):
    run = dealt(cast, head, at(19, 9), swap=Swap(cast.slot(order=2).stations.get(), cast.drills[2]))
    with pytest.raises(Refused, match="A slot of Tue 6 Oct has begun since"):
        actions.accept_run(run=run, by=head, today=TUESDAY, now=at(19, 11))


def test_a_station_that_has_begun_is_not_swapped_and_not_changed_by_hand(cast, head, monkeypatch):
    station = cast.slot(order=1).stations.get()
    with pytest.raises(Refused, match="has begun"):
        deal_again(block=cast.block, by=head, today=TUESDAY, now=at(19, 15), swap=Swap(station, cast.drills[2]))
    monkeypatch.setattr("django.utils.timezone.now", lambda: at(19, 15))
    with pytest.raises(Refused, match="belongs in the record"):
        actions.remove_station(station=station, by=head, version=cast.version())
    other = cast.slot(order=2).stations.get()
    actions.remove_station(station=other, by=head, version=cast.version())
    assert list(Station.objects.all()) == [station]


def test_undoing_leaves_what_has_begun(cast, head):
    for order in (1, 2):
        station = cast.slot(order=order).stations.get()
        actions.move_player(
            player=cast.players[0], slot=station.slot, to=None, by=head, version=cast.version(), today=BEFORE
        )
    actions.undo(block=cast.block, by=head, today=TUESDAY, now=at(19, 12))
    assert len(names_at(cast.slot(order=2).stations.get())) == 8
    actions.undo(block=cast.block, by=head, today=TUESDAY, now=at(19, 12))
    assert len(names_at(cast.slot(order=1).stations.get())) == 7


def test_the_page_calls_nothing_a_misfit_that_has_begun(cast):
    cast.slot(order=1).stations.all().delete()
    (night,) = week_of(cast.squad, MONDAY, TUESDAY, at(19, 15)).nights[:1]
    assert [line.has_begun for line in night.to_plan] == [True, False]
    assert night.misfits == []
    assert any("nothing is planned" in told for told in week_of(cast.squad, MONDAY, TUESDAY).nights[0].misfits)


# Light


def test_what_the_lights_do_not_last_for_is_told_and_taken_off(cast, head):
    Session.objects.filter(pk=cast.nights[0].pk).update(lights_until=dt.time(19, 30))
    built = built_at(cast, at(19, 5))
    told = f"Tue 6 Oct, slot 3: the lights go off before {cast.drills[1]} ends."
    assert to_mend(built) == [told]
    run = dealt(cast, head, at(19, 5))
    assert run.released == [told]
    actions.accept_run(run=run, by=head, today=TUESDAY, now=at(19, 6))
    assert [str(station.drill) for station in Station.objects.all()] == [str(cast.drills[0])]
    assert week_of(cast.squad, MONDAY, TUESDAY, at(19, 6)).nights[0].misfits == []
