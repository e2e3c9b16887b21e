"""The welfare officer's pages over ten seasons of one squad with twenty beside it. docs/figures.md has the figures."""

from __future__ import annotations

import datetime as dt
import sys

import pytest
from django.db import connection
from django.urls import reverse

from planner.core.totals import monday_of
from planner.record_models import Declared, PlayerDay, Presence
from planner.season_figures import KEPT
from planner.welfare_models import Did
from shared.clock import today_at
from squads.models import Clearance
from tests import factories as f
from tests.benchmarks.bare import compared
from tests.benchmarks.ten_records import add_record, add_told
from tests.benchmarks.ten_seasons import SEASONS, WEEK, squads_beside, ten_seasons

MOST_QUERIES, MOST_TIMES = 12, 2


@pytest.fixture
def club_of_ten_seasons(squad, welfare):
    today = today_at(squad.club)
    last = monday_of(today) - WEEK
    add_history(squad, today, last, welfare)
    squads_beside(squad.club, today)
    settled()
    return squad, last


def add_history(squad, today, last, by, seasons=SEASONS):
    """Up to last week, whose Thursday nobody has confirmed yet."""
    near = [f"{kind}_{side}_match" for kind in ("full", "controlled") for side in ("after", "before")]
    f.ContactRulesFactory(club=squad.club, full_minutes=20, **dict.fromkeys(near, 1))
    sessions = ten_seasons(squad, today, seasons)
    add_record([session for session in sessions if session.day < last + dt.timedelta(days=3)])
    add_told(squad, last + 6 * dt.timedelta(days=1))
    add_a_week(list(squad.players.all()), last, by)


def add_a_week(players, monday, by):
    """Three past a limit, each with an action; five near one; one in contact in spite of a decision."""
    for player, minutes in zip(players, (33, 32, 31, 24, 26, 28, 29, 30), strict=False):
        Declared.objects.create(
            player=player,
            day=monday,
            place="county",
            kind="set_piece",
            minutes=minutes,
            declared_by="Coach",
            by_name="x",
        )
    for player in players[:3]:
        player.actions_taken.create(monday=monday, did=Did.REST, by=by, by_name="Welfare")
    Clearance.objects.create(
        player=players[9], level="none", from_day=monday, decided_by="Robin Ash", decided_as="physio", decided_on=monday
    )


def settled() -> None:
    """What a database learns of its tables by itself after a while."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def test_pages_of_the_welfare_officer_cost_at_most_twice_a_bare_page(club_of_ten_seasons, welfare, log_in, capsys):
    squad, last = club_of_ten_seasons
    client, words = log_in(welfare), {"club": squad.club.slug}
    player = squad.players.first().pk
    pages = {
        "week": reverse("welfare_week", kwargs=words | {"squad": squad.slug, "monday": str(last)}),
        "report, 4 weeks": reverse("player_report", kwargs=words | {"player": player}) + f"?week={last}",
        "report, 12 weeks": reverse("player_report", kwargs=words | {"player": player}) + f"?week={last}&weeks=12",
        "totals": reverse("totals", kwargs=words) + f"?squad={squad.slug}&week={last}",
        "ledger of a player": reverse("player_totals", kwargs=words | {"player": player}) + f"?week={last}",
    }
    found = {}
    for name, address in pages.items():
        found[f"{name}, first look"] = compared(client, squad.club, address, before=KEPT.forget)
        found[f"{name}, again"] = compared(client, squad.club, address)
    with capsys.disabled():
        rows = f"{Presence.objects.count():,} presences, {PlayerDay.objects.count():,} days of players"
        lines = (f"{name:30} {cost}" for name, cost in found.items())
        sys.stdout.write(f"\n{connection.vendor}, {rows}\n" + "\n".join(lines) + "\n")
    again = {name: cost for name, cost in found.items() if name.endswith("again")}
    assert {name: cost.page.queries for name, cost in again.items() if cost.page.queries > MOST_QUERIES} == {}
    assert {name: cost.times for name, cost in again.items() if cost.times > MOST_TIMES} == {}
