"""Why a plan is as it is, and two plans side by side: what the pages say, and in how many queries."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from planner import actions, tasks
from planner.build import problem_of
from planner.explanations import explained, players_why, reason_lines
from planner.models import PlanRun
from planner.overview import Overview
from planner.prices_told import more_time_lines, price_lines
from planner.trace import falling_line
from shared.models import Job, JobState
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block, stand, wish


@pytest.fixture
def cast(squad, monkeypatch):
    """Two players of eight stand at the first station; Rope trains the one skill wished for."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    cast = small_block(squad, weeks=1)
    wish(squad, "I04", minutes=48)
    return cast


@pytest.fixture
def finished(cast, head, settings):
    settings.JOB_LEASE_SECONDS = 600  # a sign of life from a second thread would wait for this test's transaction
    run = actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)
    tasks.run_plan(str(run.job_id))
    return PlanRun.objects.get(pk=run.pk)


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def page(answer):
    return answer.content.decode()


def of_block(cast):
    built = problem_of(cast.block, today=BEFORE, as_it_stands=True)
    return explained(Overview(built, built.programme)), built.words


# Who and how


FOUR_SLOTS = [(0, 1, 0), (0, 2, 1), (1, 1, 0), (1, 2, 1)]  # night, slot and drill
PAGES = ["run_why", "block_why", "run_station_why", "station_why", "compare_runs"]


def address(name, cast, run):
    if name == "run_station_why":
        return url(name, run=run.pk, **planned(run))
    station = {"slot": cast.slot().pk, "drill": cast.drills[0].pk}
    words = {"run_why": {"run": run.pk}, "station_why": {"block": cast.block.pk} | station}
    return url(name, **words.get(name, {"block": cast.block.pk}))


def planned(run):
    """The keys of the slot and the drill of a station that the run planned."""
    built = problem_of(run.block, today=BEFORE)
    first = run.plan["stations"][0]
    return {"slot": built.slots[first["session"], first["slot"]], "drill": int(first["drill"][1:])}


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("who", ["head", "assistant", "welfare"])
def test_everybody_may_ask_why(name, who, cast, finished, request, log_in):
    stand(cast.slot(), cast.drills[0], cast.players)
    assert log_in(request.getfixturevalue(who)).get(address(name, cast, finished)).status_code == 200


@pytest.mark.parametrize("name", PAGES)
def test_another_club_learns_nothing(name, cast, finished, stranger, log_in):
    assert log_in(stranger).get(address(name, cast, finished)).status_code == 404


@pytest.mark.parametrize("name", ["run_why", "block_why", "run_station_why", "station_why"])
def test_a_reason_is_a_page_of_its_own_and_a_part_of_another(name, cast, finished, head, log_in):
    stand(cast.slot(), cast.drills[0], cast.players)
    client, at = log_in(head), address(name, cast, finished)
    whole, part = (page(client.get(at, headers=how)) for how in ({}, {"HX-Request": "true"}))
    assert ("<html" in whole, "<html" in part) == (True, False)


@pytest.mark.parametrize("players", [4, 16])
@pytest.mark.parametrize(("name", "queries"), [("block_why", 24), ("station_why", 25), ("compare_runs", 29)])
def test_a_larger_squad_takes_no_more_queries(
    name, queries, players, squad, head, log_in, monkeypatch, django_assert_num_queries
):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    cast = small_block(squad, players=players)
    wish(squad)
    stand(cast.slot(), cast.drills[0], cast.players)
    run = PlanRun.objects.create(block=cast.block, plan={"stations": []}, problem={"sessions": []})
    client = log_in(head)
    with django_assert_num_queries(queries):
        client.get(address(name, cast, run))


# Why


