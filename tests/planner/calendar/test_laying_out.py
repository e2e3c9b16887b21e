"""What laying out a season would do, and that the page before it says so."""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from planner.calendar_actions import lay_out, rest_on_match_days, save_night
from planner.changes import Refused
from planner.core.calendar import Stretch, monday_of, weeks_of
from planner.core.laying_out import Break, Calendar, Fate, Night, clock_changes, pattern_days
from planner.laying_out import Layout
from planner.models import Session, TrainingNight
from planner.session_actions import cancel_session, move_session
from planner.slot_plans import SlotPlan
from shared.models import AuditEvent
from tests import factories as f

PARIS = ZoneInfo("Europe/Paris")
FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 10, 31)
TODAY = dt.date(2026, 8, 1)
TUESDAY, THURSDAY = 1, 3

# The core


def night(key=1, weekday=TUESDAY, clock=dt.time(19), first=FIRST, last=LAST, zone=PARIS) -> Night:
    return Night(key, weekday, clock, Stretch(first, last), zone)


def calendar(**more) -> Calendar:
    return Calendar(**({"season": Stretch(FIRST, LAST), "today": TODAY} | more))


def fates(nights, **more) -> list[tuple[str, str]]:
    return [(f"{each.day:%d %b}", each.fate) for each in pattern_days(nights, calendar(**more))]


def test_each_night_has_one_day_in_each_week_and_days_outside_the_season_are_told():
    friday = pattern_days([night(weekday=0), night(2, 4)], calendar())
    assert len(friday) == 18
    assert [(f"{e.day:%d %b}", e.fate) for e in friday if e.fate is not Fate.NEW] == [("31 Aug", Fate.OUTSIDE)]


def test_a_night_runs_from_its_own_first_to_its_own_last_day():
    found = fates([night(first=dt.date(2026, 9, 8), last=dt.date(2026, 9, 15))])
    assert [day for day, fate in found if fate == Fate.NEW] == ["08 Sep", "15 Sep"]


def test_breaks_match_days_and_the_past_fall_out_each_with_its_reason():
    found = fates(
        [night()],
        today=dt.date(2026, 9, 8),
        breaks=[Break("Half term", Stretch(dt.date(2026, 10, 19), dt.date(2026, 10, 25)))],
        match_days={dt.date(2026, 9, 15)},
    )
    assert found[:3] == [("01 Sep", Fate.PAST), ("08 Sep", Fate.NEW), ("15 Sep", Fate.MATCH)]
    assert ("20 Oct", Fate.OFF) in found


def test_a_night_of_today_that_would_have_begun_is_past():
    at_eight = dt.datetime(2026, 9, 8, 20, tzinfo=PARIS)
    early, late = (fates([night(clock=dt.time(hour))], today=at_eight.date(), now=at_eight)[:3] for hour in (19, 21))
    assert early == [("01 Sep", Fate.PAST), ("08 Sep", Fate.PAST), ("15 Sep", Fate.NEW)]
    assert late == [("01 Sep", Fate.PAST), ("08 Sep", Fate.NEW), ("15 Sep", Fate.NEW)]


def test_of_two_nights_at_one_moment_the_first_gets_it():
    found = pattern_days([night(1), night(2)], calendar())
    assert {(each.night, each.fate) for each in found} == {(1, Fate.NEW), (2, Fate.TAKEN)}


def test_a_leap_day_season_over_the_new_year_has_every_tuesday():
    season = Stretch(dt.date(2027, 12, 1), dt.date(2028, 3, 31))
    found = pattern_days([night(first=season.first, last=season.last)], calendar(season=season))
    new = [each.day for each in found if each.fate is Fate.NEW]
    assert dt.date(2028, 2, 29) in new
    assert {dt.date(2027, 12, 28), dt.date(2028, 1, 4)} < set(new)
    assert len(new) == 17


def test_clocks_change_between_two_nights():
    moments = [each.starts_at for each in pattern_days([night()], calendar())]
    (change,) = clock_changes(moments)
    assert (f"{change.before:%d %b %H:%M}", f"{change.after:%d %b %H:%M}") == ("20 Oct 19:00", "27 Oct 19:00")


DAYS = st.dates(dt.date(2026, 8, 1), dt.date(2027, 3, 1))
STRETCHES = st.tuples(DAYS, DAYS).map(lambda pair: Stretch(min(pair), max(pair)))
NIGHTS = st.lists(st.tuples(st.integers(0, 6), st.sampled_from([dt.time(18), dt.time(19, 15)]), STRETCHES), max_size=4)
ZONES = st.sampled_from(["Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"])


