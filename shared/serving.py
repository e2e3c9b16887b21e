"""The one-command start: a web server and, without Redis, one child worker. They end together."""

from __future__ import annotations

import contextlib
import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator

import waitress
from django.conf import settings

from shared.worker import SERVER
from shared.wsgi import application

log = logging.getLogger(__name__)
PATIENCE = 10  # seconds for the worker to end in good order


class PortTaken(Exception):
    """Another program listens there already."""


def serve(*, host: str, port: int, threads: int, say: Callable[[str], object] = print) -> None:
    """Serve the site until Ctrl-C or SIGTERM. Raises PortTaken before anything is started."""
    with stopped_by_signals() as stop:
        server = open_server(host, port, threads)
        say(f"Plumbline is at http://{host}:{port}/ (Ctrl-C ends it).")
        if settings.REDIS_URL:
            say("Jobs wait for workers on REDIS_URL. Start one with: celery -A shared worker")
        with own_worker():
            with contextlib.suppress(KeyboardInterrupt):
                stop.may_interrupt()
                server.run()  # returns at Ctrl-C
            say("Plumbline ends. Unfinished jobs go on at the next start.")
        server.close()


def open_server(host: str, port: int, threads: int) -> waitress.server.BaseWSGIServer:
    try:
        return waitress.create_server(application, host=host, port=port, threads=threads, ident="")
    except OSError as problem:
        raise PortTaken(problem.strerror or str(problem)) from problem


class Stop:
    """What a signal does: nothing yet while the site starts, a KeyboardInterrupt once it runs, nothing from then on."""

    def __init__(self) -> None:
        self.asked = self.interrupts = False

    def __call__(self, *_: object) -> None:
        if not self.asked:
            self.asked = True
            self._interrupt()

    def may_interrupt(self) -> None:
        self.interrupts = True
        self._interrupt()

    def _interrupt(self) -> None:
        if self.asked and self.interrupts:
            raise KeyboardInterrupt


@contextlib.contextmanager
def stopped_by_signals() -> Iterator[Stop]:
    """SIGTERM ends the site as Ctrl-C does, and neither leaves a worker behind that was just being started."""
    stop = Stop()
    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextlib.contextmanager
def own_worker() -> Iterator[None]:
    """A child worker beside the block; with Redis the workers are somebody else's to start."""
    if settings.REDIS_URL:
        yield
        return
    worker = ChildWorker()
    try:
        yield
    finally:
        worker.end()


class ChildWorker:
    """A worker process that is started again when it dies, until `end`."""

    def __init__(self) -> None:
        self.ending = threading.Event()
        self.starting = threading.Lock()
        self.process = self.spawn()
        threading.Thread(target=self.keep, name="worker keeper", daemon=True).start()

    def spawn(self) -> subprocess.Popen[bytes]:
        """In a session of its own: Ctrl-C in the terminal reaches the server alone, which then ends the worker."""
        quiet = ["--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel=WARNING"]
        path = os.pathsep.join(filter(None, [str(settings.BASE_DIR), os.environ.get("PYTHONPATH")]))
        # Celery warns root of messages that run code; ours carry the id of a job, as JSON.
        calm = "ignore:You're running the worker with superuser"
        return subprocess.Popen(
            [sys.executable, "-m", "celery", "--quiet", "-A", "shared", "worker", *quiet],
            env=os.environ | {SERVER: str(os.getpid()), "PYTHONPATH": path, "PYTHONWARNINGS": calm},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,  # its log goes to stderr
            start_new_session=True,
        )

    def keep(self) -> None:
        """Start the worker again whenever it has died; more slowly if it keeps dying."""
        pause = 0.5
        while True:
            born = time.monotonic()
            code = self.process.wait()
            pause = 1.0 if time.monotonic() - born > 60 else min(2 * pause, 60.0)
            if self.ending.wait(pause):
                return
            log.warning("the worker ended with %s and is started again", code)
            with self.starting:
                if not self.ending.is_set():
                    self.process = self.spawn()

    def end(self) -> None:
        with self.starting:
            self.ending.set()
        self.process.terminate()
        try:
            self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
