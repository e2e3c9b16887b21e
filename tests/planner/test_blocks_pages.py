"""The pages of blocks, runs and group minutes: who may open them, what they say, how a run is watched."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from django.conf import settings as site
from django.urls import reverse
from django.utils import timezone

from planner import actions, tasks
from planner.models import Block, GroupTarget, PlanChange, PlanRun, Station
from shared.models import Job, JobState
from tests import factories as f
from tests.planner.block_cast import BEFORE, add, small_block, stand, wish


@pytest.fixture
def cast(squad, monkeypatch):
    """The clock of the site stands at noon of 1 October 2026, before the first night."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    return small_block(squad)


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def block_url(name, cast):
    return url(name, block=cast.block.pk)


@pytest.fixture
def run(cast, head):
    return actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)


@pytest.fixture
def finished(run, settings):
    settings.JOB_LEASE_SECONDS = 600  # a sign of life from a second thread would wait for this test's transaction
    tasks.run_plan(str(run.job_id))
    return PlanRun.objects.get(pk=run.pk)


def page(answer):
    return answer.content.decode()


# Who may open what


PAGES = ["blocks", "new_block", "block", "edit_block", "targets", "run"]
BUTTONS = ["undo_change", "plan_block", "cancel_run", "accept_run"]
FOR_ALL = {"blocks", "block", "run"}


def address(name, cast, run):
    words = {"targets": {"squad": "firsts"}, "blocks": {}, "new_block": {}}
    if name in {"run", "cancel_run", "accept_run"}:
        words[name] = {"run": run.pk}
    return url(name, **words.get(name, {"block": cast.block.pk}))


@pytest.mark.parametrize("name", PAGES + BUTTONS)
@pytest.mark.parametrize("who", ["head", "assistant", "welfare"])
def test_everybody_sees_the_plan_and_only_the_head_coach_changes_it(name, who, cast, run, request, log_in):
    client = log_in(request.getfixturevalue(who))
    answer = client.post(address(name, cast, run)) if name in BUTTONS else client.get(address(name, cast, run))
    allowed = {200, 302} if who == "head" or name in FOR_ALL else {403}
    assert answer.status_code in allowed


@pytest.mark.parametrize("name", PAGES + BUTTONS)
def test_another_club_sees_nothing(name, cast, run, stranger, log_in):
    answer = log_in(stranger).post(address(name, cast, run))
    assert answer.status_code == 404


@pytest.mark.parametrize("name", BUTTONS)
def test_a_button_is_not_a_page(name, cast, run, head, log_in):
    assert log_in(head).get(address(name, cast, run)).status_code == 405


def test_who_cannot_plan_is_offered_no_button(cast, run, welfare, log_in):
    client = log_in(welfare)
    for address_ in (block_url("block", cast), url("run", run=run.pk)):
        assert page(client.get(address_)).count("<form") == 1  # logging out


# Blocks


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_blocks(count, cast, head, log_in, django_assert_num_queries):
    for number in range(1, count):
        f.BlockFactory(squad=cast.squad, name=f"Block {number}", first_day=dt.date(2027, number, 4))
    client = log_in(head)
    with django_assert_num_queries(6):
        client.get(url("blocks"))


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_a_block_takes_the_same_queries_for_any_size(
    count, squad, head, log_in, monkeypatch, django_assert_num_queries
):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    cast = small_block(squad, players=2 * count)
    for number in range(count):
        add(cast, head, drill=number, night=number, players=cast.players[:2])
        PlanRun.objects.create(block=cast.block)
    client = log_in(head)
    with django_assert_num_queries(28):
        client.get(block_url("block", cast))


def block_form(cast, **fields):
    return {
        "squad": cast.squad.pk,
        "name": "November block",
        "first_day": "2026-11-02",
        "weeks": 4,
        "target_percent": 100,
        "load_low": 300,
        "load_high": 700,
    } | fields


def test_a_new_block_starts_on_a_monday_unless_told_otherwise(cast, head, log_in):
    form = log_in(head).get(url("new_block")).context["form"]
    assert form["first_day"].value() == dt.date(2026, 10, 5)


def test_a_block_is_made_with_its_main_skills(cast, head, log_in):
    skill = f.SkillFactory(club=cast.squad.club, code="U01")
    log_in(head).post(url("new_block"), block_form(cast, focus=[skill.pk]))
    block = Block.objects.get(name="November block")
    assert (block.first_day, block.weeks, list(block.focus.all())) == (dt.date(2026, 11, 2), 4, [skill])


def test_a_block_is_changed(cast, head, log_in):
    log_in(head).post(block_url("edit_block", cast), block_form(cast, first_day="2026-10-05", weeks=3))
    cast.block.refresh_from_db()
    assert (cast.block.name, cast.block.weeks) == ("November block", 3)


