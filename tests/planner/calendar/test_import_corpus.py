"""Hundreds of damaged files through the page: each is imported whole or refused in words, and never half.

The site's own test client raises what the site would answer with a server error.
"""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from planner.models import Fixture
from tests import factories as f
from tests.planner.calendar.damaged import CALENDARS, TABLES, damaged

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)
PARTS, EACH = 10, 30  # files of each kind: PARTS x EACH


class Undone(Exception):
    """Ends a try, with everything that it wrote."""


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def client(squad, head, log_in):
    """The head coach, with a season and one match that stands already."""
    f.SeasonFactory(squad=squad)
    f.FixtureFactory(squad=squad, uid="b", opponent="Hollin", kick_off=dt.datetime(2026, 10, 17, 15, tzinfo=f.LONDON))
    return log_in(head)


def rows() -> list[tuple]:
    return sorted(Fixture.objects.values_list("pk", "uid", "kick_off", "opponent", "home", "venue_words", "state"))


def words(answer) -> str:
    return " ".join(re.sub("<[^>]*>", " ", answer.content.decode()).split())


def counts(text: str) -> dict[str, int]:
    """{"new": 2, ...} as the page says it."""
    return {state: int(count) for count, state in re.findall(r"(\d+) (new|changed|same|refused)\b", text)}


def try_file(client, squad, name: str, content: bytes) -> str:
    """Brings a file to the end of its way, and says how it ended: refused, columns or taken."""
    before = rows()
    page = reverse("import_fixtures", args=["brackenford"])
    answer = client.post(page, {"squad": squad.pk, "file": SimpleUploadedFile(name, content)})
    if answer.status_code == 200:
        assert rows() == before
        complaint = re.search(r'class="errorlist".*?</ul>', answer.content.decode(), re.S)
        assert complaint is not None
        assert len(words(answer)) > 40
        return "refused"
    shown = client.get(answer.url)
    assert shown.status_code == 200
    assert rows() == before
    return "columns" if answer.url.endswith("/columns/") else take(client, squad, answer.url, shown, content, name)


def take(client, squad, url: str, shown, content: bytes, name: str) -> str:
    before, promised = rows(), counts(words(shown))
    done = client.post(url)
    assert done.status_code == 302
    after = rows()
    assert len(after) - len(before) == promised["new"]
    assert len(set(before) - set(after)) == promised["changed"]
    again = client.post(
        reverse("import_fixtures", args=["brackenford"]), {"squad": squad.pk, "file": SimpleUploadedFile(name, content)}
    )
    client.post(again.url)
    assert rows() == after
    return "taken"


def tried(client, squad, name: str, content: bytes) -> str:
    ended = []
    try:
        with transaction.atomic():
            ended.append(try_file(client, squad, name, content))
            raise Undone
    except Undone:
        return ended[0]


@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.parametrize(("name", "good"), [("fixtures.ics", CALENDARS), ("fixtures.csv", TABLES)], ids=["ics", "csv"])
def test_a_damaged_file_is_imported_whole_or_refused_in_words(client, squad, name, good, part):
    numbers = range(part * EACH, (part + 1) * EACH)
    ended = [tried(client, squad, name, damaged(good[number % len(good)], number)) for number in numbers]
    assert "taken" in ended


def test_the_damage_is_great_enough_to_be_refused_at_times(client, squad):
    ended = {tried(client, squad, "fixtures.ics", damaged(CALENDARS[0], number)) for number in range(60)}
    assert ended >= {"refused", "taken"}


@pytest.mark.parametrize("number", range(len(CALENDARS)))
def test_the_calendars_are_whole_before_they_are_damaged(client, squad, number):
    assert tried(client, squad, "fixtures.ics", CALENDARS[number]) == "taken"


@pytest.mark.parametrize("number", range(len(TABLES)))
def test_the_tables_are_whole_before_they_are_damaged(client, squad, number):
    assert tried(client, squad, "fixtures.csv", TABLES[number]) == "taken"
