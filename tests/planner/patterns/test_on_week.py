"""A pattern on a week: what it does to the planning problem, the totals, the week page, and what it never does."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner import actions, tasks
from planner.build import problem_of
from planner.changes import Refused
from planner.core.check import breaches
from planner.core.problem import Contact
from planner.core.totals import monday_of
from planner.dealing import deal_again
from planner.mending import to_mend
from planner.models import Station
from planner.pattern_actions import put_pattern, retire_pattern, save_pattern, take_pattern_off
from planner.pattern_models import WeekPattern
from planner.totals import totals_csv_text, totals_of
from planner.weeks import week_of
from shared.core.contact import Kind, Level
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import BEFORE, night, stand
from tests.planner.patterns.cast import MONDAY, pattern, planned_block, put

FIGURES = ("controlled_minutes", "full_minutes", "set_piece_minutes", "full_days")
DISTANCES = ("full_first", "full_before", "full_after", "controlled_before", "controlled_after")


@pytest.fixture
def cast(squad):
    return planned_block(squad)


@pytest.fixture
def early(monkeypatch):
    """The site is looked at on Thursday 1 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=f.LONDON))


def problem(cast, **how):
    return problem_of(cast.block, today=BEFORE, as_it_stands=True, **how).problem


def room(found, player: str, week: int, kind: Contact) -> float:
    """Minutes that a player may still have of a kind in a week of the block."""
    return found.limits.weekly[kind] - found.player(player).spent(week, kind)


# The planning problem


def test_the_week_of_a_pattern_has_its_lower_limit_and_the_others_have_theirs(cast, head):
    put(cast.squad, head, controlled_minutes=12)
    found, player = problem(cast), f"p{cast.players[0].pk}"
    assert [room(found, player, week, Contact.CONTROLLED) for week in (0, 1)] == [12, 40]


def test_a_kind_that_the_rules_do_not_limit_is_limited_in_that_week_alone(cast, head):
    cast.squad.club.contact_rules.update(set_piece_minutes=None)
    put(cast.squad, head, set_piece_minutes=8)
    found, player = problem(cast), f"p{cast.players[0].pk}"
    week, usual = (room(found, player, number, Contact.SET_PIECE) for number in (0, 1))
    assert week == 8
    assert usual == 7 * 24 * 60


def test_what_was_spent_already_counts_against_the_lower_limit(cast, head):
    put(cast.squad, head, full_minutes=8)
    later = problem_of(cast.block, today=dt.date(2026, 10, 7), as_it_stands=True).problem
    assert room(later, f"p{cast.players[0].pk}", 0, Contact.FULL) == 2


def test_stations_that_stand_break_the_lower_limit_and_the_sentence_names_the_pattern(cast, head):
    put(cast.squad, head, controlled_minutes=5)
    built = problem_of(cast.block, today=BEFORE, as_it_stands=True)
    texts = [breach.text for breach in breaches(built.problem, built.standing, built.words)]
    assert (
        f"{cast.players[0]} would have 6 minutes of controlled contact in week 1; the limit is 5 (pattern Short week)."
        in texts
    )
    assert len(texts) == 8


def test_fewer_days_of_full_contact_keep_the_days_that_stand_before_earlier_ones(cast, head):
    stand(cast.slot(1, 2), cast.live, cast.players[:2])
    cast.slot(0).stations.all().delete()
    cast.squad.club.contact_rules.update(full_before_match=1, controlled_before_match=1)
    put(cast.squad, head, full_days=1, full_minutes=15)
    found, player = problem(cast), f"p{cast.players[0].pk}"
    levels = [str(found.ceiling(player, f"s{session.pk}")) for session in cast.nights]
    assert levels == ["controlled", "full", "full", "full"]


def test_days_to_a_match_lower_ceilings_with_the_pattern_as_reason(cast, head):
    put(cast.squad, head, full_before=5)
    built = problem_of(cast.block, today=BEFORE, as_it_stands=True)
    player, tuesday = f"p{cast.players[0].pk}", f"s{cast.nights[0].pk}"
    assert built.problem.ceiling(player, tuesday) == "controlled"
    assert built.reasons[player, tuesday] == "pattern Short week: 4 days before a match: controlled at most"


def test_a_block_that_does_not_begin_on_a_monday_keeps_to_the_stricter_of_two_patterns(cast, head):
    cast.block.first_day = dt.date(2026, 10, 7)
    cast.block.save()
    put(cast.squad, head, controlled_minutes=12)
    put(cast.squad, head, monday=dt.date(2026, 10, 12))
    WeekPattern.objects.filter(monday=dt.date(2026, 10, 12)).update(controlled_minutes=7)
    found, player = problem(cast), f"p{cast.players[0].pk}"
    assert [room(found, player, week, Contact.CONTROLLED) for week in (0, 1)] == [7, 7]


