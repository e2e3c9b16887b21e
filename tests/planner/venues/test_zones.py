"""Wall time is that of the venue: sessions, nights that change, matches, pages and feeds."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil import tz
from django.db import connection
from django.template import Context, Template
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream

from planner.calendar_actions import import_fixtures, lay_out, save_fixture, save_night
from planner.changes import Refused
from planner.core.scope import Scope
from planner.feeds import for_coaches
from planner.models import Fixture, Session, TrainingNight
from planner.scope import Asked, night_values
from planner.scope_actions import change_night
from planner.season_figures import KEPT
from planner.session_actions import add_session, change_session, move_session
from planner.slot_plans import SlotPlan
from planner.venue_models import NOWHERE, Where
from shared.clock import WallTime
from tests import factories as f
from tests.planner.feeds.cast import member_address
from tests.planner.venues.cast import venue_of

EARLY = dt.date(2026, 8, 1)
NOON = dt.datetime(2026, 10, 5, 12, tzinfo=dt.UTC)
# Each with the last night before its clocks change and the first after, in UTC, for training at 19:00.
# Sources: the zone database; for Europe/Paris the days and hours of Directive 2000/84/EC (last Sunday in October).
CHANGES = [
    ("Europe/Paris", "2026-10-20T17:00", "2026-10-27T18:00"),
    ("America/New_York", "2026-10-27T23:00", "2026-11-04T00:00"),
    ("Australia/Lord_Howe", "2026-09-29T08:30", "2026-10-06T08:00"),  # half an hour
]


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=dt.date(2026, 9, 1), last_day=dt.date(2026, 11, 30))


def night_at(season, head, venue, **fields):
    fields = {"weekday": 1, "starts": dt.time(19), "where": Where(venue)} | fields
    return save_night(night=TrainingNight(season=season), slots=[SlotPlan(60)], by=head, **fields)


# The type


MOMENTS = st.datetimes(dt.datetime(2000, 1, 1), dt.datetime(2037, 12, 31), timezones=st.just(dt.UTC))
ZONES = st.sampled_from(["Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]).map(
    ZoneInfo
)


@given(MOMENTS, ZONES)
def test_wall_time_is_the_same_moment_by_another_clock_and_stays_so_on_a_page(moment, zone):
    wall = WallTime.of(moment, zone)
    assert wall.astimezone(dt.UTC) == moment
    assert (wall.fold, wall.tzinfo) == (moment.astimezone(zone).fold, zone)
    with timezone.override("Pacific/Auckland"):
        shown = Template('{{ wall|date:"Y-m-d H:i" }}').render(Context({"wall": wall}))
    assert shown == f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"


@given(MOMENTS, ZONES, st.integers(1, 300))
def test_wall_time_stays_wall_time_through_utc_and_back(moment, zone, minutes):
    later = (WallTime.of(moment, zone).astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(zone)
    plain = (moment + dt.timedelta(minutes=minutes)).astimezone(zone)
    assert (type(later), later.isoformat(), later.fold) == (WallTime, plain.isoformat(), plain.fold)


# Nights and sessions


@pytest.mark.parametrize(("zone", "before", "after"), CHANGES)
def test_across_a_clock_change_the_wall_time_of_the_venue_stays(season, squad, head, zone, before, after):
    night_at(season, head, venue_of(squad.club, zone=zone))
    lay_out(season=season, by=head, today=EARLY)
    sessions = list(squad.sessions.all())
    assert {f"{session.starts:%a %H:%M}" for session in sessions} == {"Tue 19:00"}
    assert {session.day.weekday() for session in sessions} == {1}
    moments = [f"{session.starts_at.astimezone(dt.UTC):%Y-%m-%dT%H:%M}" for session in sessions]
    assert moments[moments.index(before) + 1] == after


def test_the_day_of_a_session_and_of_a_match_is_that_at_its_venue(squad):
    moment = dt.datetime(2026, 10, 6, 20, 30, tzinfo=dt.UTC)
    venue = venue_of(squad.club, zone="Pacific/Auckland")
    assert f.SessionFactory(squad=squad, venue=venue, starts_at=moment).day == dt.date(2026, 10, 7)
    assert f.FixtureFactory(squad=squad, venue=venue, kick_off=moment).day == dt.date(2026, 10, 7)
    assert f.FixtureFactory(squad=squad, kick_off=moment).day == dt.date(2026, 10, 6)


def test_a_session_that_goes_to_another_zone_keeps_its_wall_time(squad, head):
    session = f.SessionFactory(squad=squad)
    where = Where(venue_of(squad.club, zone="Europe/Paris"))
    session = change_session(session=session, by=head, today=EARLY, version=0, where=where)
    session.refresh_from_db()
    assert (f"{session.starts:%H:%M %Z}", session.starts_at.hour) == ("19:00 CEST", 17)
    session = change_session(session=session, by=head, today=EARLY, version=1, where=Where(words="Hall"))
    assert (f"{session.starts:%H:%M %Z}", session.where) == ("19:00 BST", Where(words="Hall"))


def test_a_session_in_the_hour_that_comes_twice_stays_there_when_its_notes_change(squad, head):
    second = dt.datetime(2026, 10, 25, 1, 30, tzinfo=f.LONDON, fold=1)
    session = f.SessionFactory(squad=squad, starts_at=second)
    changed = change_session(session=session, by=head, today=EARLY, version=0, notes="Bring lamps", where=NOWHERE)
    assert changed.starts_at == second.astimezone(dt.UTC)


def test_a_past_session_goes_to_no_venue_where_it_would_have_begun_at_another_moment(squad, head):
    session = f.SessionFactory(squad=squad)
    after = {"session": session, "by": head, "version": 0, "today": session.day + dt.timedelta(days=1)}
    with pytest.raises(Refused, match="past"):
        change_session(where=Where(venue_of(squad.club, zone="Europe/Paris")), **after)
    assert Session.objects.get().starts_at == session.starts_at
    same = Where(venue_of(squad.club, name="Near", zone="Europe/London"))
    assert change_session(where=same, **after).where == same


def test_a_session_is_added_and_moved_by_the_clock_of_its_venue(squad, head):
    venue = venue_of(squad.club, zone="Pacific/Auckland")
    moment = dt.datetime(2026, 10, 7, 8, tzinfo=venue.tzinfo)  # still the 6th in London
    kept = {"slots": [SlotPlan(60)], "by": head}
    session = add_session(squad=squad, starts_at=moment, today=dt.date(2026, 10, 7), where=Where(venue), **kept)
    assert session.day == dt.date(2026, 10, 7)
    later = moment + dt.timedelta(days=1)
    session = move_session(session=session, starts_at=later, by=head, version=0, today=dt.date(2026, 10, 7))
    assert (session.day, f"{session.starts:%H:%M}") == (dt.date(2026, 10, 8), "08:00")


# A night that changes


def change(night, head, scope=Scope.ALL, today=EARLY, **values):
    night = TrainingNight.objects.select_related("season__squad__club").get(pk=night.pk)
    asked = Asked(night, scope, night_values(night) | values, from_day=dt.date(2026, 10, 13))
    return change_night(asked=asked, by=head, today=today)


def test_a_night_that_goes_to_another_venue_takes_its_sessions_there_by_the_wall_time(season, squad, head):
    night = night_at(season, head, None)
    lay_out(season=season, by=head, today=EARLY)
    paris = venue_of(squad.club, zone="Europe/Paris")
    change(night, head, Scope.LATER, where=Where(paris))
    by_venue = {(session.venue, session.zone.key, f"{session.starts:%a %H:%M}") for session in squad.sessions.all()}
    assert by_venue == {(None, "Europe/London", "Tue 19:00"), (paris, "Europe/Paris", "Tue 19:00")}
    assert squad.sessions.filter(venue=paris).count() == 7
    assert [str(night.where) for night in season.nights.all()] == ["", "The Withy Ground"]


def test_place_and_words_follow_as_one_or_stay_as_one(season, squad, head):
    """Words by hand are no half of a venue: a session keeps both or takes both."""
    first, second = (venue_of(squad.club, name=name) for name in ("Mill Lane", "Hill Road"))
    night = night_at(season, head, first)
    lay_out(season=season, by=head, today=EARLY)
    by_hand = squad.sessions.get(day=dt.date(2026, 10, 6))
    change_session(session=by_hand, by=head, today=EARLY, version=0, where=Where(words="School hall"))
    plan = change(night, head, where=Where(second))
    assert {session.where for session in squad.sessions.exclude(pk=by_hand.pk)} == {Where(second)}
    by_hand.refresh_from_db()
    assert by_hand.where == Where(words="School hall")
    assert plan.sorted.kept[by_hand.pk].kept == {"where": Where(words="School hall")}
    change(night, head, where=Where(words="Car park"))
    assert {session.where for session in squad.sessions.exclude(pk=by_hand.pk)} == {Where(words="Car park")}


def test_a_change_of_the_time_leaves_a_session_abroad_on_its_own_clock(season, squad, head):
    night = night_at(season, head, None)
    lay_out(season=season, by=head, today=EARLY)
    abroad = squad.sessions.get(day=dt.date(2026, 10, 6))
    where = Where(venue_of(squad.club, zone="America/New_York"))
    change_session(session=abroad, by=head, today=EARLY, version=0, where=where)
    change(night, head, starts=dt.time(18, 30))
    abroad.refresh_from_db()
    assert (f"{abroad.starts:%H:%M %Z}", abroad.where) == ("18:30 EDT", where)


# Matches


def test_a_match_kicks_off_by_the_clock_of_its_venue(squad, head, log_in):
    venue = venue_of(squad.club, zone="Europe/Paris")
    sent = {"squad": squad.pk, "opponent": "Lys RFC", "day": "2050-10-08", "clock": "15:00", "home": "no"}
    sent |= {"competition": "", "venue": venue.pk, "venue_words": "", "state": "planned"}
    assert log_in(head).post(reverse("new_fixture", args=[squad.club.slug]), sent).status_code == 302
    fixture = Fixture.objects.get()
    assert (fixture.kick_off.hour, f"{fixture.kicks_off:%H:%M}", str(fixture.where)) == (
        13,
        "15:00",
        "The Withy Ground",
    )
    page = log_in(head).get(reverse("edit_fixture", args=[squad.club.slug, fixture.pk]))
    assert page.context["form"].initial["clock"] == dt.time(15)
    assert f'<option value="{venue.pk}" selected>' in page.content.decode()


FILE = b"""date,time,opponent,home/away,venue
10/10/2026,15:00,Lys RFC,home,mill lane
17/10/2026,15:00,Ouse RFC,away,Mill Lane
"""


def test_a_file_names_a_venue_at_home_and_words_away_and_twice_changes_nothing(season, squad, head):
    venue = venue_of(squad.club, name="Mill Lane")
    take = {"squad": squad, "content": FILE, "filename": "list.csv", "by": head}
    import_fixtures(**take)
    assert [(match.venue, match.venue_words) for match in squad.fixtures.all()] == [
        (venue, "mill lane"), (None, "Mill Lane"),
    ]  # fmt: skip
    assert import_fixtures(**take).nothing_to_do


def test_a_venue_that_somebody_chose_stays_until_the_file_says_something_else(season, squad, head):
    take = {"squad": squad, "filename": "list.csv", "by": head}
    import_fixtures(content=FILE, **take)
    chosen = Where(venue_of(squad.club, name="Hill Road"), "mill lane")
    save_fixture(fixture=squad.fixtures.first(), by=head, where=chosen)
    assert import_fixtures(content=FILE, **take).nothing_to_do
    assert squad.fixtures.first().where == chosen
    import_fixtures(content=FILE.replace(b"mill lane", b"Fen Lane"), **take)
    assert squad.fixtures.first().where == Where(words="Fen Lane")


DAY_ALONE = b"""date,opponent,home/away,venue
10/10/2026,Lys RFC,home,Hall
"""
TIMED = b"""date,time,opponent,home/away,venue
10/10/2026,23:30,Lys RFC,home,Hall
"""


@pytest.mark.parametrize(("first", "clock"), [(DAY_ALONE, "12:00"), (TIMED, "23:30")])
@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/New_York"])
def test_a_match_of_a_day_that_goes_to_another_zone_stays_on_its_day_by_the_wall(
    season, squad, head, first, clock, zone
):
    take = {"squad": squad, "filename": "list.csv", "by": head}
    import_fixtures(content=first, **take)
    venue = venue_of(squad.club, name="Far Field", zone=zone)
    import_fixtures(content=DAY_ALONE.replace(b"Hall", b"far field"), **take)
    fixture = squad.fixtures.get()
    assert (fixture.venue, f"{fixture.kicks_off:%d %H:%M}", fixture.day) == (
        venue, f"10 {clock}", dt.date(2026, 10, 10),
    )  # fmt: skip
    assert import_fixtures(content=DAY_ALONE.replace(b"Hall", b"far field"), **take).nothing_to_do


def test_a_match_of_a_known_moment_takes_the_day_of_its_new_venue(season, squad, head):
    take = {"squad": squad, "filename": "list.csv", "by": head}
    import_fixtures(content=TIMED, **take)
    venue_of(squad.club, name="Far Field", zone="Pacific/Auckland")
    preview = import_fixtures(content=TIMED.replace(b"Hall", b"far field"), **take)
    assert not preview.nothing_to_do
    fixture = squad.fixtures.get()
    assert f"{fixture.kicks_off:%d %H:%M}" == "11 11:30"
    assert fixture.day == dt.date(2026, 10, 11)


# The forms


def test_a_session_is_set_at_a_venue_or_in_words_and_not_both(squad, head, log_in):
    session, venue = f.SessionFactory(squad=squad), venue_of(squad.club)
    client, address = log_in(head), reverse("edit_session", args=[squad.club.slug, session.pk])
    sent = {"version": 0, "width": 68, "length": 50, "coaches": 3, "stations": 3, "venue": venue.pk}
    page = client.post(address, sent | {"venue_words": "Hall"})
    assert "Choose a venue or write where it is, not both." in page.content.decode()
    assert client.post(address, sent).status_code == 302
    assert Session.objects.get().where == Where(venue)
    assert client.post(address, sent | {"version": 1, "venue": "", "venue_words": "Hall"}).status_code == 302
    assert Session.objects.get().where == Where(words="Hall")


def test_a_retired_venue_and_those_of_others_are_not_on_offer_but_a_chosen_one_stays(squad, head, log_in):
    chosen = venue_of(squad.club, name="Chosen", retired_on=EARLY)
    offered = venue_of(squad.club, name="Offered")
    venue_of(squad.club, name="Retired", retired_on=EARLY)
    venue_of(f.ClubFactory(), name="Theirs")
    session = f.SessionFactory(squad=squad, venue=chosen)
    page = log_in(head).get(reverse("edit_session", args=[squad.club.slug, session.pk]))
    assert list(page.context["form"].fields["venue"].queryset) == [chosen, offered]


# Pages


def test_pages_show_the_time_at_the_venue(squad, head, log_in):
    venue = venue_of(squad.club, zone="America/New_York")
    session = f.SessionFactory(squad=squad, venue=venue, starts_at=dt.datetime(2026, 10, 6, 23, tzinfo=dt.UTC))
    f.SeasonFactory(squad=squad)
    client, slug = log_in(head), squad.club.slug
    for address in (
        reverse("session", args=[slug, session.pk]),
        reverse("week", args=[slug, squad.slug, "2026-10-05"]),
        reverse("calendar_week", args=[slug, squad.slug, "2026-10-05"]),
        reverse("calendar_month", args=[slug, squad.slug, "2026-10"]),
        reverse("move_session", args=[slug, session.pk]),
    ):
        page = client.get(address).content.decode()
        assert "19:00" in page, address
        assert "00:00" not in page, address
        assert "23:00" not in page, address


# Feeds


def two_zones(squad):
    """Training in London and in New York over the winter's clock change, on different days in the two."""
    away = venue_of(squad.club, name="Harbour field", zone="America/New_York")
    for week in range(6):
        day = dt.date(2026, 10, 6) + dt.timedelta(weeks=week)
        for zone, venue in ((f.LONDON, None), (away.tzinfo, away)):
            starts = dt.datetime.combine(day, dt.time(19), zone)
            f.SessionFactory(squad=squad, starts_at=starts, venue=venue, slots=[60])


