"""A block's rows as a planning problem: each part of it, and what has been run as a given fact."""

from __future__ import annotations

import datetime as dt
import importlib.util
import json
from pathlib import Path

import pytest
from django.conf import settings

from planner.build import player_id, problem_of, session_id
from planner.core.check import breaches
from planner.core.compare import Standing
from planner.core.problem import Accrued, Ceiling, Contact, LadderRule, Plan, Problem
from planner.models import GroupTarget, Slot
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import BEFORE, night, small_block, stand, wish

WEDNESDAY = dt.date(2026, 10, 7)  # the first night, Tuesday 6 October, is past
REFEREE = Path(settings.BASE_DIR).parent / "shared" / "check_plan.py"


@pytest.fixture
def cast(squad):
    return small_block(squad)


def build(cast, today=BEFORE, **how):
    return problem_of(cast.block, today=today, **how)


def of_drill(built, drill):
    return built.problem.drill(f"d{drill.pk}")


def clear(player, level, day=BEFORE):
    Clearance.objects.create(
        player=player, level=level, from_day=day, decided_by="Dr Quill", decided_as="club doctor", decided_on=day
    )


def away(player, first, last=None):
    Absence.objects.create(player=player, first_day=first, last_day=last or first)


def fixed(night_, kind, share, rpe=6):
    """Contact in the warm-up slot of a night."""
    Slot.objects.filter(session=night_, order=0).update(kind=kind, contact_share=share, rpe=rpe)


def test_a_problem_survives_its_file_format(cast):
    wish(cast.squad)
    stand(cast.slot(), cast.drills[0], cast.players, locked=True)
    problem = build(cast).problem
    assert Problem.from_json(json.loads(json.dumps(problem.to_json()))) == problem


def test_the_reference_checker_reads_a_built_problem_and_agrees_on_its_cost(cast):
    """check_plan.py beside the checkout is the reference for the format."""
    if not REFEREE.exists():
        pytest.skip("the reference checker is not beside the checkout")
    wish(cast.squad)
    stand(cast.slot(), cast.drills[0], cast.players)
    built = build(cast)
    spec = importlib.util.spec_from_file_location("check_plan", REFEREE)
    referee = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(referee)
    plan = Plan(built.problem.name, built.standing).to_json()
    broken, parts, complaints = referee.check(json.loads(json.dumps(built.problem.to_json())), plan)
    assert (broken, complaints) == ([], [])
    assert sum(parts.values()) == pytest.approx(Standing.of(built.problem, built.standing).figures.cost, abs=0.01)