@pytest.mark.parametrize(
    ("fields", "field", "message"),
    [
        ({"first_day": "2026-10-12"}, "first_day", "This runs into “October block”"),
        ({"load_low": 800}, "load_high", "The most is below the least"),
        ({"name": "October block"}, "name", "This squad has a block of that name already"),
        ({"weeks": 53}, "weeks", "less than or equal to 52"),
        ({"first_day": "soon"}, "first_day", "Enter a valid date"),
    ],
    ids=["overlap", "band", "name", "weeks", "date"],
)
def test_a_block_that_will_not_do_is_refused_beside_the_field(cast, head, log_in, fields, field, message):
    answer = log_in(head).post(url("new_block"), block_form(cast, **fields))
    assert message in " ".join(answer.context["form"].errors[field])
    assert Block.objects.count() == 1


def test_a_skill_of_another_club_is_refused(cast, head, log_in):
    foreign = f.SkillFactory()
    answer = log_in(head).post(url("new_block"), block_form(cast, focus=[foreign.pk]))
    assert "focus" in answer.context["form"].errors


def test_the_page_of_a_block_tells_the_state_of_each_night(cast, head, log_in):
    add(cast, head)
    add(cast, head, night=1)
    add(cast, head, night=1, order=2, drill=1)
    lines = log_in(head).get(block_url("block", cast)).context["nights"]
    assert [(line.state, line.stations, line.expected) for line in lines] == [
        ("partly planned", 1, 8),
        ("planned", 2, 8),
        ("not planned", 0, 8),
        ("not planned", 0, 8),
    ]


def test_the_page_of_a_block_says_what_does_not_fit(cast, head, log_in):
    stand(cast.slot(), cast.drills[0], cast.players[:1])
    answer = log_in(head).get(block_url("block", cast))
    text = f"{cast.drills[0]} on Tue 6 Oct, slot 2 takes 2 to 16 players, but 1 stand there."
    assert [breach.text for breach in answer.context["overview"].breaches] == [text]
    assert "What does not fit" in page(answer)


def test_the_last_change_is_undone_by_its_button(cast, head, log_in):
    add(cast, head)
    client = log_in(head)
    client.post(block_url("undo_change", cast), {"change": PlanChange.objects.get().pk})
    assert not Station.objects.exists()


def test_an_undo_from_an_old_page_says_why_it_did_nothing(cast, head, log_in):
    add(cast, head)
    seen = PlanChange.objects.get().pk
    add(cast, head, night=1)
    answer = log_in(head).post(block_url("undo_change", cast), {"change": seen}, follow=True)
    assert "Somebody has made another change since" in page(answer)
    assert Station.objects.count() == 2


# Runs


def test_planning_a_block_starts_a_run_and_leads_to_its_page(cast, head, log_in):
    answer = log_in(head).post(block_url("plan_block", cast), {"seconds": 10})
    run = PlanRun.objects.get()
    assert (run.seconds, run.made_by, answer.headers["Location"]) == (10, head, url("run", run=run.pk))


def test_a_length_that_nobody_offers_is_refused(cast, head, log_in):
    log_in(head).post(block_url("plan_block", cast), {"seconds": 86400})
    assert not PlanRun.objects.exists()


def test_a_hopeless_run_is_refused_in_words_on_the_page_of_the_block(cast, head, log_in):
    cast.squad.players.all().delete()
    answer = log_in(head).post(block_url("plan_block", cast), {"seconds": 10}, follow=True)
    assert "Nobody of the squad can come to any night of this block." in page(answer)


def test_a_run_under_way_is_polled_and_reloads_itself_without_javascript(run, head, log_in):
    shown = page(log_in(head).get(url("run", run=run.pk)))
    assert f'hx-get="{url("run", run=run.pk)}" hx-trigger="every 1s"' in shown
    assert '<noscript><meta http-equiv="refresh" content="3"></noscript>' in shown


def test_the_fragment_of_a_run_under_way_goes_on_polling(run, head, log_in):
    answer = log_in(head).get(url("run", run=run.pk), headers={"HX-Request": "true"})
    assert (answer.status_code, page(answer).lstrip().startswith('<div id="run"')) == (200, True)


def test_polling_stops_when_the_run_is_over(finished, head, log_in):
    answer = log_in(head).get(url("run", run=finished.pk), headers={"HX-Request": "true"})
    assert answer.status_code == 286
    assert "every 1s" not in page(answer)


def test_progress_is_told_as_a_share_of_the_time(run, head, log_in):
    Job.objects.update(state=JobState.RUNNING, token=run.pk, beat=timezone.now(), progress={"fraction": 0.42})
    assert '<progress id="done" max="100" value="42">' in page(log_in(head).get(url("run", run=run.pk)))


