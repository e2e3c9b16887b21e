"""A real Chromium on the real site: `page` on a phone or a desktop, `sign_in`, `usable`, and a worker beside it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.db import connection, connections
from playwright.sync_api import Browser, Page, sync_playwright

from shared.celery import app
from shared.models import Job, JobState, User
from tests.factories import PASSWORD
from tests.shared.processes import Installation

SIZES = {"phone": {"width": 390, "height": 844}, "desktop": {"width": 1280, "height": 900}}
# As root Chromium needs no-sandbox; the rest keeps it from calling home at every start.
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# WCAG 2.2 level AA and what comes before it.
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True))


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(browser: Browser, live_server) -> Iterator[Callable[..., Page]]:
    """`open_page("phone", color_scheme="dark")`: a page of its own, without cookies of another.

    After the test no script may have failed, and the policy of the site may have refused nothing.
    """
    contexts, complaints = [], []

    def new(size: str = "desktop", **how: object) -> Page:
        context = browser.new_context(viewport=SIZES[size], base_url=live_server.url, locale="en-GB", **how)
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        return page

    yield new
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, open_page: Callable[..., Page]) -> Page:
    """The test runs once on a phone and once on a desktop."""
    return open_page(request.param)


@pytest.fixture
def phone(open_page: Callable[..., Page]) -> Page:
    return open_page("phone")


@pytest.fixture
def desktop(open_page: Callable[..., Page]) -> Page:
    return open_page("desktop")


@pytest.fixture
def sign_in() -> Callable[[Page, User], Page]:
    """`sign_in(page, head)` goes through the login page as that person would."""

    def through_the_door(page: Page, user: User) -> Page:
        page.goto("/login/")
        page.get_by_label("Username").fill(user.username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Log in").click()
        page.wait_for_url(lambda url: "/login/" not in url)
        return page

    return through_the_door


@pytest.fixture
def axe() -> Callable[[Page], None]:
    """`axe(page)` fails with every violation in words and the elements that it concerns."""

    def check(page: Page) -> None:
        page.wait_for_load_state()  # a click returns once the next page has begun, which may have no root element yet
        found = Axe().run(page, options=RULES).response["violations"]
        assert not found, f"{page.url}\n" + "\n".join(map(in_words, found))

    return check


@pytest.fixture
def usable(axe) -> Callable[[Page], None]:
    """`usable(page)`: no violation and nothing beyond the edge, on a phone and a desktop, by day and by night."""

    def check(page: Page) -> None:
        own = page.viewport_size
        for (size, edges), scheme in product(SIZES.items(), ("dark", "light")):
            page.set_viewport_size(edges)
            page.emulate_media(color_scheme=scheme)
            axe(page)
            sideways = page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
            assert not sideways, f"{page.url} scrolls sideways on a {size}"
        page.set_viewport_size(own)

    return check


def in_words(violation: dict) -> str:
    where = "\n".join(f"    {node['html']}\n      {node['failureSummary']}" for node in violation["nodes"])
    return f"{violation['id']} ({violation['impact']}): {violation['help']}\n{where}"


@pytest.fixture
def worker(transactional_db) -> Iterator[None]:
    """Jobs that the site asks for are worked on while the browser looks on."""
    app.loader.import_default_modules()  # as a worker does at its start, so that it knows every task
    over = threading.Event()
    thread = threading.Thread(target=work_until, args=[over], daemon=True)
    thread.start()
    yield
    over.set()
    thread.join(60)


@pytest.fixture
def start_worker(transactional_db, tmp_path: Path) -> Iterator[Callable[[], None]]:
    """`start_worker()` starts a real worker process on the test's database; it takes up whatever waits there."""
    site = Installation(tmp_path, database_url=address_of_database())
    yield site.worker
    site.sweep()


def address_of_database() -> str:
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    return "postgres://{USER}:{PASSWORD}@{HOST}:{PORT}/{NAME}".format_map(database)


def work_until(over: threading.Event) -> None:
    """The tasks that a worker would run, by a direct call; the queue is in the rows anyway."""
    try:
        while not over.wait(0.1):
            for job in Job.objects.filter(state=JobState.QUEUED):
                app.tasks[job.task](str(job.pk))
    finally:
        connections.close_all()
