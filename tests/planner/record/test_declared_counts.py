"""Declared contact counts in full wherever contact of a week is counted, and says that it is declared."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from planner.build import player_id, problem_of, session_id
from planner.core.problem import Accrued, Ceiling, Contact
from planner.record_actions import confirm_night
from planner.record_models import Declared
from planner.season_figures import KEPT
from planner.totals import totals_csv_text, totals_of
from shared.core.contact import Kind
from squads.models import Clearance
from tests import factories as f
from tests.planner.own.cast import own_address
from tests.planner.record.conftest import NEXT_DAY, THREE_DAYS_ON
from tests.planner.test_sheets import text_of

MONDAY = dt.date(2026, 10, 5)
WEDNESDAY = dt.date(2026, 10, 7)
SUNDAY = dt.date(2026, 10, 11)


def declared(player, minutes=7, kind="full", day=WEDNESDAY, **more) -> Declared:
    told = {"place": "school", "declared_by": "PE teacher", "by_name": "x"} | more
    KEPT.forget()
    return Declared.objects.create(player=player, day=day, kind=kind, minutes=minutes, **told)


@pytest.fixture
def player(evening):
    """He has 3.0 minutes of full contact and 6.0 controlled on Tuesday."""
    return evening.players[0]


@pytest.fixture(autouse=True)
def the_third_day(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: THREE_DAYS_ON)
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: THREE_DAYS_ON.date())


def week_of(player):
    return totals_of(player.squad, MONDAY, 1, SUNDAY).weeks[0].of(player.pk)


def words_of(client, address: str) -> str:
    answer = client.get(address)
    if answer["Content-Type"] == "application/pdf":
        return text_of(answer.content)
    html = re.sub(r"<title>[^<]*</title>|<[^>]+>", " ", answer.content.decode())
    return " ".join(unescape(html).split())


def test_it_is_added_to_the_minutes_of_its_kind_and_to_the_days_with_full_contact(player):
    assert (week_of(player).figure(Kind.FULL).minutes, len(week_of(player).days_with_full)) == (3.0, 1)
    declared(player)
    declared(player, 4, "controlled")
    week = week_of(player)
    assert [week.figure(kind).minutes for kind in (Kind.FULL, Kind.CONTROLLED)] == [10.0, 10.0]
    assert week.days_with_full == (dt.date(2026, 10, 6), WEDNESDAY)


def test_what_was_corrected_counts_as_it_was_corrected(player):
    first = declared(player)
    declared(player, 2, replaces=first)
    assert week_of(player).figure(Kind.FULL).minutes == 5.0


def test_none_at_all_adds_nothing(player):
    declared(player, 0, "none")
    assert week_of(player).figure(Kind.FULL).minutes == 3.0


def test_contact_of_the_week_before_counts_in_the_sum_of_seven_days(player):
    declared(player, 9, day=dt.date(2026, 9, 30))
    figure = week_of(player).figure(Kind.FULL)
    assert (figure.minutes, figure.rolling.minutes) == (3.0, 12.0)


def test_of_days_on_which_he_was_not_in_the_squad_nothing_counts(player):
    declared(player)
    player.left = dt.date(2026, 10, 6)
    player.save()
    assert week_of(player).figure(Kind.FULL).minutes == 3.0


def test_the_table_says_that_it_is_declared(evening, player, head):
    declared(player, 4, "controlled")
    declared(player, 5, "set_piece")
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=NEXT_DAY)
    text = totals_csv_text(totals_of(player.squad, MONDAY, 1, SUNDAY))
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["player"] == str(player)]
    assert {row["kind"]: (row["minutes"], row["counted_as"]) for row in rows} == {
        "full": ("3.00", "confirmed"),
        "controlled": ("10.00", "confirmed + declared"),
        "set_piece": ("5.00", "declared"),
    }


def test_pages_and_paper_show_it(evening, player, head, log_in):
    declared(player, 14)
    client, base = log_in(head), "/c/brackenford/"
    said = "17 of 15 min past by 2"
    assert said in words_of(client, f"{base}totals/?squad=firsts&week={MONDAY}")
    assert "17 of 15" in words_of(client, f"{base}totals.pdf?squad=firsts&week={MONDAY}")
    ledger = words_of(client, f"{base}players/{player.pk}/contact/?week={MONDAY}")
    assert "Wed 7 Oct school, told by PE teacher declared full contact 14 × 100 % 14 min" in ledger
    assert said in words_of(client, reverse("week", args=["brackenford", "firsts", MONDAY]))


def test_the_officers_week_counts_it_once(player, welfare, log_in):
    declared(player, 14)
    assert "17 of 15 min past by 2 min" in words_of(log_in(welfare), f"/c/brackenford/squads/firsts/welfare/{MONDAY}/")


def test_his_own_page_counts_it(player, client, assistant):
    declared(player, 5, "controlled")
    assert "11" in re.findall(r"([\d.]+) (?:of 40 )?min", words_of(client, own_address(player)))


def test_contact_elsewhere_in_spite_of_a_decision_stands_on_top_of_the_totals_and_is_counted(player, head, log_in):
    Clearance.objects.create(
        player=player, level="none", from_day=WEDNESDAY, decided_by="Robin Ash", decided_as="physio", decided_on=MONDAY
    )
    declared(player, 5)
    week = totals_of(player.squad, MONDAY, 1, SUNDAY).weeks[0]
    assert (week.lines[0].player, week.lines[0].room.value) == (player, "not allowed")
    text = words_of(log_in(head), f"/c/brackenford/totals/?squad=firsts&week={MONDAY}")
    assert "took part in school, told by PE teacher, Wed 7 Oct; counted" in text


# The next plan


def built(evening, today=WEDNESDAY):
    return problem_of(evening.cast.block, today=today).problem


def of(problem, player):
    return next(each for each in problem.players if each.id == player_id(player.pk))


def test_the_next_plan_leaves_that_much_less_of_the_week(evening, player):
    before = of(built(evening), player).accrued
    declared(player)
    declared(player, 8, "set_piece", day=dt.date(2026, 10, 13))
    declared(player, 9, day=dt.date(2026, 9, 30))  # before the block
    assert before == (Accrued(0, Contact.FULL, 3.0), Accrued(0, Contact.CONTROLLED, 6.0))
    assert set(of(built(evening), player).accrued) == {
        Accrued(0, Contact.FULL, 10.0),
        Accrued(0, Contact.CONTROLLED, 6.0),
        Accrued(1, Contact.SET_PIECE, 8.0),
    }


def test_a_day_with_full_contact_elsewhere_is_one_of_the_days_of_his_week(evening, player):
    thursday = session_id(evening.cast.nights[1].pk)

    def ceiling() -> Ceiling:
        return built(evening).ceiling(player_id(player.pk), thursday)

    assert ceiling() is Ceiling.FULL
    declared(player, 1)
    assert ceiling() is Ceiling.CONTROLLED


def test_of_whoever_is_not_in_the_block_nothing_is_asked(evening, squad):
    gone = f.PlayerFactory(squad=squad, left=MONDAY)
    declared(gone, 5, day=MONDAY)
    assert problem_of(evening.cast.block, today=WEDNESDAY).problem.players
