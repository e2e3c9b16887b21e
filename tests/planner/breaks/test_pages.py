"""The pages of the days without training, as a head coach meets them."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.break_actions import change_breaks
from planner.falling_out import breaks_of
from planner.models import Season
from planner.venue_models import Where
from tests import factories as f
from tests.planner.breaks.cast import TODAY, address, hidden, mark, october, off, on, standing, text_of, tuesdays
from tests.planner.venues.cast import venue_of

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def client(log_in, head):
    return log_in(head)


@pytest.fixture
def half_term(season, night, head):
    change_breaks(season=season, wanted=[october(19, 25)], by=head, today=TODAY)
    return season.breaks.get()


def given(**fields: str) -> dict[str, str]:
    return {"name": "Half term", "first": "2026-10-19", "last": "2026-10-25"} | fields


def saved(client, url: str, answer):
    """Press the button of the page that shows what a change does."""
    return client.post(url, hidden(answer), follow=True)


def test_a_break_is_shown_before_it_is_saved(season, night, squad, client):
    url = address("new_break", season.pk)
    answer = client.post(url, given())
    text = text_of(answer)
    assert "1 session is called off Tue 20 Oct 2026, 19:00: Half term" in text
    assert "Nothing is written yet." in text
    assert (off(squad), standing(season)) == ([], [])
    assert "1 session is called off." in text_of(saved(client, url, answer))
    assert (off(squad), standing(season)) == (["20 Oct"], [("Half term", "19 Oct", "25 Oct")])


def test_nights_not_laid_out_yet_are_told_by_the_clock_of_their_venue(season, night, squad, client):
    night.where = Where(venue_of(squad.club, zone="Australia/Lord_Howe"))
    night.save()
    squad.sessions.filter(day=dt.date(2026, 10, 20)).delete()
    url = address("new_break", season.pk)
    answer = client.post(url, given())
    assert "left out then Tue 20 Oct 2026, 19:00: Half term" in text_of(answer)
    saved(client, url, answer)
    answer = client.post(address("remove_break", season.pk, season.breaks.get().pk), {})
    assert "made when you lay out Tue 20 Oct 2026, 19:00" in text_of(answer)


def test_a_break_that_touches_no_session_is_saved_at_once(season, night, squad, client):
    client.post(address("new_break", season.pk), given(first="2026-10-14", last=""))
    assert standing(season) == [("Half term", "14 Oct", "14 Oct")]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"last": "2026-10-18"}, "It ends before it begins"),
        ({"first": "2026-08-31", "last": "2026-09-02"}, "This day lies outside the season (2026-09-01 to 2026-10-31)"),
        ({"last": "2026-11-01"}, "This day lies outside the season"),
        ({"name": ""}, "This field is required"),
        ({"first": "soon"}, "Enter a valid date"),
    ],
)
def test_a_wrong_break_comes_back_with_words_and_what_was_typed(fields, words, season, client):
    answer = client.post(address("new_break", season.pk), given(**fields))
    assert words in text_of(answer)
    assert next(iter(fields.values())) in answer.content.decode()
    assert standing(season) == []


def test_the_list_tells_what_is_called_off_and_what_takes_place_all_the_same(half_term, season, squad, head, client):
    mark(on(squad, 10, 13), squad)
    change_breaks(season=season, wanted=[*breaks_of(season), october(13, name="Fair")], by=head, today=TODAY)
    text = text_of(client.get(address("breaks", season.pk)))
    assert "Half term Mon 19 – Sun 25 Oct 2026 1 0" in text
    assert "Fair Tue 13 Oct 2026 0 1" in text


def test_a_break_that_moves_brings_one_session_back_and_calls_another_off(half_term, season, squad, client):
    url = address("edit_break", season.pk, half_term.pk)
    answer = client.post(url, given(first="2026-10-26", last="2026-10-30"))
    text = text_of(answer)
    assert "1 session is called off Tue 27 Oct 2026, 19:00: Half term" in text
    assert "1 session takes place again Tue 20 Oct 2026, 19:00" in text
    saved(client, url, answer)
    assert (off(squad), standing(season)) == (["27 Oct"], [("Half term", "26 Oct", "30 Oct")])


def test_a_break_is_taken_out_after_a_look(half_term, season, squad, client):
    url = address("remove_break", season.pk, half_term.pk)
    answer = client.get(url)
    assert "1 session takes place again" in text_of(answer)
    assert off(squad) == ["20 Oct"]
    saved(client, url, answer)
    assert (off(squad), standing(season)) == ([], [])


def test_taking_out_a_break_without_sessions_asks_first_too(season, client):
    gap = season.breaks.create(name="Ball", first_day=dt.date(2026, 10, 7), last_day=dt.date(2026, 10, 7))
    url = address("remove_break", season.pk, gap.pk)
    client.post(url)
    assert standing(season) != []
    saved(client, url, client.get(url))
    assert standing(season) == []


def test_what_breaks_a_contact_rule_when_sessions_come_back_is_told(half_term, season, squad, client):
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 20, 15, tzinfo=f.LONDON))
    text = text_of(client.get(address("remove_break", season.pk, half_term.pk)))
    assert "training would be on a match day" in text


def test_days_to_a_match_are_told_of_sessions_that_a_match_is_near_and_of_no_others(half_term, season, squad, client):
    url = address("remove_break", season.pk, half_term.pk)
    assert "Days to the match" not in text_of(client.get(url))
    f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 24, 15, tzinfo=f.LONDON))
    assert "Tue 20 Oct not there MD-4" in text_of(client.get(url))


def test_changing_it_again_keeps_what_was_typed(season, night, client):
    url = address("new_break", season.pk)
    answer = client.post(url, hidden(client.post(url, given(name="Autumn week"))) | {"again": "1"})
    assert 'value="Autumn week"' in answer.content.decode()
    assert standing(season) == []


def test_two_people_at_once_lose_nothing(season, night, squad, head, client):
    url = address("new_break", season.pk)
    shown = client.post(url, given() | hidden(client.get(url)))
    change_breaks(season=season, wanted=[october(27, name="Fair")], by=head, today=TODAY)
    answer = client.post(url, hidden(shown))
    assert "Somebody has changed the breaks since you opened this page. Nothing was written" in text_of(answer)
    assert 'value="Half term"' in answer.content.decode()
    assert standing(season) == [("Fair", "27 Oct", "27 Oct")]
    saved(client, url, client.post(url, given() | hidden(answer)))
    assert off(squad) == ["20 Oct", "27 Oct"]


def test_a_break_that_somebody_took_out_meanwhile_can_be_added_as_it_was_typed(half_term, season, squad, head, client):
    url = address("edit_break", season.pk, half_term.pk)
    change_breaks(season=season, wanted=[], by=head, today=TODAY)
    answer = client.post(url, given(name="Autumn week"))
    assert "Somebody has taken this break out meanwhile" in text_of(answer)
    assert 'value="Autumn week"' in answer.content.decode()
    assert f'action="{address("new_break", season.pk)}"' in answer.content.decode()
    assert client.get(url).status_code == 404


def test_a_session_that_changed_since_the_look_is_shown_again(season, night, squad, client):
    url = address("new_break", season.pk)
    shown = client.post(url, given())
    mark(on(squad, 10, 20), squad)
    answer = client.post(url, hidden(shown))
    assert "Tue 20 Oct 2026, 19:00: somebody is marked on it" in text_of(answer) or standing(season) != []
    assert off(squad) == []


def test_editing_a_season_leaves_its_breaks_alone(half_term, season, squad, client):
    data = {"name": "2026/27", "first_day": "2026-09-01", "last_day": "2026-10-31", "phases-TOTAL_FORMS": 0}
    client.post(address("edit_season", season.pk), data | {"phases-INITIAL_FORMS": 0, "squad": squad.pk})
    assert (Season.objects.get().name, season.breaks.get().pk) == ("2026/27", half_term.pk)


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_breaks(
    count, season, night, client, django_assert_num_queries
):
    for n in range(count):
        season.breaks.create(name="Off", first_day=dt.date(2026, 10, 6 + n), last_day=dt.date(2026, 10, 6 + n))
    with django_assert_num_queries(6):
        client.get(address("breaks", season.pk))


@pytest.mark.parametrize("count", [1, 3])
def test_the_look_ahead_takes_the_same_queries_for_any_number_of_sessions_and_breaks(
    count, season, head, client, django_assert_max_num_queries
):
    for n in range(count):
        tuesdays(season, head, weekday=n)
        season.breaks.create(name="Off", first_day=dt.date(2026, 10, 29), last_day=dt.date(2026, 10, 29 + n % 2))
    with django_assert_max_num_queries(85):
        answer = client.post(address("new_break", season.pk), given())
    assert f"{count} session" in text_of(answer)
