"""What every test may ask for."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time

import pytest
from django.test import SimpleTestCase
from hypothesis import HealthCheck, settings

from tests import factories as f

# A busy machine is no failure: no test is about how fast examples are made.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")

# Playwright's loop runs in the thread of the test, which Django would otherwise take for an async context.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


def pytest_addoption(parser):
    parser.addoption("--only-database", action="store_true", help="only tests that touch the site's database")


def pytest_collection_modifyitems(config, items):
    """The others would do the same on any database, so a second run on another one can go without them."""
    if config.getoption("--only-database"):
        left_out = [item for item in items if not touches_database(item)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if touches_database(item)]


def touches_database(item) -> bool:
    """By what it asks for itself or through its fixtures, by a mark, or as a TestCase of Django."""
    asked = {"db", "transactional_db", "django_db_reset_sequences", "live_server"}
    return bool(
        asked & set(getattr(item, "fixturenames", ()))
        or item.get_closest_marker("django_db")
        or issubclass(getattr(item, "cls", None) or object, SimpleTestCase)
    )


def lacking(what: str) -> None:
    """Skip with a reason on somebody's own machine; in CI everything must be there, so fail."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"CI must not go without: {what}")
    pytest.skip(f"needs {what}")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of an installed Chromium or Chrome."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if path := shutil.which(name):
            return path
    return lacking("Chromium (Debian: apt-get install chromium)")


@pytest.fixture(scope="session")
def redis_url(tmp_path_factory):
    """A Redis of the tests' own, so that no other program's keys are touched."""
    if not shutil.which("redis-server"):
        lacking("redis-server (Debian: apt-get install redis-server)")
    port = free_port()
    quiet = ["--save", "", "--appendonly", "no", "--loglevel", "warning", "--bind", "127.0.0.1"]
    folder = tmp_path_factory.mktemp("redis")
    server = subprocess.Popen(["redis-server", "--port", str(port), "--dir", str(folder), *quiet])
    try:
        wait_for_port(port)
        yield f"redis://127.0.0.1:{port}/0"
    finally:
        server.terminate()
        server.wait(10)


def wait_for_port(port: int, seconds: float = 10) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise AssertionError(f"nothing listens on port {port} after {seconds} s")


@pytest.fixture
def postgres():
    """Address of a new, empty PostgreSQL database, dropped after the test.

    TEST_POSTGRES_URL names a database of a server where new ones may be made.
    """
    import psycopg

    server = os.environ.get("TEST_POSTGRES_URL", "")
    if not server:
        lacking("a PostgreSQL server that TEST_POSTGRES_URL names, like postgres://user@127.0.0.1/postgres")
    name = f"plumbline_test_{os.getpid()}_{time.monotonic_ns()}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
        yield server.rsplit("/", 1)[0] + f"/{name}"
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix, tmp_path_factory):
    """SQLite in a file, as on a real site: threads then have connections and locks of their own. Elsewhere the name
    ends in that of the process, where several run side by side."""
    from django.db import connections

    database = connections["default"].settings_dict
    if "sqlite" in database["ENGINE"]:
        database["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(scope="session", autouse=True)
def messages_stay_in_this_process():
    """A test that asks for a job leaves no message in the files of the site on this machine.

    A Redis that REDIS_URL names is used: it is named for the tests.
    """
    from django.conf import settings

    from shared.celery import app

    if not settings.REDIS_URL:
        app.conf.update(broker_url="memory://", broker_transport_options={})


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]


@pytest.fixture(autouse=True)
def no_figure_of_another_test():
    """Tests write rows past the verbs, so that what is kept of one would be found by the next."""
    from planner.season_figures import KEPT

    KEPT.forget()


@pytest.fixture
def club(db):
    return f.ClubFactory(name="Brackenford RFC", slug="brackenford")


@pytest.fixture
def squad(club):
    return f.SquadFactory(club=club, slug="firsts")


@pytest.fixture
def head(club):
    return f.MembershipFactory(club=club, user__username="head", role="head_coach").user


@pytest.fixture
def assistant(club):
    return f.MembershipFactory(club=club, user__username="assistant", role="assistant").user


@pytest.fixture
def welfare(club):
    return f.MembershipFactory(club=club, user__username="welfare", role="welfare_officer").user


@pytest.fixture
def medic(club):
    return f.MembershipFactory(club=club, user__username="medic", role="medical").user


@pytest.fixture
def stranger(db):
    """A head coach of another club."""
    return f.MembershipFactory(user__username="stranger", role="head_coach").user


@pytest.fixture
def log_in(client):
    """`log_in(head)` gives a client that is that person."""

    def as_user(user):
        client.force_login(user)
        return client

    return as_user
