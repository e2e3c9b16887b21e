"""How hard it was, on phones: a player's number in two taps, the code on the sheet, the coaches' list."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from planner.models import Session
from planner.rpe_models import Rpe
from tests import factories as f
from tests.browser import near_today
from tests.planner.own.cast import own_address


@pytest.fixture
def night(squad) -> Session:
    """Over for an hour and a half or so, whatever the clock says."""
    near_today.players(squad, 3)
    starts = timezone.now().replace(second=0, microsecond=0) - dt.timedelta(hours=2, minutes=30)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=near_today.SLOTS)


def asked(page: Page, night: Session):
    return page.locator(f"#hard-s{night.pk}")


def test_a_player_sends_his_number_in_two_taps_without_javascript_and_corrects_it(open_page, assistant, usable, night):
    phone = open_page("phone", java_script_enabled=False)
    phone.goto(own_address(night.squad.players.first()))  # the first tap
    asked(phone, night).get_by_role("button", name="7 Very Hard").click()
    expect(phone.get_by_text("You sent 7 Very Hard. Thank you.")).to_be_visible()
    expect(asked(phone, night)).to_contain_text("you sent it")
    asked(phone, night).get_by_text("Correct it").click()
    asked(phone, night).get_by_role("button", name="6", exact=True).click()
    expect(phone.get_by_text("You sent 6. Thank you.")).to_be_visible()
    assert list(Rpe.objects.order_by("pk").values_list("number", flat=True)) == [7, 6]


def test_his_page_has_no_fault_and_its_numbers_are_large_enough_for_a_thumb(phone, assistant, usable, night):
    phone.goto(own_address(night.squad.players.first()))
    usable(phone)
    for button in asked(phone, night).get_by_role("button").all():
        assert button.bounding_box()["height"] >= 48


def test_the_code_on_the_sheet_leads_to_his_number_on_his_phone_and_to_nothing_on_another(
    open_page, assistant, usable, night
):
    address = own_address(night.squad.players.first())
    stranger = open_page("phone")
    stranger.goto(f"/how-hard/s{night.pk}/")
    expect(stranger.get_by_text("its address is on your slip")).to_be_visible()
    usable(stranger)
    phone = open_page("phone")
    phone.goto(address)
    phone.goto(f"/how-hard/s{night.pk}/")
    usable(phone)
    phone.get_by_role("button", name="5 Hard").click()
    expect(phone.get_by_text("You sent 5 Hard. Thank you.")).to_be_visible()


def test_a_coach_enters_numbers_in_the_list_on_a_phone(phone, assistant, sign_in, usable, night):
    page = sign_in(phone, assistant)
    page.goto("/c/brackenford/squads/firsts/")
    page.get_by_role("link", name="How hard it was").click()
    usable(page)
    page.locator("table a").first.click()
    usable(page)
    page.get_by_label("Given0 Name0, RPE").select_option("7")
    page.get_by_role("button", name="Save numbers").click()
    expect(page.get_by_text("1 number is noted.")).to_be_visible()
    expect(page.locator("tr", has_text="Name0")).to_contain_text("assistant")