@given(NIGHTS, STRETCHES, DAYS, st.lists(STRETCHES, max_size=3), st.sets(DAYS, max_size=5), ZONES)
def test_laid_out_once_and_again_there_is_nothing_new(nights, season, today, gaps, matches, zone):
    made = [Night(n, *each, ZoneInfo(zone)) for n, each in enumerate(nights)]
    before = Calendar(season, today, [Break("off", gap) for gap in gaps], matches)
    first = pattern_days(made, before)
    new = [each for each in first if each.fate is Fate.NEW]
    laid = {(each.night, monday_of(each.day)) for each in new}
    after = Calendar(season, today, before.breaks, matches, laid, {each.starts_at for each in new})
    again = pattern_days(made, after)
    assert [each for each in again if each.fate is Fate.NEW] == []
    assert len(again) == len(first) == len(made) * len(weeks_of(season))
    for each in new:
        assert each.day >= today
        assert each.day in season
        assert each.day not in matches
        assert not any(each.day in gap for gap in gaps)
        assert each.starts_at.astimezone(ZoneInfo(zone)).time() == nights[each.night][1]


# The rows


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=FIRST, last_day=LAST)


@pytest.fixture
def tuesday(season, head):
    slots = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(65)]
    return save_night(night=TrainingNight(season=season), slots=slots, by=head, weekday=TUESDAY, starts=dt.time(19))


def test_the_layout_counts_what_is_new_stands_and_falls_out(season, tuesday, squad, head):
    season.breaks.create(name="Half term", first_day=dt.date(2026, 10, 19), last_day=dt.date(2026, 10, 25))
    (counts,) = Layout.of(season, TODAY).by_night
    assert (counts.new, counts.stands, counts.fallen_out) == (8, 0, ["Half term: 1"])
    lay_out(season=season, by=head, today=TODAY)
    (counts,) = Layout.of(season, TODAY).by_night
    assert (counts.new, counts.stands, counts.fallen_out) == (0, 8, ["Half term: 1"])


def test_match_days_fall_out_if_that_is_the_rule(season, tuesday, squad, head):
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON))
    assert "the day of the match Netherby Cross RFC" in Layout.of(season, TODAY).clashes[0]
    rest_on_match_days(season=season, rests=True, by=head)
    layout = Layout.of(season, TODAY)
    assert (layout.clashes, layout.by_night[0].fallen_out) == ([], ["match day: 1"])
    assert len(lay_out(season=season, by=head, today=TODAY)) == 8


def test_what_meets_another_session_is_told(season, tuesday, squad):
    for day, hour in ((6, 18), (13, 9), (20, 19)):
        f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, day, hour, tzinfo=f.LONDON), slots=[70])
    assert Layout.of(season, TODAY).clashes == [
        "Tue 6 Oct, 19:00: it runs into the session at 18:00 (70 min). Both would stand.",
        "Tue 13 Oct, 19:00: a session stands at 09:00 the same day. Both would stand.",
        "Tue 20 Oct, 19:00: another session stands at that very time, perhaps a cancelled one. None is made.",
    ]


def test_a_clock_change_is_named_with_the_time_that_stays(season, tuesday):
    assert Layout.of(season, TODAY).clocks == [
        "Tuesday 19:00: the clocks change between Tue 20 Oct 2026 (18:00 UTC) and Tue 27 Oct 2026 (19:00 UTC). "
        "It stays at 19:00 by the clock on the wall."
    ]


def test_moved_and_cancelled_sessions_are_told_apart_from_those_that_stand(season, tuesday, head):
    first, second, *_rest = lay_out(season=season, by=head, today=TODAY)
    move_session(session=first, starts_at=first.starts_at + dt.timedelta(days=1), by=head, version=0, today=TODAY)
    cancel_session(session=second, by=head, today=TODAY)
    said = [words for week in Layout.of(season, TODAY).weeks for _night, _day, words in week.cells]
    assert said[:3] == ["stands already, on Wed 2 Sep", "stands already, cancelled", "stands already"]


def test_what_was_not_seen_is_not_laid_out(season, tuesday, squad, head):
    seen = Layout.of(season, TODAY).digest
    season.breaks.create(name="Half term", first_day=dt.date(2026, 10, 19), last_day=dt.date(2026, 10, 25))
    with pytest.raises(Refused, match="has changed since you opened this page"):
        lay_out(season=season, by=head, today=TODAY, seen=seen)
    assert squad.sessions.count() == 0


