"""The invented club, built and planned by the same verbs as any other."""

from __future__ import annotations

import datetime as dt
import io

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfReader

from planner.core.check import breaches, cost
from planner.core.problem import Plan, Problem
from planner.demo.cleaning import forget
from planner.demo.papers import papers
from planner.demo.past import past_matches, past_nights
from planner.demo.scenario import LOGINS, SLUG, build_club, first_monday, plan_blocks, write_files
from planner.light import light_of
from planner.models import Fixture, Session, Station
from planner.record_days import differences
from planner.record_models import Line
from planner.rpe_models import Rpe
from shared.audit import broken_links
from shared.models import Club, User
from squads.models import Player

TODAY = dt.date(2026, 11, 25)  # a Wednesday


@pytest.fixture
def block(db, tmp_path):
    return build_club(write_files(tmp_path, TODAY), TODAY)


@pytest.mark.parametrize(("day", "monday"), [(23, 23), (24, 23), (25, 30), (29, 30)])
def test_the_block_begins_this_week_while_its_tuesday_can_still_be_planned(day, monday):
    assert first_monday(dt.date(2026, 11, day)) == dt.date(2026, 11, monday)


def test_three_files_make_a_club_with_squad_matches_and_drills(block):
    club = block.squad.club
    assert Player.objects.filter(squad=block.squad).count() == 34
    assert Fixture.objects.filter(squad=block.squad).count() == 14
    assert club.drills.count() == 60
    assert list(broken_links(club)) == []


def test_every_training_night_of_the_season_is_laid_out_at_the_same_time_by_the_clock(block):
    starts = Session.objects.filter(squad=block.squad).values_list("starts_at", flat=True)
    clocks = {f"{moment.astimezone(block.squad.club.tzinfo):%a %H:%M}" for moment in starts}
    assert clocks == {"Tue 19:00", "Thu 19:15"}


def test_sunset_shows_on_every_night_of_the_invented_ground_and_home_matches_stand_there(block):
    sessions = Session.objects.filter(squad=block.squad)
    lights = [light_of(session, [60]) for session in sessions]
    assert all(light.told.startswith("sunset ") and not light.warning for light in lights)
    assert {fixture.home for fixture in Fixture.objects.filter(venue=sessions[0].venue)} == {True}


def test_the_block_is_planned_by_the_rules_and_printed(block):
    run = plan_blocks(block, TODAY, seconds=1)
    problem = Problem.from_json(run.problem)
    plan = Plan.from_json(run.plan, problem)
    assert list(breaches(problem, plan.stations)) == []
    assert cost(problem, plan.stations).total == pytest.approx(run.plan["cost"], abs=0.01)
    assert Station.objects.filter(slot__session__squad=block.squad).count() > 2 * len(plan.stations) // 3
    printed = dict(papers(block, TODAY))
    assert sorted(printed) == ["contact-totals.csv", "contact-totals.pdf", "drill-cards.pdf", "session-sheet.pdf"]
    assert len(PdfReader(io.BytesIO(printed["session-sheet.pdf"])).pages) == 1


def test_what_happened_before_today_is_told_and_the_last_night_left_to_be_confirmed(block):
    plan_blocks(block, TODAY, seconds=1)
    squad, noon = block.squad, dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
    nights = [night for night in past_nights(squad, noon) if night.day >= block.first_day - dt.timedelta(weeks=4)]
    confirmed = [night.confirmations.count() for night in nights]
    assert confirmed == [1] * (len(nights) - 1) + [0]
    assert Line.objects.filter(account__session__in=nights, part=1).count() == 1  # the rung that was dropped
    matches = list(past_matches(squad, noon))
    assert len(matches) == 3
    for match in matches:
        assert sum(match.match_minutes.values_list("minutes", flat=True)) == 15 * 80 + 8 * 20
    answers = Rpe.objects.filter(player__squad=squad)
    assert set(answers.filter(session__isnull=False).values_list("session", flat=True)) == {each.pk for each in nights}
    assert not answers.filter(at__gt=noon).exists()
    assert differences(squad, nights[0].day, TODAY) == []
    assert list(broken_links(squad.club)) == []


def test_a_told_past_can_be_taken_away_again(block):
    plan_blocks(block, TODAY, seconds=1)
    forget(SLUG, LOGINS)
    assert not Club.objects.filter(slug=SLUG).exists()


def test_the_club_can_be_taken_away_again(block):
    forget(SLUG, LOGINS)
    assert not Club.objects.filter(slug=SLUG).exists()
    assert not User.objects.filter(username__in=LOGINS).exists()


def test_a_second_start_keeps_the_data(block, tmp_path):
    said = io.StringIO()
    call_command("demo", "--no-serve", "--into", str(tmp_path), stdout=said)
    assert "kept" in said.getvalue()
    assert Club.objects.filter(slug=SLUG).count() == 1


def test_seconds_out_of_range_are_refused_before_anything_is_built(db):
    with pytest.raises(CommandError, match="1 to 600"):
        call_command("demo", "--no-serve", "--seconds", "0")
    assert not Club.objects.exists()
