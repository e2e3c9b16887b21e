"""How long dealing tonight again takes with 17 of 26 on the field. docs/planner.md has the figures.

`pytest tests/benchmarks/test_deal_tonight.py -s` prints them; no usual test is about time.
"""

from __future__ import annotations

import datetime as dt
import sys
import time
import uuid

import pytest

from planner import tasks
from planner.actions import accept_run, start_run
from planner.attendance_actions import Tapped, mark
from planner.attendance_tonight import tonight_of
from planner.dealing import deal_again
from planner.models import Place, Session
from planner.tonight_actions import say_what_is_found
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import wish

MONDAY, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)
SOON = dt.datetime(2026, 10, 6, 18, 55, tzinfo=f.LONDON)
FIGURE = 5  # seconds: "a few"


@pytest.fixture
def planned(squad, head, settings):
    """Six weeks of two nights for 26 players, planned."""
    settings.JOB_LEASE_SECONDS = 600
    f.ContactRulesFactory(club=squad.club)
    near_today.players(squad, 26)
    near_today.library(squad)
    for skill in ("I04", "U01"):
        wish(squad, skill, minutes=80)
    days = (MONDAY + dt.timedelta(days=7 * week + day) for week in range(6) for day in (1, 3))
    for day in days:
        near_today.night(squad, day, ["M. Askham", "T. Fenwright", "R. Ash"])
    block = f.BlockFactory(squad=squad, weeks=6)
    run = start_run(block=block, seconds=3, by=head, today=MONDAY)
    assert tasks.run_plan(str(run.job_id)) == "worked"
    run.refresh_from_db()
    accept_run(run=run, by=head, today=MONDAY)
    return block


def test_tonight_is_dealt_again_with_17_of_26_and_one_coach_fewer(planned, head, capsys) -> None:
    night = Session.objects.select_related("squad__club").get(squad=planned.squad, day=TUESDAY)
    players = list(planned.squad.players.all())
    states = ["here"] * 17 + ["away"] * 9
    taps = [Tapped(uuid.uuid4(), p.pk, state, SOON) for p, state in zip(players, states, strict=True)]
    mark(session=night, taps=taps, by=head, today=TUESDAY)
    say_what_is_found(session=night, by=head, today=TUESDAY, coaches=2, coach_names=["M. Askham", "R. Ash"])
    tasks.compile_kernels()
    times = []
    for _round in range(3):
        started = time.perf_counter()
        now = tonight_of(night, TUESDAY, SOON)
        looked = time.perf_counter()
        run = deal_again(block=planned, by=head, night=night, slots=now.slots, today=TUESDAY, now=SOON)
        assert tasks.deal_again(str(run.job_id)) == "worked"
        run.refresh_from_db()
        times.append((looked - started, time.perf_counter() - looked))
    accept_run(run=run, by=head, today=TUESDAY, now=SOON)
    there = set(Place.objects.filter(slot__session=night).values_list("player", flat=True))
    assert there <= {player.pk for player in players[:17]}
    assert tonight_of(night, TUESDAY, SOON).broken == []
    looking, dealing = (sorted(each)[1] for each in zip(*times, strict=True))
    with capsys.disabled():
        sys.stdout.write(f"\nstill works {looking:.2f} s, dealt again {dealing:.2f} s (median of 3, whole job)\n")
    assert dealing < FIGURE