@pytest.fixture
def feed(client, squad, head, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOON)
    two_zones(squad)
    return client.get(member_address(head)).content


def test_two_zones_in_one_calendar_are_each_defined_once(feed):
    lines = feed.decode().split("\r\n")
    assert [line for line in lines if line.startswith("TZID:")] == ["TZID:America/New_York", "TZID:Europe/London"]
    starts = [line.partition(":")[0] for line in lines if line.startswith("DTSTART;")]
    assert {name: starts.count(name) for name in starts} == {
        "DTSTART;TZID=Europe/London": 6, "DTSTART;TZID=America/New_York": 6,
    }  # fmt: skip


def test_independent_readers_find_seven_in_the_evening_in_both_zones(feed):
    expected = sorted(
        (f"{session.starts:%Y-%m-%d %H:%M %Z}", session.starts_at) for session in Session.objects.order_by("starts_at")
    )
    assert {words[11:16] for words, _moment in expected} == {"19:00"}
    strict = IcsCalendarStream.calendar_from_ics(feed.decode())
    assert sorted(event.dtstart.astimezone(dt.UTC) for event in strict.events) == sorted(m for _w, m in expected)
    calendar = icalendar.Calendar.from_ical(feed)
    found = recurring_ical_events.of(calendar).between(dt.date(2026, 10, 1), dt.date(2026, 12, 1))
    assert sorted((f"{e.start:%Y-%m-%d %H:%M %Z}", e.start.astimezone(dt.UTC)) for e in found) == expected


