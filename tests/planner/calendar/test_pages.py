"""The calendar on the screen: weeks, seasons and nights, sessions, fixtures."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from planner.calendar_actions import lay_out, save_night
from planner.models import Fixture, Season, Session, Slot, TrainingNight
from planner.slot_plans import SlotPlan, usual_night
from planner.venue_models import Where
from shared.models import Upload
from tests import factories as f
from tests.planner.block_cast import stand
from tests.planner.calendar.ics_files import KICK_OFF, calendar, event

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    """It is noon on Wednesday 7 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def season(squad):
    return f.SeasonFactory(squad=squad)


@pytest.fixture
def session(squad):
    starts = dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12, 14])


def at(name: str, **words) -> str:
    return reverse(name, kwargs={"club": "brackenford"} | words)


def page(client, name: str, query: str = "", **words) -> str:
    answer = client.get(at(name, **words) + query)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


# The calendar


def test_without_a_season_the_page_says_what_to_do_next(squad, head, log_in):
    assert "has no season yet" in page(log_in(head), "calendar")


def test_without_a_squad_the_page_says_what_to_do_next(head, log_in):
    assert "There is no squad yet" in page(log_in(head), "calendar")


def test_this_week_comes_first_then_the_weeks_ahead_then_those_before(season, session, head, log_in):
    text = page(log_in(head), "calendar")
    places = [text.index(words) for words in ("This week", "Week 6", "Weeks ahead", "Week 7", "Weeks before", "Week 5")]
    assert places == sorted(places)


def test_a_day_shows_its_sessions_and_matches_with_the_days_to_the_match(season, session, squad, head, log_in):
    f.FixtureFactory(squad=squad, opponent="Hollin", home=False, competition="League", venue_words="Hill Road")
    text = page(log_in(head), "calendar")
    assert '<span class="md">MD-2</span>' in text
    assert '19:00 Training</a> <span class="soft">36 min</span>' in text
    assert '15:00 v Hollin, away</a> <span class="soft">League, Hill Road</span>' in text


def test_a_cancelled_session_and_a_postponed_match_are_struck_out_with_a_word(season, session, squad, head, log_in):
    f.FixtureFactory(squad=squad, state="postponed")
    squad.sessions.update(cancelled=True)
    text = page(log_in(head), "calendar")
    assert '<s>19:00 Training</s></a> <span class="word near">cancelled</span>' in text
    assert '<span class="word near">postponed</span>' in text
    assert "MD-2" not in text


def test_phases_and_breaks_stand_beside_their_weeks(season, head, log_in):
    season.phases.create(name="In season", first_day=season.first_day, last_day=season.last_day)
    season.breaks.create(name="Half term", first_day=dt.date(2026, 10, 26), last_day=dt.date(2026, 10, 30))
    text = page(log_in(head), "calendar")
    assert text.count('<span class="word">In season</span>') == 35
    assert text.count("no training: Half term") == 1


def test_the_times_are_those_of_the_clubs_clock(club, squad, head, log_in):
    club.zone = "Australia/Lord_Howe"
    club.save()
    f.SeasonFactory(squad=squad)
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 8, 8, tzinfo=dt.UTC))
    assert "19:00 Training" in page(log_in(head), "calendar")


def test_the_month_of_a_past_week_opens_the_weeks_before(season, head, log_in):
    client = log_in(head)
    link = f"{at('calendar')}?season={season.pk}&amp;past=1#m2026-09"
    assert link in page(client, "calendar")
    assert "<details open>" in page(client, "calendar", "?past=1")


def test_another_squad_and_another_season_can_be_chosen(season, club, head, log_in):
    other = f.SquadFactory(club=club, slug="seconds", name="Second fifteen")
    theirs = f.SeasonFactory(squad=other, name="Theirs")
    old = f.SeasonFactory(
        squad=season.squad, name="2025/26", first_day=dt.date(2025, 9, 1), last_day=dt.date(2026, 4, 30)
    )
    client = log_in(head)
    for query, heading in (
        ("", "First fifteen 2026/27"),
        ("?squad=seconds", "Second fifteen Theirs"),
        (f"?season={theirs.pk}", "Second fifteen Theirs"),
        (f"?season={old.pk}", "First fifteen 2025/26"),
        ("?season=nonsense", "First fifteen 2026/27"),
    ):
        assert f"<h1>{heading}</h1>" in page(client, "calendar", query)


