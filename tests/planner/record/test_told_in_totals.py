"""Totals say of what they count whether it is recorded or only planned."""

from __future__ import annotations

import csv
import datetime as dt
import io

import pytest
from django.utils import timezone

from planner.record_actions import confirm_night
from planner.sheets import sheet_of
from planner.totals import totals_csv_text, totals_of
from tests.planner.record.conftest import DURING, NEXT_DAY, THREE_DAYS_ON

MONDAY = dt.date(2026, 10, 5)


def counted_as(evening, monkeypatch, now: dt.datetime) -> set[str]:
    monkeypatch.setattr(timezone, "now", lambda: now)
    rows = csv.DictReader(io.StringIO(totals_csv_text(totals_of(evening.session.squad, MONDAY, 1, now.date()))))
    return {row["counted_as"] for row in rows if float(row["minutes"])}


@pytest.mark.parametrize(("now", "words"), [(NEXT_DAY, "planned"), (THREE_DAYS_ON, "not confirmed")])
def test_a_night_that_nobody_confirmed_counts_as_planned_and_is_called_so_after_48_hours(
    evening, monkeypatch, now, words
):
    assert counted_as(evening, monkeypatch, now) == {words}


def test_a_confirmed_night_counts_as_recorded(evening, monkeypatch, head):
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=DURING)
    assert counted_as(evening, monkeypatch, THREE_DAYS_ON) == {"confirmed"}


def test_the_ledger_of_a_player_says_it_beside_each_block(evening, monkeypatch, head, log_in):
    address = f"/c/brackenford/players/{evening.players[0].pk}/contact/?week=2026-10-05"
    monkeypatch.setattr(timezone, "now", lambda: NEXT_DAY)
    client = log_in(head)
    assert '<span class="soft">planned</span>' in client.get(address).content.decode()
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=DURING)
    assert '<span class="soft">confirmed</span>' in client.get(address).content.decode()


def test_the_sheet_of_a_confirmed_night_still_holds_what_was_planned(evening, head):
    def drills():
        sheet = sheet_of(evening.session, NEXT_DAY.date())
        return [[station.drill for station in slot.stations] for slot in sheet.slots]

    planned = drills()
    assert any(planned)
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=DURING)
    assert drills() == planned
