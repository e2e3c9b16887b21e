"""What a plan said and what was changed of it: by hand, undone, of several nights, of people that are gone."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.models import PlanChange
from planner.night_history import night_history
from planner.programme import Programme, StationState
from tests import factories as f


@pytest.fixture
def block(cast):
    return f.BlockFactory(squad=cast.squad)


def state(session, drill: int, players: list, order: int = 0, coach: str = "", *, locked: bool = False) -> StationState:
    keys = tuple(sorted(getattr(each, "pk", each) for each in players))
    return StationState(session.pk, session.slots.first().pk, order, drill, 1, coach, locked, keys)


def change(block, sessions, before, after, **fields) -> PlanChange:
    sides = [{"sessions": [s.pk for s in sessions], "stations": Programme(tuple(p)).to_json()} for p in (before, after)]
    return PlanChange.objects.create(block=block, before=sides[0], after=sides[1], **{"what": "A changed"} | fields)


def lines(session) -> list[tuple[str, ...]]:
    return [edit.lines for edit in night_history(session).edits]


def test_who_came_who_went_and_every_other_difference_is_said_by_name(cast, block):
    drill, (ann, bo, cy) = f.DrillFactory(club=cast.squad.club), cast.players[:3]
    before = state(cast.tuesday, drill.pk, [ann, bo], coach="Ash")
    after = state(cast.tuesday, drill.pk, [bo, cy], order=1, coach="Moss", locked=True)
    change(block, [cast.tuesday], [before], [after])
    said = f"in: {cy.sheet_name}; out: {ann.sheet_name}; coach: Ash → Moss; place: A → B; now fixed"
    assert lines(cast.tuesday) == [(f"{drill}: {said}",)]


def test_a_station_that_was_put_in_or_taken_out_is_said(cast, block):
    drill = f.DrillFactory(club=cast.squad.club)
    station = state(cast.tuesday, drill.pk, cast.players[:2], coach="Ash")
    change(block, [cast.tuesday], [], [station])
    change(block, [cast.tuesday], [station], [])
    assert lines(cast.tuesday) == [(f"{drill}: put in, 2 players, Ash",), (f"{drill}: taken out",)]


def test_of_a_change_of_several_nights_only_what_it_did_to_this_one_is_told(cast, block):
    drill = f.DrillFactory(club=cast.squad.club)
    both = [state(cast.tuesday, drill.pk, cast.players[:1]), state(cast.thursday, drill.pk, cast.players[:3])]
    change(block, [cast.tuesday, cast.thursday], [], both)
    change(block, [cast.thursday], [both[1]], [])
    assert lines(cast.tuesday) == [(f"{drill}: put in, 1 player",)]
    assert lines(cast.thursday) == [(f"{drill}: put in, 3 players",), (f"{drill}: taken out",)]


def test_who_is_gone_has_no_name_and_breaks_nothing(cast, block):
    change(block, [cast.tuesday], [], [state(cast.tuesday, 987_654, [456_789])])
    change(
        block,
        [cast.tuesday],
        [state(cast.tuesday, 987_654, [456_789])],
        [state(cast.tuesday, 987_654, [])],
    )
    assert lines(cast.tuesday) == [
        ("a drill that is gone: put in, 1 player",),
        ("a drill that is gone: out: a player",),
    ]


def test_an_edit_says_who_made_it_when_and_whether_it_was_undone(cast, block, head, welfare, log_in):
    drill, at = f.DrillFactory(club=cast.squad.club), dt.datetime(2026, 10, 5, 18, tzinfo=f.LONDON)
    made = change(
        block, [cast.tuesday], [], [state(cast.tuesday, drill.pk, [])], made_by=head, undone_at=timezone.now()
    )
    PlanChange.objects.filter(pk=made.pk).update(made_at=at, undone_at=at + dt.timedelta(hours=1))
    page = log_in(welfare).get(f"/c/brackenford/evenings/{cast.tuesday.pk}/history/").content.decode()
    for words in ("<b>head</b>, Mon 5 Oct 2026, 18:00: A changed", "undone Mon 5 Oct, 19:00"):
        assert words in " ".join(page.split())


def test_a_night_in_no_block_has_a_plan_and_no_edits(cast):
    found = night_history(cast.tuesday)
    assert (found.edits, [line.title for line in found.plan]) == ((), ["Warm-up"])


def test_it_takes_as_many_queries_for_five_changes_as_for_one(cast, block):
    drill = f.DrillFactory(club=cast.squad.club)
    counts = []
    for more in (1, 4):
        for _ in range(more):
            change(block, [cast.tuesday], [], [state(cast.tuesday, drill.pk, cast.players)])
        with CaptureQueriesContext(connection) as asked:
            night_history(cast.tuesday)
        counts.append(len(asked))
    assert counts[0] == counts[1]
