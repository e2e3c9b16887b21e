"""Celery, configured here and nowhere else.

With REDIS_URL the messages go through Redis to any number of workers. Without it they are files under
VAR_DIR, for the one child worker that `manage.py serve` starts. Neither is trusted to keep a job: the Job
row is the queue of record (see shared/jobs.py), so a lost or doubled message does no harm.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shared.settings")

LONGEST_JOB = 3600  # seconds; beyond this a job is taken to hang
GRACE = 60  # seconds between telling a hanging job to stop and ending its process


def through_redis(url: str) -> dict[str, Any]:
    """A message comes back if its worker never acknowledged it.

    The time until then is longer than the longest job, since Redis would hand a running job's message to
    a second worker otherwise; by default kombu looks only every 100 seconds for messages to restore.
    """
    return {
        "broker_url": url,
        "broker_transport_options": {
            "visibility_timeout": LONGEST_JOB + 2 * GRACE,
            "unacked_restore_interval": 2,
            "unacked_restore_throttle": 1,
        },
    }


def through_files(folder: Path) -> dict[str, Any]:
    """Messages as files, looked for ten times a second by the one worker.

    It works in its own process. A pool's process that is killed while it waits takes the lock of the pool's
    pipe with it on this transport, and the worker never works again; a worker that is killed is started again.
    """
    folder.mkdir(parents=True, exist_ok=True)
    return {
        "broker_url": "filesystem://localhost",
        "broker_transport_options": {
            "data_folder_in": str(folder),
            "data_folder_out": str(folder),
            "control_folder": str(folder / "control"),
            "polling_interval": 0.1,
        },
        "worker_pool": "solo",
        "worker_enable_remote_control": False,
    }


def configuration() -> dict[str, Any]:
    from django.conf import settings  # at first use: importing this module must not need settings

    broker = through_redis(settings.REDIS_URL) if settings.REDIS_URL else through_files(settings.VAR_DIR / "queue")
    return broker | {
        "imports": ["shared.worker"],
        # No result store: what came of a job stands in its row.
        "task_ignore_result": True,
        # A message counts as dealt with when the task has ended, not when it starts.
        "task_acks_late": True,
        "task_reject_on_worker_lost": True,
        "task_soft_time_limit": LONGEST_JOB,
        "task_time_limit": LONGEST_JOB + GRACE,
        # A waiting message stays where another worker can take it.
        "worker_prefetch_multiplier": 1,
        "worker_hijack_root_logger": False,
        "broker_connection_retry_on_startup": True,
        # A page that asks for a job must not hang when the broker is away: the reaper sends it later.
        "broker_connection_timeout": 2,
        "task_publish_retry_policy": {"max_retries": 1, "interval_start": 0.1},
        "timezone": settings.TIME_ZONE,
    }


app = Celery("plumbline")
app.add_defaults(configuration)
app.autodiscover_tasks()
