"""Calendar feeds as a head coach meets them: an address of his own, and slips for the players."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from planner.feed_models import Feed
from tests import factories as f
from tests.planner.feeds.cast import member_address


@pytest.fixture
def signed_in(page, sign_in, head, squad):
    for given, family in (("Oswin", "Hartlebury"), ("Corin", "Ashdown"), ("Teague", "Merrowby")):
        f.PlayerFactory(squad=squad, given_name=given, family_name=family)
    member_address(f.MembershipFactory(club=squad.club, user__username="bryn", role="assistant").user)
    return sign_in(page, head)


def test_an_address_is_made_copied_and_exchanged(signed_in, usable):
    page = signed_in
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto("/c/brackenford/calendar/")
    page.get_by_role("link", name="Your calendar feed").click()
    usable(page)
    page.get_by_role("button", name="Make my address").click()
    address = page.get_by_label("Address of your feed").input_value()
    usable(page)
    page.get_by_role("button", name="Copy").click()
    expect(page.get_by_role("status")).to_have_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == address
    page.get_by_text("Make a new address", exact=True).click()
    page.get_by_role("button", name="Make a new address, end the old one").click()
    assert page.get_by_label("Address of your feed").input_value() != address
    assert page.request.get(address).status == 404


def test_slips_are_made_for_all_players_and_print_without_the_rest_of_the_page(signed_in, usable, squad):
    page = signed_in
    page.goto("/c/brackenford/calendar-feed/")
    page.get_by_role("link", name=squad.name).click()
    usable(page)
    page.get_by_role("button", name="Make addresses for the 3 players without one").click()
    expect(page.get_by_text(re.compile(r"/feeds/[\w-]{43}\.ics"))).to_have_count(3)
    usable(page)
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", name="Slips for players")).to_be_hidden()
    expect(page.get_by_role("heading", name="Corin Ashdown")).to_be_visible()
    assert Feed.objects.filter(player__isnull=False).count() == 3
