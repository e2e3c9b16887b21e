"""A night as it is found: coaches, grass, light and kit, what still works with them, and the plan made of them."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from planner.attendance_tonight import tonight_of
from planner.build import problem_of
from planner.changes import Refused
from planner.models import Session
from planner.tonight_actions import say_what_is_found
from planner.tonight_models import Found
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import small_block, stand

MONDAY, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)


@pytest.fixture
def cast(squad, monkeypatch):
    """Ash, Bo and Cy on a night of two slots; side by side in the first, two stations."""
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: TUESDAY)
    cast = small_block(squad)
    stand(cast.slot(order=1), cast.drills[0], cast.players[:4], coach="Ash")
    stand(cast.slot(order=1), cast.drills[1], cast.players[4:], order=1, coach="Bo")
    stand(cast.slot(order=2), cast.drills[2], cast.players, coach="Cy")
    return cast


@pytest.fixture
def found(cast, head):
    def say(by=head, **values):
        say_what_is_found(session=cast.nights[0], by=by, today=TUESDAY, **values)
        cast.nights[0].refresh_from_db()
        return {str(w.each.station.drill): w.reasons for w in tonight_of(cast.nights[0], TUESDAY).stations}

    return say


def url(name: str, cast) -> str:
    return reverse(name, kwargs={"club": "brackenford", "session": cast.nights[0].pk})


def form_of(client, cast, **given) -> dict:
    """What the form of the page would send, as it opens, with some of it changed."""
    form = client.get(url("tonight", cast)).context["form"]
    shown = {name: "" if (value := form[name].value()) is None else value for name in form.fields}
    return shown | given


def test_one_coach_for_two_stations_says_which_do_not_work_and_why(cast, found):
    told = found(coaches=1, coach_names=["Ash"])
    both = "Tue 6 Oct, slot 2 uses 2 coaches, but there are 1."
    assert told == {str(cast.drills[0]): (both,), str(cast.drills[1]): (both,), str(cast.drills[2]): ()}


def test_a_drill_whose_card_asks_for_no_coach_does_not_run_without_an_adult_either(cast, found):
    type(cast.drills[2]).objects.update(coaches=0)
    told = found(coaches=0, coach_names=[], helpers=3)
    assert told[str(cast.drills[2])] == ("Tue 6 Oct, slot 3 uses 1 coaches, but there are 0.",)


def test_half_the_grass_less_kit_and_the_end_of_the_light_are_told(cast, found):
    type(cast.drills[0]).objects.filter(pk=cast.drills[0].pk).update(kit=[{"item": "shields", "count": 6, "per": None}])
    told = found(width=20, length=30, kit={"shields": 2}, lights_until=dt.time(19, 30))
    assert "Tue 6 Oct, slot 2 uses 800 m² of area, but there are 600." in told[str(cast.drills[0])]
    assert any("shields" in words for words in told[str(cast.drills[0])])
    assert told[str(cast.drills[2])] == ("The lights go off before it ends.",)


def test_the_planner_reckons_with_what_is_found_and_other_nights_stay_as_planned(cast, found):
    found(coaches=1, coach_names=["Ash"], width=30, length=40, stations=2, kit={"balls": 3})
    tonight, thursday = problem_of(cast.block, today=TUESDAY).problem.sessions[:2]
    assert (tonight.coaches, tonight.area, tonight.stations, tonight.kit) == (1, 1200, 2, {"balls": 3})
    assert (thursday.coaches, thursday.area) == (3, 68 * 50)


def test_every_word_is_kept_with_who_said_it_and_the_newest_counts(cast, found, head, assistant):
    found(coaches=2, coach_names=["Ash", "Bo"])
    found(by=assistant, coaches=1, coach_names=["Ash"], helpers=2)
    found(by=assistant, coaches=1, coach_names=["Ash"], helpers=2)
    first, second = Found.objects.all()
    assert [first.by_name, second.by_name] == [str(head), str(assistant)]
    assert (first.was["coaches"], second.was["coaches"], second.adults, second.helpers) == (3, 2, 1, 2)
    assert cast.nights[0].coaches == 1
    assert AuditEvent.objects.filter(did="said what is found").count() == 2
    for change in (first.save, Found.objects.update):
        with pytest.raises(TypeError, match="never changed"):
            change()


@pytest.mark.parametrize("values", [{"by_name": ""}, {"width": 0}, {"length": 0}])
def test_the_database_refuses_a_row_without_a_name_or_grass(cast, values):
    row = {"session": cast.nights[0], "adults": 1, "stations": 2, "width": 5, "length": 5, "by_name": "Ash"}
    Found.objects.create(**row)
    with pytest.raises(IntegrityError), transaction.atomic():
        Found.objects.create(**row | values)


@pytest.mark.parametrize("today", [MONDAY, dt.date(2026, 10, 7)])
def test_on_another_day_it_is_refused_with_the_way_to_change_it(cast, head, today):
    with pytest.raises(Refused, match="in the calendar"):
        say_what_is_found(session=cast.nights[0], by=head, today=today, coaches=1)
    assert not Found.objects.exists()


def test_a_session_that_does_not_take_place_is_refused(cast, head):
    cast.nights[0].cancelled = True
    with pytest.raises(Refused, match="does not take place"):
        say_what_is_found(session=cast.nights[0], by=head, today=TUESDAY, coaches=1)


# The form


def test_unticking_two_coaches_on_the_page_is_enough(cast, assistant, log_in):
    client = log_in(assistant)
    answer = client.post(url("as_found", cast), form_of(client, cast, names=["Ash"], helpers=1), follow=True)
    text = answer.content.decode()
    assert "judged by it" in text
    assert "uses 2 coaches, but there are 1." in text
    assert "Planned: coaches 3." in " ".join(text.split())
    session = Session.objects.get(pk=cast.nights[0].pk)
    assert (session.coaches, session.coach_names) == (1, ["Ash"])
    assert Found.objects.get().helpers == 1


def test_somebody_who_was_left_out_can_be_ticked_again(cast, head, log_in):
    client = log_in(head)
    client.post(url("as_found", cast), form_of(client, cast, names=["Ash"]))
    client.post(url("as_found", cast), form_of(client, cast, names=["Ash", "Cy"], more="D. Elm,  F. Gorse", unnamed=1))
    session = Session.objects.get(pk=cast.nights[0].pk)
    assert (session.coaches, session.coach_names) == (5, ["Ash", "Cy", "D. Elm", "F. Gorse"])


def test_the_form_as_it_opens_changes_nothing(cast, head, log_in):
    client, before = log_in(head), Session.objects.values().get(pk=cast.nights[0].pk)
    answer = client.post(url("as_found", cast), form_of(client, cast), follow=True)
    assert "Nothing of this is new." in answer.content.decode()
    assert Session.objects.values().get(pk=cast.nights[0].pk) == before


def test_a_night_without_names_counts_heads(squad, head, log_in, cast):
    Session.objects.filter(pk=cast.nights[0].pk).update(coach_names=[])
    client = log_in(head)
    client.post(url("as_found", cast), form_of(client, cast, unnamed=2))
    assert Session.objects.get(pk=cast.nights[0].pk).coaches == 2


@pytest.mark.parametrize("given", [{"width": 0}, {"stations": ""}, {"helpers": -1}, {"kit_balls": "many"}])
def test_what_cannot_be_read_is_said_and_nothing_is_written(cast, head, log_in, given):
    client, before = log_in(head), Session.objects.values().get(pk=cast.nights[0].pk)
    answer = client.post(url("as_found", cast), form_of(client, cast, names=["Ash"], **given))
    assert answer.context["form"].errors
    assert answer.content.decode().count('<details class="found" id="found" open>') == 1
    assert Session.objects.values().get(pk=cast.nights[0].pk) == before
    assert not Found.objects.exists()


def test_the_page_takes_as_many_queries_after_more_was_said(cast, head, log_in, found, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client, counts = log_in(head), []
    for coaches in (2, 1):
        found(coaches=coaches, coach_names=["Ash"])
        client.get(url("tonight", cast))
        with CaptureQueriesContext(connection) as queries:
            client.get(url("tonight", cast))
        counts.append(len(queries))
        f.PlayerFactory.create_batch(2, squad=cast.squad)
    assert counts[0] == counts[1]