def test_an_assistant_reads_the_calendar_and_is_offered_no_change(season, session, squad, assistant, log_in):
    f.FixtureFactory(squad=squad)
    text = page(log_in(assistant), "calendar")
    assert at("session", session=session.pk) in text
    assert [words for words in ("Add session", "New season", "/fixtures/") if words in text] == []


@pytest.mark.parametrize("rows", [1, 3])
def test_the_calendar_takes_the_same_queries_for_any_number_of_rows(
    rows, season, squad, head, log_in, django_assert_num_queries
):
    for week in range(rows):
        day = dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON) + dt.timedelta(weeks=week)
        f.FixtureFactory(squad=squad, kick_off=day + dt.timedelta(days=4))
        night = f.SessionFactory(squad=squad, starts_at=day)
        stand(night.slots.first(), f.DrillFactory(club=squad.club), [])
        season.phases.create(name=f"Phase {week}", first_day=day.date(), last_day=day.date())
    client = log_in(head)
    for query in ("", f"?season={season.pk}"):
        with django_assert_num_queries(9):
            client.get(at("calendar") + query)


# Seasons and nights


def rows(prefix: str, *entries: dict, initial: int = 0) -> dict[str, str]:
    """A formset as the browser sends it."""
    sent = {f"{prefix}-TOTAL_FORMS": len(entries), f"{prefix}-INITIAL_FORMS": initial}
    for number, entry in enumerate(entries):
        sent |= {f"{prefix}-{number}-{name}": value for name, value in entry.items()}
    return {name: "" if value is None else str(value) for name, value in sent.items()}


def season_data(squad, **more) -> dict[str, str]:
    return {
        "squad": squad.pk, "name": "2027/28", "first_day": "2027-09-01", "last_day": "2028-04-30",
        **rows("phases", {"name": "Pre-season", "first": "2027-09-01", "last": "2027-09-20"}, {}),
        **rows("breaks", {"name": "Club ball", "first": "2027-10-09", "last": ""}),
    } | more  # fmt: skip


def test_a_season_is_made_on_the_page(squad, head, log_in):
    answer = log_in(head).post(at("new_season"), season_data(squad))
    season = Season.objects.get()
    assert answer["Location"] == at("season", season=season.pk)
    assert [(phase.name, phase.last_day) for phase in season.phases.all()] == [("Pre-season", dt.date(2027, 9, 20))]
    assert [(gap.first_day, gap.last_day) for gap in season.breaks.all()] == [(dt.date(2027, 10, 9),) * 2]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"last_day": "2027-08-01"}, "A season ends after it begins"),
        ({"first_day": "0001-01-01"}, "Choose a day between 2000 and 2100."),
        ({"phases-0-last": "2029-01-01"}, "“Pre-season” must end after it begins, and lie within the season"),
        ({"phases-0-name": ""}, "Give a name and a first day, or empty the row."),
    ],
)
def test_a_wrong_season_comes_back_with_words_and_nothing_is_written(squad, head, log_in, more, words):
    answer = log_in(head).post(at("new_season"), season_data(squad, **more))
    assert words in answer.content.decode()
    assert Season.objects.count() == 0


def test_a_season_changes_and_keeps_its_squad(season, club, head, log_in):
    other = f.SquadFactory(club=club, slug="seconds")
    log_in(head).post(at("edit_season", season=season.pk), season_data(other))
    season.refresh_from_db()
    assert (season.name, season.squad.slug) == ("2027/28", "firsts")


