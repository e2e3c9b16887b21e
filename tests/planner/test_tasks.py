"""A run of the planner as a background job: what its rows say while it works and in the end."""

from __future__ import annotations

import subprocess
import sys

import pytest
from django.conf import settings

from planner import actions, tasks
from planner.core.check import breaches, cost
from planner.core.kernels import warm_up
from planner.core.problem import Plan, Problem
from planner.models import PlanRun
from shared import closing, jobs
from shared.models import Job, JobState
from tests.planner.block_cast import BEFORE, small_block, wish


@pytest.fixture
def run(squad, head):
    cast = small_block(squad)
    wish(squad)
    return actions.start_run(block=cast.block, seconds=1, by=head, today=BEFORE)


def work(run: PlanRun) -> PlanRun:
    assert tasks.run_plan(str(run.job.pk)) == "worked"
    return PlanRun.objects.select_related("job").get(pk=run.pk)


def plan_of(run: PlanRun) -> tuple[Problem, Plan]:
    problem = Problem.from_json(run.problem)
    return problem, Plan.from_json(run.plan, problem)


def test_a_run_ends_with_a_plan_that_keeps_every_rule(run):
    run = work(run)
    problem, plan = plan_of(run)
    assert run.job.state == JobState.DONE
    assert plan.stations
    assert breaches(problem, plan.stations) == []
    assert run.cost["cost"] == pytest.approx(cost(problem, plan.stations).total, abs=0.01)
    assert run.bound <= run.cost["cost"]


def test_a_run_says_how_far_it_is(run):
    told = work(run).job.progress
    assert sorted(told) == ["bound", "cost", "fraction", "seconds"]
    assert 0 < told["fraction"] <= 1


def test_the_line_of_a_run_falls_and_its_time_rises(run):
    trace = work(run).trace
    times, costs = [point[0] for point in trace], [point[1] for point in trace]
    assert times == sorted(times)
    assert costs == sorted(costs, reverse=True)


def test_a_cancelled_run_stops_early_and_keeps_its_best_plan(run, monkeypatch):
    warm_up()  # as a worker does: the time is that of the search, not of the compiler
    monkeypatch.setattr("planner.core.solve.Board.is_proven", False)  # or so small a problem is done at once
    PlanRun.objects.filter(pk=run.pk).update(seconds=600)
    cancel_after_the_first_beat(run, monkeypatch)
    run = work(run)
    problem, plan = plan_of(run)
    assert run.job.state == JobState.CANCELLED
    assert breaches(problem, plan.stations) == []
    assert plan.seconds < 30


def cancel_after_the_first_beat(run, monkeypatch):
    """As a second person would, at a moment of the test's choice."""
    beat = jobs.Lease.beat

    def beat_then_cancel(lease, progress=None):
        goes_on = beat(lease, progress)
        jobs.cancel(run.job)
        return goes_on

    monkeypatch.setattr(jobs.Lease, "beat", beat_then_cancel)


def test_a_run_on_a_closing_worker_is_given_back_and_loses_no_plan(run, monkeypatch):
    monkeypatch.setattr(closing, "asked", iter([False, *[True] * 1000]).__next__)
    run = work(run)
    assert (run.job.state, run.job.attempts) == (JobState.QUEUED, 0)
    assert run.plan


def test_a_run_taken_up_again_never_keeps_a_worse_plan(run):
    first = work(run)
    Job.objects.filter(pk=run.job.pk).update(state=JobState.QUEUED)
    PlanRun.objects.filter(pk=run.pk).update(plan=first.plan | {"cost": -1.0})
    assert work(run).plan == first.plan | {"cost": -1.0}


def test_a_worker_that_lost_its_run_writes_nothing(run, settings):
    lease = jobs.claim(run.job.pk)
    reporter = tasks.Reporter(lease, run)
    Job.objects.filter(pk=run.job.pk).update(state=JobState.QUEUED, token=None)
    assert jobs.claim(run.job.pk)
    reporter.keep((), 0.0, 0.0, 1.0)
    assert PlanRun.objects.get(pk=run.pk).plan is None


def test_a_lock_that_cannot_hold_fails_the_run_in_the_words_of_the_coach(run):
    problem = run.problem
    night, drill = problem["sessions"][0]["id"], problem["drills"][0]["id"]
    nobody = {player["id"]: {night: "absent"} for player in problem["players"]}
    lock = {"session": night, "slot": 0, "drill": drill, "players": []}
    PlanRun.objects.filter(pk=run.pk).update(problem=problem | {"ceilings": nobody, "locks": [lock]})
    run = work(run)
    assert run.job.state == JobState.FAILED
    assert run.job.error == run.clash["text"]
    assert " Rope on " in run.clash["text"]
    assert "absent" in run.clash["text"]
    assert run.clash["locks"][0]["drill"] == drill
    assert run.plan is None


def test_a_worker_compiles_all_that_a_run_needs_before_its_first_one():
    """In a process of its own: what other tests have compiled here must not count."""
    command = [sys.executable, "-m", "tests.planner.compile_then_run"]
    done = subprocess.run(command, cwd=settings.BASE_DIR, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "nothing more compiled"


def test_the_message_of_a_run_names_a_task_that_workers_know(run):
    assert run.job.task in jobs.app.tasks
