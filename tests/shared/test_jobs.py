"""The queue of record: who may write a job's row, and what it says in the end."""

from __future__ import annotations

import datetime as dt
import threading
import time
import uuid

import pytest
from celery.exceptions import SoftTimeLimitExceeded
from django.db import IntegrityError, connections, transaction
from django.utils import timezone

from shared import closing, jobs
from shared.models import Job, JobState

TASK = "tests.shared.worksite.tasks.dig"


@pytest.fixture
def sent(monkeypatch):
    """Ids of the jobs whose message left, in place of a broker."""
    ids: list[uuid.UUID] = []
    monkeypatch.setattr(jobs.app, "send_task", lambda task, args: ids.append(uuid.UUID(args[0])))
    return ids


@pytest.fixture
def job(club, head, sent):
    return jobs.ask(TASK, club=club, by=head, steps=3)


def age(job: Job, seconds: float) -> None:
    """Let the last sign of life be that long ago."""
    Job.objects.filter(pk=job.pk).update(beat=timezone.now() - dt.timedelta(seconds=seconds))


def now(job: Job) -> Job:
    job.refresh_from_db()
    return job


def do(job: Job, work) -> Job:
    """Run a work on the job as a task would."""
    jobs.perform(work, jobs.claim(job.pk))
    return now(job)


def test_a_job_is_told_to_the_workers_only_after_commit(club, head, sent, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        job = jobs.ask(TASK, club=club, by=head, steps=3)
        assert sent == []
    assert sent == [job.pk]
    assert now(job).sent_at is not None


@pytest.mark.django_db(transaction=True)
def test_the_message_in_the_broker_names_the_task_and_the_job_and_nothing_more(club, head):
    jobs.app.control.purge()
    job = jobs.ask(TASK, club=club, by=head, diary="private", steps=3)
    with jobs.app.connection_for_read() as connection, connection.SimpleQueue("celery") as queue:
        message = queue.get(timeout=5)
        message.ack()
    assert message.headers["task"] == TASK
    assert message.payload[:2] == [[str(job.pk)], {}]


def test_a_broker_that_is_away_leaves_the_job_waiting(
    club, head, monkeypatch, django_capture_on_commit_callbacks, caplog
):
    def away(task, args):
        raise ConnectionError("nobody listens")

    monkeypatch.setattr(jobs.app, "send_task", away)
    with django_capture_on_commit_callbacks(execute=True):
        job = jobs.ask(TASK, club=club, by=head, steps=3)
    assert (now(job).state, job.sent_at) == (JobState.QUEUED, None)
    assert "nobody listens" in caplog.text


def test_a_claimed_job_runs_under_the_token_of_its_lease(job):
    lease = jobs.claim(job.pk)
    assert lease.args == {"steps": 3}
    assert (now(job).state, job.token, job.attempts) == (JobState.RUNNING, lease.token, 1)
    assert job.started_at is not None


def test_a_running_job_cannot_be_claimed_again(job):
    jobs.claim(job.pk)
    assert jobs.claim(job.pk) is None


def test_a_job_that_does_not_exist_cannot_be_claimed(db):
    assert jobs.claim(uuid.uuid4()) is None


@pytest.mark.parametrize("state", [JobState.DONE, JobState.FAILED, JobState.CANCELLED])
def test_a_job_that_is_over_cannot_be_claimed(job, state):
    Job.objects.filter(pk=job.pk).update(state=state)
    assert jobs.claim(job.pk) is None


def test_a_job_without_a_sign_of_life_is_claimed_by_another_and_the_first_has_lost_it(job, settings):
    first = jobs.claim(job.pk)
    age(job, settings.JOB_LEASE_SECONDS + 1)
    second = jobs.claim(job.pk)
    assert second.token != first.token
    assert not first.beat({"step": 9})
    assert not first.done()
    assert not first.failed("never")
    assert (now(job).state, job.progress, job.token) == (JobState.RUNNING, {}, second.token)


def test_a_job_within_its_lease_is_left_alone(job, settings):
    jobs.claim(job.pk)
    age(job, settings.JOB_LEASE_SECONDS - 2)
    assert jobs.claim(job.pk) is None


def test_a_job_is_not_claimed_more_often_than_allowed(job, settings):
    for _ in range(Job.MOST_ATTEMPTS):
        assert jobs.claim(job.pk)
        age(job, settings.JOB_LEASE_SECONDS + 1)
    assert jobs.claim(job.pk) is None


def race(job: Job, rivals: int) -> list:
    """So many claims at the same time, each on a connection of its own."""
    gate, won = threading.Barrier(rivals), []

    def claim():
        try:
            gate.wait()
            won.append(jobs.claim(job.pk))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=claim) for _ in range(rivals)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [lease for lease in won if lease]


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("abandoned", [False, True])
def test_of_many_claims_at_once_one_wins(job, settings, abandoned):
    if abandoned:
        jobs.claim(job.pk)
        age(job, settings.JOB_LEASE_SECONDS + 1)
    winners = race(job, rivals=8)
    assert [lease.token for lease in winners] == [now(job).token]
    assert job.attempts == 1 + abandoned