@pytest.mark.parametrize("count", [1, 3])
def test_building_takes_the_same_number_of_queries_for_any_size(squad, django_assert_num_queries, count):
    cast = small_block(squad, players=count)
    wish(squad)
    for number in range(count):
        stand(cast.slot(number % 4, 1 + number // 4), cast.drills[number], cast.players[:1])
    with django_assert_num_queries(19):
        build(cast)


def test_a_player_has_his_positions_groups_and_half_as_roles(squad):
    cast = small_block(squad, players=0)
    player = f.PlayerFactory(squad=squad, main_position=9, other_positions=[15])
    assert build(cast).problem.player(player_id(player.pk)).roles == ("15", "9", "B3", "HB", "all", "backs")


def test_a_session_holds_its_planned_slots_only(cast):
    session = build(cast).problem.session(session_id(cast.nights[0].pk))
    assert session.slots == (12, 12)


def test_places_lead_back_to_the_slots(cast):
    assert build(cast).slots[session_id(cast.nights[0].pk), 0] == cast.slot(0, 1).pk


def test_words_call_a_slot_by_its_number_on_the_sheet(cast):
    assert build(cast).words.slot(session_id(cast.nights[0].pk), 0) == "Tue 6 Oct, slot 2"


# Drills


def test_a_station_takes_no_more_than_its_coach_can_watch(cast):
    """Sixteen players a coach: a house rule."""
    drill = f.DrillFactory(club=cast.squad.club, players_most=30, coaches=1)
    assert of_drill(build(cast), drill).players == (4, 16)


def test_a_station_takes_no_more_than_the_kit_of_the_nights_allows(cast):
    drill = f.DrillFactory(club=cast.squad.club, kit=[{"item": "bags", "count": 1, "per": 2}])
    sized = of_drill(build(cast), drill)
    assert (sized.players, sized.kit) == ((4, 12), {"bags": 6})


def test_grass_is_counted_at_the_largest_station(cast):
    drill = f.DrillFactory(club=cast.squad.club, grid_width=5, grid_length=8, grid_per=4, players_most=12)
    assert of_drill(build(cast), drill).area == 120


def test_a_drill_that_no_night_has_kit_for_is_left_out_with_the_reason(cast):
    drill = f.DrillFactory(club=cast.squad.club, name="Suits", kit=[{"item": "suits", "count": 2, "per": None}])
    built = build(cast)
    assert f"d{drill.pk}" not in {each.id for each in built.problem.drills}
    assert f"Left out: #{drill.number} Suits needs 2 suits, the nights have 0." in built.notes


def test_a_night_without_kit_entered_does_not_count_kit(squad):
    cast = small_block(squad)
    drill = f.DrillFactory(club=squad.club, kit=[{"item": "suits", "count": 2, "per": None}])
    for session in cast.nights:
        session.kit = {}
        session.save()
    built = build(cast)
    assert of_drill(built, drill).kit == {"suits": 2}
    assert any(note.startswith("No kit is entered for Tue 6 Oct") for note in built.notes)


def test_an_age_grade_squad_gets_no_drill_for_older_players(cast):
    cast.squad.age_from = 13
    cast.squad.save()
    older = f.DrillFactory(club=cast.squad.club, age_from=14)
    assert f"d{older.pk}" not in {drill.id for drill in build(cast).problem.drills}


def test_a_retired_drill_is_not_offered_but_stays_where_it_stands(cast):
    drill = cast.drills[0]
    stand(cast.slot(), drill, cast.players)
    drill.retired_on = BEFORE
    drill.save()
    offered = {each.id for each in build(cast).problem.drills}
    standing = {each.id for each in build(cast, as_it_stands=True).problem.drills}
    assert (f"d{drill.pk}" in offered, f"d{drill.pk}" in standing) == (False, True)


def test_steps_of_a_ladder_become_rungs_without_gaps_and_may_be_shared(cast):
    ladder = f.LadderFactory(club=cast.squad.club, code="B")
    drills = [f.DrillFactory(club=cast.squad.club, ladder=ladder, step=step) for step in (0, 2, 3, 3)]
    built = build(cast)
    assert [of_drill(built, drill).rung for drill in drills] == [1, 2, 3, 3]


# What players may do


def test_a_player_who_is_away_one_night_is_absent_there_with_a_reason(cast):
    away(cast.players[0], dt.date(2026, 10, 6))
    built = build(cast)
    key = player_id(cast.players[0].pk), session_id(cast.nights[0].pk)
    assert built.problem.ceiling(*key) is Ceiling.ABSENT
    assert built.reasons[key]


def test_a_player_who_misses_every_night_is_left_out_and_named(cast):
    away(cast.players[0], dt.date(2026, 10, 1), dt.date(2026, 10, 31))
    built = build(cast)
    assert player_id(cast.players[0].pk) not in built.problem.player_ids
    assert f"{cast.players[0]} misses every night." in built.notes


def test_a_clearance_sets_the_ceiling_from_its_day_on(cast):
    clear(cast.players[0], "none", dt.date(2026, 10, 8))
    problem, player = build(cast).problem, player_id(cast.players[0].pk)
    assert [problem.ceiling(player, session_id(n.pk)) for n in cast.nights] == [
        Ceiling.FULL,
        Ceiling.NONE,
        Ceiling.NONE,
        Ceiling.NONE,
    ]


# Fixed content


def test_contact_of_fixed_content_is_accrued_by_who_may_do_it(cast):
    fixed(cast.nights[0], "controlled", 50)
    clear(cast.players[1], "none")
    problem = build(cast).problem
    accrued = [problem.player(player_id(player.pk)).accrued for player in cast.players[:2]]
    assert accrued == [(Accrued(0, Contact.CONTROLLED, 5.0),), ()]


def test_load_of_fixed_content_comes_off_the_band(cast):
    """Two warm-ups of 10 minutes at RPE 3 make 60 of the 300 to 700 AU."""
    band = build(cast).problem.bands[0]
    assert (band.low, band.high) == (240, 640)


def test_a_player_who_misses_half_a_week_owes_half_of_its_load(cast):
    """150 less one warm-up of 30 AU."""
    away(cast.players[0], dt.date(2026, 10, 6))
    bands = {(band.player, band.week): band for band in build(cast).problem.bands}
    assert bands[player_id(cast.players[0].pk), 0].low == 120


def test_days_of_full_contact_in_fixed_content_lower_the_rest_of_the_week(cast):
    cast.squad.club.contact_rules.update(full_days=1)
    fixed(cast.nights[1], "full", 20)
    problem, player = build(cast).problem, player_id(cast.players[0].pk)
    levels = [problem.ceiling(player, session_id(n.pk)) for n in cast.nights[:3]]
    assert levels == [Ceiling.CONTROLLED, Ceiling.FULL, Ceiling.FULL]


# Rules


def test_limits_come_from_the_rules_in_force(cast):
    limits = build(cast).problem.limits
    assert limits.weekly == {Contact.CONTROLLED: 40, Contact.SET_PIECE: 30, Contact.FULL: 15}
    assert (limits.full_days_per_week, limits.ladder) == (2, LadderRule(15, 28))


def test_without_rules_nothing_limits_contact_and_a_note_says_so(cast):
    cast.squad.club.contact_rules.all().delete()
    built = build(cast)
    assert (built.problem.limits.weekly, built.problem.limits.full_days_per_week) == ({}, None)
    assert built.notes[0].startswith("No contact rules are chosen: nothing limits contact in this plan")


def test_when_rules_change_in_the_block_the_stricter_figure_holds_throughout(cast):
    f.ContactRulesFactory(
        club=cast.squad.club, valid_from=dt.date(2026, 10, 12), full_minutes=20, controlled_minutes=30, full_days=None
    )
    built = build(cast)
    assert built.problem.limits.weekly == {Contact.CONTROLLED: 30, Contact.SET_PIECE: 30, Contact.FULL: 15}
    assert any("the stricter figure of each holds throughout" in note for note in built.notes)


def test_rules_of_the_squad_come_before_those_of_the_club(cast):
    f.ContactRulesFactory(club=cast.squad.club, squad=cast.squad, valid_from=dt.date(2026, 1, 1), full_minutes=5)
    assert build(cast).problem.limits.weekly[Contact.FULL] == 5


# Wishes


def test_targets_are_scaled_to_the_weeks_and_the_share_of_the_block(cast):
    wish(cast.squad, minutes=20)
    cast.block.target_percent = 60
    cast.block.save()
    assert {target.minutes for target in build(cast).problem.targets} == {6}


def test_a_target_follows_the_main_position(squad):
    cast = small_block(squad, players=0)
    player = f.PlayerFactory(squad=squad, main_position=2, other_positions=[9])
    skill = f.SkillFactory(club=squad.club, code="B01")
    for group, minutes in (("FR", 4), ("HB", 16)):
        GroupTarget.objects.create(squad=squad, group=group, skill=skill, minutes=minutes)
    assert [(t.player, t.minutes) for t in build(cast).problem.targets] == [(player_id(player.pk), 2)]


def test_main_skills_weigh_more_and_come_weekly_where_they_usually_get_eight_minutes(cast):
    wish(cast.squad, "I04", 8)
    wish(cast.squad, "U01", 6)
    wish(cast.squad, "U02", 8)
    cast.block.focus.set([f.SkillFactory(club=cast.squad.club, code=code) for code in ("I04", "U01")])
    found = {(t.skill, t.weight, t.weekly) for t in build(cast).problem.targets}
    assert found == {("I04", 3, True), ("U01", 3, False), ("U02", 1, False)}


def test_wishes_that_no_drill_serves_are_named(cast):
    wish(cast.squad, "S03")
    assert any(note.startswith("No drill that fits trains S03") for note in build(cast).notes)


# What has been run


def test_a_past_night_stays_as_it_was_and_takes_nothing_more(cast):
    station = stand(cast.slot(), cast.drills[0], cast.players)
    built = build(cast, WEDNESDAY)
    past = built.problem.session(session_id(cast.nights[0].pk))
    assert (past.slots, past.stations, past.coaches, past.area) == ((12,), 1, 0, 0)
    assert [(lock.drill, len(lock.players)) for lock in built.problem.locks] == [(f"r{station.pk}", 8)]
    assert built.open_sessions == {each.pk for each in cast.nights[1:]}


def test_a_past_night_that_was_not_planned_leaves_the_problem(cast):
    assert session_id(cast.nights[0].pk) not in {s.id for s in build(cast, WEDNESDAY).problem.sessions}


def test_contact_of_past_stations_is_accrued(cast):
    live = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=25)
    stand(cast.slot(), live, cast.players[:4])
    problem = build(cast, WEDNESDAY).problem
    accrued = [problem.player(player_id(player.pk)).accrued for player in (cast.players[0], cast.players[5])]
    assert accrued == [(Accrued(0, Contact.FULL, 3.0),), ()]


def test_who_was_away_has_not_stood_at_a_past_station(cast):
    live = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=25)
    stand(cast.slot(), live, cast.players)
    away(cast.players[0], dt.date(2026, 10, 6))
    built = build(cast, WEDNESDAY)
    player = player_id(cast.players[0].pk)
    assert built.problem.player(player).accrued == ()
    assert player not in built.past[0].players


