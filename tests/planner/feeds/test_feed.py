"""The feed behind its address: who reads what, who reads nothing, and what an unchanged one costs."""

from __future__ import annotations

import datetime as dt
import json
import logging
import re

import icalendar
import pytest
from django.utils import timezone
from ical.calendar_stream import IcsCalendarStream

from planner.feed_actions import revoke_feed
from planner.feed_models import Feed
from planner.models import Fixture, FixtureState, Session
from shared.models import AuditEvent, Membership
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.feeds.cast import member_address, path_of, planned_night, player_address, unfolded

NOON = dt.datetime(2026, 10, 5, 12, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def monday(time_machine_at):
    time_machine_at(NOON)


@pytest.fixture
def time_machine_at(monkeypatch):
    """`time_machine_at(moment)`: what the site's clock says."""

    def at(moment):
        monkeypatch.setattr(timezone, "now", lambda: moment)

    return at


@pytest.fixture
def night(squad, head):
    return planned_night(squad)


@pytest.fixture
def player(squad, night):
    return squad.players.get()


def events(client, address):
    content = client.get(address).content
    return icalendar.Calendar.from_ical(content).events


@pytest.mark.parametrize("role", ["head_coach", "assistant", "welfare_officer", "medical"])
def test_a_member_sees_aims_and_what_runs_in_each_slot_at_what_time(client, club, night, role):
    member = f.MembershipFactory(club=club, role=role).user
    (event,) = events(client, member_address(member))
    assert str(event["DESCRIPTION"]).split("\n") == [
        "First fifteen",
        "Aim: Stay square",
        "19:00 Warm-up (10 min)",
        "19:10 Gate and chase (T. Fenwright), Two on one (15 min)",
        "19:25 not planned yet (12 min)",
    ]
    assert event.start == dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON) == night.starts_at
    assert (event.end - event.start, event["LOCATION"]) == (dt.timedelta(minutes=37), "Pitch 2")


def test_a_player_sees_time_place_and_what_to_bring(client, player):
    (event,) = events(client, player_address(player))
    assert {name: str(event[name]) for name in ("SUMMARY", "LOCATION", "DESCRIPTION", "STATUS")} == {
        "SUMMARY": "Training",
        "LOCATION": "Pitch 2",
        "DESCRIPTION": "Bring boots, mouthguard, water and something warm.",
        "STATUS": "CONFIRMED",
    }
    assert event.start == dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON)
    assert event.end - event.start == dt.timedelta(minutes=37)


def test_no_feed_holds_a_name_of_a_player_or_anything_of_his_state(client, squad, night, player, head):
    """His own neither: who looks over his shoulder, or keeps his calendar for him, learns nothing."""
    Absence.objects.create(player=player, first_day=f.TUESDAY, last_day=f.TUESDAY)
    Clearance.objects.create(
        player=player, level="none", from_day=f.TUESDAY, decided_by="R", decided_as="physio", decided_on=f.TUESDAY
    )
    f.FixtureFactory(squad=squad)
    for address in (player_address(player), member_address(head)):
        text = "\n".join(unfolded(client.get(address).content))
        assert "Netherby Cross RFC" in text
        for word in ("Oswin", "Hartlebury", "Physio", "physio", "rest", "NC", "non-contact", "away", "cleared"):
            assert not re.search(rf"\b{word}\b", text), word
    text = "\n".join(unfolded(client.get(player_address(player)).content))
    for word in ("square", "Gate", "Two on one", "Fenwright", "Warm-up", "bibs", "balls"):
        assert word not in text, word


def test_a_match_lies_on_the_clock_of_the_club_and_a_match_without_a_time_takes_the_day(client, squad, head):
    f.FixtureFactory(squad=squad, competition="League")
    f.FixtureFactory(squad=squad, all_day=True, kick_off=dt.datetime(2026, 10, 31, 12, tzinfo=f.LONDON), home=False)
    timed, whole = events(client, member_address(head))
    assert (timed.start, timed.end - timed.start) == (
        dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON),
        dt.timedelta(minutes=100),
    )
    assert str(timed["DESCRIPTION"]) == "League\nFirst fifteen"
    assert (whole.start, whole.end) == (dt.date(2026, 10, 31), dt.date(2026, 11, 1))
    assert str(whole["SUMMARY"]) == "Match: Netherby Cross RFC (away)"


