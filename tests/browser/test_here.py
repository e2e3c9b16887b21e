"""Marking who is here on a phone, with and without a connection."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from planner.attendance_models import Mark
from planner.models import Session
from shared.clock import today_at
from squads.models import Player
from tests.browser import near_today


@pytest.fixture
def night(squad) -> Session:
    near_today.players(squad, 30)
    return near_today.night(squad, today_at(squad.club), ["M. Askham"])


def open_list(page: Page, night: Session) -> Page:
    page.goto(f"/c/brackenford/evenings/{night.pk}/here/")
    return page


def press(page: Page, player: Player, word: str) -> None:
    page.locator(f"#p{player.pk} .taps button", has_text=word).first.click()


def test_thirty_are_marked_half_of_them_without_a_connection_and_nothing_is_lost(
    phone, assistant, sign_in, usable, night
):
    page = open_list(sign_in(phone, assistant), night)
    players = list(night.squad.players.all())
    for player in players[:15]:
        press(page, player, "here")
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    page.context.set_offline(True)
    for player in players[15:]:
        press(page, player, "here")
    expect(page.locator("#waiting")).to_contain_text("wait for a connection: 15.")
    expect(page.locator("[data-count=here]")).to_have_text("30")
    assert Mark.objects.count() == 15
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    assert Mark.objects.filter(state="here").count() == Mark.objects.count() == 30
    page.reload()
    expect(page.locator("[data-count=here]")).to_have_text("30")
    usable(page)


def test_taps_that_wait_outlive_the_page(phone, assistant, sign_in, night):
    page = open_list(sign_in(phone, assistant), night)
    player = night.squad.players.first()
    page.route("**/marks/", lambda route: route.abort())
    press(page, player, "late")
    expect(page.locator("#waiting")).to_contain_text("wait for a connection: 1.")
    page.reload()
    expect(page.locator(f"#p{player.pk}")).to_have_attribute("data-state", "late")
    page.unroute("**/marks/")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    assert Mark.objects.get().state == "late"


def test_two_phones_that_did_not_know_of_each_other_show_the_contradiction(
    open_page, assistant, head, sign_in, usable, night
):
    player, other = night.squad.players.all()[:2]
    mine = open_list(sign_in(open_page("phone"), assistant), night)
    yours = open_list(sign_in(open_page("phone"), head), night)
    mine.context.set_offline(True)
    press(mine, player, "here")
    press(yours, player, "not here")
    press(yours, other, "here")
    expect(yours.locator("#waiting")).to_have_text("All taps are sent.")
    mine.context.set_offline(False)
    line = mine.locator(f"#p{player.pk}")
    expect(line.locator(".rivals")).to_contain_text("assistant: here")
    expect(line).to_have_attribute("data-state", "away")
    expect(mine.locator(f"#p{other.pk}")).to_have_attribute("data-state", "here")
    usable(mine)
    press(mine, player, "here")
    expect(line.locator(".rivals")).to_be_hidden()
    expect(mine.locator("#waiting")).to_have_text("All taps are sent.")
    assert Mark.objects.count() == 4


def test_a_tap_that_cannot_be_taken_is_said_and_keeps_no_other_waiting(phone, assistant, sign_in, night):
    page = open_list(sign_in(phone, assistant), night)
    first, gone, last = night.squad.players.all()[:3]
    page.context.set_offline(True)
    for player in (first, gone, last):
        press(page, player, "here")
    gone.delete()
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    expect(page.locator("#refused")).to_contain_text(
        f"{gone}, here: A player of this page is not in the squad any more."
    )
    assert set(Mark.objects.values_list("player", flat=True)) == {first.pk, last.pk}


def test_without_javascript_a_tap_is_a_form_and_can_be_undone(open_page, assistant, sign_in, night):
    page = open_list(sign_in(open_page("phone", java_script_enabled=False), assistant), night)
    player = night.squad.players.first()
    press(page, player, "here")
    expect(page.locator("[data-count=here]")).to_have_text("1")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("[data-count=here]")).to_have_text("0")


def test_undo_and_search_on_the_phone(phone, assistant, sign_in, night):
    page = open_list(sign_in(phone, assistant), night)
    player = night.squad.players.first()
    press(page, player, "gone")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(f"#p{player.pk}")).to_have_attribute("data-state", "open")
    page.get_by_label("Find a name").fill(str(player))
    expect(page.locator("#here li[data-player]:visible")).to_have_count(1)
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    assert Mark.objects.count() == 2
