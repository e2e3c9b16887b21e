"""The ledger of skills and loads for a coach, and what the player sees of it behind his own address."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from playwright.sync_api import expect

from planner.core.totals import monday_of
from planner.models import Session
from planner.record_actions import confirm_night
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from shared.clock import today_at
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand, wish
from tests.planner.own.cast import own_address


@pytest.fixture
def night(squad, assistant) -> Session:
    """At midnight, in this week, confirmed: 12 minutes of one skill; the first of three said that it was a 7."""
    today = today_at(squad.club)
    night = night_on(squad, max(today - dt.timedelta(days=1), monday_of(today)))
    confirm_night(session=night, by=assistant, version=night.plan_version)
    note_rpe(told=[Told(squad.players.order_by("pk")[0], Occasion(session=night), 7)], by=None)
    return night


@pytest.fixture
def late_night(squad) -> Session:
    """Four days ago, and confirmed by nobody."""
    night = night_on(squad, today_at(squad.club) - dt.timedelta(days=4))
    note_rpe(told=[Told(squad.players.order_by("pk")[0], Occasion(session=night), 7)], by=None)
    return night


def night_on(squad, day: dt.date) -> Session:
    players = near_today.players(squad, 3)
    f.SeasonFactory(squad=squad, first_day=day - dt.timedelta(days=30), last_day=day + dt.timedelta(days=60))
    wish(squad, "U01", 30)
    starts = dt.datetime.combine(day, dt.time(0, 0), f.LONDON)
    night = f.SessionFactory(squad=squad, starts_at=starts, slots=[12], coach_names=["M. Askham"])
    stand(night.slots.get(), f.DrillFactory(club=squad.club, name="Rope line", skills={"U01": 100}), players)
    return night


def test_a_coach_goes_from_the_squads_list_to_a_ledger_and_to_what_speaks_against_its_figures(
    open_page, head, sign_in, usable, night
):
    page = sign_in(open_page("phone"), head)
    page.goto(f"/c/brackenford/squads/{night.squad.slug}/ledgers/")
    expect(page.get_by_role("row", name=re.compile("Name0"))).to_contain_text("84 AU")
    usable(page)
    page.get_by_role("link", name=re.compile("Name0")).click()
    expect(page.get_by_role("row", name=re.compile("U01"))).to_contain_text("12 of 30 min")
    usable(page)
    page.get_by_role("link", name="What is published against these figures").click()
    expect(page.get_by_text("This tool gives no advice from these figures")).to_be_visible()
    usable(page)


def test_a_player_sees_his_own_numbers_and_no_other_name(open_page, usable, night):
    own, other = night.squad.players.order_by("pk")[:2]
    phone = open_page("phone", java_script_enabled=False)
    phone.goto(own_address(own) + "training/")
    expect(phone.get_by_text("84 AU").first).to_be_visible()
    expect(phone.get_by_text(other.family_name)).to_have_count(0)
    scripted = open_page("phone")
    scripted.goto(own_address(own) + "training/")
    usable(scripted)


def test_what_nobody_has_confirmed_in_48_hours_counts_and_says_so(open_page, head, sign_in, usable, late_night):
    page, week = sign_in(open_page("phone"), head), monday_of(late_night.day)
    page.goto(f"/c/brackenford/squads/{late_night.squad.slug}/ledgers/?week={week}")
    expect(page.get_by_role("row", name=re.compile("Name0"))).to_contain_text("12 of these not confirmed")
    usable(page)
    page.get_by_role("link", name=re.compile("Name0")).click()
    expect(page.get_by_role("row", name=re.compile("U01"))).to_contain_text("12 of these not confirmed")
    expect(page.get_by_text("84, not confirmed").first).to_be_visible()
    usable(page)
    own = open_page("phone")
    own.goto(own_address(late_night.squad.players.order_by("pk")[0]) + "training/")
    expect(own.get_by_text("7 × 12 min as planned")).to_be_visible()
    usable(own)
