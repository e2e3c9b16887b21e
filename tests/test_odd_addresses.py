"""Nothing that somebody writes behind the question mark of an address, or as its day, is an error of the site."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from planner.forms.days import day_asked
from tests import factories as f
from tests.test_access_matrix import CLUB_PAGES, IN_A_CLUB, ROLES, address, cast, visit

__all__ = ["cast"]

VIEWS = [path for path in Path().glob("*/views/*.py") if path.parts[0] != "tests"]
ASKED = sorted({name for path in VIEWS for name in re.findall(r'GET\.get(?:list)?\("(\w+)"', path.read_text())})
ODD = ["x", "0001-01-01", "9999-12-31", "-1", "9" * 30, "\x00"]


def test_the_names_that_views_ask_for_are_found():
    assert {"week", "day", "from", "to", "player", "session", "slots"} <= set(ASKED)


@pytest.mark.parametrize("page", IN_A_CLUB, ids=str)
def test_a_page_answers_whatever_its_address_asks(page, cast, club, client):
    member = f.MembershipFactory(club=club, role=ROLES[CLUB_PAGES[page.name][0]])
    client.force_login(member.user)
    url = address(page, cast)
    for odd in ODD:
        answer = client.get(url, dict.fromkeys([*ASKED, "night", "slot", "swap", "block"], odd))
        assert answer.status_code < 500, odd


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "x", "2026-13-01"])
@pytest.mark.parametrize("page", [page for page in IN_A_CLUB if {"day", "monday"} & set(page.words)], ids=str)
def test_a_page_of_a_day_that_is_out_of_reach_is_not_there(page, day, cast, club, client):
    member = f.MembershipFactory(club=club, role=ROLES[CLUB_PAGES[page.name][0]])
    client.force_login(member.user)
    assert visit(client, address(page, cast | {"day": day, "monday": day})).status_code in {302, 404}


@pytest.mark.parametrize(
    "text", ["", "x", "2026-13-01", "20261005", "0001-01-01", "1949-12-31", "9999-12-31", "２０２６-10-05"]
)
def test_what_is_no_day_within_reach_is_none(text):
    assert day_asked(text) is None


def test_a_day_is_read_by_iso_8601():
    assert day_asked("2026-10-05") == dt.date(2026, 10, 5)
