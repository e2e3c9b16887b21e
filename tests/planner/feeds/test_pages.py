"""The pages that give addresses out, exchange them and end them."""

from __future__ import annotations

import re

import pytest
import segno
from django.urls import reverse

from planner.feed_models import Feed
from shared.audit import broken_links
from shared.models import AuditEvent
from shared.tokens import digest_of
from tests import factories as f
from tests.planner.feeds.cast import member_address, path_of, player_address

ADDRESS = re.compile(r"http://testserver(/feeds/([\w-]{43})\.ics)")


def page(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def addresses_on(answer) -> list[str]:
    return [found[0] for found in ADDRESS.findall(answer.content.decode())]


def told(club) -> list[tuple[str, str, str]]:
    assert list(broken_links(club)) == []
    events = AuditEvent.objects.filter(club=club.slug, did__contains="calendar feed").order_by("number")
    return list(events.values_list("actor", "did", "subject"))


@pytest.fixture
def players(squad):
    return [f.PlayerFactory(squad=squad, given_name="Oswin", family_name=name) for name in ("Ash", "Birk", "Cole")]


def test_an_address_is_shown_once_and_only_its_hash_is_kept(log_in, assistant, club):
    client = log_in(assistant)
    answer = client.post(page("new_my_feed"))
    (address,) = addresses_on(answer)
    assert client.get(address).status_code == 200
    assert Feed.objects.get().digest == digest_of(address.removeprefix("/feeds/").removesuffix(".ics"))
    assert addresses_on(client.get(page("my_feed"))) == []
    assert answer["Cache-Control"] == "no-store"
    assert told(club) == [("assistant", "made calendar feed", "assistant")]


def test_a_new_address_ends_the_old_one_and_the_record_says_so(log_in, assistant, club):
    client = log_in(assistant)
    old, new = (addresses_on(client.post(page("new_my_feed")))[0] for _time in range(2))
    assert (client.get(old).status_code, client.get(new).status_code) == (404, 200)
    assert [did for _actor, did, _whose in told(club)] == ["made calendar feed", "rotated calendar feed"]


def test_a_member_ends_his_own_address(log_in, assistant, club):
    address = member_address(assistant)
    client = log_in(assistant)
    for _time in range(2):  # a second press finds nothing to end, and that is no mistake
        assert client.post(page("revoke_my_feed"), follow=True).status_code == 200
    assert client.get(address).status_code == 404
    assert told(club)[1:] == [("assistant", "revoked calendar feed", "assistant")]


def test_a_head_coach_ends_the_address_of_another_member(log_in, head, assistant, club):
    address = member_address(assistant)
    client = log_in(head)
    assert "assistant, Assistant coach" in client.get(page("my_feed")).content.decode()
    client.post(page("revoke_feed", feed=Feed.objects.get().pk))
    assert client.get(address).status_code == 404
    assert told(club)[1:] == [("head", "revoked calendar feed", "assistant")]


def test_an_assistant_sees_nobody_elses_feed_and_ends_none(log_in, head, assistant, squad):
    member_address(head)
    client = log_in(assistant)
    text = client.get(page("my_feed")).content.decode()
    assert "Feeds of other members" not in text
    assert page("player_feeds", squad=squad.slug) not in text
    assert client.post(page("revoke_feed", feed=Feed.objects.get().pk)).status_code == 403
    assert Feed.objects.count() == 1


def test_a_feed_of_another_club_does_not_exist(log_in, head, stranger):
    theirs = f.PlayerFactory(squad__club=stranger.clubs.get())
    player_address(theirs)
    member_address(stranger)
    client = log_in(head)
    for feed in Feed.objects.all():
        assert client.post(page("revoke_feed", feed=feed.pk)).status_code == 404
    assert Feed.objects.count() == 2
    assert client.get(page("player_feeds", squad=theirs.squad.slug)).status_code == 404


def give(client, squad, whom):
    return client.post(page("new_player_feeds", squad=squad.slug), {"for": whom})


def test_all_players_of_a_squad_get_their_slips_at_once(log_in, head, squad, players, club):
    client = log_in(head)
    answer = give(client, squad, "without")
    addresses = addresses_on(answer)
    assert len(set(addresses)) == 3
    assert {client.get(address).status_code for address in addresses} == {200}
    assert answer["Cache-Control"] == "no-store"
    assert [(did, whose) for _actor, did, whose in told(club)] == [
        ("made calendar feed", name) for name in ("Oswin Ash", "Oswin Birk", "Oswin Cole")
    ]


def test_the_code_on_a_slip_holds_the_address_beside_it(log_in, head, squad, players):
    text = give(log_in(head), squad, "without").content.decode()
    codes = re.findall(r'<div class="code">(<svg.*?</svg>)', text, re.S)
    for code, found in zip(codes, ADDRESS.finditer(text), strict=True):
        assert code == segno.make(found[0], error="m", micro=False).svg_inline(scale=3, border=4, light="white")


def test_those_who_have_an_address_keep_it_when_the_others_get_theirs(log_in, head, squad, players):
    kept = player_address(players[0])
    client = log_in(head)
    assert len(addresses_on(give(client, squad, "without"))) == 2
    assert client.get(kept).status_code == 200
    assert addresses_on(give(client, squad, "without")) == []


def test_making_all_anew_ends_every_address_handed_out(log_in, head, squad, players):
    old = [player_address(player) for player in players]
    client = log_in(head)
    new = addresses_on(give(client, squad, "all"))
    assert [client.get(address).status_code for address in (*old, *new)] == [404] * 3 + [200] * 3


def test_one_player_gets_a_new_address_and_nobody_elses_changes(log_in, head, squad, players):
    old = [player_address(player) for player in players]
    client = log_in(head)
    assert len(addresses_on(give(client, squad, str(players[1].pk)))) == 1
    assert [client.get(address).status_code for address in old] == [200, 404, 200]


def test_a_head_coach_ends_the_address_of_a_player(log_in, head, squad, players, club):
    address = player_address(players[0])
    client = log_in(head)
    answer = client.post(page("revoke_feed", feed=Feed.objects.get().pk))
    assert answer.headers["Location"] == page("player_feeds", squad=squad.slug)
    assert client.get(address).status_code == 404
    assert told(club)[-1] == ("head", "revoked calendar feed", "Oswin Ash")


@pytest.mark.parametrize("whom", ["", "0", "somebody", "9" * 40])
def test_for_nobody_in_the_squad_no_address_is_made(log_in, head, squad, players, whom):
    other = f.PlayerFactory()
    for asked in (whom, str(other.pk)):
        assert addresses_on(give(log_in(head), squad, asked)) == []
    assert Feed.objects.count() == 0


def test_who_has_left_gets_no_address(log_in, head, squad, players):
    squad.players.filter(pk=players[0].pk).update(left="2026-01-01")
    client = log_in(head)
    assert "Oswin Ash" not in client.get(page("player_feeds", squad=squad.slug)).content.decode()
    assert len(addresses_on(give(client, squad, "all"))) == 2


def test_slips_of_minors_hold_no_whole_family_name_and_a_word_on_guardians(log_in, head, squad, players):
    squad.age_from = 16
    squad.save()
    text = give(log_in(head), squad, "all").content.decode()
    assert re.findall(r"<h2>(.*?)</h2>", text) == ["Oswin A.", "Oswin B.", "Oswin C."]
    assert "Oswin Ash" not in text
    assert "parent or guardian" in text


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_players_takes_as_many_queries_for_one_as_for_three(
    log_in, head, squad, count, django_assert_num_queries
):
    for _number in range(count):
        player_address(f.PlayerFactory(squad=squad))
    client = log_in(head)
    with django_assert_num_queries(5):
        assert client.get(page("player_feeds", squad=squad.slug)).status_code == 200


@pytest.mark.parametrize("count", [1, 3])
def test_ones_own_page_takes_as_many_queries_for_one_other_as_for_three(
    log_in, head, squad, club, count, django_assert_num_queries
):
    for _number in range(count):
        member_address(f.MembershipFactory(club=club, role="assistant").user)
    client = log_in(head)
    with django_assert_num_queries(6):
        assert client.get(page("my_feed")).status_code == 200


def test_the_calendar_leads_to_ones_own_feed(log_in, assistant, squad):
    assert page("my_feed") in log_in(assistant).get(page("calendar")).content.decode()


def test_an_address_is_written_with_its_token_and_nothing_of_anybody(head, players):
    assert re.fullmatch(r"/feeds/[\w-]{43}\.ics", player_address(players[0]))
    assert path_of("t") == "/feeds/t.ics"
