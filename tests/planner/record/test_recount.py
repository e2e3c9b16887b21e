"""Kept sums that went astray: the command tells each in words, writes nothing by itself, and mends them on demand."""

from __future__ import annotations

import datetime as dt
import io

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.record_actions import confirm_night
from planner.record_days import differences
from planner.record_models import Declared, MatchMinutes, PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.record.conftest import NEXT_DAY

TUESDAY = dt.date(2026, 10, 6)


def recount(*how: str) -> tuple[int, str]:
    """Exit code and what was said."""
    said = io.StringIO()
    try:
        call_command("recount", *how, stdout=said)
    except SystemExit as left:
        return int(left.code or 0), said.getvalue()
    return 0, said.getvalue()


@pytest.fixture
def player(evening, head):
    """A confirmed night of 34 minutes with 3.0 full and 6.0 controlled, and an answer to how hard it was."""
    player = evening.players[0]
    player.given_name, player.family_name = "Oswin", "Hartlebury"
    player.save()
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=NEXT_DAY)
    note_rpe(told=[Told(player, Occasion(session=evening.session), 6)], by=head, now=NEXT_DAY)
    return player


def kept(player, day=TUESDAY):
    return PlayerDay.objects.filter(player=player, day=day)


def test_where_nothing_differs_it_says_so_and_writes_nothing(player):
    before = AuditEvent.objects.count()
    for how in ((), ("--mend",)):
        assert recount(*how) == (0, "First fifteen (brackenford): every kept sum is what the record says.\n")
    assert AuditEvent.objects.count() == before


def test_what_differs_is_told_by_name_and_day_with_both_figures_and_left_as_it_is(player):
    kept(player).update(full=1200, minutes=3, load=1, match_minutes=80, state="open")
    code, said = recount()
    assert code == 1
    assert [line.strip() for line in said.splitlines()] == [
        "First fifteen (brackenford): 5 figures differ.",
        "Oswin Hartlebury, Tue 6 Oct 2026: minutes of training is kept as 3 min, the record says 34 min",
        "Oswin Hartlebury, Tue 6 Oct 2026: full contact is kept as 12.00 min, the record says 3.00 min",
        "Oswin Hartlebury, Tue 6 Oct 2026: minutes in matches is kept as 80 min, the record says 0 min",
        "Oswin Hartlebury, Tue 6 Oct 2026: how sure it is is kept as not confirmed, the record says confirmed",
        "Oswin Hartlebury, Tue 6 Oct 2026: load is kept as 1 AU, the record says 204 AU",
        "Nothing was written: add --mend to make the kept sums equal to the record.",
    ]
    assert kept(player).get().full == 1200


def test_it_is_mended_on_demand_and_the_audit_tells_what_stood_there(player, squad):
    before = list(PlayerDay.objects.order_by("player", "day").values())
    kept(player).update(full=1200, load=None)
    kept(squad.players.exclude(pk=player.pk).first()).delete()
    PlayerDay.objects.create(player=player, day=dt.date(2026, 10, 20), declared_full=500, state="declared")
    code, said = recount("--mend")
    assert code == 0
    assert "figures are mended." in said
    after = list(PlayerDay.objects.order_by("player", "day").values())
    assert [row | {"id": 0} for row in after] == [row | {"id": 0} for row in before]
    event = AuditEvent.objects.last()
    assert (event.did, event.actor, event.detail["days"]) == ("recounted days", "recount", ["2026-10-06", "2026-10-20"])
    told = "Oswin Hartlebury, Tue 6 Oct 2026: full contact is kept as 12.00 min, the record says 3.00 min"
    assert told in event.detail["was"]
    assert recount() == (0, "First fifteen (brackenford): every kept sum is what the record says.\n")


def test_rows_written_past_the_verbs_are_found(player, squad):
    declared = {"day": TUESDAY, "place": "school", "declared_by": "PE", "by_name": "x"}
    Declared.objects.create(player=player, kind="controlled", minutes=9, **declared)
    match = f.FixtureFactory(squad=squad)
    MatchMinutes.objects.create(
        player=player, fixture=match, kick_off=match.kick_off, minutes=62, declared_by="sheet", by_name="x"
    )
    code, said = recount()
    assert code == 1
    assert "declared controlled contact is kept as 0.00 min, the record says 9.00 min" in said
    assert "minutes in matches is kept as 0 min, the record says 62 min" in said
    assert "load is kept as 204 AU, the record says not known" in said
    recount("--mend")
    assert recount()[0] == 0


def test_one_squad_and_some_days_alone_are_looked_at(player, club):
    other = f.PlayerFactory(squad__club=club, squad__slug="seconds")
    for who in (player, other):
        PlayerDay.objects.create(player=who, day=dt.date(2026, 9, 1), full=100)
    assert recount("--squad", "firsts", "--from", "2026-10-01")[0] == 0
    assert recount("--squad", "firsts", "--to", "2026-09-01")[0] == 1
    assert recount("--club", "brackenford", "--squad", "seconds", "--mend")[0] == 0
    assert [row.player for row in PlayerDay.objects.filter(day=dt.date(2026, 9, 1))] == [player]


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (["--squad", "thirds"], "There is no such squad. Squads here, with their clubs: firsts"),
        (["--club", "elsewhere"], "There is no such squad"),
        (["--from", "5 October"], "“5 October” is no day. Write it as 2026-10-05."),
    ],
)
def test_a_squad_or_a_day_that_is_none_is_told(how, said, player):
    with pytest.raises(CommandError, match=said) as problem:
        recount(*how)
    assert problem.value.returncode == 2


def test_looking_takes_the_same_queries_for_any_number_of_days(player, squad, head):
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            differences(squad, dt.date.min, dt.date.max)
        return len(captured)

    few = queries()
    for n in range(5):
        for who in squad.players.all():
            PlayerDay.objects.create(player=who, day=dt.date(2026, 11, 1 + n), full=100)
    assert queries() == few <= 10
