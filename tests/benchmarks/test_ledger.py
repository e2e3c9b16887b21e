"""A player's ledger and the squad's list of them over ten seasons, with twenty squads beside. The bound of queries is
kept at each look where the nights are confirmed, that of time from the second one on; docs/figures.md has the figures
of both, and of a squad with a night that nobody has confirmed in 48 hours."""

from __future__ import annotations

import sys

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from drills.models import Drill, Skill
from planner.core.totals import monday_of
from planner.models import GroupTarget
from planner.record_actions import confirm_night
from planner.record_models import Presence
from planner.rpe_models import Rpe
from planner.season_figures import KEPT
from shared.clock import today_at
from shared.core.positions import GROUPS
from tests import factories as f
from tests.benchmarks.bare import compared
from tests.benchmarks.ten_records import add_answers
from tests.benchmarks.ten_seasons import WEEK, squads_beside
from tests.benchmarks.test_welfare import add_history, settled

MOST_QUERIES, MOST_TIMES = 12, 2
MOST_WITH_LATE = 25  # what a squad's days take comes on top, however many nights are late


@pytest.fixture
def club_of_ten_seasons(squad, welfare):
    """Every card is on a ladder, every group has a target of every skill, and nine in ten have said how hard it was."""
    today = today_at(squad.club)
    last = monday_of(today) - WEEK
    add_history(squad, today, last, welfare)
    squads_beside(squad.club, today)
    add_answers(squad, list(squad.sessions.filter(confirmations__isnull=False).order_by("day")))
    ladders = [f.LadderFactory(club=squad.club) for _ in range(3)]
    for n, drill in enumerate(Drill.objects.of(squad.club)):
        drill.ladder, drill.step = ladders[n % 3], n // 3 + 1
        drill.save()
    add_targets(squad)
    settled()
    return squad, last


def add_targets(squad):
    GroupTarget.objects.filter(squad=squad).delete()
    GroupTarget.objects.bulk_create(
        GroupTarget(squad=squad, group=group, skill=skill, minutes=20)
        for group in GROUPS
        for skill in Skill.objects.of(squad.club)
    )


def confirm_what_is_over(squad, by):
    for session in squad.sessions.filter(confirmations=None, cancelled=False, starts_at__lte=timezone.now()):
        confirm_night(session=session, by=by, version=session.plan_version)


def test_a_ledger_costs_at_most_twice_a_bare_page_from_the_second_look_on(club_of_ten_seasons, welfare, log_in, capsys):
    squad, last = club_of_ten_seasons
    client, words = log_in(welfare), {"club": squad.club.slug}
    player = squad.players.all()[10].pk
    ledger = reverse("player_ledger", kwargs=words | {"player": player}) + f"?week={last}"
    pages = {
        "ledger, 4 weeks": ledger,
        "ledger, 12 weeks": f"{ledger}&weeks=12",
        "ledger, season": f"{ledger}&weeks=season",
        "the squad's list": reverse("squad_ledgers", kwargs=words | {"squad": squad.slug}) + f"?week={last}",
    }
    late = {
        f"{name}, a night late": compared(client, squad.club, pages[name], before=KEPT.forget)
        for name in ("ledger, 4 weeks", "the squad's list")
    }
    confirm_what_is_over(squad, welfare)
    found = {}
    for name, address in pages.items():
        found[f"{name}, first look"] = compared(client, squad.club, address, before=KEPT.forget)
        found[f"{name}, again"] = compared(client, squad.club, address)
    with capsys.disabled():
        rows = f"{Presence.objects.count():,} presences, {Rpe.objects.count():,} answers"
        lines = (f"{name:30} {cost}" for name, cost in (late | found).items())
        sys.stdout.write(f"\n{connection.vendor}, {rows}\n" + "\n".join(lines) + "\n")
    assert {name: cost.page.queries for name, cost in late.items() if cost.page.queries > MOST_WITH_LATE} == {}
    assert {name: cost.page.queries for name, cost in found.items() if cost.page.queries > MOST_QUERIES} == {}
    again = {name: cost for name, cost in found.items() if name.endswith("again")}
    assert {name: cost.times for name, cost in again.items() if cost.times > MOST_TIMES} == {}
