"""The calendar by month, week and season in a real browser: jumping, moving by mouse and by keyboard, folded nights."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests import factories as f
from tests.planner.block_cast import stand


@pytest.fixture
def monday() -> dt.date:
    """Of the week after next, so that nothing of it is past whatever day it is."""
    today = timezone.localdate()
    return today + dt.timedelta(days=14 - today.weekday())


@pytest.fixture
def cast(squad, monday):
    """A season of some weeks around now; in the week of `monday` two nights with a drill, and a match."""
    season = f.SeasonFactory(
        squad=squad, first_day=monday - dt.timedelta(weeks=5), last_day=monday + dt.timedelta(weeks=12)
    )
    season.phases.create(name="Early season", first_day=season.first_day, last_day=monday)
    season.phases.create(name="Run-in", first_day=monday + dt.timedelta(weeks=4), last_day=season.last_day)
    f.ContactRulesFactory(club=squad.club, valid_from=season.first_day)
    drill = f.DrillFactory(club=squad.club, rung="C4", contact_share=100, contacts_most=9)
    player = f.PlayerFactory(squad=squad)
    nights = []
    for offset in (1, 3):
        starts = dt.datetime.combine(monday + dt.timedelta(days=offset), dt.time(19), f.LONDON)
        night = f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12, *[15] * 6])
        stand(night.slots.get(order=1), drill, [player])
        nights.append(night)
    kick_off = dt.datetime.combine(monday + dt.timedelta(days=5), dt.time(15), f.LONDON)
    return {"nights": nights, "match": f.FixtureFactory(squad=squad, kick_off=kick_off), "season": season}


def month_of(day: dt.date) -> str:
    return f"/c/brackenford/calendar/firsts/month/{day:%Y-%m}/"


def week_of(day: dt.date) -> str:
    return f"/c/brackenford/calendar/firsts/week/{day}/"


def season_of(cast: dict) -> str:
    return f"/c/brackenford/calendar/firsts/season/{cast['season'].first_day}/"


def drag(page: Page, entry: str, day: dt.date) -> None:
    page.locator(f'[data-entry="{entry}"]').drag_to(page.locator(f'[data-day="{day}"]'))


def test_the_views_are_usable_by_everyone(desktop, head, sign_in, usable, cast, monday):
    page = sign_in(desktop, head)
    for address in (month_of(monday), week_of(monday), season_of(cast)):
        page.goto(address)
        usable(page)


def test_a_session_is_taken_to_another_day_and_its_form_opens_with_that_day(desktop, head, sign_in, cast, monday):
    night, friday = cast["nights"][0], monday + dt.timedelta(days=4)
    page = sign_in(desktop, head)
    page.goto(week_of(monday))
    drag(page, f"/c/brackenford/sessions/{night.pk}/move/", friday)
    page.wait_for_url(f"**/sessions/{night.pk}/move/?day={friday}")
    expect(page.get_by_label("Day")).to_have_value(friday.isoformat())
    day = night.day
    night.refresh_from_db()
    assert night.day == day


def test_a_match_is_taken_to_another_day_in_the_month(desktop, head, sign_in, cast, monday):
    match, sunday = cast["match"], monday + dt.timedelta(days=6)
    page = sign_in(desktop, head)
    page.goto(month_of(monday + dt.timedelta(days=5)))
    drag(page, f"/c/brackenford/fixtures/{match.pk}/", sunday)
    page.wait_for_url(f"**/fixtures/{match.pk}/?day={sunday}")
    expect(page.get_by_label("Day")).to_have_value(sunday.isoformat())


def test_taking_up_and_putting_back_is_announced_and_moves_nothing(desktop, head, sign_in, cast, monday):
    night = cast["nights"][0]
    page = sign_in(desktop, head)
    page.goto(week_of(monday))
    address, said = page.url, page.locator("#said")
    page.locator(f'[data-entry$="/sessions/{night.pk}/move/"]').hover()
    page.mouse.down()
    page.mouse.move(400, 100, steps=4)
    expect(said).to_have_text("19:00 Training is taken up. Drop it on another day.")
    page.mouse.up()
    expect(said).to_have_text("19:00 Training stays where it was.")
    assert page.url == address


def test_the_same_form_is_reached_by_keyboard_and_without_javascript(open_page, head, sign_in, cast, monday):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(week_of(monday))
    page.get_by_role("link", name=f"Move {cast['nights'][0].day:%a %-d %b} 19:00 Training").press("Enter")
    expect(page.get_by_role("button", name="Move")).to_be_visible()


def test_nothing_can_be_taken_up_on_a_phone_or_by_an_assistant(open_page, assistant, head, sign_in, cast, monday):
    for page, user in ((open_page("phone", has_touch=True, is_mobile=True), head), (open_page("desktop"), assistant)):
        sign_in(page, user).goto(week_of(monday))
        expect(page.get_by_text("19:00 Training").first).to_be_visible()
        expect(page.locator("[draggable=true]")).to_have_count(0)


def test_a_jump_leads_to_the_month_the_week_and_the_phase(page, head, sign_in, cast, monday):
    sign_in(page, head).goto(month_of(monday))
    run_in = monday + dt.timedelta(weeks=4)
    page.get_by_label("Go to").select_option(label="Run-in")
    page.get_by_role("button", name="Go").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(f"{run_in:%B %Y}")
    page.get_by_role("link", name="Week", exact=True).click()
    page.get_by_label("Go to").select_option(monday.isoformat())
    page.get_by_role("button", name="Go").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("week 6")


def test_the_strip_has_its_table_and_contact_its_word(page, head, sign_in, cast, monday):
    sign_in(page, head).goto(season_of(cast))
    row = page.locator(f"#week-{monday}")
    expect(row).to_contain_text("12 of 15 min")
    expect(row).to_contain_text("near")
    expect(page.get_by_text("1 above what they may do")).to_be_visible()  # live work two days before a match
    page.get_by_text("The same as a table").click()
    expect(page.locator(".strip-table tr", has_text=f"{monday:%-d %b}")).to_contain_text("24")


def test_a_link_to_a_folded_night_opens_it(phone, head, sign_in, cast, monday):
    first, second = cast["nights"]
    page = sign_in(phone, head)
    page.goto(f"/c/brackenford/week/firsts/{monday}/")
    heading = page.get_by_role("heading", name=f"{second.day:%A %-d %B}")
    expect(page.get_by_role("heading", name=f"{first.day:%A %-d %B}")).to_be_visible()
    expect(heading).to_be_hidden()
    page.goto(f"/c/brackenford/week/firsts/{monday}/#night-{second.pk}")
    expect(heading).to_be_in_viewport()


def test_a_folded_night_opens_by_keyboard_and_without_javascript(open_page, head, sign_in, cast, monday):
    second = cast["nights"][1]
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(f"/c/brackenford/week/firsts/{monday}/")
    page.locator("summary", has_text=f"{second.day:%A %-d %B}").press("Enter")
    expect(page.get_by_role("heading", name=f"{second.day:%A %-d %B}")).to_be_visible()