def test_no_rule_of_today_can_forbid_what_was_run(cast):
    """Limits tightened and clearances changed after the night do not make the rest of the block impossible."""
    live = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=100, players_least=2)
    stand(cast.slot(), live, cast.players)
    cast.squad.club.contact_rules.update(full_minutes=1, full_days=0)
    clear(cast.players[0], "none")
    built = build(cast, WEDNESDAY)
    assert breaches(built.problem, built.standing) == []


def test_a_past_day_of_full_contact_lowers_the_rest_of_its_week(cast):
    cast.squad.club.contact_rules.update(full_days=1)
    stand(cast.slot(), f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=25), cast.players[:4])
    built = build(cast, WEDNESDAY)
    thursday = session_id(cast.nights[1].pk)
    levels = [built.problem.ceiling(player_id(cast.players[n].pk), thursday) for n in (0, 5)]
    assert levels == [Ceiling.CONTROLLED, Ceiling.FULL]
    assert built.reasons[player_id(cast.players[0].pk), thursday]


@pytest.mark.parametrize(("day", "counts"), [(30, True), (1, False)])
def test_ladder_minutes_before_the_block_count_while_they_are_fresh(cast, day, counts):
    """28 days before Monday 5 October is Monday 7 September."""
    ladder = f.LadderFactory(club=cast.squad.club, code="A")
    drill = f.DrillFactory(club=cast.squad.club, ladder=ladder, step=1)
    stand(night(cast.squad, day, month=9).slots.get(order=1), drill, cast.players)
    done = build(cast).problem.player(player_id(cast.players[0].pk)).done
    assert [(d.ladder, d.rung, d.minutes) for d in done] == ([("A", 1, 12)] if counts else [])


