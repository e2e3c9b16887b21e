"""Replies as an assistant enters them: one night at a time on a phone, all on a desk, without any script."""

from __future__ import annotations

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from planner.attendance_actions import Said, note_replies
from planner.attendance_models import Reply
from planner.models import Session
from shared.clock import today_at
from tests.browser import near_today


@pytest.fixture
def nights(squad) -> list[Session]:
    near_today.players(squad, 12)
    today = today_at(squad.club)
    return [near_today.night(squad, today + dt.timedelta(days=days), ["M. Askham"]) for days in (1, 3, 8)]


def open_replies(page: Page) -> Page:
    page.goto("/c/brackenford/squads/firsts/")
    page.get_by_role("link", name="Replies").click()
    return page


def choose(page: Page, player, night: Session, says: str, **times: str) -> None:
    page.locator(f"[name=says-{player.pk}-{night.pk}]").select_option(says)
    for word, value in times.items():
        page.locator(f"[name={word}-{player.pk}-{night.pk}]").fill(value)


def test_on_a_phone_one_night_at_a_time_is_answered_and_nothing_typed_is_lost_between(
    open_page, assistant, sign_in, usable, nights
):
    page = open_replies(sign_in(open_page("phone", java_script_enabled=False), assistant))
    first, second = nights[0].squad.players.all()[:2]
    choose(page, first, nights[0], "no")
    expect(page.locator("td.n2").first).to_be_hidden()
    page.locator(".nights label").nth(1).click()
    expect(page.locator("td.n1").first).to_be_hidden()
    choose(page, second, nights[1], "part", until="19:40")
    page.get_by_role("button", name="Save replies").click()
    expect(page.get_by_text("2 replies are noted.")).to_be_visible()
    expect(page.locator("td.n2").first).to_be_visible()
    assert [row.words for row in Reply.objects.all()] == ["no", "until 19:40"]


def test_times_are_asked_only_where_they_are_needed(phone, assistant, sign_in, usable, nights):
    page = open_replies(sign_in(phone, assistant))
    player = nights[0].squad.players.first()
    times = page.locator(f"[name=from-{player.pk}-{nights[0].pk}]")
    expect(times).to_be_hidden()
    choose(page, player, nights[0], "part")
    expect(times).to_be_visible()
    usable(page)


def test_only_players_with_no_word_are_shown_if_asked_for(page, assistant, sign_in, nights):
    players = list(nights[0].squad.players.all())
    note_replies(said=[Said(players[0], night, True) for night in nights], by=assistant)
    page = open_replies(sign_in(page, assistant))
    expect(page.locator("tbody tr:visible")).to_have_count(len(players))
    page.get_by_label("Only players with no word yet").check()
    expect(page.locator("tbody tr:visible")).to_have_count(len(players) - 1)


def test_what_somebody_said_meanwhile_stands_beside_what_was_typed(desktop, assistant, head, sign_in, usable, nights):
    page = open_replies(sign_in(desktop, assistant))
    player = nights[0].squad.players.first()
    choose(page, player, nights[0], "yes")
    note_replies(said=[Said(player, nights[0], False)], by=head)
    page.get_by_role("button", name="Save replies").click()
    expect(page.locator("td", has_text="said meanwhile")).to_have_count(1)
    usable(page)
    page.get_by_role("button", name="Save replies").click()
    expect(page.get_by_text("1 reply is noted.")).to_be_visible()
    assert [row.words for row in Reply.objects.all()] == ["no", "yes"]