def seen_in(client, name: str, **more) -> str:
    """What a form says of the row that it was filled from."""
    return re.search(r'name="was" value="([0-9a-f]+)"', page(client, name, **more))[1]


def test_a_phase_that_somebody_else_added_meanwhile_is_not_lost(season, head, log_in):
    client, days = log_in(head), {"first_day": season.first_day, "last_day": season.last_day, "name": season.name}
    was = seen_in(client, "edit_season", season=season.pk)
    season.phases.create(name="Taper", first_day=season.first_day, last_day=season.last_day)
    mine = rows("phases", {"name": "In season", "first": season.first_day, "last": season.last_day})
    sent = season_data(season.squad, **days, **mine, was=was)
    answer = client.post(at("edit_season", season=season.pk), sent)
    assert "Somebody has changed this season since you opened it." in answer.content.decode()
    assert [phase.name for phase in season.phases.all()] == ["Taper"]
    sent["was"] = seen_in(client, "edit_season", season=season.pk)
    address = at("edit_season", season=season.pk)
    assert [client.post(address, sent).status_code for _twice in range(2)] == [302, 302]
    assert [phase.name for phase in season.phases.all()] == ["In season"]


def test_a_season_does_not_let_go_of_its_sessions_without_a_word(season, head, log_in):
    night = TrainingNight.objects.create(season=season, weekday=1, starts=dt.time(19))
    lay_out(season=season, by=head, today=season.first_day)
    last = season.squad.sessions.latest("day")
    sent = season_data(season.squad, first_day=season.first_day, last_day=last.day - dt.timedelta(days=1))
    sent |= {"name": season.name, "phases-0-name": "", "phases-0-first": "", "phases-0-last": ""}
    client, address = log_in(head), at("edit_season", season=season.pk)
    assert "1 session of its nights lies outside these days" in client.post(address, sent).content.decode()
    last.cancelled = True
    last.save()
    assert client.post(address, sent).status_code == 302
    assert night.sessions.count() == season.squad.sessions.count()


def slot_rows(*plans: SlotPlan, slots: list[Slot] = ()) -> dict[str, str]:
    keys = [slot.pk for slot in slots] + [None] * len(plans)
    entries = [
        {
            "slot": key, "place": number, "minutes": plan.minutes, "title": plan.title, "rpe": plan.rpe or None,
            "kind": plan.kind, "contact_share": plan.contact_share or None,
        }
        for number, (plan, key) in enumerate(zip(plans, keys, strict=False), start=1)
    ]  # fmt: skip
    return rows("slots", *entries, {"kind": "none"}, initial=len(slots))


NIGHT = {"weekday": 1, "starts": "19:00", "width": 68, "length": 50, "coaches": 2, "stations": 3, "kit_balls": 20}


def test_a_new_night_offers_the_usual_one_and_is_saved_as_changed(season, head, log_in):
    client = log_in(head)
    assert "80 minutes as saved" in page(client, "new_night", season=season.pk)
    client.post(at("new_night", season=season.pk), NIGHT | slot_rows(SlotPlan(10, "Warm-up", rpe=3), SlotPlan(20)))
    night = season.nights.get()
    assert (night.weekday, night.starts, night.kit) == (1, dt.time(19), {"balls": 20})
    assert night.template == [SlotPlan(10, "Warm-up", rpe=3).to_json(), SlotPlan(20).to_json()]


def test_a_further_night_is_filled_in_as_the_one_before_it_but_for_day_and_time(season, head, log_in):
    ground = {"where": Where(words="Mill Lane"), "pitch": "Far half", "kit": {"balls": 14}, "lights_until": dt.time(21)}
    plans = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(23)]
    save_night(night=TrainingNight(season=season), slots=plans, by=head, weekday=1, starts=dt.time(19), **ground)
    later = f.SeasonFactory(
        squad=season.squad, name="2027/28", first_day=dt.date(2027, 9, 1), last_day=dt.date(2028, 4, 30)
    )
    for each in (season, later):
        text = page(log_in(head), "new_night", season=each.pk)
        assert "filled in as on Tuesday 19:00, 2026/27" in text
        held = ("Mill Lane", "Far half", "14", "21:00", "Warm-up", "23")
        assert [value for value in held if f'value="{value}"' not in text] == []
        assert 'name="starts" value' not in text


