"""Dealing again after a change, and answering a proposal: what is asked, what comes of it, what is refused."""

from __future__ import annotations

import datetime as dt

import pytest

from planner import actions, tasks
from planner.build import problem_of
from planner.changes import Refused
from planner.core.check import breaches
from planner.core.compare import Standing
from planner.core.problem import Problem
from planner.dealing import (
    Swap,
    deal_again,
    drop_run,
    leave_out,
    mark_kept,
    take_back_in,
    wishes_to_leave_out,
)
from planner.mending import to_mend
from planner.models import PlanChange, PlanRun, Session, Station
from planner.programme import standing_in
from planner.session_actions import SlotEdit, edit_slots
from planner.settling import proposal, stations_of
from planner.slot_plans import SlotPlan
from planner.wish_models import BlockWishes, DrillWish
from shared.models import AuditEvent, Job, JobState
from squads.models import Absence
from tests.planner.block_cast import BEFORE, names_at, small_block, stand, wish

TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture(autouse=True)
def long_lease(settings):
    """A sign of life from a second thread would wait for the transaction of the test."""
    settings.JOB_LEASE_SECONDS = 600


@pytest.fixture
def cast(squad):
    """Two nights; all stand at Rope in the first slot and at Fence in the second, and nothing else is planned."""
    cast = small_block(squad, weeks=1)
    wish(squad, minutes=48)
    stand(cast.slot(), cast.drills[0], cast.players, coach="Ash")
    stand(cast.slot(order=2), cast.drills[1], cast.players, coach="Bo")
    return cast


def worked(run: PlanRun) -> PlanRun:
    task = tasks.deal_again if run.is_redeal else tasks.run_plan
    assert task(str(run.job_id)) == "worked"
    return PlanRun.objects.select_related("job", "block__squad__club").get(pk=run.pk)


def dealt(cast, head, **wanted: object) -> PlanRun:
    return worked(deal_again(block=cast.block, by=head, today=BEFORE, **wanted))


def away(player, day: dt.date = TUESDAY) -> None:
    Absence.objects.create(player=player, first_day=day, last_day=day)


def drills_of(block) -> list[str]:
    return [str(station.drill) for station in Station.objects.filter(slot__session__squad=block.squad)]


def version_of(cast, night: int = 0) -> int:
    return cast.version(night)


# What has changed since


def test_a_player_who_drops_out_is_taken_off_and_nothing_else_moves(cast, head):
    away(cast.players[0])
    run = dealt(cast, head)
    assert run.job.state == JobState.DONE
    assert run.released == [
        f"{cast.players[0]} is absent, but stands at {cast.drills[0]} on Tue 6 Oct, slot 2.",
        f"{cast.players[0]} is absent, but stands at {cast.drills[1]} on Tue 6 Oct, slot 3.",
    ]
    actions.accept_run(run=run, by=head, today=BEFORE)
    rest = {player.pk for player in cast.players[1:]}
    found = {station.drill: (names_at(station), station.coach) for station in Station.objects.all()}
    assert found == {cast.drills[0]: (rest, "Ash"), cast.drills[1]: (rest, "Bo")}


def test_nothing_is_written_before_it_is_accepted(cast, head):
    away(cast.players[0])
    before = standing_in(cast.block)
    dealt(cast, head)
    assert standing_in(cast.block) == before


def test_without_a_change_nothing_is_released_and_accepting_changes_nothing(cast, head):
    before = standing_in(cast.block)
    run = dealt(cast, head)
    assert run.released == []
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert standing_in(cast.block) == before
    assert not PlanChange.objects.exists()


def test_a_retired_drill_gives_way_to_another_with_its_name_in_the_reason(cast, head):
    cast.drills[0].retired_on = BEFORE
    cast.drills[0].save()
    run = dealt(cast, head)
    assert run.released == [f"{cast.drills[0]} is no longer to be used."]
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert cast.drills[0] not in {station.drill for station in Station.objects.all()}
    assert names_at(cast.slot().stations.first()) <= {player.pk for player in cast.players}


def test_with_a_coach_fewer_than_stations_one_of_them_is_given_up(cast, head):
    """Two stations side by side in one slot, and one coach for both."""
    cast.slot().stations.all().delete()
    stand(cast.slot(), cast.drills[0], cast.players[:4], coach="Ash")
    stand(cast.slot(), cast.drills[2], cast.players[4:], order=1, coach="Cy")
    Session.objects.filter(pk=cast.nights[0].pk).update(coaches=1, coach_names=["Ash"])
    run = dealt(cast, head)
    assert run.released[0] == "Tue 6 Oct, slot 2 uses 2 coaches, but there are 1."
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert [station.coach for station in cast.slot().stations.all()] == ["Ash"]


