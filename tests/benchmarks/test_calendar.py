"""The pages of the calendar with ten seasons of twenty-one squads: what each costs. docs/calendar.md has the figures.

Set DATABASE_URL to measure on PostgreSQL.
"""

from __future__ import annotations

import datetime as dt
import os
import sys

import pytest
from django.db import connection
from django.urls import reverse

from planner import season_print
from planner.core.calendar import monday_of
from planner.models import Season
from planner.season_figures import KEPT
from shared.clock import today_at
from shared.models import Club
from squads.models import Squad
from tests import factories as f
from tests.benchmarks.bare import compared
from tests.benchmarks.ten_seasons import squads_beside, ten_seasons


@pytest.fixture
def large(squad: Squad) -> Squad:
    """A squad with programme in all of its ten seasons, and twenty beside it; one set of contact rules."""
    today = today_at(squad.club)
    f.ContactRulesFactory(club=squad.club, valid_from=dt.date(2000, 1, 1))
    ten_seasons(squad, today)
    squads_beside(squad.club, today)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    return squad


def pages(squad: Squad) -> dict[str, str]:
    today, season = today_at(squad.club), squad.seasons.first()
    assert isinstance(season, Season)
    monday, where = str(monday_of(today)), [squad.club.slug, squad.slug]
    return {
        "list of weeks": f"{reverse('calendar', args=where[:1])}?squad={squad.slug}",
        "month": reverse("calendar_month", args=[*where, f"{today:%Y-%m}"]),
        "week": reverse("calendar_week", args=[*where, monday]),
        "contact of the month": reverse("month_contact", args=[*where, f"{today:%Y-%m}"]),
        "season view": reverse("calendar_season", args=[*where, season.first_day]),
        "season and nights": reverse("season", args=[squad.club.slug, season.pk]),
        "season's print, unset": reverse("season_paper", args=[*where, season.first_day]),
        "week of the plan": reverse("week", args=[*where, monday]),
    }


def test_the_pages_of_the_calendar_answer_with_ten_seasons_of_twenty_one_squads(
    large: Squad, head, log_in, capsys, monkeypatch
) -> None:
    """Prints what each page costs; the usual tests count queries, and no test is about time."""
    monkeypatch.setattr(season_print, "typeset", lambda *_given: b"%PDF")
    client, club = log_in(head), Club.objects.get(pk=large.club_id)
    lines = [f"{connection.vendor}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"]
    for name, address in pages(large).items():
        first = compared(client, club, address, before=KEPT.forget)
        again = compared(client, club, address)
        lines += [f"{name:22} first look  {first}", f"{'':22} next looks  {again}"]
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