def test_the_zones_as_the_file_defines_them_give_the_right_moments(feed, tmp_path):
    """dateutil reads the VTIMEZONE of the file alone, and knows no zone database here."""
    file = tmp_path / "feed.ics"
    file.write_bytes(feed)
    zones = tz.tzical(str(file))
    for session in Session.objects.all():
        naive = session.starts.replace(tzinfo=None)
        assert naive.replace(tzinfo=zones.get(session.zone.key)).astimezone(dt.UTC) == session.starts_at


def test_a_move_to_another_zone_moves_what_the_feed_says(squad):
    session = f.SessionFactory(squad=squad)
    before = for_coaches(squad.club, EARLY).stamp
    Session.objects.filter(pk=session.pk).update(venue=venue_of(squad.club, zone="Europe/Paris"))
    reading = for_coaches(squad.club, EARLY)
    assert (reading.events[0].zone, reading.events[0].place) == ("Europe/Paris", "The Withy Ground")
    assert reading.stamp != before
    assert NOWHERE.zone_or(f.LONDON) == f.LONDON


# Queries


@pytest.mark.parametrize(
    ("page", "day"), [("calendar_week", "2026-10-05"), ("calendar_month", "2026-10"), ("week", "2026-10-05")]
)
def test_venues_cost_a_page_no_query(squad, head, log_in, django_assert_num_queries, page, day):
    f.SeasonFactory(squad=squad)
    for number in (5, 6, 7):
        f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, number, 19, tzinfo=f.LONDON))
        f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, number, 12, tzinfo=f.LONDON))
    client, address = log_in(head), reverse(page, args=[squad.club.slug, squad.slug, day])
    assert client.get(address).status_code == 200
    KEPT.forget()
    with CaptureQueriesContext(connection) as without:
        client.get(address)
    for number, session in enumerate(Session.objects.all()):
        venue = venue_of(squad.club, name=f"Field {number}")
        Session.objects.filter(pk=session.pk).update(venue=venue)
        Fixture.objects.filter(day=session.day).update(venue=venue)
    KEPT.forget()
    with django_assert_num_queries(len(without)):
        client.get(address)


def test_venues_cost_a_feed_no_query(squad, django_assert_num_queries):
    two_zones(squad)
    with django_assert_num_queries(3):
        assert for_coaches(squad.club, EARLY).stamp
