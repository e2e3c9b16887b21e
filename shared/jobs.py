"""Background jobs. The Job row is the queue of record; a message only says that there may be something to do.

A verb calls `ask`, a worker's task calls `claim`, and whoever holds the lease may write the row:

    queued -> running -> done | failed | cancelled
       ^         |
       +---------+   the worker closed, or showed no sign of life: taken up again, at most MOST_ATTEMPTS times
"""

from __future__ import annotations

import functools
import logging
import os
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import DatabaseError, close_old_connections, connections, transaction
from django.db.models import Case, F, Value, When
from django.db.models.functions import Coalesce, Now
from django.utils.translation import gettext as _

from shared import closing
from shared.celery import GRACE, LONGEST_JOB, app
from shared.models import Club, Job, JobQuerySet, JobState, User

log = logging.getLogger(__name__)
RESEND_AFTER = 60  # seconds that a waiting job's message may take before it is sent again


class JobRefused(Exception):
    """The work cannot be done, for a reason that the person who asked can read and mend."""


def ask(task: str, *, club: Club, by: User, **args: Any) -> Job:
    """Queue the task of that dotted name; its message leaves when the surrounding transaction is committed."""
    job = Job.objects.create(club=club, task=task, args=args, asked_by=by)
    transaction.on_commit(lambda: send(job), robust=True)
    return job


def send(job: Job) -> None:
    """Tell the workers of a job. If the broker is away, the reaper tells them later."""
    app.send_task(job.task, args=[str(job.pk)])
    Job.objects.filter(pk=job.pk).update(sent_at=Now())


def cancel(job: Job) -> None:
    """A waiting job ends at once; a running one is asked to stop and keeps its best so far."""
    waiting = When(state=JobState.QUEUED, then=Value(JobState.CANCELLED))
    Job.objects.filter(pk=job.pk, state__in=[JobState.QUEUED, JobState.RUNNING]).update(
        cancel_asked=True,
        ended_at=Case(When(state=JobState.QUEUED, then=Now())),
        state=Case(waiting, default=F("state")),
    )


def claim(job_id: uuid.UUID | str) -> Lease | None:
    """Take up a job, by one UPDATE that only one of any number of workers can win. None: not to be had."""
    token = uuid.uuid4()
    won = (
        Job.objects.free()
        .filter(pk=job_id)
        .update(
            state=JobState.RUNNING,
            token=token,
            beat=Now(),
            attempts=F("attempts") + 1,
            started_at=Coalesce("started_at", Now()),
        )
    )
    return Lease(Job.objects.select_related("club", "asked_by").get(pk=job_id), token) if won else None


@dataclass
class Lease:
    """The right to work on a job and to write its row, as long as the token stands there."""

    job: Job
    token: uuid.UUID
    stopped: bool = field(default=False, init=False)

    @property
    def args(self) -> dict[str, Any]:
        return self.job.args

    def beat(self, progress: dict[str, Any] | None = None) -> bool:
        """Say how far the work is. False: stop now, since the job was cancelled or lost, or the worker closes."""
        news = {} if progress is None else {"progress": progress}
        written = self._mine().filter(cancel_asked=False).update(beat=Now(), **news)
        self.stopped = self.stopped or not written or closing.asked()
        return not self.stopped

    def holds(self) -> bool:
        """Is the job still this worker's? False after another has taken it up."""
        return self._mine().exists()

    def done(self) -> bool:
        return self._end(JobState.DONE)

    def failed(self, words: str) -> bool:
        return self._end(JobState.FAILED, error=words)

    def cancelled(self) -> bool:
        return self._end(JobState.CANCELLED)

    def give_back(self) -> bool:
        """The worker closes before the work is done: it counts as not tried."""
        return bool(self._mine().update(state=JobState.QUEUED, token=None, sent_at=None, attempts=F("attempts") - 1))

    def settle(self) -> None:
        """Record what a work that has returned came to."""
        if not self.stopped:
            self.done()
        elif Job.objects.filter(pk=self.job.pk, cancel_asked=True).exists():
            self.cancelled()
        else:
            self.give_back()

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Show signs of life from a second thread, however long the work is silent."""
        over = threading.Event()
        heart = threading.Thread(target=self._keep, args=[over], name="lease", daemon=True)
        heart.start()
        try:
            yield
        finally:
            over.set()
            heart.join()

    def _keep(self, over: threading.Event) -> None:
        end = time.monotonic() + LONGEST_JOB + GRACE
        while not over.wait(settings.JOB_LEASE_SECONDS / 3):
            if time.monotonic() > end:
                self._abort()
            try:
                self._mine().update(beat=Now())
            except DatabaseError:
                log.exception("%s: a sign of life was not written", self.job)
                close_old_connections()
        connections.close_all()

    def _abort(self) -> None:
        """The work hangs and heeds no time limit, as in a worker without a pool: end the process, which is replaced."""
        log.error("%s took too long and its process is ended", self.job)
        self.failed(too_long())
        os._exit(1)

    def _mine(self) -> JobQuerySet:
        return Job.objects.filter(pk=self.job.pk, token=self.token, state=JobState.RUNNING)

    def _end(self, state: JobState, error: str = "") -> bool:
        return bool(self._mine().update(state=state, error=error, ended_at=Now()))


def job_task(work: Callable[[Lease], None]) -> Callable[[str], str]:
    """Make a task of a function that takes a lease: claim, work, record what came of it."""

    @app.task(name=f"{work.__module__}.{work.__name__}")
    @functools.wraps(work)
    def leaf(job_id: str) -> str:
        lease = None if closing.asked() else claim(job_id)
        if lease is None:
            return "not to be had"
        perform(work, lease)
        return "worked"

    return leaf


def perform(work: Callable[[Lease], None], lease: Lease) -> None:
    """Run the work under its lease. Whatever goes wrong ends as a sentence in the row; the rest is in the log."""
    try:
        with lease.kept():
            work(lease)
    except JobRefused as reason:
        lease.failed(str(reason))
    except SoftTimeLimitExceeded:
        log.warning("%s took too long", lease.job)
        lease.failed(too_long())
    except Exception:
        log.exception("%s (job %s) failed", lease.job, lease.job.pk)
        lease.failed(broken(lease.job))
    else:
        lease.settle()


def broken(job: Job) -> str:
    return _(
        "This went wrong inside Plumbline. Try once more; if it fails again, "
        "show the person who runs this site the number %(number)s: it stands beside the reason in the log."
    ) % {"number": str(job.pk)[:8]}


def too_long() -> str:
    return _("This took longer than an hour and was stopped. Ask for less at once.")


def worn_out() -> str:
    return _(
        "The worker that ran this ended in the middle of it, more than once, so it is not tried again. "
        "The machine may have too little memory: ask for a shorter stretch, or ask the person who runs this site."
    )


def reap(resend_after: float = RESEND_AFTER) -> None:
    """Put in order what dead workers and lost messages left behind. Harmless to run at any time, in any number."""
    abandoned = Job.objects.abandoned()
    abandoned.filter(cancel_asked=True).update(state=JobState.CANCELLED, ended_at=Now())
    tried = {"attempts__gte": Job.MOST_ATTEMPTS}
    abandoned.filter(**tried).update(state=JobState.FAILED, error=worn_out(), ended_at=Now())
    abandoned.exclude(**tried).update(state=JobState.QUEUED, token=None, sent_at=None)
    waiting = Job.objects.unsent_for(resend_after)
    for job in waiting.all():
        # Of several reapers the one whose UPDATE comes first sends.
        if waiting.filter(pk=job.pk).update(sent_at=Now()):
            send(job)
