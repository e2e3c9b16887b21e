"""A season on one page: its weeks, the contact planned against the limits, the strip of skill families."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from drills.models import Family
from planner.attendance_actions import Said, note_replies
from planner.calendar_actions import NamedDays, save_fixture, save_season
from planner.declared_actions import declare_contact
from planner.models import Fixture
from planner.record_models import Elsewhere
from planner.season_figures import KEPT
from planner.season_strip import Strip, StripWeek
from planner.session_actions import cancel_session
from shared import audit
from shared.core.contact import Kind
from squads.actions import add_contact_rules
from squads.models import Clearance
from tests import factories as f
from tests.planner.block_cast import night, season_with_days, stand

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)
MONDAY = dt.date(2026, 10, 5)


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    """It is noon on Wednesday 7 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def season(squad):
    return season_with_days(squad)


@pytest.fixture
def player(squad):
    return f.PlayerFactory(squad=squad)


def live(squad, player, share: int, day: int = 6):
    """One slot of 12 minutes, of which the player has `share` per cent in full contact."""
    drill = f.DrillFactory(club=squad.club, rung="C4", contact_share=share, contacts_most=9, skills={"U01": 100})
    session = night(squad, day)
    stand(session.slots.get(order=1), drill, [player])
    return session


def at(day: str = "2026-09-01", squad: str = "firsts") -> str:
    return reverse("calendar_season", args=["brackenford", squad, day])


def text_of(client, address: str) -> str:
    answer = client.get(address, follow=True)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def week(text: str, monday: str = "2026-10-05") -> str:
    """The row of a week, in words."""
    row = text.partition(f'id="week-{monday}"')[2].partition('<tr id="week')[0]
    return " ".join(re.sub(r"<title>.*?</title>|<[^>]+>", " ", row).split())


def test_each_week_has_its_number_phase_matches_and_sessions(season, squad, head, log_in):
    f.FixtureFactory(squad=squad, opponent="Hollin")
    night(squad, 6)
    text = text_of(log_in(head), at())
    assert "Week 6 5 Oct – 11 Oct this week Early season Tue 6 19:00 Training Sat 10 15:00 v Hollin, home" in week(text)
    assert "no training: Half term" in week(text, "2026-10-26")
    assert text.count('id="week-') == 35


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (99, "11.88 of 15 min"),
        (100, "12 of 15 min near"),
        (125, "15 of 15 min near"),
        (126, "15.12 of 15 min past by 0.12"),
    ],
)
def test_contact_stands_against_its_limit_with_a_word_where_one_is_due(
    season, squad, player, head, log_in, share, words
):
    """Fifteen minutes of the limit, near from 80 per cent on; 125 per cent stand for 100 and 25 on another night."""
    live(squad, player, min(share, 100))
    if share > 100:
        live(squad, player, share - 100, day=8)
    found = week(text_of(log_in(head), at()))
    assert (
        found.partition("min")[0].rpartition("Training ")[2] + "min" + found.partition("min")[2].partition(" –")[0]
        == words
    )


def test_a_bar_stands_beside_the_figure_and_says_it_too(season, squad, player, head, log_in):
    live(squad, player, 100)
    text = text_of(log_in(head), at())
    assert '<svg class="plumb near"' in text
    assert "<title>full contact: 12 of 15 min</title>" in text


def test_without_rules_minutes_are_shown_and_nothing_is_past(squad, player, head, log_in):
    f.SeasonFactory(squad=squad)
    live(squad, player, 100)
    assert "12 min, no limit" in week(text_of(log_in(head), at()))


def test_a_player_above_what_he_may_do_is_told_under_the_week(season, squad, player, head, log_in):
    live(squad, player, 50)
    Clearance.objects.create(
        player=player, level="none", from_day=MONDAY, decided_by="Robin Ash", decided_as="physio", decided_on=MONDAY
    )
    text = text_of(log_in(head), at())
    assert '<span class="word past">1 above what they may do</span>' in text
    assert "Robin Ash" not in text