def test_a_finished_run_shows_the_plan_beside_the_programme(finished, head, log_in):
    answer = log_in(head).get(url("run", run=finished.pk))
    lines = {line.label: line for line in answer.context["comparison"]}
    idle = lines["Standing without a station"]
    assert (idle.value, idle.other, idle.standing) == ("768 min", "0 min", "better")
    assert len(answer.context["changes"]) == 8
    assert "falling" in page(answer)


def test_wishes_that_nothing_can_serve_are_listed_with_the_reason(finished, cast, head, log_in):
    wish(cast.squad, "S03")
    client = log_in(head)
    whole, part = (client.get(url("unserved", run=finished.pk), headers=how) for how in ({}, {"HX-Request": "true"}))
    assert f"No drill trains S03 Front-on tackle for {cast.players[0]}." in page(whole)
    assert ("<html" in page(whole), "<html" in page(part)) == (True, False)


def test_a_run_without_a_plan_has_no_list_of_them(run, head, log_in):
    assert log_in(head).get(url("unserved", run=run.pk)).status_code == 404


def test_looking_at_a_run_changes_nothing(finished, head, log_in):
    log_in(head).get(url("run", run=finished.pk))
    assert not Station.objects.exists()


def accept(client, run, **how):
    """As the form of the run's page sends it."""
    seen = client.get(url("run", run=run.pk)).context["seen"]
    return client.post(url("accept_run", run=run.pk), {"seen": seen}, follow=True, **how)


def test_accepting_a_run_makes_it_the_programme(finished, head, log_in):
    answer = accept(log_in(head), finished)
    assert Station.objects.exists()
    assert "The plan is now the programme of “October block”." in page(answer)


def test_a_plan_that_no_longer_fits_is_not_offered_for_acceptance(finished, cast, head, log_in):
    cast.nights[0].slots.filter(order=2).delete()
    shown = page(log_in(head).get(url("run", run=finished.pk)))
    assert "The slots of Tue 6 Oct are no longer those that the run planned." in shown
    assert "Accept this plan" not in shown


def test_a_refused_acceptance_says_why(finished, cast, head, log_in):
    cast.nights[0].slots.filter(order=2).delete()
    answer = accept(log_in(head), finished)
    assert "its plan no longer fits" in page(answer)
    assert not Station.objects.exists()


def test_a_waiting_run_is_cancelled_at_once(run, head, log_in):
    answer = log_in(head).post(url("cancel_run", run=run.pk), follow=True)
    assert Job.objects.get().state == JobState.CANCELLED
    assert "Stopped before there was a plan." in page(answer)


def test_a_failed_run_says_why(run, head, log_in):
    Job.objects.update(state=JobState.FAILED, error="Two locks contradict each other.")
    assert "Two locks contradict each other." in page(log_in(head).get(url("run", run=run.pk)))


def test_a_run_of_another_club_does_not_exist(run, stranger, log_in):
    assert log_in(stranger).get(url("run", run=run.pk)).status_code == 404


# Minutes per group


def test_minutes_are_saved_for_each_group_and_skill(cast, head, log_in):
    skill = f.SkillFactory(club=cast.squad.club, code="I04")
    log_in(head).post(url("targets", squad="firsts"), {f"FR-{skill.pk}": 14, f"HB-{skill.pk}": 0})
    assert list(GroupTarget.objects.values_list("group", "skill__code", "minutes")) == [("FR", "I04", 14)]


def test_minutes_replace_those_that_stood(cast, head, log_in):
    wish(cast.squad)
    log_in(head).post(url("targets", squad="firsts"), {})
    assert not GroupTarget.objects.exists()


def test_minutes_that_will_not_do_are_refused_and_nothing_is_lost(cast, head, log_in):
    wish(cast.squad)
    skill = f.SkillFactory(club=cast.squad.club, code="I04")
    answer = log_in(head).post(url("targets", squad="firsts"), {f"FR-{skill.pk}": "many"})
    assert "Some minutes will not do" in page(answer)
    assert GroupTarget.objects.count() == 6


def test_the_usual_minutes_are_filled_in_but_not_saved(cast, head, log_in):
    """drills/data/targets.json: the front row gets 14 minutes of front-on tackling."""
    skill = f.SkillFactory(club=cast.squad.club, code="I04")
    answer = log_in(head).get(url("targets", squad="firsts") + "?usual=1")
    assert answer.context["form"][f"FR-{skill.pk}"].value() == 14
    assert not GroupTarget.objects.exists()


def test_the_starter_set_gives_every_group_two_hundred_and_forty_minutes():
    """Sixty defence minutes a week (a house figure) over four weeks."""
    table = json.loads((Path(site.BASE_DIR) / "drills/data/targets.json").read_text())
    assert {group: sum(row.values()) for group, row in table.items()} == dict.fromkeys(table, 240)
