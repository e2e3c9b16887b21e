"""A player on his own phone, and the coach who sees what he said."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from playwright.sync_api import Page, expect

from planner.models import Session
from shared.clock import today_at
from tests.browser import near_today
from tests.planner.own.cast import own_address


@pytest.fixture
def night(squad) -> Session:
    near_today.players(squad, 3)
    return near_today.night(squad, today_at(squad.club) + dt.timedelta(days=2), ["M. Askham"])


def own_night(page: Page, night: Session):
    return page.locator(f"#night-{night.pk}")


def test_a_player_opens_his_slip_and_says_that_he_comes_late_and_the_coach_sees_it(
    open_page, assistant, sign_in, usable, night
):
    coach = sign_in(open_page("phone"), assistant)
    coach.goto("/c/brackenford/squads/firsts/replies/")
    coach.get_by_role("link", name="Own pages of players").click()
    usable(coach)
    coach.get_by_role("button", name="Make addresses for the 3 players without one").click()
    usable(coach)
    slip = coach.locator(".slip", has_text="Given0 Name0")
    phone = open_page("phone", java_script_enabled=False)
    phone.goto(slip.locator(".address").inner_text())
    expect(phone.get_by_role("heading", name="Given0", exact=True)).to_be_visible()
    mine = own_night(phone, night)
    mine.get_by_text("Late, or leaving early").click()
    mine.get_by_label("from").fill("19:40")
    mine.get_by_role("button", name="Save these times").click()
    expect(phone.get_by_text("Thank you, that is noted.")).to_be_visible()
    expect(own_night(phone, night)).to_contain_text("from 19:40")
    coach.goto("/c/brackenford/squads/firsts/replies/")
    cell = coach.locator("tr", has_text="Name0").locator("td.n1")
    expect(cell).to_contain_text("own page")
    expect(cell.locator("input").first).to_have_value("19:40")


def test_his_page_has_large_buttons_and_no_fault_in_either_theme(phone, assistant, usable, night):
    phone.goto(own_address(night.squad.players.first()))
    usable(phone)
    for button in phone.get_by_role("button").all():
        if button.is_visible():
            assert button.bounding_box()["height"] >= 48
    own_night(phone, night).get_by_role("button", name="No", exact=True).click()
    expect(own_night(phone, night)).to_contain_text(re.compile("no.*said here"))
    usable(phone)


def test_several_slips_stand_on_one_printed_side(desktop, assistant, sign_in, squad):
    near_today.players(squad, 12)
    page = sign_in(desktop, assistant)
    page.goto("/c/brackenford/squads/firsts/own-pages/")
    page.get_by_role("button", name="Make addresses for the 12 players without one").click()
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", name="Slips for players")).to_be_hidden()
    assert page.pdf(format="A4").count(b"/Type /Page\n") <= 3
