"""The calendar by month and by week: what a day shows, where the links lead, and what a wrong address gets."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests import factories as f
from tests.planner.block_cast import stand

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    """It is noon on Wednesday 7 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def season(squad):
    season = f.SeasonFactory(squad=squad)
    season.phases.create(name="Early season", first_day=season.first_day, last_day=dt.date(2026, 10, 31))
    season.breaks.create(name="Half term", first_day=dt.date(2026, 10, 26), last_day=dt.date(2026, 10, 27))
    return season


@pytest.fixture
def session(squad):
    starts = dt.datetime(2026, 10, 8, 19, tzinfo=f.LONDON)
    return f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12, 14], aims=["Fold early"])


def at(view: str, day: str, squad: str = "firsts", club: str = "brackenford") -> str:
    return reverse(f"calendar_{view}", args=[club, squad, day])


def text_of(client, address: str) -> str:
    answer = client.get(address, follow=True)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def cell(text: str, day: str) -> str:
    """What the page shows on a day."""
    return text.partition(f'data-day="{day}"')[2].partition("data-day=")[0]


# The month


def test_a_month_has_whole_weeks_with_their_numbers_and_phases(season, head, log_in):
    text = text_of(log_in(head), at("month", "2026-10"))
    assert [words for words in ("Week 5", "Week 9") if f"{words}</a> <span" not in text] == []
    assert 'data-day="2026-09-28"' in text
    assert 'data-day="2026-11-01"' in text
    assert 'data-day="2026-11-02"' not in text
    assert '<span class="word">Early season</span>' in text


def test_today_is_marked_with_a_word(season, head, log_in):
    text = text_of(log_in(head), at("month", "2026-10"))
    assert '<b class="now">today</b>' in cell(text, "2026-10-07")
    assert text.count('<b class="now">') == 1


def test_a_day_shows_sessions_matches_breaks_and_the_days_to_the_match(season, session, squad, head, log_in):
    f.FixtureFactory(squad=squad, opponent="Hollin", home=False, competition="League")
    text = text_of(log_in(head), at("month", "2026-10"))
    assert "19:00 Training</a>" in cell(text, "2026-10-08")
    assert "36 min" in cell(text, "2026-10-08")
    assert '<span class="md">MD-2</span>' in cell(text, "2026-10-08")
    assert "15:00 v Hollin, away</a>" in cell(text, "2026-10-10")
    assert "no training: Half term" in cell(text, "2026-10-26")
    assert "no training" not in cell(text, "2026-10-28")


def test_what_does_not_take_place_is_struck_out_with_a_word(season, session, squad, head, log_in):
    f.FixtureFactory(squad=squad, state="postponed")
    squad.sessions.update(cancelled=True)
    text = text_of(log_in(head), at("month", "2026-10"))
    assert '<s>19:00 Training</s></a> <span class="word near">cancelled</span>' in text
    assert '<span class="word near">postponed</span>' in text
    assert "MD-2" not in text


def test_what_can_be_moved_has_a_link_to_the_form_that_moves_it(season, session, squad, head, log_in):
    fixture = f.FixtureFactory(squad=squad)
    past = f.SessionFactory(squad=squad)
    text = text_of(log_in(head), at("month", "2026-10"))
    for name, row in (("move_session", session), ("edit_fixture", fixture)):
        assert f'data-entry="{reverse(name, args=["brackenford", row.pk])}"' in text
    assert reverse("move_session", args=["brackenford", past.pk]) not in text


def test_an_assistant_reads_the_month_and_is_offered_no_change(season, session, squad, assistant, log_in):
    f.FixtureFactory(squad=squad)
    text = text_of(log_in(assistant), at("month", "2026-10"))
    assert reverse("session", args=["brackenford", session.pk]) in text
    assert [words for words in ("data-entry", "/move/", "/fixtures/", "New season") if words in text] == []


def test_a_month_outside_every_season_says_so_and_still_shows_its_days(season, squad, head, log_in):
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2027, 7, 3, 15, tzinfo=f.LONDON), opponent="Hollin")
    text = text_of(log_in(head), at("month", "2027-07"))
    assert "These days lie in no season of First fifteen. The nearest is 2026/27." in text
    assert "Hollin" in cell(text, "2027-07-03")


def test_a_squad_without_a_season_is_told_what_to_do(squad, head, log_in):
    assert "First fifteen has no season yet" in text_of(log_in(head), at("month", "2026-10"))


# The week


def test_a_week_shows_times_slots_aims_and_the_way_to_its_programme(season, session, head, log_in):
    stand(session.slots.get(order=1), f.DrillFactory(club=session.squad.club), [])
    text = cell(text_of(log_in(head), at("week", "2026-10-05")), "2026-10-08")
    for words in ("19:00–19:10</span> Warm-up", "19:10–19:22</span> 1 station", "19:22–19:36", "to be planned"):
        assert words in text
    assert "Fold early" in text
    assert f"/week/firsts/2026-10-05/?night={session.pk}#night-{session.pk}" in text


def test_a_week_tells_an_assistant_where_a_match_is_played(season, squad, assistant, log_in):
    f.FixtureFactory(squad=squad, opponent="Hollin", home=False, venue_words="Hill Road")
    text = text_of(log_in(assistant), at("week", "2026-10-05"))
    assert "Hill Road" in cell(text, "2026-10-10")


