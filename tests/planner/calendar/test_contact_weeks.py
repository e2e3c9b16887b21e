"""The contact planned in the weeks of a month and in a single week, fetched beside the page of the calendar."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.season_figures import KEPT
from squads.models import Clearance
from tests import factories as f
from tests.planner.block_cast import season_with_days
from tests.planner.calendar.test_season_view import MONDAY, NOW, live, text_of

MONTH, WEEK = "/c/brackenford/calendar/firsts/month/2026-10/", "/c/brackenford/calendar/firsts/week/2026-10-05/"


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def player(squad):
    season_with_days(squad)
    return f.PlayerFactory(squad=squad)


@pytest.mark.parametrize("page", [MONTH, WEEK])
def test_the_page_fetches_the_contact_and_leads_there_without_javascript(squad, player, head, log_in, page):
    live(squad, player, 100)
    assert f'href="{page}contact/" hx-get="{page}contact/" hx-trigger="load"' in text_of(log_in(head), page)
    text = text_of(log_in(head), f"{page}contact/")
    assert f'<a href="{page}">← Calendar</a>' in text
    assert "<title>full contact: 12 of 15 min</title>" in text


def test_a_month_has_a_row_for_each_of_its_weeks_and_a_week_one(squad, player, head, log_in):
    assert text_of(log_in(head), f"{MONTH}contact/").count('<th scope="row">') == 5
    assert text_of(log_in(head), f"{WEEK}contact/").count('<th scope="row">') == 1


def test_a_player_above_what_he_may_do_is_told_under_the_week(squad, player, head, log_in):
    live(squad, player, 50)
    Clearance.objects.create(
        player=player, level="none", from_day=MONDAY, decided_by="Robin Ash", decided_as="physio", decided_on=MONDAY
    )
    assert "1 above what they may do" in text_of(log_in(head), f"{WEEK}contact/")


def test_the_calendar_takes_in_the_part_alone(squad, player, head, log_in):
    part = log_in(head).get(f"{WEEK}contact/", headers={"HX-Request": "true"}).content.decode()
    assert part.startswith("<div>")
    assert "<html" not in part


def test_an_assistant_who_sees_no_totals_sees_no_link_to_them(squad, player, assistant, log_in):
    assert "contact/" not in text_of(log_in(assistant), MONTH)


def test_weeks_outside_a_season_go_by_their_number_in_the_year(squad, player, head, log_in):
    text = text_of(log_in(head), "/c/brackenford/calendar/firsts/week/2030-01-07/contact/")
    assert "W02" in text
    assert "Week 0" not in text


def test_a_month_that_is_none_leads_to_the_calendar(squad, player, head, log_in):
    answer = log_in(head).get("/c/brackenford/calendar/firsts/month/2026-99/contact/")
    assert (answer.status_code, answer.headers["Location"]) == (302, "/c/brackenford/calendar/firsts/month/2026-12/")


def test_what_is_counted_is_kept_until_something_changes(squad, player, head, log_in):
    live(squad, player, 100)
    client, counts = log_in(head), []
    KEPT.forget()
    for _look in range(2):
        with CaptureQueriesContext(connection) as asked:
            client.get(f"{MONTH}contact/")
        counts.append(len(asked))
    assert counts[1] <= 9 < counts[0] <= 24
    client.get(f"{WEEK}contact/")
    live(squad, player, 100, day=8)
    assert "24 of 15 min" in text_of(client, f"{MONTH}contact/")
