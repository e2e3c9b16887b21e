"""Whoever comes late or leaves early is planned for the slots that he sees, by a run and by hand."""

from __future__ import annotations

import datetime as dt

import pytest

from planner import actions
from planner.attendance_actions import Said, note_replies
from planner.build import player_id, problem_of, session_id
from planner.choices import swaps_for
from planner.core.check import breaches
from planner.models import Slot
from planner.settling import split_by_attendance
from tests.planner.block_cast import BEFORE, add, names_at, small_block, stand

TUESDAY = dt.date(2026, 10, 6)
MONDAY = dt.date(2026, 10, 5)


@pytest.fixture
def cast(squad):
    return small_block(squad)


def says(cast, head, player=0, night=0, **times) -> None:
    note_replies(said=[Said(cast.players[player], cast.nights[night], True, **times)], by=head, today=MONDAY)


def missed(cast, today=MONDAY) -> dict:
    return problem_of(cast.block, today=today).problem.misses


@pytest.mark.parametrize(
    ("times", "slots"),
    [
        ({}, None),
        ({"from_time": dt.time(19, 10)}, None),  # the warm-up is no slot to plan
        ({"from_time": dt.time(19, 11)}, (0,)),
        ({"until_time": dt.time(19, 33)}, (1,)),
        ({"until_time": dt.time(19, 34)}, None),
        ({"from_time": dt.time(19, 15), "until_time": dt.time(19, 30)}, (0, 1)),
    ],
)
def test_a_reply_with_times_leaves_out_the_slots_of_which_he_does_not_see_all(cast, head, times, slots):
    says(cast, head, **times)
    player, night = player_id(cast.players[0].pk), session_id(cast.nights[0].pk)
    assert missed(cast) == ({player: {night: slots}} if slots else {})


def test_a_past_night_stays_as_it_ran(cast, head):
    says(cast, head, from_time=dt.time(19, 20))
    assert missed(cast, today=TUESDAY) != {}
    assert missed(cast, today=TUESDAY + dt.timedelta(days=1)) == {}


def test_a_slot_to_plan_that_has_become_fixed_content_is_missed_by_nobody(cast, head):
    Slot.objects.filter(pk=cast.slot(order=1).pk).update(title="Talk")
    says(cast, head, from_time=dt.time(19, 15))
    assert missed(cast) == {}


def test_by_hand_nobody_is_put_into_a_slot_that_he_misses(cast, head):
    says(cast, head, from_time=dt.time(19, 20))
    verdict = add(cast, head, players=cast.players[:3])
    assert verdict.is_refused
    assert [b.rule for b in verdict.breaches] == ["H1"]
    assert f"{cast.players[0]} is not there for all of the slot" in verdict.breaches[0].text


def test_a_station_filled_by_itself_leaves_him_out_and_takes_him_in_the_next_slot(cast, head):
    says(cast, head, from_time=dt.time(19, 20))
    add(cast, head, order=1)
    add(cast, head, drill=1, order=2)
    first, second = (cast.slot(order=order).stations.get() for order in (1, 2))
    late = cast.players[0].pk
    assert late not in names_at(first)
    assert late in names_at(second)


def test_another_drill_is_offered_for_those_who_are_there_and_taken_without_him(cast, head):
    station = stand(cast.slot(), cast.drills[0], cast.players[:3])
    says(cast, head, from_time=dt.time(19, 20))
    built = problem_of(cast.block, today=MONDAY, as_it_stands=True)
    assert cast.drills[1] in [choice.drill for choice in swaps_for(built, station).fitting]
    actions.swap_drill(station=station, drill=cast.drills[1], by=head, version=cast.version(), today=BEFORE)
    assert names_at(cast.slot().stations.get()) == {player.pk for player in cast.players[1:3]}


def test_what_stands_is_told_and_a_plan_from_before_the_reply_is_accepted_without_him(cast, head):
    stand(cast.slot(), cast.drills[0], cast.players[:3])
    says(cast, head, from_time=dt.time(19, 20))
    built = problem_of(cast.block, today=MONDAY)
    assert [b.rule for b in breaches(built.problem, built.standing)] == ["H1"]
    here, told = split_by_attendance(built.standing, built)
    assert [len(station.players) for station in here] == [2]
    assert told == [f"{cast.players[0]} is not there for all of Tue 6 Oct: taken off 1 station."]