def test_a_slot_is_saved_though_the_night_before_has_the_same_one_there_by_now(season, head, log_in):
    plans = [SlotPlan(10, "Warm-up", rpe=3), SlotPlan(12)]
    save_night(night=TrainingNight(season=season), slots=plans, by=head, weekday=1, starts=dt.time(19))
    sent = NIGHT | {"weekday": 3} | slot_rows(*plans)  # a form that was opened before that night was added
    log_in(head).post(at("new_night", season=season.pk), sent)
    assert [len(night.template) for night in season.nights.all()] == [2, 2]


def test_a_night_with_a_wrong_slot_comes_back_with_words(season, head, log_in):
    answer = log_in(head).post(at("new_night", season=season.pk), NIGHT | slot_rows(SlotPlan(10, rpe=3)))
    assert "A planned slot takes RPE and contact from its drills" in answer.content.decode()
    assert season.nights.count() == 0


def test_sessions_are_laid_out_by_a_button_and_only_once(season, head, log_in):
    client = log_in(head)
    save_night(night=TrainingNight(season=season), slots=usual_night(), by=head, weekday=1, starts=dt.time(19))
    for _twice in range(2):
        shown = page(client, "lay_out", season=season.pk)
        seen = re.search('name="seen" value="(.*?)"', shown)[1]
        client.post(at("lay_out", season=season.pk), {"seen": seen})
        assert Session.objects.count() == 29
    assert "29 sessions stand in the calendar from today on" in page(client, "season", season=season.pk)


def test_an_assistant_reads_the_season_and_is_offered_no_change(season, head, assistant, log_in):
    save_night(night=TrainingNight(season=season), slots=usual_night(), by=head, weekday=1, starts=dt.time(19))
    text = page(log_in(assistant), "season", season=season.pk)
    assert "Tuesday 19:00" in text
    assert [words for words in ("Change days", "Add night", "End it", "/nights/", "Lay") if words in text] == []


def test_a_season_that_is_laid_out_is_the_one_that_is_shown_next(season, squad, head, log_in):
    next_year = {"name": "2027/28", "first_day": dt.date(2027, 9, 1), "last_day": dt.date(2028, 4, 30)}
    later, client = f.SeasonFactory(squad=squad, **next_year), log_in(head)
    save_night(night=TrainingNight(season=later), slots=usual_night(), by=head, weekday=1, starts=dt.time(19))
    seen = re.search('name="seen" value="(.*?)"', page(client, "lay_out", season=later.pk))[1]
    answer = client.post(at("lay_out", season=later.pk), {"seen": seen})
    assert answer["Location"] == f"{at('calendar')}?season={later.pk}"


# Sessions


def test_a_session_page_adds_up_its_timeline(season, session, squad, head, log_in):
    f.FixtureFactory(squad=squad)
    text = page(log_in(head), "session", session=session.pk)
    assert "Thursday 8 October 2026, 19:00–19:36" in text
    assert "MD-2" in text
    assert "week 6 of 2026/27" in text
    for span in ("19:00–19:10", "19:10–19:22", "19:22–19:36", "ends at 19:36"):
        assert span in text


def test_a_session_that_outlasts_the_lights_is_flagged(session, head, log_in):
    client = log_in(head)
    Session.objects.update(lights_until=dt.time(19, 36))
    assert "the lights go off" not in page(client, "session", session=session.pk)
    Session.objects.update(lights_until=dt.time(19, 35))
    assert "It ends at 19:36, but the lights go off at 19:35" in page(client, "session", session=session.pk)


def test_an_assistant_reads_a_session_and_is_offered_no_change(session, assistant, log_in):
    text = page(log_in(assistant), "session", session=session.pk)
    assert [words for words in ("Change", "Move", "Call it off") if words in text] == []


