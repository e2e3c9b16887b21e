"""A night changed for one session, for that and later ones, or for all: what follows, what stays, and why."""

from __future__ import annotations

import datetime as dt
import re
import uuid

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.attendance_models import Mark
from planner.break_actions import change_breaks
from planner.calendar_actions import lay_out, save_night
from planner.changes import Refused
from planner.core.calendar import Stretch
from planner.core.laying_out import Break
from planner.core.scope import Member, Scope, carried_over, first_week, merged, reached, sort_out
from planner.models import Season, Session, TrainingNight
from planner.record_models import PlayerDay
from planner.rpe_days import settle_loads
from planner.rpe_models import Rpe
from planner.scope import Asked, ScopePlan, digest_of, night_values
from planner.scope_actions import change_night, end_night
from planner.session_actions import cancel_session, change_session, move_session
from planner.slot_plans import SlotPlan
from planner.venue_models import Where
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.calendar.test_pages import slot_rows

HILL_ROAD = Where(words="Hill Road")

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 10, 31)
EARLY, TODAY = dt.date(2026, 8, 1), dt.date(2026, 9, 16)  # a Wednesday: three Tuesdays are past
SLOTS = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(12), SlotPlan(14)]

# The core

VALUES = st.fixed_dictionaries({name: st.integers(0, 2) for name in ("starts", "coaches", "pitch")})
MEMBERS = st.lists(
    st.builds(Member, st.just(0), st.dates(FIRST, LAST), VALUES, st.sampled_from(["", "", "past", "locked"])),
    max_size=8,
).map(lambda members: [Member(n, m.pattern_day, m.values, m.stays) for n, m in enumerate(members)])


def after(member: Member, found) -> Member:
    """The member with what it takes over."""
    changes = found.changed[member.key].changes if member.key in found.changed else {}
    values = {**member.values, **{name: new for name, (_old, new) in changes.items()}}
    return Member(member.key, member.pattern_day, values, member.stays)


@given(MEMBERS, VALUES, VALUES, st.booleans())
def test_each_session_is_changed_or_kept_or_the_same_and_never_two_of_them(members, night, wanted, all_the_same):
    found = sort_out(members, night, wanted, all_the_same=all_the_same)
    keys = [*found.changed, *found.kept, *found.same]
    assert sorted(keys) == [member.key for member in members]


@given(MEMBERS, VALUES, VALUES)
def test_the_same_change_again_changes_nothing(members, night, wanted):
    once = sort_out(members, night, wanted)
    again = sort_out([after(member, once) for member in members], wanted, wanted)
    assert (again.changed, again.kept) == ({}, {})


@given(MEMBERS, VALUES, VALUES, st.booleans())
def test_one_that_stays_never_changes(members, night, wanted, all_the_same):
    found = sort_out(members, night, wanted, all_the_same=all_the_same)
    assert not any(member.stays and member.key in found.changed for member in members)


@given(MEMBERS, VALUES, VALUES)
def test_a_field_follows_where_it_held_the_nights_value_and_stays_elsewhere(members, night, wanted):
    found = sort_out(members, night, wanted)
    for member in members:
        now = after(member, found)
        for name, value in member.values.items():
            follows = value == night[name] and not member.stays
            assert now.values[name] == (wanted[name] if follows else value)


def test_for_one_session_alone_what_was_changed_by_hand_follows_as_well():
    found = merged({"pitch": "B"}, {"pitch": "A"}, {"pitch": "C"}, all_the_same=True)
    assert (found.changes, found.kept) == ({"pitch": ("B", "C")}, {})


def test_a_scope_reaches_one_the_later_ones_or_all():
    members = [Member(n, dt.date(2026, 9, n), {}) for n in (1, 8, 15)]
    assert [m.key for m in reached(members, Scope.ONE, 8, None)] == [8]
    assert [m.key for m in reached(members, Scope.LATER, 8, dt.date(2026, 9, 8))] == [8, 15]
    assert [m.key for m in reached(members, Scope.ALL, None, None)] == [1, 8, 15]


@pytest.mark.parametrize(("day", "monday"), [(8, 7), (9, 14), (7, 7), (13, 14), (16, None)])
def test_a_change_holds_from_the_week_of_the_first_night_from_then_on(day, monday):
    tuesdays = [dt.date(2026, 9, n) for n in (1, 8, 15)]
    assert first_week(tuesdays, dt.date(2026, 9, day)) == (monday and dt.date(2026, 9, monday))