def test_a_wish_that_one_change_would_serve_is_told_with_the_change(cast):
    for night, order, drill in FOUR_SLOTS:
        stand(cast.slot(night, order), cast.drills[drill], cast.players[:-1])
    explanation, words = of_block(cast)
    last = cast.players[-1]
    (why,) = players_why(explanation, words)
    place = f"Joining {cast.drills[0]} on Tue 6 Oct, slot 2"
    assert str(why) == f"{last}: 12 min short in 1 skill"
    assert why.lines[0].startswith(
        "I04 Front-on tackle, 12 of 12 min short: one change by hand would serve it and make the plan better. "
    )
    assert place in why.lines[0]


def test_wishes_are_counted_by_their_reason(cast):
    stand(cast.slot(), cast.drills[0], cast.players[:-1])
    f.PlayerFactory(squad=cast.squad, main_position=3)
    explanation, _words = of_block(cast)
    lines = [(line.reason, line.wishes) for line in reason_lines(explanation)]
    assert lines == [("one change by hand would serve it and make the plan better", 2)]


def test_a_plan_that_serves_every_wish_says_so(cast, finished, head, log_in):
    assert "Every wish is served." in page(log_in(head).get(url("run_why", run=finished.pk)))


def test_a_second_coach_has_a_price(cast):
    """Rope takes four of eight: another coach could run a second station beside it for the rest."""
    type(cast.drills[0]).objects.update(players_ideal=4, players_most=4)
    type(cast.nights[0]).objects.update(coaches=1)
    for night, order, drill in FOUR_SLOTS:
        stand(cast.slot(night, order), cast.drills[drill], cast.players[:4])
    explanation, words = of_block(cast)
    lines = price_lines(explanation, words)
    assert [line.split(" would let in: ")[0] for line in lines] == [
        "1 more coach on Tue 6 Oct",
        "1 more coach on Thu 8 Oct",
    ]
    assert "one more station, " in lines[0]
    assert "It serves 4 players with 48 min of skill" in lines[0]


def test_one_more_slot_names_its_night_and_what_it_would_ease(cast):
    explanation, words = of_block(cast)
    assert more_time_lines(explanation, words)[0].startswith(
        f"A slot of 12 minutes more on Tue 6 Oct, with {cast.drills[0]}, would ease 8 players by 96 min in all;"
    )


def test_a_station_says_what_it_trains_and_what_could_stand_there(cast, head, log_in):
    stand(cast.slot(), cast.drills[0], cast.players)
    answer = log_in(head).get(url("station_why", block=cast.block.pk, slot=cast.slot().pk, drill=cast.drills[0].pk))
    text = page(answer)
    assert "It eases I04 Front-on tackle by 96 min for 8 players." in text
    assert "in its place would do as well." in text
    lines = dict(answer.context["tables"])["without it"]
    assert next((line.value, line.other, line.standing) for line in lines) == ("0 min", "96 min", "worse")


def test_a_standing_station_leads_to_where_it_can_be_locked(cast, head, log_in):
    stand(cast.slot(), cast.drills[0], cast.players)
    at = url("station_why", block=cast.block.pk, slot=cast.slot().pk, drill=cast.drills[0].pk)
    slot = cast.slot().pk
    week = url("week", squad="firsts", monday="2026-10-05")
    assert f'href="{week}?slot={slot}#slot-{slot}"' in page(log_in(head).get(at))


def test_who_only_reads_the_plan_is_not_led_there(cast, assistant, log_in):
    stand(cast.slot(), cast.drills[0], cast.players)
    at = url("station_why", block=cast.block.pk, slot=cast.slot().pk, drill=cast.drills[0].pk)
    assert "Lock or change it" not in page(log_in(assistant).get(at))


def test_a_station_that_does_not_stand_has_no_reason(cast, head, log_in):
    at = url("station_why", block=cast.block.pk, slot=cast.slot().pk, drill=cast.drills[0].pk)
    assert log_in(head).get(at).status_code == 404


def test_a_programme_that_breaks_a_rule_is_to_be_mended_first(cast, head, log_in):
    stand(cast.slot(), cast.drills[0], cast.players[:1])
    text = page(log_in(head).get(url("block_why", block=cast.block.pk)))
    assert "Put this right first:" in text
    assert "takes 2 to 16 players, but 1 stand there." in text