@pytest.mark.parametrize(
    ("state", "title", "status"),
    [
        (FixtureState.PLANNED, "Match: Netherby Cross RFC (home)", "CONFIRMED"),
        (FixtureState.POSTPONED, "Match postponed: Netherby Cross RFC (home)", "CANCELLED"),
        (FixtureState.CANCELLED, "Match cancelled: Netherby Cross RFC (home)", "CANCELLED"),
    ],
)
def test_a_match_that_is_off_stays_in_the_feed_and_says_so(client, squad, player, state, title, status):
    f.FixtureFactory(squad=squad, state=state)
    found = events(client, player_address(player))[-1]
    assert (str(found["SUMMARY"]), str(found["STATUS"])) == (title, status)


def test_a_cancelled_session_stays_in_the_feed_and_says_so(client, night, player):
    Session.objects.update(cancelled=True)
    (found,) = events(client, player_address(player))
    assert (str(found["SUMMARY"]), str(found["STATUS"])) == ("Training cancelled", "CANCELLED")


def test_the_feed_reaches_four_weeks_back_and_has_no_end_ahead(client, squad, head):
    for day in (-29, -28, 900):
        f.SessionFactory(squad=squad, starts_at=NOON + dt.timedelta(days=day))
    assert [(e.start.date() - NOON.date()).days for e in events(client, member_address(head))] == [-28, 900]


def test_a_player_sees_his_squad_and_a_member_all_of_the_club_and_nobody_another_club(client, squad, player, head):
    f.SessionFactory(squad=f.SquadFactory(club=squad.club, name="Seconds"))
    f.SessionFactory(squad=f.SquadFactory(name="Elsewhere"))
    assert len(events(client, player_address(player))) == 1
    assert len(events(client, member_address(head))) == 2


def test_a_player_sees_nothing_after_the_day_on_which_he_leaves(client, squad, player):
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON))
    address = player_address(player)
    assert len(events(client, address)) == 2
    squad.players.update(left=f.TUESDAY)
    assert len(events(client, address)) == 1


# Who reads nothing


def the_same_nothing(client, address):
    found, unknown = client.get(address), client.get(path_of("x" * 43))
    assert (found.status_code, found.content, found.headers) == (404, unknown.content, unknown.headers)


def test_an_address_that_was_exchanged_or_ended_answers_like_one_that_never_was(client, head, night):
    first = member_address(head)
    second = member_address(head)
    the_same_nothing(client, first)
    assert client.get(second).status_code == 200
    revoke_feed(feed=Feed.objects.get(), by=head)
    the_same_nothing(client, second)


def test_a_member_who_left_or_may_not_log_in_any_more_reads_nothing(client, club, night):
    member = f.MembershipFactory(club=club, role="assistant")
    address = member_address(member.user)
    member.user.is_active = False
    member.user.save()
    the_same_nothing(client, address)
    member.user.is_active = True
    member.user.save()
    assert client.get(address).status_code == 200
    member.delete()
    the_same_nothing(client, address)


def test_a_member_who_joins_again_does_not_find_his_old_address_working(client, club, night):
    member = f.MembershipFactory(club=club, role="assistant")
    user, address = member.user, member_address(member.user)
    member.delete()
    Membership.objects.create(club=club, user=user, role="assistant")
    the_same_nothing(client, address)


def test_a_player_who_left_reads_nothing(client, squad, player):
    address = player_address(player)
    squad.players.update(left=NOON.date() - dt.timedelta(days=1))
    the_same_nothing(client, address)


@pytest.mark.parametrize("token", ["x", "%00", "é" * 43, "x" * 5000])
def test_what_is_no_token_at_all_finds_nothing(client, db, token):
    assert client.get(f"/feeds/{token}.ics").status_code == 404


def test_a_feed_is_only_read(client, head, night):
    assert client.post(member_address(head)).status_code == 405


# What goes with it


def test_no_cookie_is_set_and_nobody_is_to_keep_or_list_the_answer(client, head, night):
    for answer in (client.get(member_address(head)), client.get(path_of("unknown"))):
        assert not answer.cookies
        assert "Vary" not in answer.headers
        assert answer["Cache-Control"] == "private"
        assert answer["Referrer-Policy"] == "no-referrer"
        assert "noindex" in answer["X-Robots-Tag"]


def test_the_token_stands_in_no_row_and_no_log(client, head, night, caplog):
    address = member_address(head)
    token = address.removeprefix("/feeds/").removesuffix(".ics")
    with caplog.at_level(logging.DEBUG):
        client.get(address)
    assert token not in caplog.text
    (feed,) = Feed.objects.values()
    assert token not in json.dumps(feed, default=str)
    assert token not in json.dumps(list(AuditEvent.objects.values()), default=str)


