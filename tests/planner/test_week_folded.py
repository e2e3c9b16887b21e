"""The week's programme is as long as what is to be done: today's or the next night is open, the others are folded."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.planner.block_cast import BEFORE, small_block, stand

MONDAY, TUESDAY, WEDNESDAY, THURSDAY = (dt.date(2026, 10, day) for day in (5, 6, 7, 8))


@pytest.fixture
def cast(squad):
    cast = small_block(squad)
    stand(cast.slot(), cast.drills[0], cast.players)
    return cast


@pytest.fixture
def it_is(monkeypatch):
    return lambda day: monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: day)


def page(client, cast, query: str = "") -> str:
    address = reverse("week", kwargs={"club": "brackenford", "squad": cast.squad.slug, "monday": MONDAY})
    return " ".join(client.get(address + query).content.decode().split())


def folded(text: str) -> list[int]:
    """Keys of the nights within a fold, in order."""
    parts = re.findall(r'<details class="folded">(.*?)</summary> ?<section id="night-(\d+)"', text)
    return [int(key) for _summary, key in parts]


@pytest.mark.parametrize(
    ("today", "open_nights"),
    [(BEFORE, [0]), (MONDAY, [0]), (TUESDAY, [0]), (WEDNESDAY, [1]), (THURSDAY, [1]), (dt.date(2026, 10, 9), [])],
)
def test_only_the_night_of_today_or_the_next_one_is_open(cast, head, log_in, it_is, today, open_nights):
    it_is(today)
    nights = [night.pk for night in cast.nights[:2]]
    assert folded(page(log_in(head), cast)) == [key for place, key in enumerate(nights) if place not in open_nights]


def test_a_fold_says_which_night_it_is_whether_it_is_past_and_what_does_not_fit(cast, head, log_in, it_is):
    it_is(BEFORE)
    client = log_in(head)
    summary = page(client, cast).partition("<summary>Thursday 8 October, 19:00")[2].partition("</summary>")[0]
    assert "2 things do not fit" in summary
    assert "past" not in summary
    it_is(WEDNESDAY)
    assert '<summary>Tuesday 6 October, 19:00 <span class="soft">past</span></summary>' in page(client, cast)


def test_a_night_or_a_slot_that_the_address_asks_for_is_open(cast, head, log_in, it_is):
    it_is(BEFORE)
    client, thursday = log_in(head), cast.nights[1]
    assert folded(page(client, cast)) == [thursday.pk]
    assert folded(page(client, cast, f"?night={thursday.pk}")) == []
    assert folded(page(client, cast, f"?slot={cast.slot(night=1).pk}")) == []


def test_what_is_folded_is_on_the_page_all_the_same(cast, head, log_in, it_is):
    it_is(dt.date(2026, 10, 20))
    assert str(cast.players[0]) in page(log_in(head), cast)
