"""The week and the first pages in a real browser: edits by keyboard, with and without JavaScript, and accessibility."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from playwright.sync_api import expect

from planner.models import Slot
from tests import factories as f
from tests.planner.block_cast import stand


@pytest.fixture
def cast(squad):
    """Next week: a night with one planned slot, two stations of four players, and two idle ones."""
    today = dt.datetime.now(f.LONDON).date()
    monday = today + dt.timedelta(days=7 - today.weekday())
    starts = dt.datetime.combine(monday + dt.timedelta(days=1), dt.time(19), tzinfo=f.LONDON)
    f.ContactRulesFactory(club=squad.club)
    f.BlockFactory(squad=squad, first_day=monday)
    session = f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12])
    players = [f.PlayerFactory(squad=squad, main_position=n + 1) for n in range(10)]
    drills = [f.DrillFactory(club=squad.club, name=name, players_least=3) for name in ("Rope", "Fence", "Gate")]
    slot = session.slots.get(order=1)
    for order, drill in enumerate(drills[:2]):
        stand(slot, drill, players[4 * order : 4 * order + 4], order=order, coach="Ash")
    return {"address": f"/c/brackenford/week/{squad.slug}/{monday}/", "players": players, "drills": drills}


def station(page, name: str):
    return page.get_by_role("article").filter(has=page.get_by_role("heading", name=re.compile(name)))


def test_a_player_is_moved_by_keyboard_and_the_answer_is_announced(desktop, head, sign_in, cast):
    page, player = sign_in(desktop, head), str(cast["players"][0])
    page.goto(cast["address"])
    page.get_by_role("link", name="Change slot 2").press("Enter")
    move = page.get_by_label("Move", exact=True)
    expect(move).to_be_focused()
    move.press("Tab")
    move.select_option(label=f"{player} FR")
    page.get_by_label("to", exact=True).select_option(label=f"B {cast['drills'][1]}")
    page.get_by_role("button", name="Move player").press("Enter")
    expect(page.locator("#said")).to_contain_text("Done.")
    expect(station(page, "Fence")).to_contain_text(player)
    page.get_by_role("button", name="Undo").press("Enter")
    expect(page.get_by_text("Undone:")).to_be_visible()
    expect(station(page, "Rope")).to_contain_text(player)


def test_a_drill_is_swapped_with_its_effect_in_view(phone, head, sign_in, cast):
    page = sign_in(phone, head)
    page.goto(cast["address"])
    page.get_by_role("link", name="Change slot 2").click()
    page.get_by_role("link", name="Other drill").first.click()
    expect(page.locator("#said")).to_contain_text("1 drill fits")
    page.get_by_role("button", name=str(cast["drills"][2])).click()
    expect(page.locator(".told")).to_contain_text("Done.")
    expect(page.get_by_role("heading", name=re.compile("Gate"))).to_be_visible()


def test_a_refusal_is_said_in_words(desktop, head, sign_in, cast):
    page = sign_in(desktop, head)
    page.goto(cast["address"])
    page.get_by_role("link", name="Change slot 2").click()
    for player in cast["players"][:2]:
        page.get_by_label("Move", exact=True).select_option(label=f"{player} FR")
        page.get_by_label("to", exact=True).select_option(label="no station")
        page.get_by_role("button", name="Move player").click()
        expect(page.locator(".told")).to_be_visible()
    expect(page.locator("#said")).to_contain_text("Nothing was changed.")
    expect(page.locator("#said")).to_contain_text("takes 3 to")


def test_the_week_is_edited_without_javascript(open_page, head, sign_in, cast):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(cast["address"])
    page.get_by_role("link", name="Change slot 2").click()
    page.get_by_role("button", name="Lock", exact=True).first.click()
    expect(page.get_by_text("Done. Nobody gains or loses by it.")).to_be_visible()
    expect(station(page, "Rope")).to_contain_text("locked")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_week_totals_and_first_page_are_usable_by_everyone(open_page, head, sign_in, cast, axe, size, scheme):
    page = sign_in(open_page(size, color_scheme=scheme), head)
    for address in ("/c/brackenford/now/", "/c/brackenford/totals/", cast["address"]):
        page.goto(address)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.get_by_role("link", name="Change slot 2").click()
    expect(page.get_by_role("button", name="Move player")).to_be_visible()
    axe(page)


@pytest.mark.parametrize("role", ["assistant", "welfare"])
def test_the_first_page_of_the_others_is_usable_by_everyone(request, phone, sign_in, cast, axe, role):
    page = sign_in(phone, request.getfixturevalue(role))
    page.goto("/c/brackenford/now/")
    axe(page)


def test_on_a_phone_the_reader_stays_where_he_edits(phone, head, sign_in, cast):
    """A night below the edited one would otherwise be kept in place, and what was edited be pushed out of sight."""
    slot = Slot.objects.get(title="")
    day = slot.session.starts_at + dt.timedelta(days=2)
    f.SessionFactory(squad=slot.session.squad, starts_at=day, slots=[12] * 12)
    page = sign_in(phone, head)
    page.goto(cast["address"])
    page.get_by_role("link", name="Change slot 2").first.click()
    page.get_by_label("Move", exact=True).select_option(str(cast["players"][0].pk))
    page.get_by_label("to", exact=True).select_option("no station")
    button = page.get_by_role("button", name="Move player")
    button.scroll_into_view_if_needed()
    before = page.evaluate("scrollY")
    button.click()
    expect(page.locator(".told")).to_be_visible()
    assert page.evaluate("scrollY") == before
