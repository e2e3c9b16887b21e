"""A player whose loads are as a test says, past the verbs: a night for each session, with its number and minutes."""

from __future__ import annotations

import csv
import datetime as dt
import io

from planner.models import Session
from planner.record_models import Confirmation
from planner.rpe_models import Rpe
from squads.models import Player
from tests import factories as f

MONDAY = dt.date(2026, 9, 7)
SUNDAY = dt.date(2026, 10, 4)
TODAY = dt.date(2026, 10, 9)
ONE_DAY = dt.timedelta(days=1)


def night_on(player: Player, day: dt.date, hour: int = 19) -> Session:
    starts = dt.datetime.combine(day, dt.time(hour), f.LONDON)
    return f.SessionFactory(squad=player.squad, starts_at=starts, slots=[(30, "Warm-up")])


def trained(player: Player, day: dt.date, number: int | None, minutes: int | None, hour: int = 19) -> Session:
    """A confirmed night with what he said of it."""
    session = night_on(player, day, hour)
    Confirmation.objects.create(session=session, number=1, plan_version=0, by_name="Head", plan=[])
    if number is not None:
        Rpe.objects.create(player=player, session=session, number=number, minutes=minutes, said_by="x", by_name="x")
    return session


def trained_daily(player: Player, first: dt.date, loads: list[tuple[int, int]]) -> None:
    """On days in a row; 0 minutes are rest."""
    for n, (number, minutes) in enumerate(loads):
        if minutes:
            trained(player, first + n * ONE_DAY, number, minutes)


def address(player: Player, more: str = "/") -> str:
    return f"/c/{player.squad.club.slug}/players/{player.pk}/ledger{more}"


def table_of(client, player: Player, week: dt.date, weeks: str = "4") -> list[dict[str, str]]:
    """The rows of the CSV file."""
    answer = client.get(address(player, ".csv"), {"week": str(week), "weeks": weeks})
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def figures_of(rows: list[dict[str, str]], figure: str, part: str = "week") -> dict[str, str]:
    """By the first day, what a figure is."""
    return {row["from"]: row["value"] for row in rows if row["part"] == part and row["figure"] == figure}