def test_slots_with_stations_are_carried_over_or_the_change_is_refused():
    assert carried_over("abc", "xabc", {1}) == [None, 0, 1, 2]
    assert carried_over("abc", "ac", {1}) is None
    assert carried_over("abc", "ac", {0, 2}) == [0, 2]


# The rows


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=FIRST, last_day=LAST)


@pytest.fixture
def night(season, head):
    fields = {"weekday": 1, "starts": dt.time(19), "where": Where(words="Mill Lane"), "kit": {"balls": 20}}
    night = save_night(night=TrainingNight(season=season), slots=SLOTS, by=head, **fields)
    lay_out(season=season, by=head, today=EARLY)
    return night


def asked(night, scope=Scope.ALL, *, session=None, from_day=None, **values) -> Asked:
    night = TrainingNight.objects.select_related("season__squad__club").get(pk=night.pk)
    return Asked(night, scope, night_values(night) | values, session, from_day)


def changed(night, head, scope=Scope.ALL, today=TODAY, **more):
    return change_night(asked=asked(night, scope, **more), by=head, today=today)


def times(squad) -> list[str]:
    return [f"{session.starts_at.astimezone(f.LONDON):%a %-d %b %H:%M}" for session in squad.sessions.all()]


def on(squad, month: int, day: int) -> Session:
    return squad.sessions.get(pattern_day=dt.date(2026, month, day))


PAST = ["Tue 1 Sep 19:00", "Tue 8 Sep 19:00", "Tue 15 Sep 19:00"]
AHEAD = ["22 Sep", "29 Sep", "6 Oct", "13 Oct", "20 Oct", "27 Oct"]


def test_all_changes_every_session_that_is_not_past(night, squad, head):
    plan = changed(night, head, starts=dt.time(19, 15))
    assert times(squad) == [*PAST, *(f"Tue {day} 19:15" for day in AHEAD)]
    assert len(plan.changed) == 6
    assert [why for _session, why in plan.kept] == ["past"] * 3
    assert TrainingNight.objects.get().starts == dt.time(19, 15)


def test_this_and_later_splits_the_night_at_its_week(night, season, squad, head):
    changed(night, head, Scope.LATER, session=on(squad, 10, 13), starts=dt.time(18), where=HILL_ROAD)
    assert times(squad) == [*PAST, "Tue 22 Sep 19:00", "Tue 29 Sep 19:00", "Tue 6 Oct 19:00", *(
        f"Tue {day} 18:00" for day in AHEAD[3:]
    )]  # fmt: skip
    old, new = season.nights.order_by("pk")
    assert (old.starts, old.last_day, new.starts, new.first_day) == (
        dt.time(19), dt.date(2026, 10, 11), dt.time(18), dt.date(2026, 10, 12),
    )  # fmt: skip
    assert (new.kit, new.where, new.template) == (old.kit, HILL_ROAD, old.template)
    assert (old.sessions.count(), new.sessions.count()) == (6, 3)
    assert lay_out(season=season, by=head, today=TODAY) == []


def test_only_this_session_leaves_the_night_and_the_others_alone(night, squad, head):
    changed(night, head, Scope.ONE, session=on(squad, 10, 13), starts=dt.time(18))
    assert [time for time in times(squad) if "18:00" in time] == ["Tue 13 Oct 18:00"]
    assert TrainingNight.objects.get().starts == dt.time(19)


def test_the_weekday_moves_within_each_week_and_laying_out_again_adds_nothing(night, season, squad, head):
    changed(night, head, weekday=3)
    assert times(squad)[3:] == [
        f"Thu {day} 19:00" for day in ("24 Sep", "1 Oct", "8 Oct", "15 Oct", "22 Oct", "29 Oct")
    ]
    assert lay_out(season=season, by=head, today=TODAY) == []


def test_this_and_later_to_an_earlier_weekday_has_one_session_in_each_week(night, season, squad, head):
    changed(night, head, Scope.LATER, session=on(squad, 10, 13), weekday=0)
    assert times(squad)[5:] == ["Tue 6 Oct 19:00", "Mon 12 Oct 19:00", "Mon 19 Oct 19:00", "Mon 26 Oct 19:00"]
    assert lay_out(season=season, by=head, today=TODAY) == []