def test_a_session_without_slots_says_so(squad, head, log_in):
    session = f.SessionFactory(squad=squad)
    session.slots.all().delete()
    assert "nothing can be planned in it" in page(log_in(head), "session", session=session.pk)


@pytest.mark.parametrize("count", [1, 3])
def test_a_session_page_takes_the_same_queries_for_any_number_of_stations(
    count, session, season, head, log_in, django_assert_num_queries
):
    for _number in range(count):
        stand(session.slots.get(order=1), f.DrillFactory(club=session.squad.club), [])
    client = log_in(head)
    with django_assert_num_queries(12):
        client.get(at("session", session=session.pk))


def test_a_session_is_added_like_a_night(season, squad, head, log_in):
    night = save_night(
        night=TrainingNight(season=season),
        slots=[SlotPlan(20)],
        by=head,
        weekday=1,
        starts=dt.time(19),
        where=Where(words="Hall"),
    )
    sent = {"squad": squad.pk, "day": "2026-10-09", "starts": "18:00", "like": night.pk}
    log_in(head).post(at("new_session"), sent)
    session = squad.sessions.get()
    assert (str(session.where), session.slots.get().minutes) == ("Hall", 20)


def test_a_session_in_the_past_is_refused_on_the_page(squad, head, log_in):
    sent = {"squad": squad.pk, "day": "2026-10-06", "starts": "18:00"}
    assert "is past" in log_in(head).post(at("new_session"), sent).content.decode()


DETAILS = {
    "version": 0, "venue_words": "Mill Lane", "width": 68, "length": 50, "coaches": 3, "stations": 3,
    "lights_until": "21:30",
    "kit_balls": 0, "kit_cones": 40, "coach_names": "Ash\nBo \n\n", "first_aider": "Sam", "aims": "Fold\n",
}  # fmt: skip


def test_the_details_of_a_session_are_changed(session, head, log_in):
    log_in(head).post(at("edit_session", session=session.pk), DETAILS)
    session.refresh_from_db()
    assert (session.coach_names, session.aims, session.kit, session.lights_until) == (
        ["Ash", "Bo"], ["Fold"], {"balls": 0, "cones": 40}, dt.time(21, 30),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"version": 7}, "Somebody has changed this session"),
        ({"aims": "a\nb\nc\nd"}, "At most 3 lines."),
        ({"width": 0}, "greater than or equal to 1"),
    ],
)
def test_wrong_details_come_back_with_words(session, head, log_in, more, words):
    answer = log_in(head).post(at("edit_session", session=session.pk), DETAILS | more)
    assert words in answer.content.decode()
    session.refresh_from_db()
    assert session.where == Where()


def test_a_session_is_moved_on_the_page(session, head, log_in):
    log_in(head).post(at("move_session", session=session.pk), {"version": 0, "day": "2026-10-09", "starts": "18:30"})
    session.refresh_from_db()
    assert session.starts_at == dt.datetime(2026, 10, 9, 18, 30, tzinfo=f.LONDON)


def test_a_session_with_stations_is_shown_with_what_it_does_before_it_moves(session, head, log_in):
    stand(session.slots.get(order=1), f.DrillFactory(club=session.squad.club), [])
    client, sent = log_in(head), {"version": 0, "day": "2026-10-09", "starts": "18:30"}
    text = client.post(at("move_session", session=session.pk), sent).content.decode()
    assert "Nothing is written yet." in text
    client.post(at("move_session", session=session.pk), sent | {"seen": hidden("seen", text)})
    session.refresh_from_db()
    assert (session.day, session.slots.get(order=1).stations.count()) == (dt.date(2026, 10, 9), 1)


def hidden(name: str, text: str) -> str:
    return re.search(rf'name="{name}" value="([^"]*)"', text)[1]


