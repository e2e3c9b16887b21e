"""Steps that leave a line each in a file, so that a test can count who did what how often."""

from __future__ import annotations

import os
import time
from pathlib import Path

from celery.signals import worker_init

from planner.tasks import compile_kernels
from shared.jobs import Lease, job_task

worker_init.disconnect(compile_kernels)  # seconds of every worker that a test starts, and no concern of these tests


@job_task
def dig(lease: Lease) -> None:
    """`args`: `diary`, a file; `steps`, how many; `pause`, seconds each."""
    write(lease, "begin")
    for step in range(lease.args["steps"]):
        time.sleep(lease.args["pause"])
        if not lease.beat({"step": step + 1}):
            write(lease, "stop")
            return
    write(lease, "finish")


def write(lease: Lease, word: str) -> None:
    with Path(lease.args["diary"]).open("a") as diary:
        diary.write(f"{word} {os.getpid()}\n")