def test_a_beat_writes_progress_and_moves_the_lease_on(job, settings):
    lease = jobs.claim(job.pk)
    age(job, settings.JOB_LEASE_SECONDS - 1)
    before = now(job).beat
    assert lease.beat({"step": 1})
    assert now(job).progress == {"step": 1}
    assert job.beat > before


def test_a_beat_without_news_keeps_the_progress(job):
    lease = jobs.claim(job.pk)
    lease.beat({"step": 1})
    assert lease.beat()
    assert now(job).progress == {"step": 1}


@pytest.mark.django_db(transaction=True)
def test_a_lease_is_kept_while_the_work_is_silent(job, settings):
    settings.JOB_LEASE_SECONDS = 0.3
    lease = jobs.claim(job.pk)
    age(job, seconds=60)
    end = time.monotonic() + 10
    with lease.kept():
        while Job.objects.abandoned().exists():
            assert time.monotonic() < end
            time.sleep(0.02)
    assert now(job).token == lease.token


def test_work_that_returns_is_done(job):
    assert do(job, lambda lease: lease.beat({"step": 3})).state == JobState.DONE
    assert job.progress == {"step": 3}
    assert job.ended_at is not None


def test_cancelling_a_waiting_job_ends_it_at_once(job):
    jobs.cancel(job)
    assert (now(job).state, job.ended_at is None) == (JobState.CANCELLED, False)
    assert jobs.claim(job.pk) is None


def test_cancelling_a_running_job_asks_it_to_stop_and_keeps_its_progress(job):
    def work(lease):
        assert lease.beat({"step": 1})
        jobs.cancel(job)
        assert now(job).state == JobState.RUNNING
        assert not lease.beat({"step": 2})

    assert do(job, work).state == JobState.CANCELLED
    assert job.progress == {"step": 1}


def test_cancelling_a_job_that_is_done_changes_nothing(job):
    do(job, lambda lease: None)
    jobs.cancel(job)
    assert (now(job).state, job.cancel_asked) == (JobState.DONE, False)


def test_a_job_done_before_it_saw_that_it_was_cancelled_is_done(job):
    assert do(job, lambda lease: jobs.cancel(job)).state == JobState.DONE


def test_a_closing_worker_gives_its_job_back_as_not_tried(job, monkeypatch):
    monkeypatch.setattr(closing, "_word", bytearray(b"\1"))
    assert do(job, lambda lease: lease.beat()).state == JobState.QUEUED
    assert (job.attempts, job.token, job.sent_at) == (0, None, None)


def test_a_closing_worker_takes_up_nothing(job, monkeypatch):
    task = jobs.job_task(work_that_is_never_reached)
    monkeypatch.setattr(closing, "_word", bytearray(b"\1"))
    assert task(str(job.pk)) == "not to be had"
    assert now(job).attempts == 0


def work_that_is_never_reached(lease):
    raise AssertionError


def test_a_task_claims_works_and_records(job, tmp_path):
    from tests.shared.worksite.tasks import dig

    diary = tmp_path / "diary"
    Job.objects.filter(pk=job.pk).update(args={"diary": str(diary), "steps": 2, "pause": 0})
    assert dig(str(job.pk)) == "worked"
    assert dig(str(job.pk)) == "not to be had"
    assert [line.split()[0] for line in diary.read_text().splitlines()] == ["begin", "finish"]
    assert now(job).state == JobState.DONE