def test_slots_are_changed_on_the_page_in_the_order_of_their_places(session, head, log_in):
    slots = list(session.slots.all())
    sent = {"version": 0} | slot_rows(
        SlotPlan(8, "Warm-up"), SlotPlan(12), SlotPlan(14), SlotPlan(5, "Close"), slots=slots
    )
    sent |= {"slots-2-place": "1.5", "slots-1-gone": "on"}
    log_in(head).post(at("edit_slots", session=session.pk), sent)
    now = list(session.slots.all())
    assert [(slot.minutes, slot.title) for slot in now] == [(8, "Warm-up"), (14, ""), (5, "Close")]
    assert [slot.pk for slot in now[:2]] == [slots[0].pk, slots[2].pk]


def test_a_slot_with_stations_is_not_dropped_on_the_page(session, head, log_in):
    slots = list(session.slots.all())
    stand(slots[1], f.DrillFactory(club=session.squad.club), [])
    sent = {"version": 0, "slots-1-gone": "on"}
    sent = slot_rows(*[SlotPlan.of(slot) for slot in slots], slots=slots) | sent
    client = log_in(head)
    assert "slot 2 (12 min)" in page(client, "edit_slots", session=session.pk)
    answer = client.post(at("edit_slots", session=session.pk), sent)
    assert "Slot 2 (12 min) holds 1 station" in answer.content.decode()
    assert session.slots.count() == 3


@pytest.mark.parametrize("version", ["", "-1", "x", "99999999999999999999", "٣"])
def test_slots_sent_with_a_strange_version_are_refused(session, head, log_in, version):
    slots = list(session.slots.all())
    sent = {"version": version} | slot_rows(*[SlotPlan.of(slot) for slot in slots], slots=slots)
    answer = log_in(head).post(at("edit_slots", session=session.pk), sent)
    assert "Somebody has changed this session" in answer.content.decode()


@pytest.mark.parametrize("total", ["", "x", "-1", "100000"])
def test_a_slot_form_without_sense_is_answered_in_words(session, head, log_in, total):
    sent = {"version": 0, "slots-TOTAL_FORMS": total, "slots-INITIAL_FORMS": "0"}
    answer = log_in(head).post(at("edit_slots", session=session.pk), sent)
    assert answer.status_code == 200
    assert session.slots.count() == 3


def test_a_session_is_called_off_and_put_back(session, head, log_in):
    client = log_in(head)
    client.post(at("cancel_session", session=session.pk))
    assert "cancelled" in page(client, "session", session=session.pk)
    client.post(at("cancel_session", session=session.pk), {"restore": "1"})
    session.refresh_from_db()
    assert not session.cancelled


# Fixtures


MATCH = {"opponent": "Hollin", "day": "2026-10-10", "clock": "14:30", "home": "no", "state": "planned"}


def test_a_match_is_added_by_hand(squad, head, log_in):
    log_in(head).post(at("new_fixture"), MATCH | {"squad": squad.pk})
    fixture = squad.fixtures.get()
    assert (fixture.kick_off, fixture.home, fixture.all_day) == (
        dt.datetime(2026, 10, 10, 14, 30, tzinfo=f.LONDON), False, False,
    )  # fmt: skip


def test_who_saves_a_match_comes_back_to_the_calendar_of_its_squad(club, squad, head, log_in):
    seconds = f.SquadFactory(club=club, name="Second fifteen", slug="seconds")
    answer = log_in(head).post(at("new_fixture"), MATCH | {"squad": seconds.pk})
    assert answer["Location"] == f"{at('calendar')}?squad=seconds"


def test_a_match_without_a_time_has_a_day_all_the_same(squad, head, log_in):
    log_in(head).post(at("new_fixture"), MATCH | {"squad": squad.pk, "clock": ""})
    assert (squad.fixtures.get().all_day, squad.fixtures.get().day) == (True, dt.date(2026, 10, 10))


