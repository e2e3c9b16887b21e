"""The record on a phone: two taps for a night that ran as planned, a correction with a thumb, without a script too."""

from __future__ import annotations

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from planner.models import Session
from planner.record_models import Account, Confirmation, Line
from shared.clock import today_at
from squads.models import Absence
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand


@pytest.fixture
def night(squad) -> Session:
    """Yesterday: live tackling for the first dozen, bags for the others, then a walk-through for all."""
    players = near_today.players(squad, 26)
    day = today_at(squad.club) - dt.timedelta(days=1)
    f.ContactRulesFactory(club=squad.club, valid_from=day - dt.timedelta(days=60))
    starts = dt.datetime.combine(day, dt.time(19), f.LONDON)
    night = f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12, 12], coach_names=["M. Askham"])
    live = f.DrillFactory(club=squad.club, name="Gate in the hedge", rung="C4", contact_share=25)
    bags = f.DrillFactory(club=squad.club, name="Bags at the stile", rung="C2", contact_share=40)
    walk = f.DrillFactory(club=squad.club, name="Rope line")
    first, second = night.slots.filter(title="")
    stand(first, live, players[:12])
    stand(first, bags, players[12:], order=1)
    stand(second, walk, players)
    Absence.objects.create(player=players[3], first_day=day, last_day=day)
    return night


def open_record(page: Page, night: Session) -> Page:
    page.goto(f"/c/brackenford/sessions/{night.pk}/")
    page.get_by_role("link", name="Record the night").click()
    return page


@pytest.mark.parametrize("script", [True, False], ids=["with a script", "without one"])
def test_an_untouched_night_is_confirmed_in_two_taps(open_page, assistant, sign_in, night, script):
    page = open_record(sign_in(open_page("phone", java_script_enabled=script), assistant), night)
    page.get_by_role("button", name="Confirm: it ran like this").click()
    expect(page.get_by_text("The night is confirmed")).to_be_visible()
    assert Confirmation.objects.get().by == assistant
    assert Account.objects.count() == 4


def test_a_line_is_corrected_with_one_thumb_and_the_old_one_stays_to_be_read(phone, assistant, sign_in, usable, night):
    page = open_record(sign_in(phone, assistant), night)
    usable(page)
    page.get_by_role("link", name="Correct #", exact=False).first.click()
    usable(page)
    page.get_by_label("Minutes", exact=True).first.fill("20")
    page.get_by_text("11 players, all of it").click()
    name = night.squad.players.order_by("family_name").first().sheet_name
    page.get_by_label(f"{name} was there for").select_option("late")
    page.get_by_label(f"{name}, minutes").fill("5")
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main select, main input:not([type=hidden])')]"
        ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.outerHTML)"
    )
    assert small == []
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("20 min C4", exact=True)).to_be_visible()
    expect(page.get_by_text(f"{name}: came late, 5 of 20 min")).to_be_visible()
    page.get_by_text("1 line in the record").click()
    expect(page.locator("del")).to_have_text("12 min C4, 11 players")
    expect(page.locator("ins")).to_have_text("20 min C4, 11 players")
    usable(page)


def test_a_raised_rung_is_refused_and_what_was_typed_stays(phone, assistant, sign_in, usable, night):
    page = open_record(sign_in(phone, assistant), night)
    page.get_by_role("link", name="Correct #", exact=False).nth(1).click()
    page.get_by_label("Rung", exact=True).first.select_option("C4")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("alert")).to_contain_text("needs the initials of the lead coach")
    expect(page.get_by_label("Rung", exact=True).first).to_have_value("C4")
    usable(page)
    page.get_by_label("Initials of the lead coach").first.fill("MA")
    page.get_by_label("Why the rung was raised").first.fill("Asked for on Sunday")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text("raised, MA: Asked for on Sunday")).to_be_visible()
    assert Line.objects.get().initials == "MA"
