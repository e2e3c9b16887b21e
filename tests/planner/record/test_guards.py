"""What is recorded is no plan any more, and the next plan takes what ran, not what was planned."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from planner import actions
from planner.build import player_id, problem_of
from planner.changes import Refused
from planner.core.record import Here
from planner.core.totals import monday_of
from planner.models import Block, Session, Station
from planner.record_actions import confirm_night, correct_line, drop_rung
from planner.season_figures import audit_end, figures_of
from planner.session_actions import cancel_session, edit_slots, move_session
from planner.totals import totals_of
from shared.core.contact import Kind
from tests import factories as f
from tests.planner.record.conftest import DURING

THAT_DAY, NEXT_DAY = dt.date(2026, 10, 6), dt.date(2026, 10, 7)


def confirm(evening, by, now=DURING):
    return confirm_night(session=evening.session, by=by, version=evening.session.plan_version, now=now)


def built(evening, today=NEXT_DAY):
    return problem_of(Block.objects.select_related("squad__club").get(pk=evening.cast.block.pk), today=today)


def of_player(problem, player):
    return next(each for each in problem.players if each.id == player_id(player.pk))


def accrued(evening, player, kind="full"):
    rows = of_player(built(evening).problem, player).accrued
    return sum(row.minutes for row in rows if row.contact == kind)


def test_a_confirmed_night_is_not_changed_by_hand(evening, head):
    confirm(evening, head)
    station = Station.objects.get(drill=evening.live)
    version = evening.session.plan_version
    for change in (
        lambda: actions.remove_station(station=station, by=head, version=version, today=THAT_DAY),
        lambda: actions.lock_station(station=station, by=head, version=version, today=THAT_DAY),
        lambda: actions.move_player(
            player=evening.players[0], slot=station.slot, to=None, by=head, version=version, today=THAT_DAY
        ),
    ):
        with pytest.raises(Refused, match="confirmed by head and stays as it was"):
            change()


def test_a_night_whose_record_is_begun_keeps_its_time_and_its_slots(evening, head):
    spot = evening.spot(evening.live)
    correct_line(session=evening.session, spot=spot, parts=evening.parts(8), seen=None, by=head, now=DURING)
    how = {"session": evening.session, "by": head, "today": THAT_DAY}
    later = evening.session.starts_at + dt.timedelta(days=1)
    for change in (
        lambda: move_session(starts_at=later, version=evening.session.plan_version, **how),
        lambda: cancel_session(**how),
        lambda: edit_slots(slots=[], version=evening.session.plan_version, let_go=True, **how),
    ):
        with pytest.raises(Refused, match="head has told in the record what ran"):
            change()
    assert Session.objects.get(pk=evening.session.pk).slots.count() == 3


def test_a_confirmed_night_of_today_is_past_to_the_planner(evening, head):
    assert evening.session.pk in built(evening, THAT_DAY).open_sessions
    confirm(evening, head)
    found = built(evening, THAT_DAY)
    assert evening.session.pk not in found.open_sessions
    assert evening.cast.slot().pk in found.begun


def test_undoing_leaves_a_confirmed_night_alone(evening, head):
    station = Station.objects.get(drill=evening.live)
    actions.lock_station(station=station, by=head, version=evening.session.plan_version, today=THAT_DAY)
    confirm(evening, head)
    with pytest.raises(Refused, match="past nights only"):
        actions.undo(block=evening.cast.block, by=head, today=THAT_DAY)


def test_the_next_plan_counts_the_contact_that_ran(evening, head):
    first = evening.players[0]
    assert accrued(evening, first) == 3.0  # 12 min at 25 %, as planned
    spot = evening.spot(evening.live)
    correct_line(session=evening.session, spot=spot, parts=evening.parts(20), seen=None, by=head, now=DURING)
    assert accrued(evening, first) == 5.0
    assert accrued(evening, evening.players[5]) == 0
    assert accrued(evening, first, "controlled") == 6.0  # the bags stand as planned: 12 min at 50 %


def test_a_rung_that_was_dropped_is_counted_at_both(evening, head):
    spot = evening.spot(evening.live)
    drop_rung(session=evening.session, spot=spot, rung="C2", minute=8, seen=None, by=head, now=DURING)
    first = evening.players[0]
    assert (accrued(evening, first), accrued(evening, first, "controlled")) == (2.0, 1.0 + 6.0)


def test_a_player_who_took_a_place_on_the_night_is_counted_there(evening, head):
    other, spot, walk = evening.players[5], evening.spot(evening.live), evening.spot(evening.walk)
    block = evening.record().block(walk)
    rest = {key: here for key, here in block.parts[0].here.items() if key != other.pk}
    without = [dataclasses.replace(block.parts[0], here=rest)]
    correct_line(session=evening.session, spot=walk, parts=without, seen=None, by=head, now=DURING)
    part = evening.parts()[0]
    with_him = [dataclasses.replace(part, here={**part.here, other.pk: Here(12)})]
    correct_line(session=evening.session, spot=spot, parts=with_him, seen=None, by=head, now=DURING)
    assert accrued(evening, other) == 3.0


def test_a_step_of_the_ladder_is_passed_by_the_minutes_at_its_rung(evening, head):
    ladder = f.LadderFactory(club=evening.cast.squad.club, code="T")
    type(evening.live).objects.filter(pk=evening.live.pk).update(ladder=ladder, step=4)
    first = evening.players[0]

    def done() -> list[int]:
        return [row.minutes for row in of_player(built(evening).problem, first).done]

    assert done() == [12]
    spot = evening.spot(evening.live)
    drop_rung(session=evening.session, spot=spot, rung="C1", minute=5, seen=None, by=head, now=DURING)
    assert done() == [5]


def test_the_next_plan_counts_the_skill_minutes_that_ran(evening, head):
    f.DrillSkill.objects.filter(drill=evening.live).delete()
    skill = f.SkillFactory(club=evening.cast.squad.club, code="U01")
    f.DrillSkill.objects.create(drill=evening.live, skill=skill, share=100)
    first, late = evening.players[0], evening.players[1]

    def minutes(player) -> float:
        found = built(evening)
        drills, sessions = ({each.id: each for each in rows} for rows in (found.problem.drills, found.problem.sessions))
        his = next(each for each in found.problem.players if each.id == player_id(player.pk))
        return sum(
            sessions[each.session].slots[each.slot] * drills[each.drill].share_for(his, "U01")
            for each in found.past
            if his.id in each.players
        )

    assert (minutes(first), minutes(late)) == (12, 12)
    part = evening.parts(20)[0]
    told = [dataclasses.replace(part, here={**part.here, late.pk: Here(5, 15)})]
    correct_line(session=evening.session, spot=evening.spot(evening.live), parts=told, seen=None, by=head, now=DURING)
    assert (minutes(first), minutes(late)) == (20, 5)


def test_the_figures_of_a_season_are_those_of_the_totals_once_the_night_is_confirmed(evening, head):
    confirm(evening, head)
    spot = evening.spot(evening.live)
    seen = evening.record().standing[spot].pk
    correct_line(
        session=evening.session, spot=spot, parts=evening.parts(20), seen=seen, by=head, may_correct=True, now=DURING
    )
    squad, monday = evening.session.squad, monday_of(THAT_DAY)
    week = totals_of(squad, monday, 1, NEXT_DAY).weeks[0]
    sessions = list(Session.objects.filter(squad=squad).between(monday, monday + dt.timedelta(days=6)).with_length())
    found = figures_of(squad, [monday], sessions, [], audit_end(squad))[monday]
    for most in found.contact:
        assert most.hundredths == max(line.week.figure(most.kind).hundredths for line in week.lines)
    full = next(most for most in found.contact if most.kind is Kind.FULL)
    assert full.hundredths == 500
