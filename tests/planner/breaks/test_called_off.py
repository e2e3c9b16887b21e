"""A night that ended leaves its sessions called off: what laying out does then, and how they come back."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.break_actions import change_breaks
from planner.calendar_actions import lay_out, save_night
from planner.called_off import called_off
from planner.called_off_actions import bring_back
from planner.changes import Refused
from planner.laying_out import Layout
from planner.models import Session, Station, TrainingNight
from planner.scope_actions import end_night
from planner.session_actions import cancel_session
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.breaks.cast import SLOTS, TODAY, address, hidden, october, off, on, text_of
from tests.planner.venues.cast import venue_of

END = dt.date(2026, 10, 7)


@pytest.fixture
def ended(night, head):
    end_night(night=night, from_day=END, by=head, today=TODAY)
    return TrainingNight.objects.get()


def another(season, head, clock: dt.time = dt.time(19), **more) -> TrainingNight:
    more = {"weekday": 1, "starts": clock, "first_day": dt.date(2026, 10, 12)} | more
    return save_night(night=TrainingNight(season=season), slots=SLOTS, by=head, **more)


def back(season, squad, head, *days: int, today: dt.date = TODAY, **more):
    keys = [on(squad, 10, day).pk for day in days]
    return bring_back(season=season, sessions=keys, by=head, today=today, **more)


def test_sessions_of_a_night_that_ended_hold_their_time_and_laying_out_says_so(season, ended, squad, head):
    again = another(season, head)
    layout = Layout.of(season, TODAY)
    assert (layout.held_by_cancelled, layout.new) == (3, [])
    assert lay_out(season=season, by=head, today=TODAY) == []
    assert again.sessions.count() == 0


def test_brought_back_they_go_over_to_the_night_that_runs_then_and_follow_it(season, ended, squad, head):
    again = another(season, head)
    station = stand(on(squad, 10, 20).slots.get(order=1), f.DrillFactory(club=squad.club), [])
    back(season, squad, head, 13, 20, 27)
    assert (off(squad), again.sessions.count()) == ([], 3)
    assert [session.pattern_day.day for session in again.sessions.all()] == [13, 20, 27]
    assert Station.objects.get() == station
    assert lay_out(season=season, by=head, today=TODAY) == []


def test_several_come_back_without_working_out_each_night_again(season, ended, squad, head):
    another(season, head)
    with CaptureQueriesContext(connection) as one:
        back(season, squad, head, 13)
    with CaptureQueriesContext(connection) as two:
        back(season, squad, head, 20, 27)
    nights = [sum('FROM "planner_trainingnight"' in query["sql"] for query in each) for each in (one, two)]
    assert nights[0] == nights[1]


def test_two_that_stood_at_one_time_of_the_clock_in_two_zones_do_not_go_over_to_one_night(season, ended, squad, head):
    again = another(season, head)
    abroad = f.SessionFactory(
        squad=squad,
        starts_at=dt.datetime(2026, 10, 13, 19, tzinfo=ZoneInfo("Europe/Paris")),
        venue=venue_of(squad.club, zone="Europe/Paris"),
    )
    Session.objects.filter(pk=abroad.pk).update(cancelled=True, pattern_day=abroad.day)
    keys = [session.pk for session in squad.sessions.filter(day=abroad.day)]
    bring_back(season=season, sessions=keys, by=head, today=TODAY)
    assert (squad.sessions.get(night=again).venue, off(squad)) == (None, ["20 Oct", "27 Oct"])


def test_where_no_night_runs_then_they_come_back_as_they_were(season, ended, squad, head):
    back(season, squad, head, 13)
    session = on(squad, 10, 13)
    assert (session.cancelled, session.night, off(squad)) == (False, ended, ["20 Oct", "27 Oct"])


def test_a_session_of_a_night_that_was_removed_comes_back_too(season, night, squad, head):
    end_night(night=night, from_day=dt.date(2026, 8, 1), by=head, today=dt.date(2026, 8, 1))
    again = another(season, head, first_day=None)
    back(season, squad, head, 13)
    assert (on(squad, 10, 13).night, on(squad, 10, 13).cancelled) == (again, False)


@pytest.mark.parametrize("more", [{"weekday": 2}, {"clock": dt.time(18)}, {"first_day": dt.date(2026, 10, 19)}])
def test_a_night_on_another_day_or_at_another_time_takes_none_over(season, ended, squad, head, more):
    another(season, head, **more)
    back(season, squad, head, 13)
    assert on(squad, 10, 13).night == ended


def test_a_night_that_has_its_session_of_the_week_takes_no_second_one(season, ended, squad, head):
    again = another(season, head, clock=dt.time(18))
    lay_out(season=season, by=head, today=TODAY)
    TrainingNight.objects.filter(pk=again.pk).update(starts=dt.time(19))
    session = squad.sessions.get(day=dt.date(2026, 10, 13), cancelled=True)
    bring_back(season=season, sessions=[session.pk], by=head, today=TODAY)
    session.refresh_from_db()
    assert (session.night, session.cancelled) == (ended, False)


def test_each_is_listed_with_the_reason_why_it_is_off(season, ended, squad, head):
    cancel_session(session=on(squad, 9, 22), by=head, today=TODAY)
    change_breaks(season=season, wanted=[october(6, name="Fair")], by=head, today=TODAY)
    assert [(line.session.day.day, line.why) for line in called_off(season, TODAY)] == [
        (22, "called off by hand"),
        (6, "falls out: Fair"),
        (13, "its night has ended"),
        (20, "its night has ended"),
        (27, "its night has ended"),
    ]


def test_past_sessions_and_those_that_stand_are_refused_and_nothing_is_written(season, ended, squad, head):
    with pytest.raises(Refused, match="past, or no longer called off"):
        back(season, squad, head, 6, 13)
    with pytest.raises(Refused, match="past, or no longer called off"):
        back(season, squad, head, 13, 20, today=dt.date(2026, 10, 14))
    with pytest.raises(Refused, match="Tick at least one"):
        back(season, squad, head)
    assert off(squad) == ["13 Oct", "20 Oct", "27 Oct"]


# The pages


@pytest.fixture
def client(log_in, head, september):
    return log_in(head)


def ticked(squad, *days: int) -> dict[str, list[int]]:
    return {"chosen": [on(squad, 10, day).pk for day in days]}


def test_the_page_before_laying_out_leads_to_those_that_hold_its_times(season, ended, head, client):
    another(season, head)
    answer = client.get(address("lay_out", season.pk))
    assert "3 of these times are held by sessions that were called off." in text_of(answer)
    assert address("called_off", season.pk) in answer.content.decode()


def test_several_are_brought_back_on_one_page_after_a_look(season, ended, squad, head, client):
    another(season, head)
    url = address("called_off", season.pk)
    assert "Tue 13 Oct 2026, 19:00 its night has ended; goes over to the night Tuesday 19:00" in text_of(
        client.get(url)
    )
    answer = client.post(url, ticked(squad, 13, 27))
    assert "Before 2 sessions take place again" in text_of(answer)
    assert len(off(squad)) == 3
    client.post(url, hidden(answer))
    assert off(squad) == ["20 Oct"]


def test_the_look_tells_of_breaks_of_other_sessions_and_of_matches(season, ended, squad, head, client):
    change_breaks(season=season, wanted=[october(13, name="Fair")], by=head, today=TODAY)
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 20, 18, 50, tzinfo=f.LONDON))
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 27, 15, tzinfo=f.LONDON))
    keys = [line.session.pk for line in called_off(season, TODAY)]
    text = text_of(client.post(address("called_off", season.pk), {"chosen": keys}))
    assert "Tue 13 Oct, 19:00: the day falls out (Fair). It takes place all the same." in text
    assert "Tue 20 Oct, 19:00: it runs into the session at 18:50. Both would stand." in text
    assert "training would be on a match day" in text


def test_what_changed_since_the_look_is_shown_again(season, ended, squad, head, client):
    url = address("called_off", season.pk)
    answer = client.post(url, ticked(squad, 13))
    change_breaks(season=season, wanted=[october(13, name="Fair")], by=head, today=TODAY)
    again = client.post(url, hidden(answer))
    assert "the day falls out (Fair)" in text_of(again)
    assert len(off(squad)) == 3


def test_nothing_ticked_says_so_and_ticks_survive_going_back(season, ended, squad, client):
    url = address("called_off", season.pk)
    assert "Tick at least one session." in text_of(client.post(url))
    again = client.post(url, ticked(squad, 13) | {"again": "1"}).content.decode()
    assert f'value="{on(squad, 10, 13).pk}" id="s{on(squad, 10, 13).pk}" checked' in again


def test_one_is_brought_back_from_its_own_page_after_a_look(season, ended, squad, client):
    session = on(squad, 10, 13)
    page = client.get(address("session", session.pk))
    assert "Bring it back…" in text_of(page)
    answer = client.post(address("called_off", season.pk), hidden(page))
    client.post(address("called_off", season.pk), hidden(answer))
    assert off(squad) == ["20 Oct", "27 Oct"]


def test_a_session_of_another_season_or_squad_is_not_brought_back_here(season, ended, squad, head, client):
    other = f.SessionFactory(squad=f.SquadFactory(club=squad.club), cancelled=True)
    client.post(address("called_off", season.pk), {"chosen": [other.pk]})
    other.refresh_from_db()
    assert other.cancelled


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_sessions(
    count, season, night, squad, head, client, django_assert_num_queries
):
    end_night(night=night, from_day=dt.date(2026, 10, 27 - 7 * (count - 1)), by=head, today=TODAY)
    with django_assert_num_queries(7):
        answer = client.get(address("called_off", season.pk))
    assert text_of(answer).count("its night has ended") == count
