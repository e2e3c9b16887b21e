"""The page of all replies: what a coach enters, what somebody else said meanwhile, and what is counted."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.attendance_actions import Said, note_replies
from planner.attendance_models import Reply
from planner.models import Session
from planner.replies import nights_that_fit, replies_from
from shared.models import AuditEvent
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import small_block

MONDAY = dt.date(2026, 10, 5)


@pytest.fixture
def cast(squad, monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: MONDAY)
    return small_block(squad)


@pytest.fixture
def coach(assistant, log_in):
    return log_in(assistant)


def url(cast) -> str:
    return reverse("replies", kwargs={"club": "brackenford", "squad": cast.squad.slug})


def cell(word: str, player, night) -> str:
    return f"{word}-{player.pk}-{night.pk}"


def typed(cast, player=0, night=0, says="yes", comes_at="", leaves_at="") -> dict[str, str]:
    values = {"says": says, "from": comes_at, "until": leaves_at}
    return {cell(word, cast.players[player], cast.nights[night]): value for word, value in values.items()}


def says(cast, player=0, night=0, coming=True, by=None, **times) -> Reply:
    note_replies(said=[Said(cast.players[player], cast.nights[night], coming, **times)], by=by, today=MONDAY)
    return Reply.objects.last()


def post(client, cast, *cells: dict[str, str], shown: str = ""):
    fields = {name: value for each in cells for name, value in each.items()}
    return client.post(url(cast), {"shown": shown, **fields}, follow=True)


def told() -> list[tuple[str, str]]:
    return [(row.player.family_name, row.words) for row in Reply.objects.select_related("player")]


def test_replies_of_several_players_to_several_nights_are_saved_at_once(cast, coach):
    answer = post(
        coach, cast, typed(cast), typed(cast, 1, says="no"), typed(cast, 2, 1, "part", "19:20"),
        typed(cast, 3, 1, "part", "", "19:25"), typed(cast, 4, 2, ""),
    )  # fmt: skip
    names = [player.family_name for player in cast.players]
    assert told() == [(names[0], "yes"), (names[1], "no"), (names[2], "from 19:20"), (names[3], "until 19:25")]
    assert "4 replies are noted." in answer.content.decode()
    assert set(Reply.objects.values_list("said_by", "session")) == {
        ("assistant", cast.nights[0].pk),
        ("assistant", cast.nights[1].pk),
    }


def test_a_cell_that_says_what_its_page_showed_writes_nothing(cast, coach, head):
    shown = says(cast, coming=False, by=head)
    says(cast, coming=True)
    post(coach, cast, typed(cast, says="no"), shown=str(shown.pk))
    assert [words for _name, words in told()] == ["no", "yes"]


def test_what_somebody_said_meanwhile_is_shown_and_the_rest_is_saved(cast, coach):
    says(cast, coming=False)
    text = post(coach, cast, typed(cast), typed(cast, 1)).content.decode()
    assert [words for _name, words in told()] == ["no", "yes"]
    assert "said meanwhile" in text
    assert "1 reply is noted." in text
    chosen = text[text.index(f'name="{cell("says", cast.players[0], cast.nights[0])}"') :]
    assert '<option value="yes" selected>' in chosen[: chosen.index("</select>")]


def test_saving_again_after_having_seen_it_keeps_the_coachs_word(cast, coach):
    meanwhile = says(cast, coming=False)
    post(coach, cast, typed(cast), shown=str(meanwhile.pk))
    assert [words for _name, words in told()] == ["no", "yes"]


def test_two_who_say_the_same_at_once_do_not_contradict_each_other(cast, coach):
    says(cast, coming=False)
    text = post(coach, cast, typed(cast, says="no")).content.decode()
    assert Reply.objects.count() == 1
    assert "said meanwhile" not in text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"says": "part"}, "Give a time: from when, or until when."),
        ({"says": "part", "comes_at": "soon"}, "“soon” is no time."),
        ({"says": "part", "comes_at": "25:99"}, "“25:99” is no time."),
        ({"says": "part", "comes_at": "19:30", "leaves_at": "19:10"}, "Nobody leaves before he comes."),
        ({"says": "part", "comes_at": "22:00"}, "of that nothing is left"),
        ({"says": "part", "leaves_at": "18:00"}, "of that nothing is left"),
        ({"says": "maybe"}, "Choose yes, no or part of it."),
    ],
)
def test_a_cell_that_says_nothing_is_marked_and_nothing_is_written_or_lost(cast, coach, fields, words):
    text = post(coach, cast, typed(cast, **fields), typed(cast, 1, says="no")).content.decode()
    assert not Reply.objects.exists()
    assert words in text
    assert "Nothing is saved yet" in text
    other = text[text.index(f'name="{cell("says", cast.players[1], cast.nights[0])}"') :]
    assert '<option value="no" selected>' in other[: other.index("</select>")]


def test_cells_of_other_squads_and_keys_that_are_none_say_nothing(cast, coach):
    stranger = f.PlayerFactory()
    fields = {cell("says", stranger, cast.nights[0]): "no", f"says-{cast.players[0].pk}-999999": "no", "says-x-y": "no"}
    shown = f"{10**30} x -1 ² " + str(says(cast, 1).pk)
    post(coach, cast, fields, typed(cast, 1, says="yes"), shown=shown)
    assert Reply.objects.count() == 1


def test_counts_say_who_comes_in_all_and_by_group(cast, head):
    says(cast, 0, coming=False, by=head)
    says(cast, 1, by=head, from_time=dt.time(19, 10))
    Absence.objects.create(player=cast.players[2], first_day=MONDAY, last_day=dt.date(2026, 10, 6))
    night = replies_from(cast.squad, MONDAY).nights[0]
    assert (len(night.coming), night.in_part, night.without_a_word) == (6, 1, 5)
    assert night.groups == [("FR", 1), ("SR", 2), ("BR", 3), ("HB", 0), ("CE", 0), ("B3", 0)]


def test_whoever_is_away_by_dates_is_said_to_be_so_and_may_still_say_yes(cast, coach):
    Absence.objects.create(player=cast.players[0], first_day=MONDAY, last_day=dt.date(2026, 10, 6))
    assert (
        "away until 6 Oct" in coach.get(url(cast)).content.decode()
        or "away this day" in coach.get(url(cast)).content.decode()
    )
    post(coach, cast, typed(cast))
    assert len(replies_from(cast.squad, MONDAY).nights[0].coming) == 8


def test_a_yes_lifts_nothing_that_a_person_decided(cast, coach):
    decided = {"decided_by": "R. Ash", "decided_as": "physio", "decided_on": MONDAY, "from_day": MONDAY}
    Clearance.objects.create(player=cast.players[0], level="absent", **decided)
    post(coach, cast, typed(cast))
    assert len(replies_from(cast.squad, MONDAY).nights[0].coming) == 7


def test_only_nights_to_come_that_take_place_are_asked_for(cast):
    Session.objects.filter(pk=cast.nights[1].pk).update(cancelled=True)
    found = replies_from(cast.squad, dt.date(2026, 10, 7))
    assert [each.session.pk for each in found.nights] == [night.pk for night in cast.nights[2:]]


def test_players_are_asked_only_for_nights_on_which_they_are_of_the_squad(cast):
    player = cast.players[0]
    player.joined, player.left = dt.date(2026, 10, 7), dt.date(2026, 10, 9)
    player.save()
    line = next(line for line in replies_from(cast.squad, MONDAY).lines if line.player == player)
    assert [cell is not None for cell in line.cells] == [False, True, False, False]


def test_a_large_squad_sees_fewer_nights_at_once_so_that_the_form_is_never_too_long():
    assert [nights_that_fit(count) for count in (0, 34, 75, 100, 150, 1000)] == [4, 4, 4, 3, 2, 1]


def test_further_nights_are_a_link_away(cast, coach):
    f.SessionFactory(squad=cast.squad, starts_at=dt.datetime(2026, 10, 20, 19, tzinfo=f.LONDON))
    assert "?from=2026-10-20" in coach.get(url(cast)).content.decode()
    assert "Tue 20 Oct" in coach.get(url(cast), {"from": "2026-10-20"}).content.decode()


@pytest.mark.parametrize("asked", ["x", "2026-13-40", "0001-01-01", "9999-12-31"])
def test_a_day_that_makes_no_sense_is_no_mistake(cast, coach, asked):
    assert coach.get(url(cast), {"from": asked}).status_code == 200


def test_the_record_says_who_noted_what(cast, coach):
    post(coach, cast, typed(cast, says="no"))
    event = AuditEvent.objects.get(did="noted reply")
    assert (event.actor, event.detail["says"]) == ("assistant", "no")


def test_the_page_takes_as_many_queries_for_more_players_and_replies(cast, coach):
    counts = []
    for rows in (1, 3):
        for number in range(rows):
            says(cast, number, rows - 1)
            f.PlayerFactory(squad=cast.squad)
        coach.get(url(cast))
        with CaptureQueriesContext(connection) as queries:
            coach.get(url(cast))
        counts.append(len(queries))
    assert counts[0] == counts[1]