def test_a_strict_second_reader_reads_the_whole_feed(client, squad, night, head):
    f.FixtureFactory(squad=squad)
    calendar = IcsCalendarStream.calendar_from_ics(client.get(member_address(head)).content.decode())
    assert [event.summary for event in calendar.events] == ["Training", "Match: Netherby Cross RFC (home)"]
    assert {event.dtstamp for event in calendar.events} == {NOON} == {e.last_modified for e in calendar.events}


def test_every_uid_is_random_and_says_nothing_of_the_row(client, squad, night, head, player):
    """RFC 7986, section 5.3; and the two audiences do not share one, since each counts its own changes."""
    uids = [str(events(client, address)[0]["UID"]) for address in (member_address(head), player_address(player))]
    assert len(set(uids)) == 2
    assert all(uid[14] == "4" and len(uid) == 36 for uid in uids)  # version 4 of RFC 9562: random


# What an unchanged feed costs


def test_who_has_it_all_gets_304_by_its_tag_or_by_its_time(client, head, night):
    address = member_address(head)
    whole = client.get(address)
    for headers in ({"If-None-Match": whole["ETag"]}, {"If-Modified-Since": whole["Last-Modified"]}):
        answer = client.get(address, headers=headers)
        assert (answer.status_code, answer.content) == (304, b"")
        assert (answer["ETag"], answer["Last-Modified"]) == (whole["ETag"], whole["Last-Modified"])
        assert answer["Cache-Control"] == "private"
    assert client.get(address).content == whole.content


def test_who_has_an_older_one_gets_the_new_one_even_within_the_same_second(client, head, night):
    address = member_address(head)
    whole = client.get(address)
    Session.objects.update(pitch="Pitch 3")
    for headers in ({"If-None-Match": whole["ETag"]}, {"If-Modified-Since": whole["Last-Modified"]}):
        answer = client.get(address, headers=headers)
        assert answer.status_code == 200
        assert b"Pitch 3" in answer.content
        assert answer["ETag"] != whole["ETag"]
        assert answer["Last-Modified"] > whole["Last-Modified"]


def test_a_session_that_vanishes_makes_the_feed_newer(client, squad, head, night):
    address = member_address(head)
    later = f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON))
    whole = client.get(address)
    later.delete()
    assert client.get(address, headers={"If-Modified-Since": whole["Last-Modified"]}).status_code == 200


def test_head_tells_the_same_as_get_without_the_calendar(client, head, night):
    address = member_address(head)
    whole, head_only = client.get(address), client.head(address)
    assert (head_only.status_code, head_only.content) == (200, b"")
    assert (head_only["ETag"], head_only["Content-Type"]) == (whole["ETag"], "text/calendar; charset=utf-8")
    assert client.head(address, headers={"If-None-Match": whole["ETag"]}).status_code == 304


@pytest.mark.parametrize("nights", [1, 3])
@pytest.mark.parametrize(("whose", "queries"), [("member", 1 + 3), ("player", 1 + 2)])
def test_an_unchanged_feed_takes_one_query_for_its_reader_and_at_most_three_for_its_stamp(
    client, squad, night, head, player, django_assert_num_queries, nights, whose, queries
):
    for number in range(nights):
        f.SessionFactory(squad=squad, starts_at=NOON + dt.timedelta(days=5 + number))
        f.FixtureFactory(squad=squad)
    address = member_address(head) if whose == "member" else player_address(player)
    whole = client.get(address)
    with django_assert_num_queries(queries):
        assert client.get(address, headers={"If-None-Match": whole["ETag"]}).status_code == 304
    with django_assert_num_queries(queries + 1):  # one more for since when
        assert client.get(address).status_code == 200


def test_the_day_of_the_last_reading_is_kept(client, head, night, time_machine_at):
    address = member_address(head)
    assert Feed.objects.get().read_on is None
    client.get(address)
    assert Feed.objects.get().read_on == NOON.date()
    time_machine_at(NOON + dt.timedelta(days=1))
    client.get(address)
    assert Feed.objects.get().read_on == NOON.date() + dt.timedelta(days=1)


def test_a_club_far_away_has_its_own_clock(client, club, squad, head, night):
    club.zone = "Australia/Lord_Howe"
    club.save()
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 10, 4, 0, tzinfo=dt.UTC))
    lines = unfolded(client.get(member_address(head)).content)
    assert "DTSTART;TZID=Australia/Lord_Howe:20261010T150000" in lines
    assert Fixture.objects.get().kick_off.hour == 4
