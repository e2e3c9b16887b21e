"""Hundreds of damaged calendars and lists of breaks through the page: each is imported whole or refused in words.

Whatever is written, the sessions follow it to the last one, and the same file once more changes nothing. The site's own
test client raises what the site would answer with a server error.
"""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction

from planner.break_actions import change_breaks
from planner.falling_out import FallingOut, breaks_of
from planner.models import Break, Session
from tests import factories as f
from tests.planner.breaks.cast import FIRST, TODAY, address, hidden, october, text_of
from tests.planner.breaks.test_corpus import CALENDARS, TABLES
from tests.planner.calendar.damaged import damaged

pytestmark = [pytest.mark.usefixtures("september"), pytest.mark.filterwarnings("ignore")]

PARTS, EACH = 10, 20  # damaged calendars: PARTS x EACH
GOOD = {"breaks.ics": CALENDARS, "breaks.csv": TABLES}


class Undone(Exception):
    """Ends a try, with everything that it wrote."""


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=FIRST, last_day=dt.date(2026, 12, 31))


@pytest.fixture
def client(season, night, head, log_in):
    """The head coach, with a season of eighteen Tuesdays and one break that stands already."""
    change_breaks(season=season, wanted=[october(13, name="Ball")], by=head, today=TODAY)
    return log_in(head)


def rows() -> tuple[list, list]:
    breaks = Break.objects.values_list("pk", "uid", "name", "first_day", "last_day")
    return sorted(breaks), sorted(Session.objects.values_list("pk", "cancelled", "plan_version", "fell_out__why"))


def counts(text: str) -> dict[str, int]:
    return {state: int(count) for count, state in re.findall(r"(\d+) (new|changed|same|refused)\b", text)}


def brought(client, season, name: str, content: bytes):
    return client.post(address("import_breaks", season.pk), {"file": SimpleUploadedFile(name, content)})


def try_file(client, season, name: str, content: bytes) -> str:
    """Brings a file to the end of its way, and says how it ended: refused, columns or taken."""
    before, answer = rows(), brought(client, season, name, content)
    if answer.status_code == 200:
        assert rows() == before
        assert re.search(r'class="errorlist".*?\w{4}.*?</ul>', answer.content.decode(), re.S)
        return "refused"
    shown = client.get(answer.url)
    assert shown.status_code == 200
    assert rows() == before
    return "columns" if answer.url.endswith("/columns/") else take(client, season, answer.url, shown, name, content)


def take(client, season, url: str, shown, name: str, content: bytes) -> str:
    (before, _sessions), promised = rows(), counts(text_of(shown))
    done = client.post(url, hidden(shown))
    if done.status_code == 200:  # refused as a whole, in words
        assert rows()[0] == before
        assert re.search(r'class="(messages|errorlist)', done.content.decode())
        return "refused"
    after, _sessions = rows()
    assert len(after) - len(before) == promised["new"]
    assert len(set(before) - set(after)) == promised["changed"]
    assert FallingOut.of(season, breaks_of(season), TODAY).is_nothing
    then = rows()
    again = brought(client, season, name, content)
    client.post(again.url, hidden(client.get(again.url)))
    assert rows() == then
    return "taken"


def tried(client, season, name: str, content: bytes) -> str:
    ended = []
    try:
        with transaction.atomic():
            ended.append(try_file(client, season, name, content))
            raise Undone
    except Undone:
        return ended[0]


@pytest.mark.parametrize("part", range(PARTS))
def test_a_damaged_calendar_is_imported_whole_or_refused_in_words(client, season, part):
    numbers = range(part * EACH, (part + 1) * EACH)
    ended = [
        tried(client, season, "breaks.ics", damaged(CALENDARS[number % len(CALENDARS)], number)) for number in numbers
    ]
    assert "taken" in ended


@pytest.mark.parametrize("part", range(PARTS // 2))
def test_a_damaged_list_is_imported_whole_or_refused_in_words(client, season, part):
    numbers = range(part * EACH, (part + 1) * EACH)
    ended = [tried(client, season, "breaks.csv", damaged(TABLES[number % len(TABLES)], number)) for number in numbers]
    assert "taken" in ended


@pytest.mark.parametrize(("name", "number"), [(name, n) for name, good in GOOD.items() for n in range(len(good))])
def test_they_are_whole_before_they_are_damaged(client, season, name, number):
    assert tried(client, season, name, GOOD[name][number]) == "taken"


def test_the_damage_is_great_enough_to_be_refused_at_times(client, season):
    ended = {tried(client, season, name, damaged(good[0], n)) for name, good in GOOD.items() for n in range(30)}
    assert ended >= {"refused", "taken"}