def test_a_refusal_reaches_the_person_in_its_own_words(job):
    def work(lease):
        raise jobs.JobRefused("Nobody can stand at the maul on 6 October.")

    assert do(job, work).state == JobState.FAILED
    assert job.error == "Nobody can stand at the maul on 6 October."


def test_a_fault_of_ours_becomes_a_sentence_with_a_number_and_the_reason_stays_in_the_log(job, caplog):
    def work(lease):
        raise KeyError("secret detail")

    assert do(job, work).state == JobState.FAILED
    assert str(job.pk)[:8] in job.error
    assert "secret detail" not in job.error
    assert "secret detail" in caplog.text
    assert str(job.pk) in caplog.text


def test_a_job_that_hangs_is_stopped_and_says_so(job):
    def work(lease):
        raise SoftTimeLimitExceeded

    assert do(job, work).state == JobState.FAILED
    assert "longer than an hour" in job.error


@pytest.mark.django_db(transaction=True)
def test_a_job_that_heeds_no_time_limit_is_failed_and_its_process_ended(job, settings, monkeypatch):
    ended = threading.Event()
    settings.JOB_LEASE_SECONDS = 0.3
    monkeypatch.setattr(jobs, "LONGEST_JOB", -jobs.GRACE)
    monkeypatch.setattr(jobs.os, "_exit", lambda code: ended.set())
    with jobs.claim(job.pk).kept():
        assert ended.wait(10)
    assert (now(job).state, job.error) == (JobState.FAILED, jobs.too_long())


def test_a_fault_rolls_back_what_the_verb_had_half_written(job, club):
    def work(lease):
        with transaction.atomic():
            club.name = "Half written"
            club.save()
            raise ValueError

    do(job, work)
    club.refresh_from_db()
    assert club.name == "Brackenford RFC"


def test_the_reaper_sends_a_waiting_job_whose_message_was_lost_once(job, sent):
    jobs.reap()
    jobs.reap()
    assert sent == [job.pk]


def test_the_reaper_of_a_new_worker_sends_all_that_waits(job, sent):
    jobs.send(job)
    jobs.reap()
    assert sent == [job.pk]
    jobs.reap(resend_after=0)
    assert sent == [job.pk, job.pk]


def test_the_reaper_queues_an_abandoned_job_and_sends_it_once(job, sent, settings):
    jobs.claim(job.pk)
    age(job, settings.JOB_LEASE_SECONDS + 1)
    jobs.reap()
    jobs.reap()
    assert (now(job).state, job.token, job.attempts) == (JobState.QUEUED, None, 1)
    assert sent == [job.pk]


def test_the_reaper_leaves_a_job_that_shows_signs_of_life(job, sent):
    jobs.claim(job.pk)
    jobs.reap()
    assert now(job).state == JobState.RUNNING
    assert sent == []


def test_the_reaper_fails_an_abandoned_job_after_its_last_attempt_in_words(job, sent, settings):
    for _ in range(Job.MOST_ATTEMPTS):
        jobs.claim(job.pk)
        age(job, settings.JOB_LEASE_SECONDS + 1)
    jobs.reap()
    assert now(job).state == JobState.FAILED
    assert "more than once" in job.error
    assert sent == []


def test_the_reaper_ends_an_abandoned_job_that_was_cancelled(job, sent, settings):
    jobs.claim(job.pk)
    jobs.cancel(job)
    age(job, settings.JOB_LEASE_SECONDS + 1)
    jobs.reap()
    assert now(job).state == JobState.CANCELLED
    assert sent == []


def test_the_database_refuses_a_running_job_without_an_owner(job):
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(state=JobState.RUNNING)
    assert Job.objects.filter(pk=job.pk).update(state=JobState.RUNNING, token=uuid.uuid4(), beat=timezone.now()) == 1


def test_the_database_refuses_a_state_that_is_none(job):
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(state="asleep")
    assert Job.objects.filter(pk=job.pk).update(state=JobState.CANCELLED) == 1


def test_jobs_of_a_club_are_its_own(job, stranger):
    assert list(Job.objects.of(job.club)) == [job]
    assert list(Job.objects.of(stranger.clubs.get())) == []