def test_a_shorter_slot_releases_the_drill_that_does_not_take_so_few_minutes(cast, head):
    cast.drills[0].minutes_least = cast.drills[0].minutes_ideal = 10
    cast.drills[0].save()
    slots = [SlotEdit(SlotPlan.of(slot), slot.pk) for slot in cast.nights[0].slots.all()]
    slots[1] = SlotEdit(SlotPlan(6), slots[1].slot)
    hand = {"session": cast.nights[0], "by": head, "version": cast.version(), "today": BEFORE}
    with pytest.raises(Refused, match="or let go what stands in it"):
        edit_slots(slots=slots, **hand)
    edit_slots(slots=slots, let_go=True, **hand)
    run = dealt(cast, head)
    assert run.released == [f"{cast.drills[0]} on Tue 6 Oct, slot 2 gets 6 minutes, but takes 10 to 20 minutes."]
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert {station.drill for station in cast.slot().stations.all()} <= {cast.drills[2]}


def test_a_slot_that_is_let_go_takes_its_stations_off_as_a_change_of_the_block(cast, head):
    slots = [SlotEdit(SlotPlan.of(slot), slot.pk) for slot in cast.nights[0].slots.all()][:2]
    edit_slots(session=cast.nights[0], slots=slots, by=head, version=cast.version(), today=BEFORE, let_go=True)
    assert {station.drill for station in Station.objects.all()} == {cast.drills[0]}
    assert "laid out anew" in PlanChange.objects.get().what


def test_a_locked_player_who_drops_out_does_not_stand_in_the_way(cast, head):
    Station.objects.update(locked=True)
    away(cast.players[0])
    run = dealt(cast, head)
    assert run.job.state == JobState.DONE
    assert (
        run.released[0] == f"{cast.players[0]} is absent and no longer locked to {cast.drills[0]} on Tue 6 Oct, slot 2."
    )
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert not Station.objects.exclude(locked=True).exists()
    assert not cast.players[0].places.exists()


# What is asked for besides


def test_a_drill_that_is_left_out_of_the_block_is_released_and_stays_out(cast, head):
    run = dealt(cast, head, ban=cast.drills[1])
    assert run.released == [f"{cast.drills[1]} is no longer to be used."]
    assert [wish.drill for wish in wishes_to_leave_out(cast.block)] == [cast.drills[1]]
    actions.accept_run(run=run, by=head, today=BEFORE)
    again = worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE))
    assert f"d{cast.drills[1].pk}" not in {row["drill"] for row in again.plan["stations"]}


def test_a_drill_left_out_is_written_down_and_can_be_taken_back_in(cast, head):
    leave_out(block=cast.block, drill=cast.drills[1], by=head)
    take_back_in(block=cast.block, drill=cast.drills[1], by=head)
    assert not DrillWish.objects.exists()
    assert list(AuditEvent.objects.order_by("number").values_list("did", flat=True))[-2:] == [
        "left out drill",
        "took drill back in",
    ]


def test_what_else_is_wished_of_a_drill_survives_its_being_left_out_for_a_while(cast, head):
    wishes = BlockWishes.objects.create(block=cast.block)
    DrillWish.objects.create(wishes=wishes, drill=cast.drills[1], gap_days=3)
    leave_out(block=cast.block, drill=cast.drills[1], by=head)
    take_back_in(block=cast.block, drill=cast.drills[1], by=head)
    wish = DrillWish.objects.get()
    assert (wish.gap_days, wish.runs_most, wish.wishes.version) == (3, None, 2)


def test_a_drill_that_is_left_out_cannot_be_put_in_by_hand(cast, head):
    leave_out(block=cast.block, drill=cast.drills[2], by=head)
    with pytest.raises(Refused, match="left out of this block"):
        actions.add_station(slot=cast.slot(1), drill=cast.drills[2], by=head, version=cast.version(1), today=BEFORE)


def test_a_station_is_swapped_and_its_slot_dealt_around_the_new_drill(cast, head):
    station = cast.slot().stations.get()
    run = dealt(cast, head, night=cast.nights[0], swap=Swap(station, cast.drills[2]))
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert cast.drills[2] in {station.drill for station in cast.slot().stations.all()}
    assert not cast.slot().stations.filter(locked=True).exists()
    assert {station.drill for station in cast.slot(order=2).stations.all()} == {cast.drills[1]}


