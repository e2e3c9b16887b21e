"""A player's own page: what it shows, what it takes, and what it keeps to itself."""

from __future__ import annotations

import datetime as dt
import logging
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.attendance_actions import Said, note_replies
from planner.attendance_models import Reply
from planner.days import Days
from planner.link_actions import MOST_AN_HOUR, NoSuchLink, reply_himself
from planner.link_models import PlayerLink
from planner.models import Session
from shared.models import AuditEvent
from shared.tokens import Masked
from squads.models import Clearance
from tests import factories as f
from tests.planner.block_cast import small_block, stand
from tests.planner.own.cast import MONDAY, own_address, says


@pytest.fixture
def cast(squad, head, monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: MONDAY)
    cast = small_block(squad)
    for number, player in enumerate(cast.players):
        player.given_name, player.family_name = f"Oswin{number}", f"Hartlebury{number}"
        player.save()
    return cast


@pytest.fixture
def address(cast):
    return own_address(cast.players[0])


@pytest.fixture
def night(cast):
    return cast.nights[0]


def text_of(client, address) -> str:
    return client.get(address).content.decode()


# What it shows


def test_it_shows_his_next_nights_by_his_first_name_and_nobody_else(client, cast, address):
    text = text_of(client, address)
    assert "<h1>Oswin0</h1>" in text
    assert text.count('class="own-night"') == 4
    assert "Tuesday 6 October, 19:00–19:34" in text
    assert not re.search(r"Oswin[1-7]|Hartlebury|Ash|Bo\b", text)


def test_no_word_on_his_health_leaves_the_clubs_own_pages(client, cast, address):
    before = without_tokens(text_of(client, address))
    Clearance.objects.create(
        player=cast.players[0], level="none", from_day=MONDAY, decided_on=MONDAY, decided_by="R. Lomax",
        decided_as="physiotherapist", allowed_work="run alone", review_on=dt.date(2026, 10, 12),
    )  # fmt: skip
    drill = f.DrillFactory(club=cast.squad.club, rung="C3", contact_share=50, name="Closed gate")
    stand(cast.slot(), drill, [cast.players[0]])
    after = without_tokens(text_of(client, address))
    for word in ("Lomax", "physio", "run alone", "non-contact", "not allowed", "NC", "cleared", "clearance", "12 Oct"):
        assert word not in after
    assert after == before


def without_tokens(text: str) -> str:
    """What keeps forms from being forged is random, and may hold any letters."""
    return re.sub(r'value="[\w-]{64}"', "", text)


def test_his_contact_stands_against_the_limit_in_plain_words(client, cast, address):
    drill = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=100)
    stand(cast.slot(), drill, cast.players[:1])
    text = text_of(client, address)
    assert '12 of 15 min</b> <span class="word near">near the limit' in text
    stand(cast.slot(order=2), drill, cast.players[:1])
    assert '24 of 15 min</b> <span class="word past">past the limit' in text_of(client, address)


def test_it_is_kept_nowhere_and_found_by_no_search_engine(client, address):
    for answer in (client.get(address), client.get("/own/" + "x" * 43 + "/")):
        assert answer["Cache-Control"] == "no-store"
        assert answer["X-Robots-Tag"] == "noindex, nofollow, noarchive"
        assert answer["Referrer-Policy"] == "same-origin"
        assert 'name="robots" content="noindex' in answer.content.decode()


def test_nights_before_he_joins_after_he_leaves_or_that_are_off_are_not_his(client, cast, address):
    player = cast.players[0]
    player.joined, player.left = dt.date(2026, 10, 7), dt.date(2026, 10, 14)
    player.save()
    assert text_of(client, address).count('class="own-night"') == 2
    Session.objects.filter(pk=cast.nights[1].pk).update(cancelled=True)
    assert text_of(client, address).count('class="own-night"') == 1


def test_a_page_of_minors_tells_that_a_guardian_may_answer(client, cast, address):
    assert "guardian" not in text_of(client, address)
    cast.squad.age_from = 16
    cast.squad.save()
    assert "A parent or guardian may open this page" in text_of(client, address)


def test_the_coach_sees_on_which_day_it_was_opened(client, address):
    client.get(address)
    assert PlayerLink.objects.get().opened_on == MONDAY


def test_it_takes_as_many_queries_for_more_nights_and_replies(client, cast, address, django_assert_num_queries):
    client.get(address)
    counts = []
    for day in (20, 22):
        note_replies(
            said=[Said(cast.players[0], night, True) for night in cast.nights[: day - 19]], by=None, today=MONDAY
        )
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        counts.append(len(queries))
        f.SessionFactory(squad=cast.squad, starts_at=dt.datetime(2026, 10, day, 19, tzinfo=f.LONDON))
        f.PlayerFactory(squad=cast.squad)
    assert counts[0] == counts[1] <= 20


# What opens nothing


def test_wrong_ended_exchanged_and_left_all_get_the_same_plain_page(client, cast, head, address):
    token = address.split("/")[2]
    plain = client.get("/own/" + "x" * 43 + "/")
    seen = [plain, client.get(f"/own/{token[:-1]}/"), client.get("/own/%00%F0%9F%8F%89/")]
    own_address(cast.players[0])
    seen.append(client.get(address))
    cast.squad.players.filter(pk=cast.players[1].pk).update(left=dt.date(2026, 10, 1))
    seen.append(client.get(own_address(cast.players[1])))
    assert {(answer.status_code, answer.content) for answer in seen} == {(404, plain.content)}