def test_ladder_minutes_of_past_nights_of_the_block_count(cast):
    ladder = f.LadderFactory(club=cast.squad.club, code="A")
    drill = f.DrillFactory(club=cast.squad.club, ladder=ladder, step=1)
    stand(cast.slot(), drill, cast.players)
    done = build(cast, WEDNESDAY).problem.player(player_id(cast.players[0].pk)).done
    assert [(d.rung, d.date, d.minutes) for d in done] == [(1, dt.date(2026, 10, 6), 12)]


def test_the_past_can_be_planned_again_when_asked(cast):
    stand(cast.slot(), cast.drills[0], cast.players)
    built = build(cast, WEDNESDAY, keep_past=False)
    assert (built.past, len(built.problem.sessions), len(built.open_sessions)) == ((), 4, 4)


# Locks


def test_a_locked_station_becomes_a_lock_with_its_players(cast):
    stand(cast.slot(), cast.drills[0], cast.players[:3], locked=True)
    stand(cast.slot(1), cast.drills[1], cast.players)
    (lock,) = build(cast).problem.locks
    wanted = tuple(sorted(player_id(player.pk) for player in cast.players[:3]))
    assert (lock.session, lock.slot, lock.drill, tuple(sorted(lock.players))) == (
        session_id(cast.nights[0].pk),
        0,
        f"d{cast.drills[0].pk}",
        wanted,
    )


def test_locks_can_be_left_aside(cast):
    stand(cast.slot(), cast.drills[0], cast.players, locked=True)
    assert build(cast, locks=False).problem.locks == ()


def test_a_cancelled_night_is_not_in_the_problem(cast):
    cast.nights[0].cancelled = True
    cast.nights[0].save()
    assert len(build(cast).problem.sessions) == 3