def test_a_locked_station_that_is_swapped_by_name_goes_all_the_same(cast, head):
    Station.objects.update(locked=True)
    station = cast.slot().stations.get()
    actions.accept_run(run=dealt(cast, head, swap=Swap(station, cast.drills[2])), by=head, today=BEFORE)
    assert cast.drills[2] in {station.drill for station in cast.slot().stations.all()}
    assert cast.slot(order=2).stations.get().locked


def test_a_swap_of_a_station_that_is_gone_is_refused(cast, head):
    station = cast.slot().stations.get()
    Station.objects.filter(pk=station.pk).delete()
    with pytest.raises(Refused, match="no longer there"):
        deal_again(block=cast.block, by=head, swap=Swap(station, cast.drills[2]), today=BEFORE)


def test_an_empty_slot_that_is_named_is_dealt_and_one_that_is_not_stays_empty(cast, head):
    named, other = cast.slot(1, 1), cast.slot(1, 2)
    actions.accept_run(run=dealt(cast, head, slots=[named.pk]), by=head, today=BEFORE)
    assert (named.stations.exists(), other.stations.exists()) == (True, False)


def test_what_is_dealt_keeps_every_rule(cast, head):
    away(cast.players[0])
    run = dealt(cast, head, slots=[cast.slot(1, 1).pk], ban=cast.drills[2])
    problem = Problem.from_json(run.problem)
    assert breaches(problem, stations_of(run.plan["stations"])) == []


# Never over what somebody else has done


def test_a_night_that_somebody_has_changed_since_is_not_overwritten(cast, head):
    away(cast.players[0])
    run = dealt(cast, head)
    station = cast.slot().stations.get()
    actions.set_coach(station=station, coach="Cy", by=head, version=cast.version(), today=BEFORE)
    with pytest.raises(Refused, match="Tue 6 Oct has been changed since this was dealt"):
        actions.accept_run(run=run, by=head, today=BEFORE)
    assert cast.slot().stations.get().coach == "Cy"


def test_an_edit_of_another_night_survives_the_acceptance(cast, head):
    away(cast.players[0])
    run = dealt(cast, head)
    actions.add_station(slot=cast.slot(1), drill=cast.drills[2], by=head, version=cast.version(1), today=BEFORE)
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert cast.slot(1).stations.get().drill == cast.drills[2]


def test_an_acceptance_from_a_page_that_showed_something_else_is_refused(cast, head):
    run = worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE))
    seen = actions.stamp_of(cast.block)
    actions.set_coach(station=cast.slot().stations.get(), coach="Cy", by=head, version=cast.version(), today=BEFORE)
    before = standing_in(cast.block)
    with pytest.raises(Refused, match="Somebody has changed a night of this block since you opened the page"):
        actions.accept_run(run=run, by=head, seen=seen, today=BEFORE)
    assert standing_in(cast.block) == before


def test_dealing_from_a_page_that_showed_something_else_is_refused(cast, head):
    seen = actions.stamp_of(cast.block)
    actions.set_coach(station=cast.slot().stations.get(), coach="Cy", by=head, version=cast.version(), today=BEFORE)
    with pytest.raises(Refused, match="Somebody has changed a night"):
        deal_again(block=cast.block, by=head, seen=seen, ban=cast.drills[0], today=BEFORE)
    assert not DrillWish.objects.exists()


def test_dealing_again_waits_for_a_run_that_is_under_way(cast, head):
    actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    with pytest.raises(Refused, match="already under way"):
        deal_again(block=cast.block, by=head, today=BEFORE)


def test_a_job_that_its_worker_lost_is_dealt_again_by_the_next(cast, head):
    """The row is the queue: a worker that died leaves the job to the next one."""
    away(cast.players[0])
    run = deal_again(block=cast.block, by=head, today=BEFORE)
    Job.objects.filter(pk=run.job_id).update(state=JobState.QUEUED, attempts=1)
    assert worked(run).plan


def test_a_proposal_left_aside_leaves_what_stands(cast, head):
    away(cast.players[0])
    run, before = dealt(cast, head), standing_in(cast.block)
    assert drop_run(run=run, by=head).dropped_at
    assert standing_in(cast.block) == before


def test_undoing_what_was_dealt_on_one_night_does_not_ask_and_a_whole_plan_does(cast, head):
    away(cast.players[0])
    actions.accept_run(run=dealt(cast, head), by=head, today=BEFORE)
    assert not PlanChange.objects.get().asks_first
    actions.accept_run(
        run=worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)), by=head, today=BEFORE
    )
    assert PlanChange.objects.first().asks_first


# Before dealing