def test_a_run_that_no_longer_fits_has_nothing_to_explain(cast, finished, head, log_in):
    cast.nights[0].slots.filter(order=2).delete()
    answer = log_in(head).get(url("run_why", run=finished.pk))
    assert answer.status_code == 404


# A run that is interrupted


def test_a_run_whose_worker_was_restarted_shows_its_best_so_far_and_then_goes_on(cast, finished, head, log_in):
    """As shared.jobs leaves it: given back by the worker that closed, and waiting for the next."""
    Job.objects.update(state=JobState.QUEUED, token=None)
    client, at = log_in(head), url("run", run=finished.pk)
    again = page(client.get(at))
    assert [words in again for words in ("Waiting for a free worker", "Best plan so far leaves open")] == [True, True]
    assert 'class="falling"' in again
    tasks.run_plan(str(finished.job_id))
    over = page(client.get(at))
    assert "The run is over." in over
    assert PlanRun.objects.get(pk=finished.pk).plan["cost"] <= finished.plan["cost"]


# Side by side


def test_what_stands_is_laid_beside_the_last_run(cast, finished, head, log_in):
    comparison = log_in(head).get(url("compare_runs", block=cast.block.pk)).context["comparison"]
    assert [(line.value, line.other, line.standing) for line in comparison.figures[:1]] == [
        ("96 min", "0 min", "better")
    ]
    assert [(pair.left_words, pair.right_words, pair.standing) for pair in comparison.players] == [
        ("12 min", "0 min", "better")
    ] * 8
    assert len(comparison.changes) == 4


def test_a_run_beside_itself_is_the_same_plan(cast, finished, head, log_in):
    both = {"left": finished.pk, "right": finished.pk}
    answer = log_in(head).get(url("compare_runs", block=cast.block.pk), both)
    assert {line.standing for line in answer.context["comparison"].figures} == {"the same"}
    assert "Nothing: both are the same plan." in page(answer)


def test_a_run_of_another_block_is_refused_beside_its_field(cast, finished, head, log_in):
    foreign = PlanRun.objects.create(
        block=f.BlockFactory(squad=cast.squad, name="Later", first_day=dt.date(2027, 1, 4))
    )
    answer = log_in(head).get(url("compare_runs", block=cast.block.pk), {"left": foreign.pk})
    assert answer.context["form"].errors["left"] == ["Choose one of the plans of this block."]
    assert "comparison" not in answer.context


def test_a_run_that_no_longer_fits_is_said_to_be_shown_as_what_stands(cast, finished, head, log_in):
    cast.nights[0].slots.filter(order=2).delete()
    text = page(log_in(head).get(url("compare_runs", block=cast.block.pk)))
    assert "The slots of Tue 6 Oct are no longer those that the run planned." in text


def test_a_block_without_a_run_has_nothing_to_compare(cast, head, log_in):
    assert "Plan the block first." in page(log_in(head).get(url("compare_runs", block=cast.block.pk)))


# The line of a run


def test_the_line_names_its_axes_and_the_bound():
    drawn = falling_line([[0.5, 400, 90], [2.0, 200, 100]], 100, seconds=10, until=4)
    assert "<title>What the best plan leaves open, all parts together: from 400 to 200 in 2 s. " in drawn
    assert [words in drawn for words in ("lower is better", "0 s", "10 s of search", "no plan can be lower")] == [
        True
    ] * 4


def test_the_line_is_level_until_the_next_better_plan():
    """344 px wide for 10 s and 108 px high for 400: half of the cost is half of the height."""
    drawn = falling_line([[0, 400, 0], [5.0, 200, 0]], None, seconds=10, until=10)
    assert 'd="M8.0 20.0H180.0V74.0H352.0"' in drawn


def test_without_a_plan_there_is_no_line():
    assert falling_line([], 100, seconds=10, until=4) == ""
