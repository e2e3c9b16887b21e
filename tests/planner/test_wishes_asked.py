"""A coach's wishes as rows and as keys of the planning problem."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from drills.models import Family
from planner import actions
from planner.build import drill_id, player_id, problem_of, session_id
from planner.building.wishes_asked import parted, theme_of
from planner.core.check import breaches
from planner.core.problem import Apart, Favourite, HardRow, Keep, Order, Problem, Repeats, Units
from planner.wish_models import Apart as ApartRow
from planner.wish_models import BlockWishes, DrillWish
from planner.wish_models import Favourite as FavouriteRow
from tests import factories as f
from tests.planner.block_cast import BEFORE, night, small_block, stand

MIDWAY = dt.date(2026, 10, 8)  # Tuesday's night is past, Thursday's is tonight


@pytest.fixture
def cast(squad):
    return small_block(squad)


@pytest.fixture
def wishes(cast):
    return BlockWishes.objects.create(block=cast.block)


@pytest.fixture
def ash(club):
    """A coach whom every night of the cast names."""
    return f.MembershipFactory(club=club, user__username="ash", user__first_name="Ash", role="assistant")


def problem(cast, today=BEFORE, **how):
    return problem_of(cast.block, today=today, **how).problem


def wish(wishes, drill, **fields):
    return DrillWish.objects.create(wishes=wishes, drill=drill, **fields)


def core_drill(cast, drill=0, **how):
    return problem(cast, **how).drill(drill_id(cast.drills[drill].pk))


def core_night(cast, number, **how):
    return problem(cast, **how).session(session_id(cast.nights[number].pk))


# Rows: what the database itself refuses, and what it takes


def refused(make) -> bool:
    try:
        with transaction.atomic():
            make()
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize(
    ("fields", "is_refused"),
    [
        ({"themes_most": 1, "tiring_rpe": 1, "hard_rpe": 10, "hard_most": 9}, False),
        ({"themes_most": 6, "tiring_rpe": 10, "hard_rpe": 1, "hard_most": 1}, False),
        ({}, False),
        ({"themes_most": 0}, True),
        ({"themes_most": 7}, True),
        ({"tiring_rpe": 0}, True),
        ({"tiring_rpe": 11}, True),
        ({"hard_rpe": 7}, True),
        ({"hard_most": 2}, True),
        ({"hard_rpe": 11, "hard_most": 2}, True),
        ({"hard_rpe": 7, "hard_most": 0}, True),
    ],
)
def test_wishes_for_nights_stay_within_their_scales(cast, fields, is_refused):
    assert refused(lambda: BlockWishes.objects.create(block=cast.block, **fields)) is is_refused


def test_a_block_has_one_row_of_wishes(cast, wishes):
    assert refused(lambda: BlockWishes.objects.create(block=cast.block))


@pytest.mark.parametrize(
    ("fields", "is_refused"),
    [
        ({"fresh": True}, False),
        ({"runs_least": 2}, False),
        ({"runs_most": 0}, False),
        ({"runs_least": 2, "runs_most": 2}, False),
        ({"gap_days": 364}, False),
        ({"keep": "together", "unit_roles": "forwards backs"}, False),
        ({"keep": "mixed", "unit_roles": "FR SR BR", "unit_least": 2}, False),
        ({}, True),
        ({"runs_least": 3, "runs_most": 2}, True),
        ({"gap_days": 365}, True),
        ({"keep": "mixed"}, True),
        ({"keep": "mixed", "unit_roles": "forwards"}, True),
        ({"keep": "apart", "unit_roles": "forwards backs"}, True),
        ({"keep": "mixed", "unit_roles": "forwards backs", "unit_least": 0}, True),
        ({"fresh": True, "unit_roles": "forwards backs"}, True),
        ({"fresh": True, "matters": 11}, True),
    ],
)
def test_a_wish_for_a_drill_wishes_something_possible(cast, wishes, fields, is_refused):
    assert refused(lambda: wish(wishes, cast.drills[0], **fields)) is is_refused


def test_a_drill_has_one_wish_in_a_block(cast, wishes):
    wish(wishes, cast.drills[0], fresh=True)
    assert refused(lambda: wish(wishes, cast.drills[0], gap_days=3))
    assert not refused(lambda: wish(wishes, cast.drills[1], fresh=True))


def test_a_pair_is_kept_apart_once_and_never_from_itself(cast, wishes):
    low, high = sorted(cast.players[:2], key=lambda player: player.pk)
    tries = [(high, low), (low, low), (low, high), (low, high)]
    done = [refused(lambda a=a, b=b: ApartRow.objects.create(wishes=wishes, first=a, second=b)) for a, b in tries]
    assert done == [True, True, False, True]


def test_a_coach_has_one_list_of_favourites_in_a_block(wishes, ash):
    tries = [{"matters": 11}, {}, {}]
    done = [
        refused(lambda fields=fields: FavouriteRow.objects.create(wishes=wishes, coach=ash, **fields))
        for fields in tries
    ]
    assert done == [True, False, True]


# Building


def test_a_block_without_wishes_says_nothing_of_them(cast):
    stand(cast.slot(), cast.drills[0], cast.players)
    told = problem(cast).to_json()
    assert {"known", "apart", "order", "hard_row", "favourites"} & told.keys() == set()
    asked = {"theme", "fresh", "repeats", "units"}
    assert [asked & drill.keys() for drill in told["drills"]] == [set()] * len(told["drills"])
    asked = {"themes_most", "nothing_new", "breaks"}
    assert [asked & session.keys() for session in told["sessions"]] == [set()] * len(told["sessions"])


def test_wishes_that_were_all_taken_back_leave_the_problem_as_it_was(cast):
    stand(cast.slot(), cast.drills[0], cast.players)
    was = problem(cast).to_json()
    BlockWishes.objects.create(block=cast.block)
    assert problem(cast).to_json() == was


def test_only_a_block_with_wishes_takes_more_queries(cast, wishes, ash, django_assert_num_queries):
    wishes.nothing_new = True
    wishes.save()
    for drill in cast.drills:
        wish(wishes, drill, fresh=True)
    favourite = FavouriteRow.objects.create(wishes=wishes, coach=ash)
    favourite.drills.set(cast.drills)
    first, second = cast.players[:2]
    ApartRow.objects.create(wishes=wishes, first=first, second=second)
    f.FixtureFactory(squad=cast.squad)
    with django_assert_num_queries(29):
        problem(cast)


# Nights


@pytest.mark.parametrize(
    ("shares", "family"),
    [
        ({"I04": 60, "U01": 40}, Family.INDIVIDUAL),
        ({"U01": 50, "U02": 50}, Family.UNIT),
        ({"I04": 50, "U01": 50}, None),
        ({"I01": 20, "I02": 20, "U01": 30, "B01": 30}, None),
    ],
    ids=["largest", "one family", "even", "none largest"],
)
def test_the_theme_of_a_drill_is_the_family_of_its_main_skill(club, shares, family):
    assert theme_of(f.DrillFactory(club=club, skills=shares)) == family


def test_themes_are_told_where_the_coach_limits_them(cast, wishes):
    wishes.themes_most = 2
    wishes.save()
    assert core_drill(cast).theme == "individual"
    assert [session.themes_most for session in problem(cast).sessions] == [2, 2, 2, 2]


def test_more_themes_than_wished_for_break_the_wish_in_the_coachs_words(cast, wishes):
    wishes.themes_most = 1
    wishes.save()
    other = f.DrillFactory(club=cast.squad.club, players_least=2, skills={"U01": 100})
    stand(cast.slot(order=1), cast.drills[0], cast.players)
    stand(cast.slot(order=2), other, cast.players)
    built = problem_of(cast.block, today=BEFORE, as_it_stands=True)
    told = [breach.text for breach in breaches(built.problem, built.standing, built.words)]
    assert told == ["Tue 6 Oct has 2 themes, Individual and Unit; the limit is 1."]


def nothing_new(cast, **how):
    return [number for number in range(4) if core_night(cast, number, **how).nothing_new]


def test_nothing_new_comes_on_the_last_night_before_each_match(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    f.FixtureFactory(squad=cast.squad)  # Saturday 10 October
    assert nothing_new(cast) == [1]


def test_without_a_match_any_night_may_bring_something_new(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    assert nothing_new(cast) == []


def test_a_match_after_the_block_belongs_to_the_next_night_before_it(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 24, 15, tzinfo=f.LONDON))
    assert nothing_new(cast) == [3]
    night(cast.squad, 20)
    assert nothing_new(cast) == []


def test_a_night_that_is_past_brings_nothing_to_refuse(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    stand(cast.slot(night=0), cast.drills[0], cast.players)
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 7, 15, tzinfo=f.LONDON))
    assert nothing_new(cast, today=MIDWAY) == []


def test_known_are_the_drills_that_ran_before_and_those_of_past_nights(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    f.FixtureFactory(squad=cast.squad)
    earlier = night(cast.squad, 29, month=9).slots.get(order=1)
    stand(earlier, cast.drills[0], cast.players)
    stand(cast.slot(night=0), cast.drills[1], cast.players)
    stand(cast.slot(night=0, order=2), cast.drills[2], [])
    ids = [drill_id(drill.pk) for drill in cast.drills]
    assert problem(cast).known == (ids[0],)
    assert problem(cast, today=MIDWAY).known == (ids[0], ids[1])


def test_a_cancelled_night_has_taught_nobody_anything(cast, wishes):
    wishes.nothing_new = True
    wishes.save()
    f.FixtureFactory(squad=cast.squad)
    earlier = night(cast.squad, 29, month=9, cancelled=True).slots.get(order=1)
    stand(earlier, cast.drills[0], cast.players)
    assert problem(cast).known == ()


def test_tiring_and_hard_drills_are_told_by_their_rpe(cast, wishes):
    wishes.tiring_rpe, wishes.hard_rpe, wishes.hard_most = 7, 8, 2
    wishes.save()
    found = problem(cast)
    assert (found.order, found.hard_row) == (Order(7), HardRow(8, 2))


def test_water_between_two_planned_slots_is_a_break_and_work_is_none(cast, wishes):
    wishes.hard_rpe, wishes.hard_most = 7, 2
    wishes.save()
    slots = [(2, "Talk"), 12, 12, (2, "Water"), 12, (10, "Units"), 12, (4, "Close")]
    session = night(cast.squad, 12, slots=slots)
    session.slots.exclude(title="Units").update(rpe=0)
    found = problem(cast).session(session_id(session.pk))
    assert (len(found.slots), found.breaks) == (4, (2,))


# Drills


def test_a_drill_carries_what_is_wished_of_it(cast, wishes):
    wish(wishes, cast.drills[0], fresh=True, runs_least=2, runs_most=3, gap_days=4, matters=120)
    wish(wishes, cast.drills[1], keep="mixed", unit_roles="forwards backs", unit_least=2)
    rope, fence = core_drill(cast, 0), core_drill(cast, 1)
    assert (rope.fresh, rope.repeats, rope.units) == (True, Repeats(2, 3, 4, 120), None)
    assert (fence.fresh, fence.units) == (False, Units(("forwards", "backs"), Keep.MIXED, 2))


@pytest.mark.parametrize(("least", "most", "left"), [(2, 3, Repeats(1, 2, 0, 40)), (1, 1, Repeats(0, 0, 0, 0))])
def test_what_ran_on_past_nights_counts_towards_how_often(cast, wishes, least, most, left):
    wish(wishes, cast.drills[0], runs_least=least, runs_most=most)
    stand(cast.slot(), cast.drills[0], cast.players)
    assert core_drill(cast, today=MIDWAY).repeats == left


@pytest.mark.parametrize(("gap", "free"), [(2, [1, 2, 3]), (3, [2, 3]), (8, [3])])
def test_a_gap_reaches_from_a_past_night_into_those_that_are_left(cast, wishes, gap, free):
    """It ran on the 6th; the nights left are the 8th, 13th and 15th."""
    wish(wishes, cast.drills[0], gap_days=gap)
    stand(cast.slot(), cast.drills[0], cast.players)
    built = problem_of(cast.block, today=MIDWAY, as_it_stands=True)
    key = drill_id(cast.drills[0].pk)
    kit = built.problem.drill(key).kit
    lacking = [
        number
        for number in (1, 2, 3)
        if any(
            pieces > built.problem.session(session_id(cast.nights[number].pk)).kit.get(item, 0)
            for item, pieces in kit.items()
        )
    ]
    assert lacking == [number for number in (1, 2, 3) if number not in free]


def test_a_drill_that_is_still_resting_is_told_so_in_words(cast, wishes):
    wish(wishes, cast.drills[0], gap_days=3)
    stand(cast.slot(night=0), cast.drills[0], cast.players)
    stand(cast.slot(night=1), cast.drills[0], cast.players)
    built = problem_of(cast.block, today=MIDWAY, as_it_stands=True)
    told = [breach.text for breach in breaches(built.problem, built.standing, built.words)]
    assert told == [
        f"Thu 8 Oct, slot 2 uses 1 run of {cast.drills[0]} so soon after Tue 6 Oct, but there are 0.",
    ]


# Players and coaches


def test_a_pair_is_told_by_the_ids_of_its_players(cast, wishes):
    first, second = cast.players[:2]
    ApartRow.objects.create(wishes=wishes, first=first, second=second, contact_only=True)
    assert problem(cast).apart == (Apart((player_id(first.pk), player_id(second.pk)), True),)


def test_a_pair_one_of_whom_never_comes_is_left_out(cast, wishes):
    first, second = cast.players[:2]
    ApartRow.objects.create(wishes=wishes, first=first, second=second)
    first.absences.create(first_day=dt.date(2026, 10, 1), last_day=dt.date(2026, 10, 31))
    assert problem(cast).apart == ()


def test_a_past_night_on_which_the_pair_stood_together_stands_in_no_ones_way(cast, wishes):
    first, second = cast.players[:2]
    ApartRow.objects.create(wishes=wishes, first=first, second=second)
    stand(cast.slot(), cast.drills[0], cast.players)
    built = problem_of(cast.block, today=MIDWAY, as_it_stands=True)
    assert breaches(built.problem, built.standing, built.words) == []
    stood = [player for station in built.past for player in station.players]
    assert sorted(stood) == sorted(player_id(player.pk) for player in cast.players)


def test_a_past_night_of_hard_work_in_a_row_stands_in_no_ones_way(cast, wishes):
    wishes.hard_rpe, wishes.hard_most = 5, 1
    wishes.save()
    for order in (1, 2):
        stand(cast.slot(order=order), cast.drills[order], cast.players)
    built = problem_of(cast.block, today=MIDWAY, as_it_stands=True)
    assert breaches(built.problem, built.standing, built.words) == []
    before = problem_of(cast.block, today=BEFORE, as_it_stands=True)
    assert {breach.rule for breach in breaches(before.problem, before.standing, before.words)} == {"H14"}


@pytest.mark.parametrize(
    ("pairs", "groups"),
    [([], [[1, 2, 3, 4]]), ([{1, 2}], [[1, 3, 4], [2]]), ([{1, 2}, {2, 3}, {1, 3}], [[1, 4], [2], [3]])],
)
def test_players_part_into_groups_without_a_pair(pairs, groups):
    assert parted([1, 2, 3, 4], set(map(frozenset, pairs))) == groups


def test_favourites_count_on_the_nights_that_name_the_coach_or_nobody(cast, wishes, ash):
    favourite = FavouriteRow.objects.create(wishes=wishes, coach=ash, matters=40)
    favourite.drills.set(cast.drills[:1])
    for number, names in ((0, ["Bo"]), (1, [])):
        cast.nights[number].coach_names = names
        cast.nights[number].save()
    nights = tuple(session_id(cast.nights[number].pk) for number in (1, 2, 3))
    assert problem(cast).favourites == (Favourite("Ash", (drill_id(cast.drills[0].pk),), nights, 40),)


def test_favourites_that_cannot_run_are_left_out(cast, wishes, ash):
    favourite = FavouriteRow.objects.create(wishes=wishes, coach=ash)
    favourite.drills.set(cast.drills[:1])
    cast.drills[0].retired_on = BEFORE
    cast.drills[0].save()
    assert problem(cast).favourites == ()


# Planning


def test_no_wish_of_today_breaks_on_a_past_night(cast, wishes, ash, head):
    """On the past night the pair stood together, in a row of what is hard now, at a drill that may not run again."""
    wishes.themes_most, wishes.nothing_new, wishes.tiring_rpe = 1, True, 5
    wishes.hard_rpe, wishes.hard_most = 5, 1
    wishes.save()
    rope, fence, gate = cast.drills
    wish(wishes, rope, gap_days=3, runs_most=1)
    wish(wishes, fence, fresh=True, keep="together", unit_roles="forwards backs")
    first, second = cast.players[:2]
    ApartRow.objects.create(wishes=wishes, first=first, second=second)
    FavouriteRow.objects.create(wishes=wishes, coach=ash).drills.set([gate])
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 7, 15, tzinfo=f.LONDON))
    for order, drill in ((1, rope), (2, fence)):
        stand(cast.slot(order=order), drill, cast.players)
    run = actions.start_run(block=cast.block, seconds=1, by=head, today=MIDWAY)
    built = problem_of(cast.block, today=MIDWAY)
    assert Problem.from_json(run.problem) == built.problem
    assert breaches(built.problem, built.past) == []
    assert len(built.past) == 4
