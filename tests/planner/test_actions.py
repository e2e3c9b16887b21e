"""Edits by hand, runs and undo: what is written, what is refused, and that nothing is lost."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given
from hypothesis import settings as trying
from hypothesis import strategies as st

from planner import actions, tasks
from planner.actions import Refused
from planner.models import PlanChange, PlanRun, Session, Station
from planner.programme import standing_in
from shared.models import AuditEvent, Job, JobState
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import BEFORE, add, names_at, night, small_block, stand, wish

WEDNESDAY = dt.date(2026, 10, 7)


@pytest.fixture
def cast(squad):
    return small_block(squad)


@pytest.fixture
def hand(cast, head):
    """How every edit of the first night is made."""
    return {"by": head, "version": 0, "today": BEFORE}


def keys(players):
    return {player.pk for player in players}


def non_contact(player):
    Clearance.objects.create(
        player=player, level="none", from_day=BEFORE, decided_by="Dr Quill", decided_as="doctor", decided_on=BEFORE
    )


def rules_of(verdict):
    return [breach.rule for breach in verdict.breaches]


# Edits


def test_an_added_station_takes_the_idle_players_who_fit(cast, head):
    verdict = add(cast, head)
    station = Station.objects.get()
    assert not verdict.is_refused
    assert (station.drill, names_at(station)) == (cast.drills[0], keys(cast.players))


def test_an_added_contact_station_leaves_out_who_may_do_no_contact(cast, head):
    bags = f.DrillFactory(club=cast.squad.club, rung="C2", contact_share=40)
    cast.drills.append(bags)
    non_contact(cast.players[0])
    add(cast, head, drill=3)
    assert names_at(Station.objects.get()) == keys(cast.players[1:])


def test_a_second_station_gets_the_next_letter_and_the_players_named(cast, head):
    add(cast, head)
    add(cast, head, drill=1, players=cast.players[:3])
    first, second = Station.objects.order_by("order")
    assert (second.letter, names_at(second), names_at(first)) == (
        "B",
        keys(cast.players[:3]),
        keys(cast.players[3:]),
    )


def test_an_edit_raises_the_version_of_its_session_and_is_audited(cast, head):
    add(cast, head)
    event = AuditEvent.objects.get(did="changed programme")
    assert (cast.version(), event.actor, event.subject) == (1, "head", "October block")


def test_a_verdict_tells_what_an_edit_brings_in_the_coachs_units(cast, head):
    wish(cast.squad, minutes=24)
    verdict = add(cast, head, players=cast.players[:2])
    assert (verdict.before.short, verdict.after.short) == (96, 72)
    assert (verdict.before.idle, verdict.after.idle) == (768, 744)
    assert f"{cast.players[0]}: I04 Front-on tackle reaches its minutes (was 12 short)" in verdict.gains
    assert verdict.losses == ()


def test_a_verdict_names_who_loses(cast, hand):
    wish(cast.squad, minutes=24)
    station = stand(cast.slot(), cast.drills[0], cast.players)
    verdict = actions.remove_station(station=station, **hand)
    assert f"{cast.players[0]}: I04 Front-on tackle 12 min short (was 0)" in verdict.losses
    assert not Station.objects.exists()


def test_a_player_moves_to_another_station_of_the_slot(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players[:4])
    fence = stand(cast.slot(), cast.drills[1], cast.players[4:], order=1)
    actions.move_player(player=cast.players[0], slot=cast.slot(), to=fence, **hand)
    assert (names_at(rope), names_at(fence)) == (keys(cast.players[1:4]), keys([cast.players[0], *cast.players[4:]]))


def test_a_player_can_be_taken_off_all_stations(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players[:4])
    verdict = actions.move_player(player=cast.players[0], slot=cast.slot(), to=None, **hand)
    assert names_at(rope) == keys(cast.players[1:4])
    assert f"{cast.players[0]}: 96 min without a station (was 84)" in verdict.losses


def test_placing_players_empties_their_other_places(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players[:4])
    fence = stand(cast.slot(), cast.drills[1], cast.players[4:], order=1)
    actions.place_players(station=rope, players=cast.players[2:6], **hand)
    assert (names_at(rope), names_at(fence)) == (keys(cast.players[2:6]), keys(cast.players[6:]))


def test_a_swapped_drill_keeps_players_letter_and_coach(cast, hand):
    station = stand(cast.slot(), cast.drills[0], cast.players, order=1, coach="Ash")
    actions.swap_drill(station=station, drill=cast.drills[2], **hand)
    new = Station.objects.get()
    assert (new.drill, new.letter, new.coach, names_at(new)) == (cast.drills[2], "B", "Ash", keys(cast.players))


def test_a_coach_is_set_by_name(cast, hand):
    station = stand(cast.slot(), cast.drills[0], cast.players)
    actions.set_coach(station=station, coach=" Bo ", **hand)
    station.refresh_from_db()
    assert station.coach == "Bo"


def test_a_coachs_name_that_does_not_fit_is_refused(cast, hand):
    station = stand(cast.slot(), cast.drills[0], cast.players)
    with pytest.raises(Refused, match="at most 80 letters"):
        actions.set_coach(station=station, coach="x" * 81, **hand)


def test_a_locked_station_can_be_unlocked(cast, hand):
    station = stand(cast.slot(), cast.drills[0], cast.players)
    actions.lock_station(station=station, **hand)
    station.refresh_from_db()
    assert station.locked
    actions.unlock_station(station=station, **hand | {"version": 1})
    station.refresh_from_db()
    assert not station.locked


# What is refused


def assert_nothing_written(cast):
    assert (cast.version(), PlanChange.objects.count()) == (0, 0)


def test_an_edit_that_breaks_a_hard_rule_is_refused_with_the_rule_in_words(cast, hand):
    bags = f.DrillFactory(club=cast.squad.club, name="Bags", rung="C2", contact_share=40)
    rope = stand(cast.slot(), cast.drills[0], cast.players)
    non_contact(cast.players[0])
    verdict = actions.swap_drill(station=rope, drill=bags, **hand)
    (breach,) = verdict.breaches
    assert breach.text == (
        f"{cast.players[0]} may do no contact that day, but #{bags.number} Bags on Tue 6 Oct, slot 2 "
        "is controlled contact."
    )
    assert rope.slot.stations.get().drill == cast.drills[0]
    assert_nothing_written(cast)


def test_an_edit_that_only_worsens_wishes_is_written(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players)
    verdict = actions.remove_station(station=rope, **hand)
    assert (verdict.is_refused, verdict.after.idle - verdict.before.idle) == (False, 96)


def test_a_locked_station_is_not_removed(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players, locked=True)
    assert set(rules_of(actions.remove_station(station=rope, **hand))) == {"H10"}
    assert_nothing_written(cast)


def test_an_edit_made_on_an_old_page_is_refused(cast, head):
    add(cast, head)
    with pytest.raises(Refused, match="Somebody has changed this night since you opened it"):
        actions.add_station(slot=cast.slot(), drill=cast.drills[1], by=head, version=0, today=BEFORE)
    assert Station.objects.count() == 1


def test_a_past_night_is_not_edited(cast, hand):
    with pytest.raises(Refused, match="is past and stays as it was"):
        actions.add_station(slot=cast.slot(), drill=cast.drills[0], **hand | {"today": WEDNESDAY})
    assert_nothing_written(cast)


def test_tonight_can_still_be_edited(cast, hand):
    verdict = actions.add_station(slot=cast.slot(), drill=cast.drills[0], **hand | {"today": dt.date(2026, 10, 6)})
    assert not verdict.is_refused


def test_a_cancelled_night_is_not_edited(cast, hand):
    Session.objects.update(cancelled=True)
    with pytest.raises(Refused, match="is cancelled"):
        actions.add_station(slot=cast.slot(), drill=cast.drills[0], **hand)


def test_a_night_outside_every_block_is_not_edited(cast, hand):
    stray = night(cast.squad, 2, month=11)
    with pytest.raises(Refused, match="This night is in no block"):
        actions.add_station(slot=stray.slots.get(order=1), drill=cast.drills[0], **hand)


def test_a_drill_does_not_run_twice_in_a_slot(cast, hand):
    stand(cast.slot(), cast.drills[0], cast.players)
    with pytest.raises(Refused, match="already stands in this slot"):
        actions.add_station(slot=cast.slot(), drill=cast.drills[0], **hand)


def test_a_drill_that_is_not_on_offer_is_refused(cast, hand):
    heavy = f.DrillFactory(club=cast.squad.club, kit=[{"item": "suits", "count": 1, "per": None}])
    with pytest.raises(Refused, match="cannot be planned here"):
        actions.add_station(slot=cast.slot(), drill=heavy, **hand)


def test_a_retired_drill_is_not_added_although_it_stands_elsewhere_and_stays_there(cast, hand):
    drill = cast.drills[0]
    stand(cast.slot(order=2), drill, cast.players)
    drill.retired_on = BEFORE
    drill.save()
    with pytest.raises(Refused, match="it is retired"):
        actions.add_station(slot=cast.slot(), drill=drill, **hand)
    assert Station.objects.get().drill == drill


def test_a_station_that_somebody_removed_is_refused(cast, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players)
    Station.objects.all().delete()
    with pytest.raises(Refused, match="no longer there"):
        actions.lock_station(station=rope, **hand)


def test_a_breach_that_was_there_before_does_not_stop_its_mending(cast, hand):
    """Two are away by now; the coach takes them off one by one."""
    rope = stand(cast.slot(), cast.drills[0], cast.players)
    for player in cast.players[:2]:
        Absence.objects.create(player=player, first_day=dt.date(2026, 10, 6), last_day=dt.date(2026, 10, 6))
    verdict = actions.move_player(player=cast.players[0], slot=cast.slot(), to=None, **hand)
    assert not verdict.is_refused
    assert names_at(rope) == keys(cast.players[1:])


def test_a_limit_that_is_passed_already_is_not_passed_further(cast, hand):
    """14 of 15 minutes of full contact fit; the limit is lowered to 10; two more minutes are refused."""
    live, short = (
        f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=share, players_least=2) for share in (100, 20)
    )
    stand(cast.slot(), live, cast.players)
    cast.squad.club.contact_rules.update(full_minutes=10)
    verdict = actions.add_station(slot=cast.slot(order=2), drill=short, players=cast.players[:4], **hand)
    assert rules_of(verdict) == ["H6"] * 4
    assert Station.objects.count() == 1


# Undo


def test_undo_puts_back_what_stood(cast, head, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players, locked=False, coach="Ash")
    before = standing_in(cast.block)
    actions.remove_station(station=rope, **hand)
    actions.undo(block=cast.block, by=head, today=BEFORE)
    assert standing_in(cast.block) == before


def test_undo_goes_back_one_change_at_a_time(cast, head):
    add(cast, head)
    first = standing_in(cast.block)
    add(cast, head, night=1)
    actions.undo(block=cast.block, by=head, today=BEFORE)
    assert standing_in(cast.block) == first
    actions.undo(block=cast.block, by=head, today=BEFORE)
    assert standing_in(cast.block).stations == ()
    with pytest.raises(Refused, match="nothing to undo"):
        actions.undo(block=cast.block, by=head, today=BEFORE)


def test_undo_of_another_change_than_the_one_seen_is_refused(cast, head):
    add(cast, head)
    seen = PlanChange.objects.get().pk
    add(cast, head, night=1)
    with pytest.raises(Refused, match="Somebody has made another change since"):
        actions.undo(block=cast.block, by=head, change=seen, today=BEFORE)
    assert Station.objects.count() == 2


def test_undo_leaves_a_past_night_as_it_was(cast, head):
    add(cast, head)
    with pytest.raises(Refused, match="concerns past nights only"):
        actions.undo(block=cast.block, by=head, today=WEDNESDAY)
    assert Station.objects.count() == 1


def test_undo_is_refused_when_the_night_was_laid_out_anew(cast, head):
    add(cast, head)
    cast.nights[0].slots.filter(order=1).delete()
    with pytest.raises(Refused, match="has been changed elsewhere since"):
        actions.undo(block=cast.block, by=head, today=BEFORE)


def test_undo_is_refused_when_a_player_is_gone(cast, head, hand):
    rope = stand(cast.slot(), cast.drills[0], cast.players)
    actions.remove_station(station=rope, **hand)
    cast.players[0].delete()
    with pytest.raises(Refused, match="has been changed elsewhere since"):
        actions.undo(block=cast.block, by=head, today=BEFORE)


EDITS = st.lists(
    st.tuples(
        st.sampled_from(["add", "remove", "swap", "move", "place", "lock", "unlock", "coach"]),
        st.integers(0, 2),
        st.integers(0, 7),
    ),
    max_size=6,
)


def try_edit(cast, head, what, drill, player):
    """One edit of the first slot, if there is something to edit; refusals are part of the game."""
    slot, hand = cast.slot(), {"by": head, "version": cast.version(), "today": BEFORE}
    stations = list(slot.stations.all())
    chosen = cast.players[: player + 1]
    if what == "add" or not stations:
        return actions.add_station(slot=slot, drill=cast.drills[drill], players=chosen, **hand)
    station = stations[drill % len(stations)]
    edits = {
        "remove": lambda: actions.remove_station(station=station, **hand),
        "swap": lambda: actions.swap_drill(station=station, drill=cast.drills[drill], **hand),
        "move": lambda: actions.move_player(player=cast.players[player], slot=slot, to=station, **hand),
        "place": lambda: actions.place_players(station=station, players=chosen, **hand),
        "lock": lambda: actions.lock_station(station=station, **hand),
        "unlock": lambda: actions.unlock_station(station=station, **hand),
        "coach": lambda: actions.set_coach(station=station, coach=f"Coach {player}", **hand),
    }
    return edits[what]()


@trying(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=EDITS)
def test_any_edits_and_as_many_undos_leave_what_stood_before(cast, head, edits):
    with transaction.atomic():
        if not Station.objects.exists():
            stand(cast.slot(), cast.drills[0], cast.players[:5], coach="Ash")
        before = standing_in(cast.block)
        for edit in edits:
            try:
                try_edit(cast, head, *edit)
            except Refused:
                continue
        for _change in range(PlanChange.objects.filter(undone_at=None).count()):
            actions.undo(block=cast.block, by=head, today=BEFORE)
        assert standing_in(cast.block) == before
        transaction.set_rollback(True)


# Runs


@pytest.fixture(autouse=True)
def long_lease(settings):
    """A sign of life from a second thread would wait for the transaction of the test."""
    settings.JOB_LEASE_SECONDS = 600


def run_of(cast, head, today=BEFORE):
    """A finished run of the real solver."""
    run = actions.start_run(block=cast.block, seconds=1, by=head, today=today)
    assert tasks.run_plan(str(run.job_id)) == "worked"
    return PlanRun.objects.select_related("job", "block__squad__club").get(pk=run.pk)


def test_a_run_is_planned_accepted_and_stands_on_the_nights(cast, head):
    wish(cast.squad, minutes=24)
    run = run_of(cast, head)
    assert actions.accept_run(run=run, by=head, today=BEFORE) == []
    assert {station.slot.session for station in Station.objects.all()} == set(cast.nights)
    assert (run.accepted_by, run.accepted_at is not None) == (head, True)
    assert {names_at(station) <= keys(cast.players) for station in Station.objects.all()} == {True}
    assert PlanChange.objects.get().what == "plan of the whole block accepted"


def test_accepted_stations_are_lettered_by_card_and_each_has_a_coach(cast, head):
    run = run_of(cast, head)
    two = [{"session": f"s{cast.nights[0].pk}", "slot": 0, "drill": f"d{drill.pk}"} for drill in cast.drills[:2]]
    halves = [cast.players[:4], cast.players[4:]]
    run.plan["stations"] = [
        station | {"players": [f"p{player.pk}" for player in half]}
        for station, half in zip(reversed(two), halves, strict=True)
    ]
    actions.accept_run(run=run, by=head, today=BEFORE)
    found = [(station.letter, station.drill, station.coach) for station in Station.objects.order_by("order")]
    assert found == [("A", cast.drills[0], "Ash"), ("B", cast.drills[1], "Bo")]


def test_a_locked_station_survives_a_run(cast, head):
    locked = stand(cast.slot(), cast.drills[0], cast.players[:3], locked=True, coach="Cy")
    actions.accept_run(run=run_of(cast, head), by=head, today=BEFORE)
    locked.refresh_from_db()
    assert (locked.locked, locked.coach, names_at(locked) >= keys(cast.players[:3])) == (True, "Cy", True)


def test_an_accepted_run_can_be_undone(cast, head):
    stand(cast.slot(), cast.drills[0], cast.players[:3])
    before = standing_in(cast.block)
    actions.accept_run(run=run_of(cast, head), by=head, today=BEFORE)
    actions.undo(block=cast.block, by=head, today=BEFORE)
    assert standing_in(cast.block) == before


def test_past_nights_stay_when_a_run_is_accepted(cast, head):
    past = stand(cast.slot(), cast.drills[0], cast.players[:3])
    actions.accept_run(run=run_of(cast, head, WEDNESDAY), by=head, today=WEDNESDAY)
    assert list(Station.objects.filter(slot__session=cast.nights[0])) == [past]
    assert names_at(past) == keys(cast.players[:3])


def test_a_player_who_is_away_by_now_is_taken_off_and_named(cast, head):
    run = run_of(cast, head)
    Absence.objects.create(player=cast.players[0], first_day=dt.date(2026, 10, 6), last_day=dt.date(2026, 10, 6))
    left_out = actions.accept_run(run=run, by=head, today=BEFORE)
    assert [words.split(":")[0] for words in left_out] == [f"{cast.players[0]} cannot come on Tue 6 Oct any more"]
    assert not Station.objects.filter(slot__session=cast.nights[0], places__player=cast.players[0]).exists()


def test_a_plan_that_no_longer_fits_is_refused_with_the_rule_and_nothing_is_written(cast, head):
    run = run_of(cast, head)
    Session.objects.update(stations=0)
    with pytest.raises(Refused) as refusal:
        actions.accept_run(run=run, by=head, today=BEFORE)
    assert "its plan no longer fits" in refusal.value.reasons[0]
    assert "Tue 6 Oct, slot 2 uses 1 stations, but there are 0." in refusal.value.reasons
    assert not Station.objects.exists()


def test_a_plan_for_slots_that_have_changed_is_refused(cast, head):
    run = run_of(cast, head)
    cast.nights[0].slots.filter(order=2).delete()
    with pytest.raises(Refused, match="The slots of Tue 6 Oct are no longer those that the run planned"):
        actions.accept_run(run=run, by=head, today=BEFORE)


def test_a_night_that_is_past_by_now_is_left_out_of_the_plan(cast, head):
    run = run_of(cast, head)
    left_out = actions.accept_run(run=run, by=head, today=WEDNESDAY)
    assert left_out == ["Past, moved out of the block or called off by now, and so left out: Tue 6 Oct."]
    assert not Station.objects.filter(slot__session=cast.nights[0]).exists()


def test_a_run_without_a_plan_is_not_accepted(cast, head):
    run = actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    with pytest.raises(Refused, match="has no plan"):
        actions.accept_run(run=run, by=head, today=BEFORE)


def test_a_second_run_waits_for_the_first(cast, head):
    actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    with pytest.raises(Refused, match="already under way"):
        actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)


def test_a_run_can_be_asked_for_again_when_the_first_is_over(cast, head):
    actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    Job.objects.update(state=JobState.CANCELLED)
    assert actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE).job.state == JobState.QUEUED


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda cast: Session.objects.all().delete(), "No night of this block is left to plan"),
        (lambda cast: cast.squad.players.all().delete(), "Nobody of the squad can come"),
        (lambda cast: cast.squad.club.drills.all().delete(), "No drill can be planned here"),
    ],
    ids=["no nights", "no players", "no drills"],
)
def test_a_run_that_cannot_come_to_anything_is_refused_at_once(cast, head, spoil, reason):
    spoil(cast)
    with pytest.raises(Refused, match=reason):
        actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    assert not PlanRun.objects.exists()


def test_locks_that_cannot_hold_are_refused_at_once_with_their_names(cast, head):
    """Each takes two players at least, and one is left."""
    for order in (0, 1):
        stand(cast.slot(), cast.drills[order], [], order=order, locked=True)
    cast.squad.players.exclude(pk=cast.players[0].pk).delete()
    with pytest.raises(Refused) as refusal:
        actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    assert str(cast.drills[0]) in str(refusal.value)
    assert not PlanRun.objects.exists()


def test_a_locked_player_who_is_away_by_now_is_named(cast, head):
    stand(cast.slot(), cast.drills[0], cast.players[:3], locked=True)
    Absence.objects.create(player=cast.players[0], first_day=dt.date(2026, 10, 6), last_day=dt.date(2026, 10, 6))
    with pytest.raises(Refused, match=str(cast.players[0])):
        actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)


def test_a_run_of_no_length_is_refused(cast, head):
    with pytest.raises(Refused, match="1 to 3000 seconds"):
        actions.start_run(block=cast.block, seconds=0, by=head, today=BEFORE)
