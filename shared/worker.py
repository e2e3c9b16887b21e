"""What a worker process does beside its tasks: it reaps, it warns its children, and it ends with its server."""

from __future__ import annotations

import functools
import logging
import os
import signal
import threading
import time
from typing import Any

from celery.signals import worker_ready, worker_shutting_down
from django.conf import settings
from django.db import connections

from shared import closing, jobs

log = logging.getLogger(__name__)
SERVER = "PLUMBLINE_SERVER"  # process id of the server whose child this worker is
in_a_round = threading.Lock()
PATIENCE = 10  # seconds to end in good order once the server is gone


@worker_shutting_down.connect
def warn_children(**kwargs: Any) -> None:
    closing.ask()


@worker_ready.connect
def on_ready(**kwargs: Any) -> None:
    start_watching()


@functools.cache
def start_watching() -> None:
    """Once for each worker, which is told that it is ready again whenever its broker comes back."""
    forbid_forks_in_a_round()
    threading.Thread(target=keep_reaping, name="reaper", daemon=True).start()
    if SERVER in os.environ:
        threading.Thread(target=end_with, args=[int(os.environ[SERVER])], name="server watch", daemon=True).start()


def forbid_forks_in_a_round() -> None:
    """Let the pool replace a dead process only between two rounds of the reaper.

    A child forked while this process has an SQLite file open believes for ever that it holds the locks
    that only its parent holds, and finds the database locked by itself.
    """
    os.register_at_fork(
        before=in_a_round.acquire, after_in_parent=in_a_round.release, after_in_child=in_a_round.release
    )


def keep_reaping() -> None:
    """Every message may have been lost with the last worker, so the first round sends all that waits."""
    reap_once(resend_after=0)
    while True:
        time.sleep(settings.JOB_LEASE_SECONDS / 3)
        if closing.asked():
            return
        reap_once()


def reap_once(**how: float) -> None:
    """One round. No connection stays open after it, since the pool forks from this process."""
    with in_a_round:
        try:
            jobs.reap(**how)
        except Exception:
            log.exception("the reaper could not do its round and tries again")
        finally:
            connections.close_all()


def end_with(server: int) -> None:
    """End this worker when its server is gone, even one that was killed and could not say so."""
    while os.getppid() == server:
        time.sleep(0.5)
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(PATIENCE)
    if os.getpgrp() == os.getpid():
        os.killpg(0, signal.SIGKILL)
    os._exit(1)
