"""What the welfare officer's page calls open beside nights: match minutes that nobody told, and earlier weeks."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from planner.declared_actions import declare_contact, note_match_minutes
from planner.season_figures import KEPT
from planner.totals import WEEK
from planner.welfare import welfare_week
from planner.welfare_actions import sign_week
from tests import factories as f
from tests.planner.test_sheets import text_of
from tests.planner.welfare.cast import FRIDAY, MONDAY, NEXT_MONDAY
from tests.planner.welfare.test_week import PAGE, read

SUNDAY = NEXT_MONDAY - dt.timedelta(days=1)
NEXT_PAGE = PAGE.replace("2026-10-05", "2026-10-12")


@pytest.fixture
def at(on, monkeypatch):
    """`at(day)`: it is noon of that day, for clocks as well."""

    def set_moment(day: dt.date) -> None:
        on(day)
        monkeypatch.setattr(timezone, "now", lambda: dt.datetime.combine(day, dt.time(12), f.LONDON))

    set_moment(SUNDAY)
    return set_moment


@pytest.fixture
def match(cast, at):
    """On Saturday 10 October at 15:00."""
    return f.FixtureFactory(squad=cast.squad)


def told(match, players, minutes: int, by, day: dt.date = SUNDAY) -> None:
    told, seen = dict.fromkeys(players, minutes), {player.pk: None for player in players}
    note_match_minutes(fixture=match, minutes=told, seen=seen, declared_by="the manager", by=by, today=day)


def open_matches(cast, monday: dt.date = MONDAY, today: dt.date = SUNDAY) -> list:
    KEPT.forget()
    return [(each.missing, each.all_open) for each in welfare_week(cast.squad, monday, today).looked.matches]


# Matches of which nobody told the minutes: their minutes and hours are in no figure


def test_a_match_that_is_over_is_open_until_the_minutes_of_everybody_are_told(cast, match, head):
    assert open_matches(cast) == [(6, True)]
    told(match, cast.players[:4], 80, head)
    assert open_matches(cast) == [(2, False)]
    told(match, cast.players[4:], 0, head)
    assert open_matches(cast) == []


def test_a_match_to_come_off_or_of_another_week_is_not_open(cast, match, at):
    assert open_matches(cast, NEXT_MONDAY) == []
    at(FRIDAY)
    assert open_matches(cast, today=FRIDAY) == []
    at(SUNDAY)
    type(match).objects.update(state="cancelled")
    assert open_matches(cast) == []


def test_a_match_without_a_time_is_open_from_the_next_day_on(cast, match, at):
    type(match).objects.update(all_day=True)
    assert open_matches(cast) == [(6, True)]
    at(match.day)
    assert open_matches(cast, today=match.day) == []


def test_who_joined_after_the_match_is_not_asked_for(cast, match):
    type(cast.players[0]).objects.filter(pk=cast.players[0].pk).update(joined=SUNDAY)
    assert open_matches(cast) == [(5, True)]


def test_the_page_its_print_and_the_report_lead_to_the_match(cast, match, head, welfare, log_in):
    told(match, cast.players[:4], 80, head)
    client = log_in(welfare)
    assert f'href="{reverse("match_minutes", args=["brackenford", match.pk])}"' in client.get(PAGE).content.decode()
    words = "Sat 10 Oct, Netherby Cross RFC : match minutes of 2 players not told"
    assert words in read(client, PAGE)
    assert words.replace(" :", ":") in text_of(client.get(PAGE + "week.pdf").content)
    for player, is_open in ((cast.players[0], False), (cast.players[5], True)):
        report = f"/c/brackenford/players/{player.pk}/report"
        assert ("match minutes not told" in read(client, f"{report}/?week=2026-10-05")) is is_open
        assert ("Match minutes not told" in text_of(client.get(f"{report}.pdf?week=2026-10-05").content)) is is_open


# Earlier weeks


def signed(cast, monday: dt.date, today: dt.date, by) -> None:
    KEPT.forget()
    looked = welfare_week(cast.squad, monday, today).looked
    sign_week(squad=cast.squad, monday=monday, digest=looked.digest, seen=looked.seen, by=by)


def earlier(cast, monday: dt.date = NEXT_MONDAY, today: dt.date = NEXT_MONDAY) -> list:
    KEPT.forget()
    return [(each.monday, each.checked is not None) for each in welfare_week(cast.squad, monday, today).earlier]


def test_a_week_with_contact_that_nobody_signed_stands_open_on_the_next_page(cast, at, welfare, log_in):
    cast.contact(cast.tuesday, 1400, cast.players[:1])
    at(NEXT_MONDAY)
    assert earlier(cast) == [(MONDAY, False)]
    client = log_in(welfare)
    assert "5 Oct – 11 Oct : nobody has signed this week" in read(client, NEXT_PAGE)
    assert "nobody has signed this week" in text_of(client.get(NEXT_PAGE + "week.pdf").content)
    signed(cast, MONDAY, NEXT_MONDAY, welfare)
    assert earlier(cast) == []


def test_a_correction_of_a_signed_week_is_seen_from_the_page_of_a_later_one(cast, at, head, welfare, log_in):
    cast.contact(cast.tuesday, 1400, cast.players[:1])
    at(NEXT_MONDAY)
    signed(cast, MONDAY, NEXT_MONDAY, welfare)
    declare_contact(
        player=cast.players[1], day=MONDAY, place="school", kind="full", minutes=4, declared_by="his teacher", by=head,
        today=NEXT_MONDAY,
    )  # fmt: skip
    assert earlier(cast) == earlier(cast, NEXT_MONDAY + 2 * WEEK, NEXT_MONDAY + 2 * WEEK) == [(MONDAY, True)]
    words = "5 Oct – 11 Oct : check again contact is not what welfare signed on"
    assert words in read(log_in(welfare), NEXT_PAGE)
    signed(cast, MONDAY, NEXT_MONDAY, welfare)
    assert earlier(cast) == []


def test_a_signed_week_is_the_same_by_its_kept_sums_whatever_was_in_it(cast, at, head, welfare):
    """Minutes with hundredths, three kinds, days with full contact, a player above what he may do, a limit lowered."""
    cast.contact(cast.tuesday, 1285, cast.players[:3])
    cast.contact(cast.thursday, 633, cast.players[1:4])
    cast.contact(cast.thursday, 900, cast.players, "C3")
    cast.restrict(cast.players[2])
    f.ContactRulesFactory(club=cast.squad.club, valid_from=FRIDAY, full_minutes=9, full_days=1)
    at(NEXT_MONDAY)
    signed(cast, MONDAY, NEXT_MONDAY, welfare)
    assert earlier(cast) == []


def test_weeks_that_are_not_over_or_without_contact_ask_for_nothing(cast, at):
    at(NEXT_MONDAY)
    assert earlier(cast) == []
    cast.contact(cast.thursday, 1400, cast.players[:1])
    at(FRIDAY)
    assert earlier(cast, NEXT_MONDAY, FRIDAY) == []
