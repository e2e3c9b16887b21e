"""The welfare officer's week on a phone: what a confirmed night shows, signing it, and what a later correction does."""

from __future__ import annotations

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from planner.core.totals import monday_of
from planner.models import Session
from planner.record_actions import confirm_night
from planner.welfare_models import WeekChecked
from shared.clock import today_at
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand


@pytest.fixture
def night(squad, assistant) -> Session:
    """Yesterday, confirmed: 12 minutes of live contact, of 15 that the rules allow, for the first four of eight."""
    players, day = near_today.players(squad, 8), today_at(squad.club) - dt.timedelta(days=1)
    f.ContactRulesFactory(club=squad.club, full_minutes=15, valid_from=day - dt.timedelta(days=60))
    starts = dt.datetime.combine(day, dt.time(0, 30), f.LONDON)
    night = f.SessionFactory(squad=squad, starts_at=starts, slots=[12], coach_names=["M. Askham"])
    live = f.DrillFactory(club=squad.club, name="Gate in the hedge", rung="C4", contact_share=100)
    walk = f.DrillFactory(club=squad.club, name="Rope line")
    stand(night.slots.get(), live, players[:4])
    stand(night.slots.get(), walk, players[4:], order=1)
    confirm_night(session=night, by=assistant, version=night.plan_version)
    return night


def open_week(page: Page, night: Session) -> Page:
    page.goto(f"/c/brackenford/squads/{night.squad.slug}/welfare/{monday_of(night.day)}/")
    return page


def correct(page: Page, night: Session, minutes: int) -> None:
    page.goto(f"/c/brackenford/evenings/{night.pk}/record/")
    page.get_by_role("link", name="Gate in the hedge").click()
    page.get_by_label("Minutes", exact=True).first.fill(str(minutes))
    page.locator("[name=why]").fill("The watch said so")
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_text(f"{minutes} min C4", exact=True)).to_be_visible()


def test_a_week_is_signed_and_a_later_correction_asks_to_check_it_again(
    open_page, welfare, head, sign_in, usable, night
):
    officer = open_week(sign_in(open_page("phone"), welfare), night)
    expect(officer.locator(".counts")).to_have_text("4 near a limit · 4 fine")
    usable(officer)
    officer.get_by_role("button", name="I have looked at these figures").click()
    expect(officer.get_by_text("The week is signed as checked.")).to_be_visible()
    expect(officer.get_by_role("button", name="I have looked at these figures")).to_have_count(0)
    usable(officer)
    correct(sign_in(open_page("phone"), head), night, 20)
    open_week(officer, night)
    expect(officer.locator(".counts")).to_have_text("4 past a limit · 4 fine")
    expect(officer.get_by_text("check again")).to_be_visible()
    expect(officer.get_by_text("past by 5 min").first).to_be_visible()
    usable(officer)
    officer.get_by_role("button", name="I have looked at these figures").click()
    expect(officer.get_by_text("check again")).to_have_count(0)
    assert WeekChecked.objects.count() == 2


def test_what_was_changed_of_the_night_is_two_clicks_away(open_page, welfare, head, sign_in, usable, night):
    correct(sign_in(open_page("phone"), head), night, 20)
    officer = open_week(sign_in(open_page("phone"), welfare), night)
    officer.get_by_role("link", name=night.day.strftime("%a %-d %b")).first.click()
    officer.get_by_role("link", name="Plan and changes").click()
    expect(officer.locator("del").first).to_have_text("12 min C4, 4 players")
    expect(officer.locator("ins").first).to_have_text("20 min C4, 4 players")
    usable(officer)


def test_the_report_on_a_player_who_is_near_no_limit_is_three_clicks_away(open_page, welfare, sign_in, usable, night):
    officer = open_week(sign_in(open_page("phone"), welfare), night)
    fine = night.squad.players.order_by("pk").last().sheet_name
    officer.get_by_text("Report on any player").click()
    usable(officer)
    officer.get_by_role("link", name=f"12 weeks {fine}").click()
    expect(officer.get_by_role("heading", level=1)).to_contain_text(fine)
    usable(officer)
    officer.get_by_role("link", name="To print (PDF)").focus()


def test_who_was_first_aider_is_corrected_on_a_phone_and_the_old_name_stays(phone, head, sign_in, usable, night):
    page = sign_in(phone, head)
    page.goto(f"/c/brackenford/evenings/{night.pk}/record/")
    page.get_by_text("Correct who coached, who was first aider").click()
    usable(page)
    page.get_by_label("First aider who was there").fill("Ada Lund")
    page.get_by_role("button", name="Correct it").click()
    expect(page.get_by_text("First aider: Ada Lund")).to_be_visible()
    expect(page.get_by_text("first aider: – → Ada Lund")).to_be_visible()
    usable(page)


def test_members_are_read_by_all_and_given_by_the_head_coach(phone, head, sign_in, usable, club):
    f.UserFactory(username="physio")
    page = sign_in(phone, head)
    page.goto("/c/brackenford/members/")
    usable(page)
    page.get_by_role("link", name="Give a role to somebody with an account").click()
    usable(page)
    page.get_by_label("Log-in name").fill("physio")
    page.get_by_label("Role").select_option("medical")
    page.get_by_label("As what, or who asked for it").fill("physio of the firsts")
    page.get_by_role("button", name="Give the role").click()
    expect(page.get_by_text("physio has the role now.")).to_be_visible()
    expect(page.locator("ins")).to_have_text("Medical")
    usable(page)
