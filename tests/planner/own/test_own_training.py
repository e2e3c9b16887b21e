"""What a player sees of his own training: his numbers, their load, his skill minutes, and nothing of anybody else."""

from __future__ import annotations

import re

import pytest

from planner.link_models import PlayerLink
from planner.record_actions import confirm_night
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from squads.models import Clearance
from tests.planner.block_cast import wish
from tests.planner.ledger.cast import MONDAY
from tests.planner.ledger.conftest import on  # noqa: F401 - a fixture
from tests.planner.own.cast import own_address
from tests.planner.record.conftest import NEXT_DAY, evening  # noqa: F401 - a fixture


@pytest.fixture
def asked(evening, head, on):  # noqa: F811
    """The evening confirmed; the first player said 5, the second 9."""
    for number, player in enumerate(evening.players):
        player.given_name, player.family_name = f"Oswin{number}", f"Hartlebury{number}"
        player.save()
    session = evening.session
    confirm_night(session=session, by=head, version=session.plan_version, now=NEXT_DAY)
    says = [Told(player, Occasion(session=session), 5 + 4 * n) for n, player in enumerate(evening.players[:2])]
    note_rpe(told=says, by=head, now=NEXT_DAY)
    return evening


def page_of(client, player) -> str:
    answer = client.get(own_address(player) + "training/")
    assert answer.status_code == 200
    return answer.content.decode()


def test_he_sees_his_number_his_load_and_his_skill_minutes(asked, client):
    text = page_of(client, asked.players[0])
    assert "Tue 6 Oct: training 5 × 34 min = <b>170 AU</b>" in text
    assert "Front-on tackle: <b>24 min</b>" in text
    assert "is no advice to do more or less" in text


def test_what_is_missing_of_his_is_said(asked, client):
    text = page_of(client, asked.players[3])
    assert "training ? × 34 min" in text
    assert "training: no number of how hard it was" in text


def test_nothing_of_others_no_target_no_ratio_and_no_drill_is_there(asked, client):
    wish(asked.cast.squad, "I04", 30)
    text = page_of(client, asked.players[0])
    assert "306" not in text  # 9 x 34, of the second player
    assert not re.search(r"Oswin[1-7]|Hartlebury|Live|Bags|Rope|of 30 min|onotony|train of|coupled", text)


def test_no_word_on_his_health_is_there(asked, client):
    player = asked.players[0]
    before = page_of(client, player)
    Clearance.objects.create(
        player=player, level="none", from_day=MONDAY, decided_on=MONDAY, decided_by="R. Lomax", decided_as="physio"
    )
    assert page_of(client, player) == before


def test_it_opens_by_the_secret_only_and_is_kept_nowhere(asked, client):
    address = own_address(asked.players[0]) + "training/"
    answer = client.get(address)
    assert (answer["Cache-Control"], answer["X-Robots-Tag"]) == ("no-store", "noindex, nofollow, noarchive")
    assert client.post(address).status_code == 405
    plain = client.get("/own/" + "x" * 43 + "/")
    asked.cast.squad.players.filter(pk=asked.players[0].pk).update(left=MONDAY)
    for gone in (client.get(address), client.get("/own/" + "x" * 43 + "/training/")):
        assert (gone.status_code, gone.content) == (404, plain.content)
    asked.cast.squad.players.filter(pk=asked.players[0].pk).update(left=None)
    PlayerLink.objects.all().delete()
    assert client.get(address).status_code == 404


def test_the_own_page_leads_there_and_back(asked, client):
    address = own_address(asked.players[0])
    assert 'href="training/"' in client.get(address).content.decode()
    assert 'href="../"' in client.get(address + "training/").content.decode()
