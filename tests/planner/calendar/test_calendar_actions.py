"""Seasons, nights, laying out, and fixtures by hand."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.calendar_actions import NamedDays, lay_out, remove_night, save_fixture, save_night, save_season
from planner.changes import Refused
from planner.models import Fixture, Season, TrainingNight
from planner.session_actions import cancel_session, move_session
from planner.slot_plans import SlotPlan, refuse_slots, usual_night
from planner.venue_models import Where
from shared.audit import broken_links
from shared.models import AuditEvent
from tests import factories as f

FIRST, LAST = dt.date(2026, 9, 1), dt.date(2026, 10, 31)
EARLY = dt.date(2026, 8, 1)
SLOTS = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(12), SlotPlan(6, "Live scrum", 6, "set_piece", 50)]


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad, first_day=FIRST, last_day=LAST)


def tuesday(season: Season, by, **fields) -> TrainingNight:
    fields = {"weekday": 1, "starts": dt.time(19), "where": Where(words="Mill Lane"), "kit": {"balls": 20}} | fields
    return save_night(night=TrainingNight(season=season), slots=SLOTS, by=by, **fields)


@pytest.fixture
def night(season, head):
    return tuesday(season, head)


# Seasons


def test_a_season_is_made_with_its_phases_and_breaks(squad, head):
    season = save_season(
        season=Season(squad=squad),
        by=head,
        name="2026/27",
        first_day=FIRST,
        last_day=LAST,
        phases=[NamedDays("Pre-season", FIRST, dt.date(2026, 9, 13))],
        breaks=[NamedDays("Club ball", dt.date(2026, 9, 15), dt.date(2026, 9, 15))],
    )
    assert [phase.name for phase in season.phases.all()] == ["Pre-season"]
    assert [gap.name for gap in season.breaks.all()] == ["Club ball"]


def test_phases_are_left_alone_unless_they_are_given(season, head):
    f_phase = [NamedDays("Taper", FIRST, LAST)]
    save_season(season=season, by=head, phases=f_phase)
    save_season(season=season, by=head, name="Autumn")
    assert [phase.name for phase in season.phases.all()] == ["Taper"]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"last_day": FIRST}, "ends after it begins"),
        ({"last_day": dt.date(2030, 1, 1)}, "within two years"),
        ({"first_day": dt.date(2026, 10, 31), "last_day": dt.date(2027, 5, 1)}, "A day belongs to one season"),
        (
            {"first_day": dt.date(2027, 1, 1), "last_day": dt.date(2027, 5, 1), "name": "2026/27"},
            "of that name already",
        ),
    ],
)
def test_a_season_that_cannot_be_is_refused_in_words(season, squad, head, fields, words):
    given = {"name": "Another", "first_day": FIRST, "last_day": LAST} | fields
    with pytest.raises(Refused, match=words):
        save_season(season=Season(squad=squad), by=head, **given)
    assert Season.objects.count() == 1


def test_a_phase_outside_its_season_is_refused_and_nothing_is_written(season, head):
    with pytest.raises(Refused, match="“Late” must end after it begins, and lie within the season"):
        save_season(season=season, by=head, name="Changed", phases=[NamedDays("Late", LAST, dt.date(2026, 11, 1))])
    season.refresh_from_db()
    assert season.name == "2026/27"


# Nights and slots


def test_the_usual_night_lasts_eighty_minutes_of_which_fifty_are_planned():
    slots = usual_night()
    refuse_slots(slots)
    assert sum(slot.minutes for slot in slots) == 80
    assert sum(slot.minutes for slot in slots if not slot.title) == 50


@pytest.mark.parametrize(
    ("slot", "words"),
    [
        (SlotPlan(0), "from 1 to 300 minutes"),
        (SlotPlan(12, rpe=5), "takes RPE and contact from its drills"),
        (SlotPlan(12, "Scrum", 11), "RPE goes from 0 to 10"),
        (SlotPlan(12, "Scrum", 5, "full", 0), "contact needs a kind and its share"),
        (SlotPlan(12, "Scrum", 5, "none", 20), "contact needs a kind and its share"),
        (SlotPlan(12, "Scrum", 5, "full", 101), "0 to 100 per cent"),
    ],
)
def test_a_slot_that_cannot_be_is_refused_by_its_number(slot, words):
    with pytest.raises(Refused, match=f"Slot 2: .*{words}"):
        refuse_slots([SlotPlan(10), slot])


def test_a_session_needs_a_slot_and_has_an_end():
    with pytest.raises(Refused, match="from 1 to 30 slots"):
        refuse_slots([])
    with pytest.raises(Refused, match="more than 300 minutes"):
        refuse_slots([SlotPlan(200), SlotPlan(101)])


# Laying out


def starts(squad) -> list[str]:
    return [f"{session.starts_at.astimezone(f.LONDON):%d %b %H:%M}" for session in squad.sessions.all()]


def test_sessions_appear_on_every_night_at_the_same_wall_time(season, night, squad, head):
    new = lay_out(season=season, by=head, today=EARLY)
    assert len(new) == 9
    assert starts(squad)[-2:] == ["20 Oct 19:00", "27 Oct 19:00"]
    utc = [session.starts_at.astimezone(dt.UTC).hour for session in squad.sessions.all()][-2:]
    assert utc == [18, 19]


def test_a_session_takes_over_ground_kit_and_slots_of_its_night(season, night, squad, head):
    session = lay_out(season=season, by=head, today=EARLY)[0]
    assert (str(session.where), session.kit, session.night, session.pattern_day) == (
        "Mill Lane", {"balls": 20}, night, dt.date(2026, 9, 1),
    )  # fmt: skip
    assert [SlotPlan.of(slot) for slot in session.slots.all()] == SLOTS


def test_laying_out_twice_adds_nothing(season, night, squad, head):
    lay_out(season=season, by=head, today=EARLY)
    before, events = list(squad.sessions.values()), AuditEvent.objects.count()
    assert lay_out(season=season, by=head, today=EARLY) == []
    assert (list(squad.sessions.values()), AuditEvent.objects.count()) == (before, events)


def test_nothing_is_laid_out_in_the_past(season, night, squad, head):
    lay_out(season=season, by=head, today=dt.date(2026, 10, 20))
    assert starts(squad) == ["20 Oct 19:00", "27 Oct 19:00"]


def test_days_that_fall_out_have_no_session(season, night, squad, head):
    gap = NamedDays("Half term", dt.date(2026, 10, 19), dt.date(2026, 10, 25))
    save_season(season=season, by=head, breaks=[gap])
    lay_out(season=season, by=head, today=EARLY)
    assert starts(squad)[-2:] == ["13 Oct 19:00", "27 Oct 19:00"]


def test_a_moved_or_cancelled_session_is_not_laid_out_again(season, night, squad, head):
    first, second, *_ = lay_out(season=season, by=head, today=EARLY)
    wednesday = dt.datetime(2026, 9, 2, 18, 30, tzinfo=f.LONDON)
    move_session(session=first, starts_at=wednesday, by=head, version=0, today=EARLY)
    cancel_session(session=second, by=head, today=EARLY)
    assert lay_out(season=season, by=head, today=EARLY) == []


def test_a_night_moved_to_another_weekday_does_not_double_the_weeks_that_have_it(season, night, squad, head):
    lay_out(season=season, by=head, today=EARLY)
    save_night(night=night, slots=SLOTS, by=head, weekday=2)
    assert lay_out(season=season, by=head, today=EARLY) == []


def test_a_session_that_stands_at_the_very_time_of_a_night_stays_the_only_one(season, night, squad, head):
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 9, 1, 19, tzinfo=f.LONDON))
    assert len(lay_out(season=season, by=head, today=EARLY)) == 8


def test_a_removed_night_leaves_its_sessions(season, night, squad, head):
    lay_out(season=season, by=head, today=EARLY)
    remove_night(night=night, by=head)
    assert squad.sessions.count() == 9


def test_what_was_done_to_the_calendar_is_in_the_audit_chain(season, night, club, head):
    lay_out(season=season, by=head, today=EARLY)
    events = AuditEvent.objects.filter(club=club.slug)
    assert [event.did for event in events] == ["added night", "laid out sessions"]
    assert list(broken_links(club)) == []


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 6), st.times(), st.dates(EARLY, dt.date(2026, 11, 10)))
def test_a_season_of_any_night_has_it_once_a_week_from_today_on(season, head, squad, weekday, clock, today):
    squad.sessions.all().delete()
    season.nights.all().delete()
    tuesday(season, head, weekday=weekday, starts=clock.replace(second=0, microsecond=0))
    lay_out(season=season, by=head, today=today)
    first = max(FIRST, today)
    days = [first + dt.timedelta(days=n) for n in range((LAST - first).days + 1)]
    assert [session.day for session in squad.sessions.all()] == [day for day in days if day.weekday() == weekday]


# Fixtures by hand


def test_a_match_by_hand_gets_a_uid_of_its_own_that_tells_nothing(squad, head):
    fields = {"opponent": "Hollin", "kick_off": dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON)}
    one = save_fixture(fixture=Fixture(squad=squad), by=head, **fields)
    two = save_fixture(fixture=Fixture(squad=squad), by=head, **fields | {"opponent": "Netherby Cross"})
    assert one.uid != two.uid
    assert len(one.uid) == 32


def test_a_match_that_is_sent_twice_is_in_the_calendar_once(squad, head):
    fields = {"opponent": "Hollin", "kick_off": dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON)}
    save_fixture(fixture=Fixture(squad=squad), by=head, **fields)
    with pytest.raises(Refused, match="against hollin at that time stands in the calendar already"):
        save_fixture(fixture=Fixture(squad=squad), by=head, **fields | {"opponent": "hollin"})
    assert squad.fixtures.count() == 1


def test_a_postponed_match_no_longer_counts_and_a_moved_one_counts_on_its_new_day(squad, head):
    fixture = f.FixtureFactory(squad=squad)
    save_fixture(fixture=fixture, by=head, state="postponed")
    assert squad.fixtures.played_or_due().count() == 0
    save_fixture(fixture=fixture, by=head, state="planned", kick_off=dt.datetime(2026, 10, 17, 15, tzinfo=f.LONDON))
    assert [match.day for match in squad.fixtures.played_or_due()] == [dt.date(2026, 10, 17)]


def test_the_audit_of_a_match_names_what_changed_and_only_that(squad, head):
    fixture = f.FixtureFactory(squad=squad, competition="Cup")
    save_fixture(fixture=fixture, by=head, competition="League", opponent=fixture.opponent)
    assert AuditEvent.objects.last().detail == {"squad": "firsts", "changed": {"competition": "League"}}
