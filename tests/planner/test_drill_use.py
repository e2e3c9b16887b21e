"""When drills ran, which the library asks of the planner, and which version of a card a night had."""

import datetime as dt

import pytest
from django.urls import reverse

from drills.actions import add_drill, edit_drill
from drills.models import Drill
from planner.drill_use import as_on, nights_with, ran_lately
from planner.models import Station
from planner.sheets import cards_tonight, sheet_of
from shared.clock import today_at
from tests import factories as f
from tests.drills.packs import entry, teach

NIGHT = dt.datetime(2026, 10, 6, 19, 0, tzinfo=f.LONDON)
WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def drill(club, head):
    teach(club)
    return add_drill(club, entry(), by=head, today=dt.date(2026, 9, 1))


def run(squad, drill, at=NIGHT, **more):
    session = f.SessionFactory(squad=squad, starts_at=at, **more)
    Station.objects.create(slot=session.slots.first(), drill=drill)
    return session


def noon(club, days):
    day = today_at(club) + dt.timedelta(days=days)
    return dt.datetime.combine(day, dt.time(12), tzinfo=club.tzinfo)


def test_a_drill_ran_lately_if_it_stood_in_a_session_that_took_place(squad):
    club = squad.club
    when = {0: "tonight", -13: "thirteen days ago", -14: "two weeks ago", 3: "to come"}
    drills = {days: f.DrillFactory(club=club) for days in when}
    for days, drill in drills.items():
        run(squad, drill, at=noon(club, days))
    called_off = f.DrillFactory(club=club)
    run(squad, called_off, at=noon(club, -1), cancelled=True)
    f.DrillFactory(club=club, name="Never run")
    assert ran_lately(club, 2) == {drills[0].pk, drills[-13].pk}
    assert ran_lately(club, 3) == {drills[0].pk, drills[-13].pk, drills[-14].pk}


def test_the_library_finds_what_was_not_run_for_so_many_weeks(squad, assistant, log_in):
    club = squad.club
    lately, long_ago, never = (f.DrillFactory(club=club, number=n) for n in (1, 2, 3))
    run(squad, lately, at=noon(club, -3))
    run(squad, long_ago, at=noon(club, -40))
    address = reverse("drills", kwargs={"club": club.slug})
    page = log_in(assistant).get(address + "?unused=4")
    assert [line.drill for line in page.context["lines"]] == [long_ago, never]


def test_a_night_names_the_version_of_the_card_that_stood_on_it(squad, drill, head, assistant, log_in):
    early = f.SessionFactory(squad=squad, starts_at=NIGHT - 6 * WEEK)
    Station.objects.create(slot=early.slots.first(), drill=drill)
    first, second = run(squad, drill), run(squad, drill, at=NIGHT + WEEK)
    edit_drill(drill, entry(rpe=7), version=1, by=head, today=NIGHT.date() + dt.timedelta(1))
    drill = Drill.objects.get()
    today = NIGHT.date() + dt.timedelta(2)
    assert [(night.session, night.version, night.is_past) for night in nights_with(drill, today)] == [
        (second, 2, False),
        (first, 1, True),
        (early, 0, True),
    ]
    page = log_in(assistant).get(reverse("drill_nights", kwargs={"club": squad.club.slug, "number": 7})).content
    assert "the card is younger than the night" in page.decode()


def test_only_cards_that_have_changed_since_are_put_back(drill, head):
    other = add_drill(drill.club, entry(number=8), by=head, today=dt.date(2026, 9, 1))
    edit_drill(drill, entry(rpe=7), version=1, by=head, today=dt.date(2026, 10, 7))
    drills = list(Drill.objects.all())
    assert {key: kept.version for key, kept in as_on(NIGHT.date(), drills).items()} == {drill.pk: 1}
    assert as_on(dt.date(2026, 10, 7), drills) == {}
    assert other in drills


def test_paper_of_a_night_that_is_past_says_what_its_cards_said_then(squad, drill, head):
    session = run(squad, drill)
    edit_drill(drill, entry(rpe=7, name="New Name"), version=1, by=head, today=dt.date(2026, 10, 9))
    for today, told in ((NIGHT.date(), ("New Name", 7, 2)), (dt.date(2026, 10, 12), ("Rope and Cone", 6, 1))):
        (card,) = cards_tonight(sheet_of(session, today))
        assert (card.drill.name, card.drill.rpe, card.drill.version) == told


@pytest.mark.parametrize("count", [1, 3])
def test_nights_of_a_drill_take_the_same_queries_for_any_number(
    squad, drill, assistant, log_in, count, django_assert_num_queries
):
    for week in range(count):
        run(squad, drill, at=NIGHT + week * WEEK)
    client = log_in(assistant)
    with django_assert_num_queries(8):  # session, user, membership, drill, shares, skills; versions, nights
        client.get(reverse("drill_nights", kwargs={"club": squad.club.slug, "number": 7}))