def test_full_contact_on_too_many_days_is_told_under_the_week(season, squad, player, head, log_in):
    for day in (5, 6, 8):
        live(squad, player, 20, day)
    assert "1 with full contact on too many days" in text_of(log_in(head), at())


def test_an_assistant_sees_the_season_and_the_strip_but_no_contact(season, squad, player, assistant, log_in):
    live(squad, player, 100)
    text = text_of(log_in(assistant), at())
    assert "19:00 Training" in text
    assert 'class="strip"' in text
    assert [words for words in ("of 15 min", "full contact", "past", "near") if words in week(text)] == []


def test_the_welfare_officer_sees_the_contact_and_is_offered_no_change(season, squad, player, welfare, log_in):
    live(squad, player, 100)
    f.FixtureFactory(squad=squad)
    text = text_of(log_in(welfare), at())
    assert "12 of 15 min near" in week(text)
    assert "/fixtures/" not in text


# The address


def test_any_day_of_a_season_leads_to_it_without_a_word(season, head, log_in):
    client = log_in(head)
    assert client.get(at("2027-01-15")).headers["Location"] == at()
    assert "lies in no season" not in text_of(client, at("2027-01-15"))


def test_a_day_outside_leads_to_the_nearest_season_with_a_sentence(season, squad, head, log_in):
    f.SeasonFactory(squad=squad, name="2024/25", first_day=dt.date(2024, 9, 1), last_day=dt.date(2025, 4, 30))
    client = log_in(head)
    assert "5 May 2025 lies in no season; the nearest is 2024/25." in text_of(client, at("2025-05-05"))
    assert "1 July 2027 lies in no season; the nearest is 2026/27." in text_of(client, at("2027-07-01"))


def test_a_text_that_is_no_day_leads_to_the_season_of_today(season, head, log_in):
    text = text_of(log_in(head), at("soon"))
    assert "“soon” is no day." in text
    assert "season 2026/27</h1>" in text


def test_the_season_before_and_after_are_one_step_away(season, squad, head, log_in):
    f.SeasonFactory(squad=squad, name="2025/26", first_day=dt.date(2025, 9, 1), last_day=dt.date(2026, 4, 30))
    text = text_of(log_in(head), at())
    assert f'rel="prev" href="{at("2025-09-01")}"' in text
    assert 'rel="next"' not in text


def test_a_jump_within_the_season_leads_to_the_week(season, head, log_in):
    query = {"view": "season", "to": "2026-11-16"}
    answer = log_in(head).get(reverse("calendar_go", args=["brackenford", "firsts"]), query)
    assert answer.headers["Location"] == f"{at()}#week-2026-11-16"


def test_a_squad_without_a_season_is_told_what_to_do(squad, head, log_in):
    assert "First fifteen has no season yet" in text_of(log_in(head), at())


# The strip


def weeks(*minutes: dict[str, float], **of_the_first) -> Strip:
    """Weeks of so many minutes by family; what is told besides holds for the first of them."""
    made = [
        StripWeek(n + 1, MONDAY + dt.timedelta(weeks=n), each, 0, 0, "", holds_today=False)
        for n, each in enumerate(minutes)
    ]
    first = {name: getattr(made[0], name) for name in StripWeek.__slots__} | of_the_first
    return Strip([StripWeek(**first), *made[1:]])


def bars(strip: Strip) -> list[float]:
    return [float(height) for height in re.findall(r'class="bar"[^>]*height="([\d.]+)"', strip.drawing)]


def test_bars_are_as_high_as_their_minutes_on_one_scale(squad):
    assert bars(weeks({"I": 40, "U": 10}, {"U": 20})) == [28, 7, 14]


def test_a_single_minute_still_shows(squad):
    assert bars(weeks({"I": 400}, {"I": 1})) == [28, 1]


def test_the_strip_says_in_words_what_it_shows(squad):
    words = weeks({"I": 30}, {"I": 42}, {}).words
    assert words[0] == "Individual: 72 min in 2 of 3 weeks, most in week 2 with 42 min."
    assert words[1] == "Unit: nothing planned."
    assert len(words) == len(Family)


