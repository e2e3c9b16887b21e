"""A week's players and figures as they are drawn: what they say, and nothing that a person typed is read as HTML."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from planner.core.totals import Figure, Limit, Rolling, Room, Stretch
from planner.totals_drawn import figure_cell, room_word
from shared.core.contact import Kind, Level
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block, stand

MONDAY = dt.date(2026, 10, 5)
TYPED = '<b>"Cup"</b> & more'
WRITTEN = "&lt;b&gt;&quot;Cup&quot;&lt;/b&gt; &amp; more"


@pytest.fixture
def page(squad, head, log_in, monkeypatch):
    """A week with names of every kind that a person types."""
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: BEFORE)
    cast = small_block(squad)
    squad.club.contact_rules.update(source=TYPED)
    player = f.PlayerFactory(squad=squad, family_name=TYPED)
    stand(cast.slot(), cast.drills[0], [*cast.players, player])
    address = reverse("week", kwargs={"club": "brackenford", "squad": squad.slug, "monday": MONDAY})
    return log_in(head).get(address).content.decode()


def test_what_somebody_typed_stands_as_letters(page):
    assert TYPED not in page
    assert len(re.findall(WRITTEN, page)) > 4  # his name at the station and among the players, the source at each bar


def test_the_source_of_a_limit_is_written_once_as_letters_not_twice(page):
    assert f"(limit: Club rules: {WRITTEN}" in page
    assert "&amp;lt;" not in page


def test_everybody_is_listed_with_the_minutes_of_each_kind(page):
    assert page.count('<details id="need-') == 9
    assert page.count("of 15 min full contact (limit:") == 9


def figure(minutes: int, share: int, limit: Limit | None, rolling: int = 0) -> Figure:
    day = dt.date(2026, 10, 8)
    stretch = Stretch(1, 1, 0, day, "Rope", Kind.FULL, minutes, share, Level.FULL)
    return Figure(Kind.FULL, limit, 80, (stretch,), Rolling(rolling or stretch.counted, day))


RULES, PATTERN = Limit(15, "Rules"), Limit(15, "pattern", is_of_pattern=True)


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (figure(6, 100, None), "6 min, no limit"),
        (figure(6, 100, RULES), "6 of 15 min"),
        (figure(6, 100, PATTERN), "6 of 15 min (pattern)"),
        (figure(25, 50, RULES), "12.5 of 15 min near"),
        (figure(19, 79, RULES), "15 of 15 min past by 0.1"),
        (figure(6, 100, RULES, rolling=1600), "6 of 15 min watch: 16 min in the seven days to Thu 8 Oct"),
    ],
)
def test_a_figure_says_how_it_stands(drawn, words):
    shown = re.sub("<title>.*?</title>", "", figure_cell(drawn))
    assert re.sub("<[^>]*>", "", shown).strip() == words


def test_only_what_is_not_fine_has_a_word():
    assert room_word(Room.FINE) == ""
    assert [re.sub("<[^>]*>", "", room_word(room)).strip() for room in (Room.NEAR, Room.PAST, Room.NOT_ALLOWED)] == [
        "near",
        "past",
        "in contact in spite of a status",
    ]
