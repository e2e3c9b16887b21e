"""The process tree of `manage.py serve`: it works, it ends, and no job is lost or done twice by either."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys

import pytest
from django.conf import settings

from tests.shared.processes import Installation, gone, kill, tree

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc for what is still alive")


@pytest.fixture
def site(tmp_path):
    installation = Installation(tmp_path)
    yield installation
    installation.sweep()


def test_ctrl_c_ends_the_whole_tree_with_exit_0_and_the_running_job_is_done_at_the_next_start(site):
    server = site.serve()
    job = site.ask(steps=20)
    site.await_word("begin")
    below = tree(server.pid)
    server.send_signal(signal.SIGINT)
    assert server.wait(12) == 0
    assert below
    assert gone(below, seconds=1)
    assert site.wait(job, "queued")["attempts"] == 0
    assert site.words() == ["begin", "stop"]
    site.serve()
    assert site.wait(job, "done") == {"progress": {"step": 20}, "attempts": 1, "error": ""}
    assert site.words() == ["begin", "stop", "begin", "finish"]


def test_sigterm_ends_a_tree_that_is_just_starting_with_exit_0(site):
    server = site.serve()
    server.terminate()
    below = tree(server.pid)
    assert server.wait(12) == 0
    assert gone(below, seconds=1)


def test_killing_the_server_outright_ends_its_worker_too(site):
    server = site.serve()
    job = site.ask(steps=300)
    site.await_word("begin")
    below = tree(server.pid)
    kill(server.pid)
    server.wait()
    assert gone(below, seconds=20)
    assert site.wait(job, "queued")["attempts"] == 0


def test_a_killed_worker_is_started_again_and_its_job_is_taken_up_once(site):
    server = site.serve()
    job = site.ask(steps=20)
    site.await_word("begin")
    (worker,) = tree(server.pid)
    kill(worker)
    assert site.wait(job, "done") == {"progress": {"step": 20}, "attempts": 2, "error": ""}
    assert site.words() == ["begin", "begin", "finish"]


def test_a_worker_killed_while_it_waits_is_started_again(site):
    server = site.serve()
    site.wait(site.ask(steps=1), "done")
    (worker,) = tree(server.pid)
    kill(worker)
    assert site.wait(site.ask(steps=1), "done")["attempts"] == 1


def test_a_job_whose_worker_is_killed_twice_fails_and_says_so(site):
    server = site.serve()
    job = site.ask(steps=300)
    for times in (1, 2):
        site.await_word("begin", times)
        kill_all(tree(server.pid))
    failed = site.wait(job, "failed")
    assert failed["attempts"] == 2
    assert "more than once" in failed["error"]
    assert site.words() == ["begin", "begin"]


def test_a_taken_port_is_told_with_the_way_out(site):
    with socket.socket() as other:
        other.bind(("127.0.0.1", site.port))
        other.listen()
        command = [sys.executable, "manage.py", "serve", "--port", str(site.port)]
        done = subprocess.run(command, cwd=settings.BASE_DIR, env=site.env, capture_output=True, text=True, timeout=120)
    assert done.returncode == 1
    assert f"Cannot listen on 127.0.0.1:{site.port}" in done.stderr
    assert f"--port {site.port + 1}" in done.stderr


def test_a_database_without_tables_is_told_with_the_command_that_helps(site, tmp_path):
    env = site.env | {"VAR_DIR": str(tmp_path / "empty")}
    command = [sys.executable, "manage.py", "serve", "--port", str(site.port)]
    done = subprocess.run(command, cwd=settings.BASE_DIR, env=env, capture_output=True, text=True, timeout=120)
    assert done.returncode == 1
    assert "manage.py migrate" in done.stderr


@pytest.mark.redis
@pytest.mark.parametrize("backend", ["sqlite", "postgres"])
def test_with_redis_a_killed_workers_job_is_taken_up_once_by_another(tmp_path, redis_url, backend, request):
    database = request.getfixturevalue("postgres") if backend == "postgres" else ""
    site = Installation(tmp_path, database_url=database, redis_url=redis_url)
    try:
        first = site.worker()
        job = site.ask(steps=60)
        site.await_word("begin")
        os.killpg(first.pid, signal.SIGKILL)
        site.worker()
        assert site.wait(job, "done") == {"progress": {"step": 60}, "attempts": 2, "error": ""}
        assert site.words() == ["begin", "begin", "finish"]
    finally:
        site.sweep()


@pytest.mark.redis
def test_with_redis_a_killed_pool_process_loses_no_job_and_is_replaced(tmp_path, redis_url):
    site = Installation(tmp_path, redis_url=redis_url)
    try:
        worker = site.worker()
        job = site.ask(steps=20)
        site.await_word("begin")
        kill_all(tree(worker.pid))
        assert site.wait(job, "done")["attempts"] == 2
        assert site.words() == ["begin", "begin", "finish"]
        kill_all(tree(worker.pid))
        assert site.wait(site.ask(steps=1), "done")["attempts"] == 1
    finally:
        site.sweep()


def kill_all(pids):
    for pid in pids:
        kill(pid)