def test_an_ended_address_takes_no_answer(client, cast, night, address):
    PlayerLink.objects.all().delete()
    assert client.post(address, says(night, "yes")).status_code == 404
    assert not Reply.objects.exists()


def test_an_address_that_is_ended_while_he_answers_says_nothing_any_more(cast, night, address):
    link = PlayerLink.objects.with_player().get()
    PlayerLink.objects.filter(pk=link.pk).update(digest="0" * 64)
    with pytest.raises(NoSuchLink):
        reply_himself(link=link, said=Said(cast.players[0], night, True), today=MONDAY)


def test_no_log_line_and_no_record_holds_the_token(client, cast, night, address, caplog):
    caplog.handler.addFilter(Masked())
    token = address.split("/")[2]
    with caplog.at_level(logging.DEBUG):
        client.post(address, says(night, "yes"))
        PlayerLink.objects.all().delete()
        client.get(address)
    assert "Not Found: /own/…/" in caplog.text
    assert token not in caplog.text
    assert token not in str(list(AuditEvent.objects.values()))


# What it takes


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("yes",), "yes"),
        (("no",), "no"),
        (("part", 0, "19:10"), "from 19:10"),
        (("part", 0, "", "19:20"), "until 19:20"),
        (("part", 0, "19:10", "19:20"), "from 19:10 until 19:20"),
    ],
)
def test_he_answers_for_a_night_and_the_squad_sees_it(client, cast, night, address, given, words):
    answer = client.post(address, says(night, *given), follow=True)
    assert answer.redirect_chain == [(f"{address}#night-{night.pk}", 302)]
    assert "Thank you, that is noted." in answer.content.decode()
    row = Reply.objects.get()
    assert (row.words, row.player, row.entered_by, row.said_by) == (words, cast.players[0], None, "Oswin0 Hartlebury0")
    days = Days.of(cast.squad, night.day, night.day)
    assert days.ceiling(cast.players[0], night).level == ("absent" if words == "no" else "full")


def test_he_answers_once_more_and_the_newest_counts(client, night, address):
    client.post(address, says(night, "yes"))
    client.post(address, says(night, "no", Reply.objects.get().pk))
    assert [row.words for row in Reply.objects.all()] == ["yes", "no"]


def test_what_a_coach_noted_meanwhile_is_shown_before_he_answers_over_it(client, cast, night, head, address):
    note_replies(said=[Said(cast.players[0], night, False)], by=head, today=MONDAY)
    text = client.post(address, says(night, "yes"), follow=True).content.decode()
    assert "Somebody said something else" in text
    assert "noted by a coach" in text
    assert Reply.objects.count() == 1
    client.post(address, says(night, "yes", Reply.objects.get().pk))
    assert [row.words for row in Reply.objects.all()] == ["no", "yes"]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("maybe",), "Choose yes, no or part of it."),
        (("part",), "Give a time"),
        (("part", 0, "soon"), "“soon” is no time"),
        (("part", 0, "<b>"), "“&lt;b&gt;” is no time"),
        (("part", 0, "19:20", "19:10"), "Nobody leaves before he comes"),
        (("part", 0, "23:00"), "of that nothing is left"),
    ],
)
def test_an_answer_that_says_nothing_is_told_beside_its_night_and_kept(client, night, address, given, words):
    answer = client.post(address, says(night, *given))
    text = answer.content.decode()
    assert words in text[text.index(f'id="night-{night.pk}"') :].split("</section>")[0]
    assert not Reply.objects.exists()


def test_he_answers_for_no_night_of_another_squad_none_that_is_past_and_none_that_is_off(client, cast, address):
    foreign = f.SessionFactory(starts_at=dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON))
    past = f.SessionFactory(squad=cast.squad, starts_at=dt.datetime(2026, 10, 1, 19, tzinfo=f.LONDON))
    off = f.SessionFactory(squad=cast.squad, starts_at=dt.datetime(2026, 10, 7, 19, tzinfo=f.LONDON), cancelled=True)
    for session in (foreign, past, off):
        assert client.post(address, says(session, "no")).status_code == 200
    for hostile in ("", "x", "-1", "²", "9" * 30, "1; DROP TABLE"):
        assert client.post(address, {"session": hostile, "says-1": "yes"}).status_code == 200
    assert not Reply.objects.exists()


def test_only_so_many_answers_an_hour_are_taken(client, night, address):
    for number in range(MOST_AN_HOUR + 2):
        last = Reply.objects.last()
        client.post(address, says(night, "no" if number % 2 else "yes", last.pk if last else 0))
    assert Reply.objects.count() == MOST_AN_HOUR
    answer = client.post(address, says(night, "part", 0, "19:10"))
    assert "These are very many answers within an hour." in answer.content.decode()


def test_the_page_takes_no_other_method(client, address):
    assert [client.put(address).status_code, client.delete(address).status_code] == [405, 405]
