"""The pages that give addresses of own pages out, exchange them and end them."""

from __future__ import annotations

import re

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from planner.link_models import PlayerLink
from shared.audit import broken_links
from shared.models import AuditEvent
from shared.tokens import digest_of
from tests import factories as f
from tests.planner.own.cast import own_address

ADDRESS = re.compile(r"http://testserver(/own/([\w-]{43})/)")


def page(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def give(client, squad, whom):
    return client.post(page("new_player_links", squad=squad.slug), {"for": whom})


def addresses_on(answer) -> list[str]:
    return [found[0] for found in ADDRESS.findall(answer.content.decode())]


@pytest.fixture
def players(squad):
    return [f.PlayerFactory(squad=squad, given_name="Oswin", family_name=name) for name in ("Ash", "Birk", "Cole")]


def test_an_assistant_makes_slips_for_all_and_only_hashes_are_kept(log_in, assistant, squad, players, club):
    client = log_in(assistant)
    answer = give(client, squad, "without")
    addresses = addresses_on(answer)
    assert len(set(addresses)) == 3
    assert {client.get(address).status_code for address in addresses} == {200}
    assert answer["Cache-Control"] == "no-store"
    tokens = {address.split("/")[2] for address in addresses}
    assert set(PlayerLink.objects.values_list("digest", flat=True)) == {digest_of(token) for token in tokens}
    events = str(list(AuditEvent.objects.values()))
    assert not any(token in events for token in tokens)
    assert list(broken_links(club)) == []


def test_a_new_address_ends_the_old_one_and_nobody_elses(log_in, head, squad, players, club):
    old = [own_address(player) for player in players]
    client = log_in(head)
    (new,) = addresses_on(give(client, squad, str(players[1].pk)))
    assert [client.get(address).status_code for address in (*old, new)] == [200, 404, 200, 200]
    assert AuditEvent.objects.filter(club=club.slug, did="rotated own page").count() == 1


def test_an_address_that_was_ended_opens_nothing(log_in, assistant, players, squad):
    address = own_address(players[0])
    client = log_in(assistant)
    for status in (302, 404):
        answer = client.post(page("revoke_player_link", link=PlayerLink.objects.get().pk if status == 302 else 1))
        assert answer.status_code == status
    assert client.get(address).status_code == 404
    assert AuditEvent.objects.filter(did="revoked own page").count() == 1


def test_an_address_of_another_club_can_neither_be_made_nor_ended(log_in, head, stranger):
    theirs = f.PlayerFactory(squad__club=stranger.clubs.get(), squad__slug="theirs")
    own_address(theirs)
    client = log_in(head)
    assert client.post(page("revoke_player_link", link=PlayerLink.objects.get().pk)).status_code == 404
    assert client.get(page("player_links", squad="theirs")).status_code == 404


@pytest.mark.parametrize("whom", ["", "0", "somebody", "9" * 40])
def test_for_nobody_in_the_squad_no_address_is_made(log_in, head, squad, players, whom):
    for asked in (whom, str(f.PlayerFactory().pk)):
        assert addresses_on(give(log_in(head), squad, asked)) == []
    assert not PlayerLink.objects.exists()


def test_slips_of_minors_hold_no_whole_family_name_and_a_word_on_guardians(log_in, head, squad, players):
    squad.age_from = 16
    squad.save()
    text = give(log_in(head), squad, "all").content.decode()
    assert re.findall(r"<h2>(.*?)</h2>", text) == ["Oswin A.", "Oswin B.", "Oswin C."]
    assert "Oswin Ash" not in text
    assert "parent or guardian" in text


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_queries_for_one_as_for_three(log_in, head, squad, count, django_assert_num_queries):
    for _number in range(count):
        own_address(f.PlayerFactory(squad=squad))
    client = log_in(head)
    with django_assert_num_queries(5):
        assert client.get(page("player_links", squad=squad.slug)).status_code == 200


def test_the_database_keeps_one_whole_digest_for_each_player(players):
    row = {"made_at": timezone.now()}
    PlayerLink.objects.create(player=players[0], digest="a" * 64, **row)
    wrong = ({"player": players[1], "digest": "b" * 63}, {"player": players[1], "digest": "a" * 64},
             {"player": players[0], "digest": "c" * 64})  # fmt: skip
    for fields in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            PlayerLink.objects.create(**fields, **row)