def test_a_session_changed_by_hand_keeps_that_and_follows_in_the_rest(night, squad, head):
    by_hand = on(squad, 10, 13)
    change_session(session=by_hand, by=head, today=TODAY, version=0, where=Where(words="School field"))
    plan = changed(night, head, starts=dt.time(19, 15), where=HILL_ROAD, coaches=3)
    by_hand.refresh_from_db()
    assert (str(by_hand.where), by_hand.coaches, f"{by_hand.starts_at.astimezone(f.LONDON):%H:%M}") == (
        "School field", 3, "19:15",
    )  # fmt: skip
    assert {session.pk: dict(merged.kept) for session, merged in plan.changed if merged.kept} == {
        by_hand.pk: {"where": Where(words="School field")}
    }


def test_a_session_moved_by_hand_keeps_its_day_and_its_time_apart(night, squad, head):
    moved = on(squad, 10, 13)
    starts = dt.datetime(2026, 10, 14, 18, 30, tzinfo=f.LONDON)
    move_session(session=moved, starts_at=starts, by=head, version=0, today=TODAY)
    changed(night, head, weekday=3, starts=dt.time(20))
    moved.refresh_from_db()
    assert moved.starts_at == starts


def test_marked_and_locked_sessions_stay_with_the_reason(night, squad, head):
    marked, locked = on(squad, 9, 22), on(squad, 9, 29)
    player = f.PlayerFactory(squad=squad)
    at = dt.datetime(2026, 9, 16, tzinfo=f.LONDON)
    Mark.objects.create(key=uuid.uuid4(), player=player, session=marked, state="here", at=at, by_name="Head")
    stand(locked.slots.get(order=1), f.DrillFactory(club=squad.club), [], locked=True)
    plan = changed(night, head, starts=dt.time(19, 15))
    assert [why for _session, why in plan.kept][3:] == ["somebody is marked on it", "a station in it is locked"]
    assert [time for time in times(squad)[3:] if "19:00" in time] == ["Tue 22 Sep 19:00", "Tue 29 Sep 19:00"]


def test_a_session_of_which_somebody_said_how_hard_it_was_stays_with_its_load(night, squad, head):
    answered = on(squad, 9, 22)
    player = f.PlayerFactory(squad=squad)
    Rpe.objects.create(player=player, session=answered, number=6, minutes=36, said_by="Ash", by_name="Ash")
    settle_loads(squad, answered.day, answered.day)
    evening = dt.date(2026, 9, 22)  # the night has run, and its day is not over
    plan = changed(night, head, weekday=3, today=evening)
    assert dict(plan.kept)[answered] == "its record is begun"
    assert end_night(night=night, from_day=evening, by=head, today=evening).off
    answered.refresh_from_db()
    assert (answered.day, answered.cancelled) == (evening, False)
    assert [(row.day, row.load) for row in PlayerDay.objects.all()] == [(evening, 216)]


def test_new_slots_reach_sessions_that_hold_none_that_would_be_lost(night, squad, head):
    planned = on(squad, 9, 22)
    station = stand(planned.slots.get(order=1), f.DrillFactory(club=squad.club), [])
    longer = (SlotPlan(10, "Warm-up", rpe=3), SlotPlan(12), SlotPlan(20))
    plan = changed(night, head, slots=longer)
    assert [slot.minutes for slot in planned.slots.all()] == [10, 12, 20]
    station.refresh_from_db()
    assert (station.slot.minutes, len(plan.changed)) == (12, 6)


def test_a_session_whose_station_would_lose_its_slot_stays(night, squad, head):
    planned = on(squad, 9, 22)
    stand(planned.slots.get(order=1), f.DrillFactory(club=squad.club), [])
    plan = changed(night, head, slots=(SlotPlan(10, "Warm-up", rpe=3), SlotPlan(11)))
    assert [slot.minutes for slot in planned.slots.all()] == [10, 12, 14]
    assert plan.kept[-1] == (planned, "1 station stands in a slot that would be lost or get other minutes")


@pytest.fixture
def planned(night, squad):
    """Two stations on 22 September, which need two places at once."""
    f.BlockFactory(squad=squad, first_day=dt.date(2026, 9, 21))
    players = [f.PlayerFactory(squad=squad) for _n in range(8)]
    planned = on(squad, 9, 22)
    for order, name in enumerate(("Ruck", "Maul")):
        stand(planned.slots.get(order=1), f.DrillFactory(club=squad.club, name=name), players[order::2], order=order)
    return planned