def test_a_week_with_nothing_in_it_says_so(season, head, log_in):
    assert "Nothing is set in this week." in text_of(log_in(head), at("week", "2027-01-04"))


def test_times_are_those_of_the_clubs_clock(club, squad, head, log_in):
    club.zone = "Australia/Lord_Howe"
    club.save()
    f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 8, 8, tzinfo=dt.UTC), slots=[12])
    assert "19:00–19:12" in text_of(log_in(head), at("week", "2026-10-05"))


# The ways between them


def test_one_step_back_and_one_forward_lead_over_the_turn_of_the_year(season, head, log_in):
    client = log_in(head)
    for view, day, before, after in (
        ("month", "2026-12", "2026-11", "2027-01"),
        ("week", "2026-12-28", "2026-12-21", "2027-01-04"),
    ):
        text = text_of(client, at(view, day))
        assert f'rel="prev" href="{at(view, before)}"' in text
        assert f'rel="next" href="{at(view, after)}"' in text


@pytest.mark.parametrize(
    ("to", "view", "address"),
    [
        ("2027-01", "month", "month/2027-01/#week-2026-12-28"),
        ("2026-11-16", "week", "week/2026-11-16/#week-2026-11-16"),
        ("2026-11-16", "month", "month/2026-11/#week-2026-11-16"),
        ("2026-11-16", "nonsense", "month/2026-11/#week-2026-11-16"),
    ],
)
def test_a_jump_by_month_week_or_phase_stays_in_the_view(season, head, log_in, to, view, address):
    answer = log_in(head).get(reverse("calendar_go", args=["brackenford", "firsts"]), {"to": to, "view": view})
    assert answer.headers["Location"] == f"/c/brackenford/calendar/firsts/{address}"


def test_the_places_to_jump_to_are_the_months_weeks_and_phases_of_the_season(season, head, log_in):
    text = text_of(log_in(head), at("month", "2026-10"))
    for option in (
        '<option value="2026-09">September 2026</option>',
        '<option value="2026-10-05">6 · 5 Oct</option>',
        '<option value="2026-09-01">Early season</option>',
    ):
        assert option in text


def test_another_squad_is_one_click_away_at_the_same_days(season, club, head, log_in):
    f.SquadFactory(club=club, slug="seconds", name="Second fifteen")
    assert f'href="{at("week", "2026-10-05", "seconds")}"' in text_of(log_in(head), at("week", "2026-10-05"))


# Wrong addresses


@pytest.mark.parametrize(
    ("view", "written", "nearest"),
    [
        ("month", "2026-13", "2026-12"),
        ("month", "2026-00", "2026-01"),
        ("month", "soon", "2026-10"),
        ("month", "1812-06", "2000-01"),
        ("month", "9999-99", "2100-12"),
        ("week", "2026-02-31", "2026-02-23"),
        ("week", "٢٠٢٦-١٠-٠٥", "2026-10-05"),
        ("week", "2026-10-05x", "2026-10-05"),
    ],
)
def test_a_day_that_is_none_gets_a_sentence_and_the_nearest_page(season, head, log_in, view, written, nearest):
    client = log_in(head)
    assert client.get(at(view, written)).headers["Location"] == at(view, nearest)
    assert "is no day. Write 2026-10-05, or 2026-10." in text_of(client, at(view, written))


@pytest.mark.parametrize(
    ("view", "written", "right"),
    [("month", "2026-10-08", "2026-10"), ("week", "2026-10-08", "2026-10-05"), ("week", "2026-10", "2026-09-28")],
)
def test_a_day_within_leads_to_the_whole_without_a_word(season, head, log_in, view, written, right):
    client = log_in(head)
    assert client.get(at(view, written)).headers["Location"] == at(view, right)
    assert "is no day" not in text_of(client, at(view, written))


def test_a_squad_that_is_not_there_gets_a_sentence_and_the_first_squad(season, head, log_in):
    answer = log_in(head).get(at("month", "2026-10", "thirds"))
    assert answer.headers["Location"] == at("month", "2026-10")
    assert "There is no squad “thirds” here; this is First fifteen." in text_of(log_in(head), at("month", "2026-10"))


def test_a_club_without_a_squad_is_told_what_comes_first(head, log_in):
    assert "There is no squad yet." in text_of(log_in(head), at("month", "2026-10"))


def test_another_clubs_squad_is_never_shown(season, head, log_in):
    other = f.SquadFactory(slug="theirs", name="Theirs")
    f.SeasonFactory(squad=other)
    assert log_in(head).get(at("month", "2026-10", "theirs")).headers["Location"] == at("month", "2026-10")


# What it costs


@pytest.mark.parametrize(("view", "day", "most"), [("month", "2026-10", 8), ("week", "2026-10-05", 9)])
def test_a_page_takes_at_most_ten_queries_for_any_number_of_rows(season, squad, head, log_in, view, day, most):
    client = log_in(head)
    for number in range(3):
        starts = dt.datetime(2026, 10, 6, 10 + number, tzinfo=f.LONDON)
        night = f.SessionFactory(squad=squad, starts_at=starts)
        stand(night.slots.first(), f.DrillFactory(club=squad.club), [])
        f.FixtureFactory(squad=squad, kick_off=starts)
        season.phases.create(name=f"Phase {number}", first_day=starts.date(), last_day=starts.date())
        assert queries(client, at(view, day)) == most


def queries(client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as found:
        client.get(address)
    return len(found)
