"""A file against what the club knows: new, changed, same, refused; and nothing half written."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.calendar_actions import import_fixtures
from planner.imports import fixtures_in
from planner.models import Fixture, FixtureState
from shared.audit import broken_links
from shared.models import AuditEvent
from shared.preview import State
from shared.tables import Unreadable
from tests import factories as f
from tests.planner.calendar.ics_files import KICK_OFF, calendar, event

MOVED = "DTSTART;TZID=Europe/London:20261011T140000"


@pytest.fixture
def squad(club):
    squad = f.SquadFactory(club=club, slug="firsts")
    f.SeasonFactory(squad=squad)
    return squad


@pytest.fixture
def take(squad, head):
    """`take(content)` writes a file and gives its preview."""

    def written(content: bytes, filename: str = "fixtures.ics"):
        return import_fixtures(squad=squad, content=content, filename=filename, by=head)

    return written


def states(preview) -> list[str]:
    return [str(line.state) for line in preview.lines]


def csv(*rows: str) -> bytes:
    return "\n".join(["date,time,opponent,home/away,competition,venue", *rows]).encode()


def snapshot() -> list[dict]:
    return list(Fixture.objects.order_by("pk").values())


def test_a_preview_writes_nothing(squad):
    assert states(fixtures_in(squad, calendar(event(KICK_OFF)), "f.ics").preview) == ["new"]
    assert Fixture.objects.count() == 0


def test_a_confirmed_file_is_in_the_calendar_with_its_day(take, squad):
    take(calendar(event(KICK_OFF)))
    fixture = squad.fixtures.get()
    assert (fixture.uid, fixture.day, fixture.opponent, fixture.home, fixture.state) == (
        "a", dt.date(2026, 10, 10), "Netherby Cross", True, "planned",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("content", "filename"),
    [
        (calendar(event(KICK_OFF), event("DTSTART;VALUE=DATE:20261017", uid="")), "f.ics"),
        (calendar(event(KICK_OFF, "RRULE:FREQ=WEEKLY;COUNT=3")), "f.ics"),
        (csv("2026-10-10,15:00,Netherby,H,League,", "2026-10-17,,Hollin,A,,"), "f.csv"),
    ],
    ids=["single", "series", "table"],
)
def test_the_same_file_twice_changes_nothing(take, content, filename):
    take(content, filename)
    before, events = snapshot(), AuditEvent.objects.count()
    preview = take(content, filename)
    assert set(states(preview)) == {"same"}
    assert (snapshot(), AuditEvent.objects.count()) == (before, events)


def test_a_moved_match_is_recognised_by_its_uid(take, squad):
    take(calendar(event(KICK_OFF)))
    (line,) = take(calendar(event(MOVED))).lines
    assert [str(change) for change in line.changes] == ["kick-off: Sat 10 Oct 2026 15:00 → Sun 11 Oct 2026 14:00"]
    assert squad.fixtures.get().day == dt.date(2026, 10, 11)


def test_a_moved_match_of_a_series_is_recognised_by_uid_and_recurrence_id(take, squad):
    series = event(KICK_OFF, "RRULE:FREQ=WEEKLY;COUNT=2")
    take(calendar(series))
    preview = take(
        calendar(series, event("RECURRENCE-ID;TZID=Europe/London:20261010T150000", MOVED)),
    )
    assert sorted(states(preview)) == ["changed", "same"]
    assert [fixture.day.day for fixture in squad.fixtures.order_by("day")] == [11, 17]


def test_a_match_entered_by_hand_is_recognised_by_day_and_opponent_and_takes_the_uid(take, squad):
    f.FixtureFactory(squad=squad, uid="by-hand", opponent="NETHERBY cross")
    preview = take(calendar(event(KICK_OFF)))
    assert states(preview) == ["changed"]
    assert squad.fixtures.get().uid == "a"


def test_a_table_keeps_the_uid_that_a_calendar_gave(take, squad):
    take(calendar(event(KICK_OFF, "LOCATION:Mill Lane")))
    assert states(take(csv("10/10/2026,15:00,Netherby Cross,,,"), "f.csv")) == ["same"]
    assert (squad.fixtures.get().uid, squad.fixtures.get().venue_words) == ("a", "Mill Lane")


def test_a_date_alone_does_not_wipe_out_a_known_kick_off(take, squad):
    take(calendar(event(KICK_OFF)))
    assert states(take(calendar(event("DTSTART;VALUE=DATE:20261010")))) == ["same"]
    take(calendar(event("DTSTART;VALUE=DATE:20261024")))
    assert (squad.fixtures.get().day, squad.fixtures.get().all_day) == (dt.date(2026, 10, 24), True)


@pytest.mark.parametrize(
    ("lines", "state"),
    [
        ([KICK_OFF], FixtureState.POSTPONED),
        ([KICK_OFF, "STATUS:CONFIRMED"], FixtureState.PLANNED),
        ([KICK_OFF, "STATUS:CANCELLED"], FixtureState.CANCELLED),
        ([MOVED], FixtureState.PLANNED),
    ],
    ids=["says nothing", "confirms", "cancels", "gives a new day"],
)
def test_a_match_postponed_by_hand_stays_so_until_the_file_says_more(take, squad, lines, state):
    take(calendar(event(KICK_OFF)))
    squad.fixtures.update(state=FixtureState.POSTPONED)
    take(calendar(event(*lines)))
    assert squad.fixtures.get().state == state


def test_a_cancelled_match_stays_in_the_calendar_and_no_longer_counts(take, squad):
    take(calendar(event(KICK_OFF)))
    (line,) = take(calendar(event(KICK_OFF, "STATUS:CANCELLED"))).lines
    assert [str(change) for change in line.changes] == ["state: planned → cancelled"]
    assert (squad.fixtures.count(), squad.fixtures.played_or_due().count()) == (1, 0)


def test_what_can_be_taken_is_written_and_the_rest_refused(take, squad):
    preview = take(calendar(event(KICK_OFF), event("DTSTART:nonsense", uid="b")))
    assert states(preview) == ["new", "refused"]
    assert [fixture.uid for fixture in squad.fixtures.all()] == ["a"]


def test_the_same_match_twice_in_a_file_is_taken_once(take, squad):
    row = "2026-10-10,15:00,Netherby,H,,"
    preview = take(csv(row, row), "f.csv")
    assert [(line.state, line.reason) for line in preview.lines] == [
        (State.NEW, ""),
        (State.REFUSED, "the same match stands in row 2 already"),
    ]


def test_matches_that_the_file_does_not_name_are_left_alone_and_told(take, squad):
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 14, 19, tzinfo=f.LONDON), opponent="Hollin")
    preview = take(csv("2026-10-10,15:00,Netherby,H,,", "2026-10-17,15:00,Colne,H,,"), "f.csv")
    assert preview.left_alone == ("Wed 14 Oct 2026 19:00 Hollin (home)",)
    assert squad.fixtures.count() == 3


def test_matches_of_another_squad_are_neither_seen_nor_touched(take, squad):
    other = f.FixtureFactory(uid="a", squad__club=squad.club)
    assert states(take(calendar(event(MOVED)))) == ["new"]
    other.refresh_from_db()
    assert other.day == dt.date(2026, 10, 10)


def test_a_squad_without_a_season_is_told_to_lay_one_out(club):
    with pytest.raises(Unreadable, match="has no season yet"):
        fixtures_in(f.SquadFactory(club=club), calendar(event(KICK_OFF)), "f.ics")


def test_a_failure_in_the_middle_leaves_nothing_half_written(take, squad, monkeypatch):
    take(calendar(event(KICK_OFF)))
    before = snapshot()

    def fail(*args, **kwargs):
        raise IntegrityError

    monkeypatch.setattr(type(Fixture.objects.all()), "bulk_update", fail)
    with pytest.raises(IntegrityError):
        take(calendar(event(MOVED), event(KICK_OFF, uid="b", summary="v Hollin")))
    assert snapshot() == before


def test_an_import_is_in_the_audit_chain(take, club):
    take(calendar(event(KICK_OFF)))
    last = AuditEvent.objects.filter(club=club.slug).last()
    assert (last.did, last.actor, last.detail["new"]) == ("imported fixtures", "head", 1)
    assert list(broken_links(club)) == []


def test_events_outside_the_season_are_counted_in_how_the_file_was_read(squad):
    content = calendar(event(KICK_OFF), event("DTSTART:20190101T150000Z", uid="old"))
    assert (
        fixtures_in(squad, content, "f.ics").preview.origin == "iCalendar, UTF-8; 1 event outside the season left out"
    )


ROWS = st.lists(
    st.tuples(
        st.integers(1, 28),
        st.sampled_from(["15:00", "19:30", ""]),
        st.sampled_from(["Netherby", "netherby", "Hollin", "Brackenford v Colne", "v Ash (A)"]),
        st.sampled_from(["H", "A", ""]),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ROWS, ROWS)
def test_after_any_two_files_the_second_again_changes_nothing(take, squad, first, second):
    for rows in (first, second):
        content = csv(*[f"2026-11-{day:02},{clock},{opponent},{side},," for day, clock, opponent, side in rows])
        take(content, "f.csv")
    before = snapshot()
    assert set(states(take(content, "f.csv"))) <= {"same", "refused"}
    assert snapshot() == before
    squad.fixtures.all().delete()