def test_a_session_whose_programme_would_break_a_rule_stays_with_the_rule(night, planned, squad, head):
    plan = changed(night, head, stations=1)
    assert [session for session, _why in plan.kept][3:] == [planned]
    assert "station" in plan.kept[-1][1]
    assert plan.held_by_rules == 1
    planned.refresh_from_db()
    assert (planned.stations, on(squad, 9, 29).stations) == (3, 1)


def test_a_session_that_would_come_upon_another_or_into_the_past_stays(night, season, squad, head):
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 13, 20, tzinfo=f.LONDON))
    plan = changed(night, head, starts=dt.time(20))
    assert plan.kept[-1][1] == "another session stands at that very time"
    plan = changed(night, head, weekday=0, today=dt.date(2026, 9, 22))
    assert [why for _session, why in plan.kept if "Mon" in str(why)] == ["Mon 21 Sep, 20:00 is past"]


@pytest.fixture
def half_past_nine(monkeypatch) -> dt.date:
    """In the evening of a Tuesday, after training at seven."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 9, 22, 21, 30, tzinfo=f.LONDON))
    return dt.date(2026, 9, 22)


@pytest.mark.parametrize("scope", [Scope.ALL, Scope.LATER])
def test_training_that_was_held_today_moves_to_no_other_day(night, season, squad, head, half_past_nine, scope):
    held = on(squad, 9, 22)
    more = {"session": held} if scope is Scope.LATER else {}
    plan = changed(night, head, scope, today=half_past_nine, weekday=3, starts=dt.time(18), **more)
    assert dict(plan.kept)[held] == "it has begun"
    assert times(squad)[3:5] == ["Tue 22 Sep 19:00", "Thu 1 Oct 18:00"]
    held.refresh_from_db()
    assert held.pattern_day == half_past_nine
    assert lay_out(season=season, by=head, today=half_past_nine) == []


def test_training_that_was_held_today_is_called_off_by_no_ending_and_no_break(
    night, season, squad, head, half_past_nine
):
    fair = Break("Fair", Stretch(half_past_nine, half_past_nine))
    change_breaks(season=season, wanted=[fair], by=head, today=half_past_nine)
    assert not on(squad, 9, 22).cancelled
    end_night(night=night, from_day=half_past_nine, by=head, today=half_past_nine)
    assert not on(squad, 9, 22).cancelled
    assert squad.sessions.filter(cancelled=True).count() == 5


def test_tonight_is_not_moved_to_an_hour_that_has_struck(night, squad, head, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 9, 22, 18, tzinfo=f.LONDON))
    plan = changed(night, head, today=dt.date(2026, 9, 22), starts=dt.time(17))
    assert plan.kept[-1][1] == "Tue 22 Sep, 17:00 is past"
    assert times(squad)[3:5] == ["Tue 22 Sep 19:00", "Tue 29 Sep 17:00"]


def test_a_session_that_moves_into_a_break_falls_out_and_one_that_moves_out_comes_back(night, season, squad, head):
    season.breaks.create(name="Fair", first_day=dt.date(2026, 10, 8), last_day=dt.date(2026, 10, 8))
    changed(night, head, weekday=3)
    assert [str(session.fell_out) for session in squad.sessions.filter(cancelled=True)] == ["Fair"]
    changed(night, head, weekday=2)
    assert squad.sessions.filter(cancelled=True).count() == 0


def test_a_cancelled_session_follows_and_stays_cancelled(night, squad, head):
    cancel_session(session=on(squad, 10, 13), by=head, today=TODAY)
    changed(night, head, starts=dt.time(19, 15))
    assert times(squad)[6] == "Tue 13 Oct 19:15"
    assert on(squad, 10, 13).cancelled


def test_the_same_change_twice_changes_nothing_more(night, squad, head):
    changed(night, head, Scope.LATER, session=on(squad, 10, 13), starts=dt.time(18), weekday=2)
    before = list(squad.sessions.values())
    again = TrainingNight.objects.get(first_day__isnull=False)
    plan = changed(again, head, Scope.LATER, session=on(squad, 10, 14), starts=dt.time(18), weekday=2)
    assert (plan.changed, list(squad.sessions.values())) == ([], before)


def test_later_from_a_past_day_means_from_today_on(night, squad, head):
    changed(night, head, Scope.LATER, from_day=FIRST, starts=dt.time(18))
    assert times(squad)[:3] == PAST
    assert times(squad)[3] == "Tue 22 Sep 18:00"


def test_a_day_after_the_last_night_is_refused(night, head):
    with pytest.raises(Refused, match="no day from then on"):
        changed(night, head, Scope.LATER, from_day=dt.date(2026, 10, 30), starts=dt.time(18))
    assert TrainingNight.objects.get().starts == dt.time(19)


def test_a_night_that_somebody_else_changed_is_not_changed_unseen(night, squad, head):
    seen = digest_of(night)
    changed(night, head, where=HILL_ROAD)
    with pytest.raises(Refused, match="Somebody has changed this night"):
        change_night(asked=asked(night, starts=dt.time(18)), by=head, today=TODAY, was=seen)
    assert {session.where for session in squad.sessions.filter(day__gte=TODAY)} == {HILL_ROAD}


def test_a_change_is_one_line_in_the_audit_and_tells_older_pages(night, squad, head):
    before, version = AuditEvent.objects.count(), on(squad, 10, 13).plan_version
    changed(night, head, starts=dt.time(19, 15))
    event = AuditEvent.objects.last()
    assert (AuditEvent.objects.count(), event.did, event.detail["kept"]) == (before + 1, "changed night", 3)
    assert set(map(tuple, event.detail["sessions"].values())) == {("starts",)}
    assert on(squad, 10, 13).plan_version == version + 1


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    scope=st.sampled_from(Scope),
    weekday=st.integers(0, 6),
    hour=st.integers(17, 21),
    today=st.dates(FIRST, LAST),
    at=st.integers(0, 8),
    coaches=st.integers(1, 3),
)
def test_no_past_session_changes_and_every_one_is_accounted_for(
    scope, weekday, hour, today, at, coaches, night, season, squad, head
):
    with transaction.atomic():
        sessions = list(squad.sessions.order_by("starts_at"))
        past = list(squad.sessions.filter(day__lt=today).values())
        wanted = asked(night, scope, session=sessions[at], weekday=weekday, starts=dt.time(hour), coaches=coaches)
        try:
            plan = change_night(asked=wanted, by=head, today=today)
        except Refused:
            plan = ScopePlan.of(wanted, today)
        told = [*plan.sorted.changed, *plan.sorted.kept, *plan.sorted.same]
        assert len(told) == len(set(told))
        assert list(squad.sessions.filter(day__lt=today, pk__in=[row["id"] for row in past]).values()) == past
        assert squad.sessions.count() == len(sessions)
        weeks = {session.day.isocalendar()[:2] for session in squad.sessions.all()}
        assert len(weeks) == len(sessions)
        assert lay_out(season=Season.objects.get(), by=head, today=today) == []
        transaction.set_rollback(True)


# Ending


def test_a_night_that_ends_calls_its_later_sessions_off(night, season, squad, head):
    end_night(night=night, from_day=dt.date(2026, 10, 7), by=head, today=TODAY)
    off = [f"{session.day:%-d %b}" for session in squad.sessions.filter(cancelled=True)]
    assert off == ["13 Oct", "20 Oct", "27 Oct"]
    assert season.nights.get().last_day == dt.date(2026, 10, 6)
    assert lay_out(season=season, by=head, today=TODAY) == []


def test_a_locked_session_of_a_night_that_ends_stands(night, squad, head):
    stand(on(squad, 10, 20).slots.get(order=1), f.DrillFactory(club=squad.club), [], locked=True)
    ending = end_night(night=night, from_day=dt.date(2026, 10, 7), by=head, today=TODAY)
    assert [(session.day, why) for session, why in ending.stays] == [
        (dt.date(2026, 10, 20), "a station in it is locked")
    ]


def test_a_night_that_ends_before_it_began_goes_and_its_sessions_are_called_off(night, season, squad, head):
    end_night(night=night, from_day=EARLY, by=head, today=EARLY)
    assert (season.nights.count(), squad.sessions.filter(cancelled=False).count(), squad.sessions.count()) == (0, 0, 9)


# The pages


@pytest.fixture
def september(monkeypatch):
    """It is noon on Wednesday 16 September 2026."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 9, 16, 12, tzinfo=f.LONDON))