def test_dealing_again_makes_a_plan_that_keeps_to_the_pattern(cast, head, settings):
    settings.JOB_LEASE_SECONDS = 600
    put(cast.squad, head, controlled_minutes=0, full_minutes=0)
    assert to_mend(problem_of(cast.block, today=BEFORE))
    run = deal_again(block=cast.block, by=head, today=BEFORE)
    assert tasks.deal_again(str(run.job_id)) == "worked"
    run.refresh_from_db()
    actions.accept_run(run=run, by=head, today=BEFORE)
    assert to_mend(problem_of(cast.block, today=BEFORE)) == []
    kinds = {s.drill.kind for s in Station.objects.filter(slot__session__day__lte=dt.date(2026, 10, 11))}
    assert kinds <= {Kind.NONE}


figures = st.fixed_dictionaries(
    {name: st.none() | st.integers(0, 50) for name in FIGURES[:3]}
    | {"full_days": st.none() | st.integers(0, 7)}
    | {name: st.none() | st.integers(0, 7) for name in DISTANCES[2:]}
    | {"full_before": st.none() | st.integers(0, 4), "full_first": st.none() | st.integers(4, 7)}
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(figures)
def test_no_pattern_raises_anything_in_the_problem_or_in_the_totals(cast, head, figures):
    WeekPattern.objects.all().delete()
    before, totals = problem(cast), totals_of(cast.squad, MONDAY, 2, BEFORE)
    WeekPattern.objects.create(squad=cast.squad, monday=MONDAY, holds_from=MONDAY, name="Any", **figures)
    after, lowered = problem(cast), totals_of(cast.squad, MONDAY, 2, BEFORE)
    for player in before.player_ids:
        for kind in before.limits.weekly:
            for week in range(before.weeks):
                assert room(after, player, week, kind) <= room(before, player, week, kind)
        for session in before.session_ids:
            assert Level(after.ceiling(player, session)).height <= Level(before.ceiling(player, session)).height
    for was, now in zip(totals.weeks, lowered.weeks, strict=True):
        assert now.limits.full_days <= was.limits.full_days
        assert all(now.limits.minutes(kind) <= was.limits.minutes(kind) for kind in was.limits.by_kind)


# Putting on and taking off


def test_a_later_change_of_the_pattern_leaves_the_week_as_it_was(cast, head):
    row = put(cast.squad, head, controlled_minutes=12)
    save_pattern(pattern=row.pattern, by=head, skills=[], name="Shorter week", controlled_minutes=3)
    row.refresh_from_db()
    assert (row.name, row.controlled_minutes) == ("Short week", 12)


def test_a_retired_pattern_stays_on_its_weeks_and_is_put_on_no_other(cast, head):
    row = put(cast.squad, head, controlled_minutes=12)
    retire_pattern(pattern=row.pattern, by=head, today=BEFORE)
    with pytest.raises(Refused, match="is not on offer any more"):
        put_pattern(pattern=row.pattern, squad=cast.squad, monday=dt.date(2026, 10, 12), by=head, today=BEFORE)
    assert WeekPattern.objects.count() == 1


def test_another_pattern_takes_the_place_of_the_first(cast, head):
    put(cast.squad, head, controlled_minutes=12)
    other = pattern(cast.squad, "Midweek", controlled_minutes=0)
    put_pattern(pattern=other, squad=cast.squad, monday=MONDAY, by=head, today=BEFORE)
    assert [row.name for row in WeekPattern.objects.all()] == ["Midweek"]


def test_a_day_of_the_week_is_as_good_as_its_monday(cast, head):
    assert put(cast.squad, head, monday=dt.date(2026, 10, 8)).monday == MONDAY == monday_of(dt.date(2026, 10, 8))


def test_a_past_week_takes_no_pattern_and_loses_none(cast, head):
    put(cast.squad, head)
    later = dt.date(2026, 10, 12)
    with pytest.raises(Refused, match="is past and stays as it was"):
        put(cast.squad, head, today=later)
    with pytest.raises(Refused, match="is past and stays as it was"):
        take_pattern_off(squad=cast.squad, monday=MONDAY, by=head, today=later)


def test_a_night_before_the_pattern_was_put_on_is_judged_as_it_was_then(cast, head):
    wednesday = dt.date(2026, 10, 7)
    put(cast.squad, head, today=wednesday, full_before=7, controlled_before=7)
    found = totals_of(cast.squad, MONDAY, 1, wednesday).weeks[0].of(cast.players[0].pk)
    assert found.figure(Kind.FULL).minutes == 6
    assert [str(figure.room) for figure in found.figures] == ["fine", "not allowed", "fine"]


def test_taken_off_again_the_rules_hold_as_before(cast, head):
    before = problem(cast)
    put(cast.squad, head, controlled_minutes=12, full_before=5)
    take_pattern_off(squad=cast.squad, monday=MONDAY, by=head, today=BEFORE)
    assert problem(cast) == before
    with pytest.raises(Refused, match="no pattern on this week"):
        take_pattern_off(squad=cast.squad, monday=MONDAY, by=head, today=BEFORE)
    did = list(AuditEvent.objects.order_by("number").values_list("did", flat=True))
    assert did[-2:] == ["put pattern on week", "took pattern off week"]


def test_a_pattern_of_another_club_is_refused(cast, head, stranger):
    other = pattern(f.SquadFactory())
    with pytest.raises(Refused, match="is not on offer"):
        put_pattern(pattern=other, squad=cast.squad, monday=MONDAY, by=head, today=BEFORE)


# What people see


def test_the_totals_say_which_limit_is_the_patterns(cast, head):
    put(cast.squad, head, controlled_minutes=12)
    totals = totals_of(cast.squad, MONDAY, 2, BEFORE)
    limits = [week.limits.by_kind[Kind.CONTROLLED] for week in totals.weeks]
    assert [(limit.minutes, limit.is_of_pattern) for limit in limits] == [(12, True), (40, False)]
    assert ",controlled,6.00,12,fine,pattern: Short week" in totals_csv_text(totals)


def week_page(client, squad) -> str:
    address = reverse("week", kwargs={"club": "brackenford", "squad": squad.slug, "monday": MONDAY})
    return " ".join(client.get(address).content.decode().split())


def test_the_week_page_shows_the_pattern_its_aims_and_its_limits(cast, head, log_in, early):
    skill = f.SkillFactory(club=cast.squad.club, code="K02", name="Kick chase")
    found = pattern(cast.squad, controlled_minutes=6, defence_minutes=40, mean_rpe=4, touch_minutes=5)
    found.skills.add(skill)
    put(cast.squad, head)
    text = week_page(log_in(head), cast.squad)
    assert "Pattern of the week: Short week" in text
    assert "6 of 6 in the week" in text
    assert '6 of 6 min</span> <span class="soft">(pattern: Short week)</span>' in text
    assert "defence, min: 24 planned, aim 40" in text
    assert "mean RPE: 4.1 planned, aim 4" in text
    assert "touch and grip, the most of any player, min: 0 planned, aim 5" in text
    assert "Main skills: K02" in text


def test_a_week_that_rises_too_steeply_carries_a_caution(cast, head, log_in, early):
    f.DrillFactory(club=cast.squad.club)
    stand(cast.slot(0, 2), f.DrillFactory(club=cast.squad.club, rung="C2", contact_share=60), cast.players)
    text = week_page(log_in(head), cast.squad)
    told = "rises by up to {} min against the week before, for 8 players (house rule: by {} at most)"
    assert "Full contact " + told.format("6", "4") in text
    assert "Controlled contact " + told.format("13.2", "10") in text


def test_a_week_as_heavy_as_the_one_before_carries_none(cast, head, log_in, early):
    before = night(cast.squad, 29, 9)
    stand(before.slots.get(order=1), cast.live, cast.players)
    assert "rises by" not in week_page(log_in(head), cast.squad)


def test_patterns_of_two_weeks_that_rise_too_steeply_are_told(cast, head, log_in, early):
    put(cast.squad, head, controlled_minutes=5)
    heavier = pattern(cast.squad, "Heavier", controlled_minutes=20)
    put_pattern(pattern=heavier, squad=cast.squad, monday=dt.date(2026, 10, 12), by=head, today=BEFORE)
    address = reverse("week", kwargs={"club": "brackenford", "squad": "firsts", "monday": "2026-10-12"})
    assert "The patterns allow 15 min more controlled contact" in log_in(head).get(address).content.decode()


@pytest.mark.parametrize("rows", [1, 3])
def test_a_week_takes_the_same_queries_for_any_number_of_patterns(rows, cast, head, django_assert_num_queries):
    for number in range(rows):
        found = pattern(cast.squad, f"Pattern {number}", controlled_minutes=10 + number)
        monday = MONDAY + dt.timedelta(weeks=number - 1)
        put_pattern(pattern=found, squad=cast.squad, monday=monday, by=head, today=BEFORE)
    with django_assert_num_queries(20):
        assert week_of(cast.squad, MONDAY, BEFORE).nights