def test_matches_today_and_phases_are_drawn_by_shape_not_by_colour_alone(squad):
    drawing = weeks({"I": 1}, home=1, away=1, phase="Cup <run-in>", holds_today=True).drawing
    assert 'class="home" stroke="#000" fill="#000"' in drawing
    assert 'class="away" stroke="#000" fill="none"' in drawing
    assert ">today</text>" in drawing
    assert "Cup &lt;run-in&gt;" in drawing


def test_the_table_holds_the_same_minutes_as_the_drawing(season, squad, player, head, log_in):
    live(squad, player, 20)
    text = text_of(log_in(head), at())
    row = text.partition('<th scope="row">6 <span class="soft">5 Oct</span></th>')[2].partition("</tr>")[0]
    assert re.findall(r">([^<]+)</td>", row) == ["–", "12", "–", "–", "–", "–", "12"]
    assert "Unit: 12 min in 1 of 35 weeks, most in week 6 with 12 min." in text


def test_a_season_without_drills_says_so_instead_of_an_empty_drawing(season, head, log_in):
    text = text_of(log_in(head), at())
    assert "No drill stands in a slot of this season yet." in text
    assert 'class="strip"' not in text


# What it costs


def test_the_page_takes_six_queries_once_it_is_drawn_and_fifteen_more_to_count_it(season, squad, player, head, log_in):
    client = log_in(head)
    client.get(at())
    for number in range(3):
        live(squad, player, 20, day=13 + number)
        squad.sessions.update(plan_version=number + 1)
        season.phases.create(name=f"Phase {number}", first_day=MONDAY, last_day=MONDAY)
        f.FixtureFactory(squad=squad)
        audit.record(squad.club, "changed a season", season, by=head)
        assert [queries(client), queries(client)] == [21, 6]


CHANGES = {
    "match": lambda night, by: save_fixture(
        fixture=Fixture(squad=night.squad), by=by, kick_off=NOW, day=NOW.date(), opponent="Hollin"
    ),
    "night": lambda night, by: cancel_session(session=night, by=by, today=MONDAY),
    "season": lambda night, by: save_season(
        season=night.squad.seasons.get(), by=by, phases=[NamedDays("Late", MONDAY, MONDAY)]
    ),
    "rules": lambda night, by: add_contact_rules(
        club=night.squad.club, by=by, name="Ours", source="Club", valid_from=MONDAY, full_minutes=3
    ),
    "reply": lambda night, by: note_replies(
        said=[Said(night.squad.players.get(), night, coming=False)], by=by, today=MONDAY
    ),
    "elsewhere": lambda night, by: declare_contact(
        player=night.squad.players.get(),
        day=MONDAY,
        place=Elsewhere.SCHOOL,
        kind=Kind.FULL,
        minutes=9,
        declared_by="PE teacher",
        by=by,
        today=MONDAY,
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_is_on_the_page_at_the_next_look(season, squad, player, head, log_in, change):
    """What is kept then equals what is drawn anew."""
    client, night_on = log_in(head), live(squad, player, 20, day=8)
    before = body_of(client)
    CHANGES[change](night_on, head)
    after = body_of(client)
    assert after != before
    KEPT.forget()
    assert body_of(client) == after


def body_of(client) -> str:
    """Without the head of the site, where each look has a token of its own."""
    return text_of(client, at()).partition("<main")[2]


def test_who_sees_no_totals_never_gets_the_page_of_who_does(season, squad, player, head, log_in):
    live(squad, player, 20)
    coach = f.MembershipFactory(club=squad.club, user__username="wing", role="assistant").user
    assert "Contact: minutes of the player" in text_of(log_in(head), at())
    assert "Contact: minutes of the player" not in text_of(log_in(coach), at())


def queries(client) -> int:
    with CaptureQueriesContext(connection) as found:
        client.get(at())
    return len(found)