def at(name: str, night) -> str:
    return reverse(name, args=["brackenford", night.pk])


def form_data(night, **more) -> dict[str, str]:
    fields = {"weekday": 1, "starts": "19:00", "venue_words": "Mill Lane", "width": 68, "length": 50, "coaches": 2}
    slots = slot_rows(*SLOTS) | {"slots-INITIAL_FORMS": len(SLOTS)}
    return fields | {"stations": 3, "kit_balls": 20, "was": digest_of(night), "scope": "all"} | slots | more


def seen_on(answer) -> str:
    return re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]


def test_the_page_shows_each_session_before_and_after_and_writes_nothing(night, squad, head, log_in, september):
    change_session(session=on(squad, 10, 13), by=head, today=TODAY, version=0, where=Where(words="School field"))
    before = list(squad.sessions.values())
    answer = log_in(head).post(at("edit_night", night), form_data(night, starts="19:15", venue_words="Hill Road"))
    text = " ".join(answer.content.decode().split())
    assert "6 sessions change." in text
    assert "starts: 19:00 → 19:15; venue: Mill Lane → Hill Road" in text
    assert "venue: School field" in text
    assert "Tue 1 Sep: past" in text
    assert list(squad.sessions.values()) == before


def test_what_was_seen_is_saved(night, squad, head, log_in, september):
    client, data = log_in(head), form_data(night, starts="19:15")
    seen = seen_on(client.post(at("edit_night", night), data))
    assert client.post(at("edit_night", night), data | {"seen": seen}).status_code == 302
    assert times(squad)[3] == "Tue 22 Sep 19:15"