def test_a_match_knows_its_week_and_its_days_from_the_matches_around_it(season, squad, head, log_in):
    season.phases.create(name="Early season", first_day=season.first_day, last_day=dt.date(2026, 10, 31))
    for day, state in ((3, "planned"), (7, "postponed"), (16, "planned")):
        f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, day, 15, tzinfo=f.LONDON), state=state)
    text = page(log_in(head), "edit_fixture", fixture=f.FixtureFactory(squad=squad).pk)
    assert (
        "First fifteen · week 6 of 2026/27 · Early season · 7 days after the match before · 6 days before the next"
        in text
    )


def test_a_match_is_postponed_on_its_page(squad, head, log_in):
    fixture = f.FixtureFactory(squad=squad)
    client = log_in(head)
    assert 'value="15:00"' in page(client, "edit_fixture", fixture=fixture.pk)
    client.post(at("edit_fixture", fixture=fixture.pk), MATCH | {"state": "postponed"})
    fixture.refresh_from_db()
    assert (fixture.state, fixture.opponent) == ("postponed", "Hollin")


def test_what_somebody_else_changed_of_a_match_is_not_overwritten_unseen(squad, head, log_in):
    fixture = f.FixtureFactory(squad=squad)
    client, address = log_in(head), at("edit_fixture", fixture=fixture.pk)
    sent = MATCH | {"clock": "15:00", "was": seen_in(client, "edit_fixture", fixture=fixture.pk)}
    Fixture.objects.filter(pk=fixture.pk).update(kick_off=dt.datetime(2026, 10, 10, 13, tzinfo=f.LONDON))
    answer = client.post(address, sent)
    assert "Somebody has changed this match since you opened it." in answer.content.decode()
    fixture.refresh_from_db()
    assert (fixture.kicks_off.hour, fixture.opponent) == (13, "Netherby Cross RFC")


def test_a_match_whose_form_is_sent_twice_is_saved_without_complaint(squad, head, log_in):
    fixture = f.FixtureFactory(squad=squad)
    client, address = log_in(head), at("edit_fixture", fixture=fixture.pk)
    sent = MATCH | {"clock": "15:00", "was": seen_in(client, "edit_fixture", fixture=fixture.pk)}
    assert [client.post(address, sent).status_code for _twice in range(2)] == [302, 302]


def upload(client, squad, content: bytes, name: str = "league.ics"):
    return client.post(at("import_fixtures"), {"squad": squad.pk, "file": SimpleUploadedFile(name, content)})


def test_a_file_is_previewed_then_written(season, squad, head, log_in):
    client = log_in(head)
    answer = upload(client, squad, calendar(event(KICK_OFF), event("DTSTART:soon", uid="b", summary="v Hollin")))
    assert Fixture.objects.count() == 0
    text = client.get(answer["Location"]).content.decode()
    assert "Sat 10 Oct 2026 15:00 Netherby Cross (home)" in text
    assert "DTSTART cannot be read: “DTSTART:soon” is no time like 20261031T143000, and no day like 20261031" in text
    client.post(answer["Location"])
    assert (Fixture.objects.count(), Upload.objects.count()) == (1, 0)


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (b"<html>", "league.ics", "“league.ics” is no calendar"),
        (b"PK\x03\x04 broken", "list.xlsx", "cut off or damaged"),
    ],
)
def test_a_file_that_cannot_be_read_comes_back_with_words(season, squad, head, log_in, content, name, words):
    assert words in upload(log_in(head), squad, content, name).content.decode()
    assert Fixture.objects.count() == 0


def test_a_file_that_was_written_is_gone_and_says_so(season, squad, head, log_in):
    client = log_in(head)
    place = upload(client, squad, calendar(event(KICK_OFF)))["Location"]
    client.post(place)
    answer = client.post(place, follow=True)
    assert "This file is no longer here" in answer.content.decode()
    assert Fixture.objects.count() == 1


def test_a_file_of_somebody_else_cannot_be_confirmed(season, squad, club, head, log_in, client):
    place = upload(log_in(head), squad, calendar(event(KICK_OFF)))["Location"]
    second = f.MembershipFactory(club=club, role="head_coach").user
    log_in(second).post(place)
    assert Fixture.objects.count() == 0
