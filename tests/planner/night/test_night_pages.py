"""Who is here, and what still works on the night."""

from __future__ import annotations

import datetime as dt
import json
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.attendance_actions import Said, note_replies
from planner.attendance_models import Mark
from planner.attendance_tonight import tonight_of
from planner.models import Station
from squads.models import Clearance
from tests import factories as f
from tests.planner.block_cast import small_block, stand

TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def cast(squad, monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: TUESDAY)
    cast = small_block(squad)
    stand(cast.slot(order=1), cast.drills[0], cast.players, coach="Ash")
    stand(cast.slot(order=2), cast.drills[1], cast.players, coach="Bo")
    return cast


def url(name: str, cast, **more) -> str:
    return reverse(name, kwargs={"club": "brackenford", "session": cast.nights[0].pk} | more)


def press(client, cast, player, state, **more):
    return client.post(url("here", cast), {"tap": f"{player.pk}:{state}", **more}, follow=True).content.decode()


def sent(client, cast, *taps) -> dict:
    body = json.dumps({"taps": list(taps)})
    return client.post(url("here_marks", cast), body, content_type="application/json")


def tap(player, state, minute=0, seen=()) -> dict:
    at = (dt.datetime(2026, 10, 6, 19, tzinfo=f.LONDON) + dt.timedelta(minutes=minute)).isoformat()
    return {"key": str(uuid.uuid4()), "player": player.pk, "state": state, "at": at, "seen": list(seen)}


def test_one_button_marks_a_player_and_undo_takes_it_back(cast, assistant, log_in):
    client, player = log_in(assistant), cast.players[0]
    text = press(client, cast, player, "here")
    assert '<b data-count="here">1</b>' in text
    assert f'value="{player.pk}:open">Undo' in text
    seen = Mark.objects.get().key
    assert '<b data-count="here">0</b>' in press(client, cast, player, "open", **{f"seen-{player.pk}": str(seen)})


def test_a_button_that_makes_no_sense_writes_nothing(cast, assistant, log_in):
    for value in ("", "x:here", f"{cast.players[0].pk}:asleep", "999999:here"):
        answer = log_in(assistant).post(url("here", cast), {"tap": value}, follow=True)
        assert "Nothing was marked" in answer.content.decode()
    assert not Mark.objects.exists()


def test_the_counts_tell_contact_from_non_contact(cast, assistant, log_in):
    Clearance.objects.create(
        player=cast.players[0],
        level="none",
        from_day=TUESDAY,
        decided_by="R. Ash",
        decided_as="physio",
        decided_on=TUESDAY,
    )
    client = log_in(assistant)
    press(client, cast, cast.players[0], "here")
    text = press(client, cast, cast.players[1], "late")
    for words in ("here", "contact", "nc"):
        assert f'<b data-count="{words}">{2 if words == "here" else 1}</b>' in text
    assert '<span class="nc">NC</span>' in text
    assert "R. Ash" not in text


def test_names_are_found_and_ordered_by_surname_or_group(cast, assistant, log_in):
    cast.players[3].family_name = "Aardle"
    cast.players[3].save()
    client = log_in(assistant)
    text = client.get(url("here", cast)).content.decode()
    assert text.index("Aardle") < text.index(cast.players[0].family_name)
    text = client.get(url("here", cast), {"by": "group"}).content.decode()
    assert text.index("Aardle") > text.index(cast.players[0].family_name)
    text = client.get(url("here", cast), {"find": "aard"}).content.decode()
    assert text.count('data-player="') == 1


def test_two_who_mark_differently_are_both_shown_until_somebody_taps_again(cast, assistant, head, log_in):
    player = cast.players[0]
    client = log_in(assistant)
    sent(client, cast, tap(player, "here", 1))
    answer = sent(log_in(head), cast, tap(player, "away", 2)).json()["players"][str(player.pk)]
    assert (answer["state"], answer["rivals"]) == ("away", ["assistant: here"])
    assert "Marked differently" in client.get(url("here", cast)).content.decode()
    answer = sent(client, cast, tap(player, "here", 0, answer["seen"].split(","))).json()["players"][str(player.pk)]
    assert (answer["state"], answer["rivals"]) == ("here", [])


def test_taps_sent_twice_and_out_of_order_give_the_same(cast, assistant, log_in):
    player = cast.players[0]
    first = tap(player, "here", 1)
    second = tap(player, "gone", 40, [first["key"]])
    client = log_in(assistant)
    for taps in ([second], [first, second], [first]):
        answer = sent(client, cast, *taps)
    assert answer.json()["players"][str(player.pk)]["state"] == "gone"
    assert Mark.objects.count() == 2


@pytest.mark.parametrize(
    "body",
    ["", "[]", '{"taps": 3}', '{"taps": [1]}', '{"taps": [{}]}',
     '{"taps": [{"key": "x", "player": 1, "state": "here", "at": "2026-10-06T19:00:00Z", "seen": []}]}',
     '{"taps": [{"key": "00000000-0000-0000-0000-000000000001", "player": 1, "state": "here", "at": "2026-10-06",'
     ' "seen": []}]}'],
)  # fmt: skip
def test_taps_that_cannot_be_read_get_a_sentence_and_write_nothing(cast, assistant, log_in, body):
    answer = log_in(assistant).post(url("here_marks", cast), body, content_type="application/json")
    assert answer.status_code == 422
    assert "Open the page again." in answer.json()["said"]
    assert not Mark.objects.exists()