def test_what_changed_meanwhile_is_shown_again_before_it_is_saved(night, squad, head, log_in, september):
    client, data = log_in(head), form_data(night, starts="19:15")
    seen = seen_on(client.post(at("edit_night", night), data))
    change_session(session=on(squad, 10, 13), by=head, today=TODAY, version=0, where=Where(words="School field"))
    answer = client.post(at("edit_night", night), data | {"seen": seen})
    assert "Nothing is written yet." in answer.content.decode()
    assert seen_on(answer) != seen
    assert times(squad)[3] == "Tue 22 Sep 19:00"


def test_an_older_form_of_the_night_is_refused_in_words(night, squad, head, log_in, september):
    data = form_data(night, starts="19:15")
    changed(night, head, coaches=4)
    answer = log_in(head).post(at("edit_night", night), data)
    assert "Somebody has changed this night since you opened it" in answer.content.decode()


def test_who_says_so_changes_also_what_then_breaks_a_rule_and_sees_it_before(
    night, planned, squad, head, log_in, september
):
    client, address, data = log_in(head), at("edit_night", night), form_data(night, stations=1)
    answer = client.post(address, data)
    assert "Change also the 1 session that stays only because its programme" in answer.content.decode()
    data |= {"though_broken": "1", "seen": seen_on(answer)}
    answer = client.post(address, data)
    text = answer.content.decode()
    assert "Tue 22 Sep" in text.partition("What breaks")[2]
    assert 'id="though-broken" checked' in text
    assert "Save, then deal again" in text
    planned.refresh_from_db()
    assert planned.stations == 3
    saved = client.post(address, data | {"seen": seen_on(answer), "deal": "1"})
    assert saved["Location"] == reverse("deal_again", args=["brackenford", squad.blocks.get().pk])
    planned.refresh_from_db()
    assert planned.stations == 1


def test_from_a_session_only_that_one_may_be_chosen(night, squad, head, log_in, september):
    session = on(squad, 10, 13)
    client, address = log_in(head), f"{at('edit_night', night)}?session={session.pk}"
    assert "only this session" in client.get(address).content.decode()
    assert "only this session" not in client.get(at("edit_night", night)).content.decode()
    data = form_data(night, starts="18:00", scope="one")
    client.post(address, data | {"seen": seen_on(client.post(address, data))})
    assert [time for time in times(squad) if "18:00" in time] == ["Tue 13 Oct 18:00"]


def test_from_a_day_on_asks_for_the_day(night, head, log_in, september):
    answer = log_in(head).post(at("edit_night", night), form_data(night, scope="later"))
    assert "From which day on?" in answer.content.decode()


def test_a_night_is_ended_on_its_page_after_a_look(night, squad, head, log_in, september):
    client, data = log_in(head), {"from_day": "2026-10-07", "was": digest_of(night)}
    answer = client.post(at("remove_night", night), data)
    assert "3 sessions are called off." in answer.content.decode()
    assert squad.sessions.filter(cancelled=True).count() == 0
    client.post(at("remove_night", night), data | {"seen": seen_on(answer)})
    assert squad.sessions.filter(cancelled=True).count() == 3
