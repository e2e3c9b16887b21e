"""The first page of each role."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.coach_names import is_named
from planner.models import PlanRun
from planner.season_figures import KEPT
from shared.models import Job, User
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import small_block, stand

MONDAY = dt.date(2026, 10, 5)
TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def on(monkeypatch):
    """`on(day)`: that is today at the club."""

    def set_day(day: dt.date) -> None:
        monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: day)

    set_day(MONDAY)
    return set_day


@pytest.fixture
def cast(squad, on):
    cast = small_block(squad)
    cast.nights[0].aims = ["Hold one line"]
    cast.nights[0].save()
    cast.station = stand(cast.slot(), cast.drills[0], cast.players, coach="Sam Reed")
    return cast


def start(client) -> str:
    return client.get("/c/brackenford/now/").content.decode()


def clear(player, level: str) -> None:
    Clearance.objects.create(
        player=player, level=level, from_day=MONDAY, decided_by="Robin Ash", decided_as="physio", decided_on=MONDAY
    )


# Head coach


PLAYERS_IN = '<a href="/c/brackenford/squads/firsts/import/">Bring its players in</a>'


def test_a_club_without_a_squad_is_led_to_add_one_and_what_hangs_on_it_waits(club, on, head, log_in):
    text = start(log_in(head))
    assert '<a href="/c/brackenford/squads/add/">Add the squad</a>' in text
    assert "<li>Bring its players in</li>" in text


def test_a_step_that_is_done_says_so_and_the_next_one_waits(squad, on, head, log_in):
    assert PLAYERS_IN in start(log_in(head))
    f.PlayerFactory(squad=squad)
    text = start(log_in(head))
    assert PLAYERS_IN not in text
    assert "Bring its players in: done" in text
    assert '<a href="/c/brackenford/seasons/new/">Make the season and lay out its nights</a>' in text
    f.SeasonFactory(squad=squad)
    assert '<a href="/c/brackenford/calendar/">Make the season and lay out its nights</a>' in start(log_in(head))


def test_the_rows_of_another_club_are_no_steps_done(squad, on, head, log_in):
    f.PlayerFactory()
    f.DrillFactory(club=f.ClubFactory())
    text = start(log_in(head))
    assert PLAYERS_IN in text
    assert '<a href="/c/brackenford/drills/">Bring drills in</a>' in text


def test_with_the_first_block_the_steps_are_gone(squad, on, head, log_in):
    assert "To the first plan" in start(log_in(head))
    f.BlockFactory(squad=squad, first_day=MONDAY + dt.timedelta(weeks=8))
    assert "To the first plan" not in start(log_in(head))


def test_the_head_coach_sees_the_nights_of_this_week_with_their_aims(cast, head, log_in):
    text = start(log_in(head))
    for words in ("5 Oct – 11 Oct", "Tue 6 Oct, 19:00", "Hold one line", "Open the week"):
        assert words in text


def test_the_head_coach_sees_what_does_not_fit_yet(cast, head, log_in):
    Absence.objects.create(player=cast.players[0], first_day=TUESDAY, last_day=TUESDAY)
    text = start(log_in(head))
    assert "Tue 6 Oct, slot 3: nothing is planned." in text
    assert f"Tue 6 Oct: {cast.players[0]} is away and still stands in the plan." in text


def test_when_everything_fits_the_page_says_so(cast, head, log_in):
    for night in range(2):
        for order in (1, 2):
            slot = cast.slot(night, order)
            if not slot.stations.exists():
                stand(slot, cast.drills[order - night], cast.players)
    assert "Every slot is filled, everyone has a place, and every rule is kept." in start(log_in(head))


def test_after_the_last_night_of_the_week_the_next_week_is_shown(cast, head, log_in, on):
    on(dt.date(2026, 10, 9))
    assert "12 Oct – 18 Oct" in start(log_in(head))


def test_a_run_under_way_and_the_next_block_are_linked(cast, head, log_in, club):
    PlanRun.objects.create(block=cast.block, job=Job.objects.create(club=club, task="planner.tasks.run_plan"))
    f.BlockFactory(squad=cast.squad, name="November block", first_day=dt.date(2026, 11, 2))
    text = start(log_in(head))
    assert "A run of the planner for “October block” is under way." in text
    assert "Next: November block from 2 Nov" in text


def test_a_new_club_is_told_what_to_do_first(club, head, log_in):
    assert "Add the squad" in start(log_in(head))


def test_a_squad_without_sessions_is_led_to_the_calendar(squad, head, log_in):
    assert "Lay out the season" in start(log_in(head))


# Assistant


@pytest.fixture
def reed(club) -> User:
    user = {"username": "reed", "first_name": "Sam", "last_name": "Reed"}
    return f.MembershipFactory(club=club, role="assistant", **{f"user__{key}": it for key, it in user.items()}).user


def test_an_assistant_sees_the_stations_that_name_him_first(cast, reed, log_in, on):
    on(TUESDAY)
    stand(cast.slot(order=2), cast.drills[1], cast.players, coach="Bo")
    mine = start(log_in(reed)).partition("Your stations")[2].partition("Away or limited")[0]
    assert "Tonight, 19:00–19:34" in start(log_in(reed))
    assert str(cast.drills[0]) in mine
    assert str(cast.drills[1]) not in mine


def test_an_assistant_whom_no_station_names_sees_the_whole_night(cast, assistant, log_in):
    text = start(log_in(assistant))
    assert "No station names assistant as its coach." in text
    assert str(cast.drills[0]) in text


def test_an_assistant_sees_marks_and_who_is_away_and_can_mark_more(cast, reed, log_in):
    clear(cast.players[0], "none")
    Absence.objects.create(player=cast.players[1], first_day=TUESDAY, last_day=TUESDAY)
    text = start(log_in(reed))
    for words in ('<span class="nc">NC</span>', "away this day", "Mark who is away"):
        assert words in text


def test_an_assistant_sees_no_totals_of_players(cast, reed, log_in):
    assert "Contact limits" not in start(log_in(reed))


def test_without_a_session_ahead_the_page_says_where_to_look(squad, assistant, log_in):
    assert "No session is laid out from today on." in start(log_in(assistant))


@pytest.mark.parametrize(
    ("coach", "is_his"),
    [
        ("Sam Reed", True),
        ("sam  reed, Bo", True),
        ("Bo / Sam", True),
        ("S. Reed", True),
        ("reed", True),
        ("Samuel Reed", False),
        ("A. Reed", False),
        ("", False),
    ],
)
def test_a_coach_is_known_by_name_first_name_initial_or_login(coach, is_his):
    assert is_named(User(username="reed", first_name="Sam", last_name="Reed"), coach) is is_his


def test_a_user_without_a_name_is_known_by_login_only():
    assert [is_named(User(username="bo"), coach) for coach in ("Bo", "", ".")] == [True, False, False]


# Welfare officer


def test_the_welfare_officer_sees_who_was_put_in_contact_in_spite_of_a_status(cast, welfare, log_in):
    live = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=25, contacts_most=4)
    stand(cast.slot(order=2), live, cast.players[:2])
    clear(cast.players[0], "none")
    text = start(log_in(welfare))
    for words in ("1 in contact in spite of a status", str(live), "no contact by clearance of 5 Oct"):
        assert words in text


def test_the_welfare_officer_sees_who_is_past_by_how_much_and_from_which_sessions(cast, welfare, log_in):
    hard = f.DrillFactory(club=cast.squad.club, name="Hard", rung="C4", contact_share=100, contacts_most=9)
    for night in range(2):
        stand(cast.slot(night, 2), hard, [cast.players[6]])
    text = start(log_in(welfare))
    for words in ("1 past a limit", "24 of 15 min", "past by 9", "Tue 6 Oct", "Thu 8 Oct", f"{hard} 12"):
        assert words in text


def test_the_welfare_officer_sees_who_decided_and_when(cast, welfare, log_in):
    clear(cast.players[0], "controlled")
    text = log_in(welfare).get("/c/brackenford/now/decisions/").content.decode()
    assert "5 Oct by Robin Ash, physio" in text


def test_when_all_is_well_the_page_says_so(cast, welfare, log_in):
    assert "8 fine" in start(log_in(welfare))
    text = log_in(welfare).get("/c/brackenford/now/decisions/").content.decode()
    assert "no decision and no return limits anyone today" in text


@pytest.mark.parametrize("role", ["head_coach", "assistant", "welfare_officer"])
def test_each_first_page_takes_as_many_queries_for_more_players(cast, club, log_in, role):
    client, counts = log_in(f.MembershipFactory(club=club, role=role).user), []
    for _round in range(2):
        start(client)
        KEPT.forget()
        with CaptureQueriesContext(connection) as queries:
            start(client)
        counts.append(len(queries))
        for player in f.PlayerFactory.create_batch(2, squad=cast.squad):
            clear(player, "none")
    assert counts[0] == counts[1]


def test_nothing_of_another_club_is_shown(cast, stranger, log_in):
    assert log_in(stranger).get("/c/brackenford/now/").status_code == 404
