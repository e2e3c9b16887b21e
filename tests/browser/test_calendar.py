"""The calendar, from an empty season to sessions with their slots, as a head coach and an assistant meet it."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from planner.calendar_actions import NamedDays, lay_out, save_night, save_season
from planner.models import Season, TrainingNight
from planner.slot_plans import usual_night
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.calendar.ics_files import calendar, event


@pytest.fixture
def today() -> dt.date:
    return timezone.localdate()


@pytest.fixture
def season(squad, head, today) -> Season:
    """Four weeks around today with a Tuesday night, a match in six days, and one session with a drill."""
    first, last = today - dt.timedelta(days=10), today + dt.timedelta(days=18)
    season = save_season(
        season=Season(squad=squad), by=head, name="Now", first_day=first, last_day=last,
        phases=[NamedDays("In season", first, last)], breaks=[NamedDays("Ball", last, last)],
    )  # fmt: skip
    night = TrainingNight(season=season)
    save_night(night=night, slots=usual_night(), by=head, weekday=1, starts=dt.time(19), lights_until=dt.time(20))
    sessions = lay_out(season=season, by=head, today=first)
    stand(sessions[-1].slots.get(order=2), f.DrillFactory(club=squad.club), [])
    kick_off = dt.datetime.combine(today + dt.timedelta(days=6), dt.time(15), f.LONDON)
    f.FixtureFactory(squad=squad, kick_off=kick_off, competition="League")
    return season


def addresses(season: Season) -> list[str]:
    club = "/c/brackenford"
    session, fixture = season.squad.sessions.last(), season.squad.fixtures.get()
    night, at = season.nights.get(), f"{club}/sessions/{season.squad.sessions.last().pk}"
    return [
        f"{club}/calendar/?past=1",
        f"{club}/seasons/new/",
        f"{club}/seasons/{season.pk}/",
        f"{club}/seasons/{season.pk}/edit/",
        f"{club}/seasons/{season.pk}/lay-out/",
        f"{club}/nights/{night.pk}/",
        f"{club}/sessions/new/",
        f"{club}/sessions/{session.pk}/",
        f"{at}/edit/",
        f"{at}/move/",
        f"{at}/slots/",
        f"{club}/fixtures/{fixture.pk}/",
        f"{club}/fixtures/import/",
    ]


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark"), ("desktop", "light")])
def test_every_page_of_the_calendar_is_usable_by_everyone(open_page, size, scheme, season, head, sign_in, axe):
    page = sign_in(open_page(size, color_scheme=scheme), head)
    for address in addresses(season):
        page.goto(address)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), address


def test_a_season_comes_about_from_its_form_to_its_sessions_without_javascript(open_page, squad, head, sign_in, today):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto("/c/brackenford/calendar/")
    page.get_by_role("link", name="New season").click()
    page.get_by_label("Name").first.fill("2030/31")
    page.get_by_label("First day").first.fill(today.isoformat())
    page.get_by_label("Last day").first.fill((today + dt.timedelta(days=20)).isoformat())
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Add night").click()
    page.get_by_label("Day").select_option("Tuesday")
    page.get_by_label("Starts").fill("19:00")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Lay out the sessions").click()
    expect(page.get_by_text("3 sessions in 3 weeks.")).to_be_visible()
    page.get_by_role("button", name="Lay out 3 sessions").click()
    expect(page.get_by_text("sessions are laid out.")).to_be_visible()
    assert squad.sessions.count() == 3


def test_a_calendar_file_is_looked_at_before_it_is_written(page, season, head, sign_in, today, axe, tmp_path):
    day = f"DTSTART;VALUE=DATE:{today + dt.timedelta(days=13):%Y%m%d}"
    file = tmp_path / "league.ics"
    file.write_bytes(
        calendar(event(day, summary="Hollin v Brackenford"), event("DTSTART:soon", uid="b", summary="v Ash"))
    )
    sign_in(page, head).goto("/c/brackenford/fixtures/import/")
    page.get_by_label("File").set_input_files(file)
    page.get_by_role("button", name="Show what it holds").click()
    expect(page.get_by_text("DTSTART cannot be read")).to_be_visible()
    axe(page)
    assert season.squad.fixtures.count() == 1
    page.get_by_role("button", name="Write all but the refused").click()
    expect(page.get_by_text("Hollin")).to_be_visible()


def test_a_slot_is_changed_and_the_end_of_the_night_moves(page, season, head, sign_in):
    session = season.squad.sessions.last()
    sign_in(page, head).goto(f"/c/brackenford/sessions/{session.pk}/")
    expect(page.get_by_text("It ends at 20:20, but the lights go off at 20:00")).to_be_visible()
    page.get_by_role("link", name="Change slots").click()
    page.get_by_label("Take out, row 5").check()
    page.get_by_label("Minutes, row 9").fill("10")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("rowheader", name="ends at 20:04")).to_be_visible()


def test_an_assistant_finds_tonight_in_the_calendar(phone, season, assistant, sign_in):
    sign_in(phone, assistant).goto("/c/brackenford/calendar/")
    phone.get_by_role("link", name="19:00 Training").first.click()
    expect(phone.get_by_role("heading", name="Timeline")).to_be_visible()
    expect(phone.get_by_role("link", name="Change slots")).to_have_count(0)
