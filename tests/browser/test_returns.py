"""Somebody comes off: a first aider enters it on a phone, and a coach sees status and dates and no reason."""

import datetime as dt

from playwright.sync_api import Page, expect

from shared.clock import today_at
from squads.models import Player
from tests import factories as f
from tests.browser import near_today

MARKER = "quibblesnaffle"


def said(day: dt.date) -> str:
    return f"{day.day} {day:%b %Y}"


def take_off(page: Page, day: dt.date) -> None:
    page.get_by_role("link", name="Take off, and begin a return").click()
    expect(page.get_by_text("off at once")).to_be_visible()
    page.get_by_label("UK grassroots guidance").check()
    page.get_by_label("Day of the injury").fill(day.isoformat())
    page.get_by_label("As:").fill("first aider")
    page.get_by_role("button", name="Take off").click()
    expect(page.get_by_text("no day yet").first).to_be_visible()


def enter_free(page: Page, day: dt.date) -> None:
    page.get_by_role("link", name="No symptoms since").click()
    page.get_by_label("First day without symptoms").fill(day.isoformat())
    page.get_by_role("button", name="Enter the day").click()


def keep_note(page: Page, player: Player) -> None:
    page.goto(f"/c/brackenford/players/{player.pk}/")
    page.get_by_role("link", name="Medical notes").click()
    page.get_by_label("Note").fill(f"Seen on the touchline, {MARKER}.")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.get_by_text(MARKER)).to_be_visible()


def decide(page: Page, today: dt.date) -> None:
    page.get_by_role("link", name="Record a decision").click()
    page.get_by_label("non-contact only").check()
    page.get_by_label("From").fill(today.isoformat())
    page.get_by_label("Decided by").fill("Dr Ann Ferris")
    page.get_by_label("As:").fill("club doctor")
    page.get_by_label("Decided on").fill(today.isoformat())
    page.get_by_role("button", name="Record the decision").click()


def test_a_first_aider_enters_a_return_and_a_coach_sees_dates_and_no_reason(
    open_page, squad, medic, assistant, sign_in, usable
):
    player, *_others = near_today.players(squad, 3)
    today = today_at(squad.club)
    page = sign_in(open_page("phone"), medic)
    usable(page)
    page.goto(f"/c/brackenford/players/{player.pk}/")
    take_off(page, today - dt.timedelta(days=10))
    enter_free(page, today - dt.timedelta(days=6))
    expect(page.get_by_text(said(today + dt.timedelta(days=8))).first).to_be_visible()  # 14 days without symptoms
    usable(page)
    decide(page, today)
    expect(page.get_by_text("no contact by clearance")).to_be_visible()
    usable(page)
    keep_note(page, player)
    usable(page)

    coach = sign_in(open_page("phone"), assistant)
    coach.goto("/c/brackenford/squads/firsts/")
    coach.get_by_role("link", name="Returns to training").click()
    row = coach.get_by_role("row").filter(has_text=str(player))
    expect(row).to_contain_text("non-contact only")
    expect(row).to_contain_text(f"contact: {said(today + dt.timedelta(days=8))}")
    expect(row).to_contain_text(f"match: {said(today + dt.timedelta(days=11))}")
    usable(coach)
    for path in ("squads/firsts/returns/", f"players/{player.pk}/"):
        coach.goto(f"/c/brackenford/{path}")
        words = coach.locator("main").inner_text().lower()
        assert MARKER not in words
        assert "symptom" not in words
        assert "grassroots" not in words


def test_a_decision_above_the_dates_is_refused_in_words_and_keeps_what_was_typed(open_page, squad, medic, sign_in):
    welfare = f.MembershipFactory(club=squad.club, role="welfare_officer").user
    player, *_others = near_today.players(squad, 1)
    today = today_at(squad.club)
    page = sign_in(open_page("phone"), welfare)
    page.goto(f"/c/brackenford/players/{player.pk}/")
    take_off(page, today - dt.timedelta(days=3))
    enter_free(page, today - dt.timedelta(days=1))
    decide(page, today)
    expect(page.get_by_text("Non-contact training: not before")).to_be_visible()
    expect(page.get_by_label("Decided by")).to_have_value("Dr Ann Ferris")