def test_a_second_night_at_the_same_time_is_refused_unless_it_runs_on_other_days(season, tuesday, head):
    twin = {"slots": [SlotPlan(20)], "by": head, "weekday": TUESDAY, "starts": dt.time(19)}
    with pytest.raises(Refused, match="has a night on Tuesday 19:00 already"):
        save_night(night=TrainingNight(season=season), **twin)
    TrainingNight.objects.filter(pk=tuesday.pk).update(last_day=dt.date(2026, 9, 30))
    save_night(night=TrainingNight(season=season), first_day=dt.date(2026, 10, 1), **twin)
    assert season.nights.count() == 2


def test_two_nights_at_the_same_time_make_one_session_a_week(season, tuesday, squad, head):
    TrainingNight.objects.create(season=season, weekday=TUESDAY, starts=dt.time(19))
    assert len(lay_out(season=season, by=head, today=TODAY)) == 9
    assert lay_out(season=season, by=head, today=TODAY) == []


@pytest.mark.parametrize(
    "days",
    [
        {"first_day": dt.date(2026, 8, 1)},
        {"last_day": dt.date(2027, 1, 1)},
        {"first_day": dt.date(2026, 10, 1), "last_day": dt.date(2026, 9, 30)},
    ],
)
def test_a_night_runs_within_its_season_or_is_refused(season, head, days):
    with pytest.raises(Refused, match="runs within its season"):
        save_night(
            night=TrainingNight(season=season), slots=[SlotPlan(20)], by=head, weekday=1, starts=dt.time(19), **days
        )
    assert season.nights.count() == 0


def test_the_database_keeps_a_night_from_ending_before_it_begins(season):
    days = {"first_day": dt.date(2026, 10, 1), "last_day": dt.date(2026, 10, 1)}
    season.nights.create(weekday=1, starts=dt.time(19), **days)
    with pytest.raises(IntegrityError), transaction.atomic():
        season.nights.create(weekday=1, starts=dt.time(19), **days | {"last_day": dt.date(2026, 9, 30)})


# The page


@pytest.fixture
def early(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 8, 1, 12, tzinfo=f.LONDON))


def address(season) -> str:
    return reverse("lay_out", args=["brackenford", season.pk])


def seen_on(page: str) -> str:
    return re.search(r'name="seen" value="(\w+)"', page)[1]


def test_the_page_shows_what_would_appear_and_writes_nothing(season, tuesday, squad, head, log_in, early):
    before = AuditEvent.objects.count()
    text = log_in(head).get(address(season)).content.decode()
    assert "9 sessions in 9 weeks." in text
    assert "Lay out 9 sessions" in text
    assert (squad.sessions.count(), AuditEvent.objects.count()) == (0, before)


def test_pressing_the_button_makes_what_was_shown(season, tuesday, squad, head, log_in, early):
    client = log_in(head)
    seen = seen_on(client.get(address(season)).content.decode())
    client.post(address(season), {"seen": seen})
    assert squad.sessions.count() == 9
    assert "Nothing to add" in client.get(address(season)).content.decode()


def test_a_page_that_is_out_of_date_makes_nothing_and_says_so(season, tuesday, squad, head, log_in, early):
    client = log_in(head)
    seen = seen_on(client.get(address(season)).content.decode())
    season.breaks.create(name="Ball", first_day=FIRST, last_day=FIRST)
    answer = client.post(address(season), {"seen": seen}, follow=True)
    assert "has changed since you opened this page" in answer.content.decode()
    assert squad.sessions.count() == 0


def test_the_rule_for_match_days_is_remembered(season, tuesday, squad, head, log_in, early):
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON))
    client = log_in(head)
    client.post(address(season), {"rest": "1", "rests": "1"})
    assert "match day: 1" in client.get(address(season)).content.decode()
    client.post(address(season), {"rest": "1"})
    assert "match day: 1" not in client.get(address(season)).content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_the_same_queries_for_any_number_of_nights(
    count, season, squad, head, log_in, early, django_assert_num_queries
):
    for n in range(count):
        save_night(night=TrainingNight(season=season), slots=[SlotPlan(20)], by=head, weekday=n, starts=dt.time(19))
        f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 6 + n, 19, tzinfo=f.LONDON))
        f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 6 + n, 9, tzinfo=f.LONDON))
    client = log_in(head)
    with django_assert_num_queries(11):
        client.get(address(season))
    assert Session.objects.count() == count
