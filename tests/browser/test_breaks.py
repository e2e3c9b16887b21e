"""Days without training, and sessions that come back, as a head coach meets them on a phone and a desktop."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from planner.break_actions import change_breaks
from planner.calendar_actions import lay_out, save_night
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.models import Season, TrainingNight
from planner.scope_actions import end_night
from planner.slot_plans import usual_night
from tests import factories as f

CLUB = "/c/brackenford"


@pytest.fixture
def today() -> dt.date:
    return timezone.localdate()


@pytest.fixture
def season(squad, head, today) -> Season:
    """A year from this week on with a night on each day of the week, so that holidays are on one; and a break."""
    season = f.SeasonFactory(squad=squad, first_day=today, last_day=today + dt.timedelta(days=364))
    for weekday in range(7):
        night = TrainingNight(season=season)
        save_night(night=night, slots=usual_night(), by=head, weekday=weekday, starts=dt.time(19))
    lay_out(season=season, by=head, today=today)
    days = Stretch(today + dt.timedelta(days=30), today + dt.timedelta(days=36))
    change_breaks(season=season, wanted=[Break("Half term of the schools", days)], by=head, today=today)
    return season


def test_every_page_of_the_breaks_is_usable_by_everyone(desktop, season, head, sign_in, usable):
    sign_in(desktop, head)
    base, gap = f"{CLUB}/seasons/{season.pk}", season.breaks.get().pk
    for place in ("", "new/", f"{gap}/", f"{gap}/out/", "import/"):
        desktop.goto(f"{base}/breaks/{place}")
        usable(desktop)
    for place in ("holidays/", "called-off/"):
        desktop.goto(f"{base}/{place}")
        usable(desktop)


def test_holidays_are_ticked_looked_at_and_saved_without_javascript(open_page, season, squad, head, sign_in):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(f"{CLUB}/seasons/{season.pk}/")
    page.get_by_role("link", name="Change the days without training").click()
    page.get_by_role("link", name="Public holidays").click()
    page.get_by_label("Country:", exact=True).select_option("FR")
    page.get_by_role("button", name="Show its holidays").click()
    page.get_by_label("Christmas Day").check()
    page.get_by_role("button", name="Show what it does").click()
    expect(page.get_by_role("heading", name="1 session is called off")).to_be_visible()
    assert squad.sessions.filter(cancelled=True).count() == 7
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("1 session is called off.")).to_be_visible()
    assert squad.sessions.filter(cancelled=True).count() == 8


def test_pasted_lines_are_mended_and_written(page, season, head, sign_in, today, usable):
    first = today + dt.timedelta(days=60)
    sign_in(page, head).goto(f"{CLUB}/seasons/{season.pk}/breaks/import/")
    page.get_by_label("Lines").fill(f"Ball; {first:%d %b %Y}\nFair; soon")
    page.get_by_role("button", name="Show what it holds").click()
    expect(page.get_by_text("“soon” is no date")).to_be_visible()
    usable(page)
    page.get_by_role("link", name="Change the lines").click()
    page.get_by_label("Lines").fill(f"Ball; {first:%d %b %Y}")
    page.get_by_role("button", name="Show what it holds").click()
    page.get_by_role("button", name="Write").click()
    expect(page.get_by_role("link", name="Ball", exact=True)).to_be_visible()
    assert [gap.name for gap in breaks_of(season)] == ["Half term of the schools", "Ball"]


def test_sessions_of_a_night_that_ended_are_brought_back(page, season, squad, head, sign_in, today, usable):
    night = season.nights.get(weekday=(today.weekday() + 1) % 7)
    end_night(night=night, from_day=season.last_day - dt.timedelta(days=20), by=head, today=today)
    sign_in(page, head).goto(f"{CLUB}/seasons/{season.pk}/")
    page.get_by_role("link", name="Sessions called off").click()
    page.get_by_label("its night has ended").first.check()
    page.get_by_role("button", name="Show what it does").click()
    usable(page)
    before = squad.sessions.filter(cancelled=True).count()
    page.get_by_role("button", name="Bring back").click()
    expect(page.get_by_text("1 session takes place again.")).to_be_visible()
    assert squad.sessions.filter(cancelled=True).count() == before - 1
