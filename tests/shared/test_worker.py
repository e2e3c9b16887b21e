"""What a worker does beside its tasks."""

from __future__ import annotations

import subprocess
import sys

import pytest
from django.conf import settings

from shared import jobs, worker

# In a process of its own: a test run with its threads and connections is no place to fork.
FORK_IN_THE_MIDDLE_OF_A_ROUND = """
import os, threading, time
import django; django.setup()
from shared import worker

inside, busy = threading.Event(), False

def a_long_round(**how):
    global busy
    busy = True
    inside.set()
    time.sleep(0.5)
    busy = False

worker.jobs.reap = a_long_round
worker.forbid_forks_in_a_round()
threading.Thread(target=worker.reap_once).start()
inside.wait()
child = os.fork()
if child == 0:
    os._exit(busy or worker.in_a_round.locked())
print("forked in a round" if os.waitpid(child, 0)[1] else "forked after the round", worker.in_a_round.locked())
"""


def test_the_pool_forks_only_between_two_rounds_of_the_reaper():
    command = [sys.executable, "-W", "ignore", "-c", FORK_IN_THE_MIDDLE_OF_A_ROUND]
    done = subprocess.run(command, cwd=settings.BASE_DIR, capture_output=True, text=True)
    assert done.stdout == "forked after the round False\n", done.stderr


@pytest.mark.django_db(transaction=True)
def test_a_round_that_fails_is_logged_and_the_next_one_works(monkeypatch, caplog):
    reap = jobs.reap

    def fail(**how):
        raise ConnectionError("no broker")

    monkeypatch.setattr(jobs, "reap", fail)
    worker.reap_once()
    assert "no broker" in caplog.text
    monkeypatch.setattr(jobs, "reap", reap)
    worker.reap_once()
    assert not worker.in_a_round.locked()


def test_a_worker_whose_broker_comes_back_starts_no_second_reaper(monkeypatch):
    started = []
    monkeypatch.setattr(worker, "forbid_forks_in_a_round", lambda: started.append("rule"))
    monkeypatch.setattr(worker.threading, "Thread", lambda **how: Started(started))
    worker.start_watching.cache_clear()
    worker.on_ready()
    worker.on_ready()
    worker.start_watching.cache_clear()
    assert started == ["rule", "thread"]


class Started:
    """A thread that only says that it was started."""

    def __init__(self, started: list[str]) -> None:
        self.started = started

    def start(self) -> None:
        self.started.append("thread")
