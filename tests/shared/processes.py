"""Real process trees for tests: a site or a worker, started in a folder of its own and killed at will."""

from __future__ import annotations

import atexit
import contextlib
import functools
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

from django.conf import settings

from tests.conftest import free_port, wait_for_port

LEASE = 2  # seconds
COLD = 180  # seconds that the first start of a worker may take: it compiles


class Installation:
    """A database, a queue and a diary of their own; `start` and `worker` run processes on them."""

    def __init__(self, folder: Path, *, database_url: str = "", redis_url: str = ""):
        self.diary = folder / "diary"
        self.diary.touch()
        self.started: list[subprocess.Popen] = []
        self.port = free_port()
        self.env = os.environ | {
            "VAR_DIR": str(folder / "var"),
            "DATABASE_URL": database_url,
            "REDIS_URL": redis_url,
            "JOB_LEASE_SECONDS": str(LEASE),
            "DJANGO_SETTINGS_MODULE": "tests.shared.worksite.settings",
        }
        if database_url:
            self.manage("migrate", "-v0")
        else:
            shutil.copytree(migrated(), folder / "var")

    def manage(self, *words: str) -> str:
        return manage(self.env, *words)

    def start(self, *command: str) -> subprocess.Popen:
        process = subprocess.Popen(
            [sys.executable, *command],
            cwd=settings.BASE_DIR,
            env=self.env,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
        )
        self.started.append(process)
        return process

    def serve(self) -> subprocess.Popen:
        site = self.start("manage.py", "serve", "--port", str(self.port))
        wait_for_port(self.port)
        return site

    def worker(self) -> subprocess.Popen:
        return self.start("-m", "celery", "--quiet", "-A", "shared", "worker", "--concurrency=1", "--loglevel=WARNING")

    def ask(self, *, steps: int, pause: float = 0.1) -> str:
        return self.manage("job", "new", str(self.diary), str(steps), str(pause))

    def wait(self, job: str, state: str) -> dict:
        return json.loads(self.manage("job", "wait", job, state, str(COLD)))

    def words(self) -> list[str]:
        """What the diary says, without who wrote it."""
        return [line.split()[0] for line in self.diary.read_text().splitlines()]

    def await_word(self, word: str, times: int = 1, seconds: float = COLD) -> None:
        end = time.monotonic() + seconds
        while self.words().count(word) < times:
            assert time.monotonic() < end, f"no {word} in {self.words()}"
            time.sleep(0.05)

    def sweep(self) -> None:
        """After a test: nothing of ours stays, whatever went wrong."""
        for process in self.started:
            for pid in [*tree(process.pid), process.pid]:
                kill(pid)
            process.wait()


def manage(env: Mapping[str, str], *words: str) -> str:
    """What a command says; it must end well."""
    command = [sys.executable, "manage.py", *words]
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=env, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@functools.cache
def migrated() -> Path:
    """A folder with an empty SQLite database, made once for all tests and copied for each."""
    folder = Path(tempfile.mkdtemp(prefix="plumbline-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    manage(os.environ | {"VAR_DIR": str(folder), "DATABASE_URL": ""}, "migrate", "-v0")
    return folder


def tree(pid: int) -> list[int]:
    """Process ids of everything below a process."""
    listing = subprocess.run(["ps", "-eo", "pid=,ppid="], capture_output=True, text=True, check=True).stdout
    children: dict[int, list[int]] = {}
    for child, parent in (map(int, line.split()) for line in listing.splitlines()):
        children.setdefault(parent, []).append(child)
    found = list(children.get(pid, []))
    for child in found:
        found.extend(children.get(child, []))
    return found


def kill(pid: int) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


def gone(pids: list[int], seconds: float) -> bool:
    """Have all of these ended, within that time?"""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if not any(alive(pid) for pid in pids):
            return True
        time.sleep(0.1)
    return False


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False