def test_what_no_longer_fits_is_told_before_anything_is_dealt(cast, head):
    away(cast.players[0])
    leave_out(block=cast.block, drill=cast.drills[1], by=head)
    assert to_mend(problem_of(cast.block, today=BEFORE)) == [
        f"{cast.drills[1]} stands in 1 slot and is not to be used any more.",
        f"{cast.players[0]} is absent, but stands at {cast.drills[0]} on Tue 6 Oct, slot 2.",
    ]


# A run begins with what stands, and around what is kept


def test_a_run_is_never_worse_than_a_programme_that_fits(cast, head):
    best = worked(actions.start_run(block=cast.block, seconds=2, by=head, today=BEFORE))
    actions.accept_run(run=best, by=head, today=BEFORE)
    standing = problem_of(cast.block, today=BEFORE)
    before = Standing.of(standing.problem, standing.standing).figures.cost
    run = worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE))
    assert {row["session"] for row in run.start} == {f"s{night.pk}" for night in cast.nights}
    assert run.cost["cost"] <= before + 0.01


def test_a_run_from_a_programme_that_breaks_rules_begins_with_the_rest_of_it(cast, head):
    away(cast.players[0])
    run = actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    start = tasks.start_of(run, Problem.from_json(run.problem))
    assert {station.drill for station in start} == {f"d{drill.pk}" for drill in cast.drills[:2]}
    assert f"p{cast.players[0].pk}" not in {player for station in start for player in station.players}


def test_a_run_that_is_taken_up_again_goes_on_from_its_best_plan(cast, head):
    run = worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE))
    PlanRun.objects.filter(pk=run.pk).update(start=[])
    again = PlanRun.objects.get(pk=run.pk)
    assert set(tasks.start_of(again, Problem.from_json(run.problem))) == set(stations_of(run.plan["stations"]))


@pytest.fixture
def proposed(cast, head):
    return worked(actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE))


def first_spot(cast, run) -> tuple[int, int]:
    slots = problem_of(cast.block, today=BEFORE).slots
    row = run.plan["stations"][0]
    return slots[row["session"], row["slot"]], int(row["drill"][1:])


def test_what_is_marked_to_keep_is_locked_when_the_plan_is_accepted(cast, head, proposed):
    spot = first_spot(cast, proposed)
    actions.accept_run(run=mark_kept(run=proposed, spots=[spot]), by=head, today=BEFORE)
    assert [(s.slot_id, s.drill_id) for s in Station.objects.filter(locked=True)] == [spot]


def test_a_run_around_what_is_kept_holds_it_with_its_players(cast, head, proposed):
    spot = first_spot(cast, proposed)
    mark_kept(run=proposed, spots=[spot])
    around = worked(actions.start_run(block=cast.block, seconds=1, by=head, around=proposed, today=BEFORE))
    kept = proposed.plan["stations"][0]
    held = next(row for row in around.plan["stations"] if [row[k] for k in PLACE] == [kept[k] for k in PLACE])
    assert set(held["players"]) >= set(kept["players"])
    assert around.kept == [list(spot)]
    assert not Station.objects.filter(locked=True).exists()


PLACE = ("session", "slot", "drill")


def test_a_kept_station_whose_player_drops_out_is_kept_without_him(cast, head, proposed):
    mark_kept(run=proposed, spots=[first_spot(cast, proposed)])
    leaver = int(proposed.plan["stations"][0]["players"][0][1:])
    Absence.objects.create(player_id=leaver, first_day=TUESDAY, last_day=TUESDAY + dt.timedelta(days=6))
    around = worked(actions.start_run(block=cast.block, seconds=1, by=head, around=proposed, today=BEFORE))
    assert around.job.state == JobState.DONE
    assert f"p{leaver}" not in {player for row in around.plan["stations"] for player in row["players"]}


def test_a_mark_on_a_drill_that_is_gone_is_passed_over(cast, head, proposed):
    spot = first_spot(cast, proposed)
    mark_kept(run=proposed, spots=[spot])
    leave_out(block=cast.block, drill=next(d for d in cast.drills if d.pk == spot[1]), by=head)
    Station.objects.all().delete()
    around = worked(actions.start_run(block=cast.block, seconds=1, by=head, around=proposed, today=BEFORE))
    assert f"d{spot[1]}" not in {row["drill"] for row in around.plan["stations"]}


def test_a_coach_whom_the_night_no_longer_names_is_not_taken_as_there(cast, head):
    Session.objects.filter(pk=cast.nights[0].pk).update(coach_names=["Bo", "Cy"])
    away(cast.players[0])
    run = dealt(cast, head)
    found = proposal(run, problem_of(cast.block, today=BEFORE, as_it_stands=True))
    coaches = {state.drill: state.coach for state in found.programme.stations}
    assert coaches == {cast.drills[0].pk: "Bo", cast.drills[1].pk: "Bo"}