def test_the_list_takes_as_many_queries_for_more_players_and_marks(cast, assistant, log_in):
    client, counts = log_in(assistant), []
    for _round in range(2):
        client.get(url("here", cast))
        with CaptureQueriesContext(connection) as queries:
            client.get(url("here", cast))
        counts.append(len(queries))
        sent(client, cast, *(tap(player, "here") for player in f.PlayerFactory.create_batch(2, squad=cast.squad)))
    assert counts[0] == counts[1]


# What still works


def works(cast) -> dict[str, tuple[str, ...]]:
    found = tonight_of(cast.nights[0], TUESDAY)
    return {str(each.each.station.drill): each.reasons for each in found.stations}


def change(cast, **fields) -> None:
    type(cast.nights[0]).objects.filter(pk=cast.nights[0].pk).update(**fields)


def test_every_station_works_while_nothing_has_changed(cast):
    assert set(works(cast).values()) == {()}


def test_a_station_with_fewer_than_its_least_does_not_work(cast, head, log_in):
    cast.drills[0].players_least = 8
    cast.drills[0].save()
    press(log_in(head), cast, cast.players[0], "away")
    found = works(cast)
    assert found[str(cast.drills[0])] == ("7 can come, it needs 8.",)
    assert found[str(cast.drills[1])] == ()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"coaches": 0}, "uses 1 coaches, but there are 0"),
        ({"width": 3, "length": 3}, "of area, but there are 9"),
        ({"stations": 0}, "uses 1 stations, but there are 0"),
    ],
)
def test_coaches_grass_and_stations_that_are_short_are_told_by_the_referee(cast, fields, words):
    change(cast, **fields)
    cast.nights[0].refresh_from_db()
    assert all(words in reasons[0] for reasons in works(cast).values())


def test_of_a_night_in_no_block_no_station_is_said_to_work(cast, head, log_in):
    """Its rules are judged with a block: without one nobody has looked at coaches, grass, kit or contact."""
    change(cast, coaches=0)
    cast.block.delete()
    shown = log_in(head).get(url("tonight", cast)).content.decode()
    assert shown.count("not judged</span>") == 2
    assert ">works</span>" not in shown
    assert "This night is in no block" in shown


def test_kit_that_is_short_is_told(cast):
    type(cast.drills[0]).objects.filter(pk=cast.drills[0].pk).update(kit=[{"item": "shields", "count": 6, "per": None}])
    change(cast, kit={"shields": 2})
    assert any("shields" in words for words in works(cast)[str(cast.drills[0])])


def test_live_contact_with_a_non_contact_player_is_told(cast, head, log_in):
    live = f.DrillFactory(club=cast.squad.club, name="Live", rung="C4", contact_share=25, contacts_most=4)
    Station.objects.filter(drill=cast.drills[0]).update(drill=live)
    Clearance.objects.create(
        player=cast.players[0],
        level="none",
        from_day=TUESDAY,
        decided_by="R. Ash",
        decided_as="physio",
        decided_on=TUESDAY,
    )
    assert any(str(cast.players[0]) in words for words in works(cast)[str(live)])


def test_when_the_lights_go_off_before_a_station_ends_it_is_told(cast):
    change(cast, lights_until=dt.time(19, 30))
    cast.nights[0].refresh_from_db()
    found = works(cast)
    assert found[str(cast.drills[0])] == ()
    assert found[str(cast.drills[1])] == ("The lights go off before it ends.",)


def test_who_comes_late_does_not_count_in_a_slot_that_he_misses(cast, head):
    note_replies(said=[Said(cast.players[0], cast.nights[0], True, dt.time(19, 20))], by=head)
    night = tonight_of(cast.nights[0], TUESDAY).night
    assert [each.coming for line in night.to_plan for each in line.stations] == [7, 8]
    assert any("is there from 19:20 and stands at" in words for words in night.misfits)


def test_dealing_again_marks_the_rest_and_opens_the_page_with_every_slot_chosen(cast, head, log_in):
    client = log_in(head)
    for player in cast.players[:5]:
        press(client, cast, player, "here")
    answer = client.post(url("deal_tonight", cast), follow=True)
    text = answer.content.decode()
    assert "Deal again" in text
    assert text.count("checked") == 2
    assert Mark.objects.filter(state="away").count() == 3


def test_an_assistant_sees_what_works_and_cannot_deal(cast, assistant, log_in):
    text = log_in(assistant).get(url("tonight", cast)).content.decode()
    assert "works" in text
    assert "Deal tonight again" not in text


def test_marking_away_from_the_night_leads_back_to_the_night(cast, head, log_in):
    address = reverse("squad_away", kwargs={"club": "brackenford", "squad": cast.squad.slug})
    given = {"players": [cast.players[0].pk], "first_day": TUESDAY, "last_day": TUESDAY}
    client, night = log_in(head), url("tonight", cast)
    answer = client.post(f"{address}?back={night}", given)
    assert answer.headers["Location"] == night
    assert "Deal tonight again" in client.get(night).content.decode()


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example", "/c/other/now/", ""])
def test_a_way_back_outside_the_club_is_not_taken(cast, head, log_in, back):
    address = reverse("squad_away", kwargs={"club": "brackenford", "squad": cast.squad.slug})
    given = {"players": [cast.players[0].pk], "first_day": TUESDAY, "last_day": TUESDAY}
    answer = log_in(head).post(f"{address}?back={back}", given)
    assert answer.headers["Location"].endswith(f"/squads/{cast.squad.slug}/")
