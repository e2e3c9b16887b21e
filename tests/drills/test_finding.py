"""Finding drills: each filter by itself, and several at once."""

import pytest
from django.http import QueryDict

from drills.forms import FindForm
from drills.models import Drill
from tests import factories as f


@pytest.fixture
def found(club):
    """`found("players=12&rung=C0")`: numbers of the drills that a filter lets through."""

    def numbers(query=""):
        form = FindForm(QueryDict(query), club=club)
        return list(form.found_in(Drill.objects.of(club)).values_list("number", flat=True))

    return numbers


def make(club, number, **more):
    return f.DrillFactory(club=club, number=number, **more)


def test_without_a_filter_every_current_drill_of_the_club_is_found(club, found):
    make(club, 2)
    make(club, 1)
    make(club, 3, retired_on="2026-10-01")
    f.DrillFactory(number=4)
    assert found() == [1, 2]
    assert found("retired=on") == [3]


@pytest.mark.parametrize(
    ("words", "numbers"),
    [
        ("gate", [1]),
        ("GATE narrow", [1]),
        ("narrow fence", []),
        ("corner", [2]),
        ("wheelbarrow", [3]),
        ("9 of 10", [4]),
        ("Jackal", [5]),
        ("21", [21]),
        ("#21", [21]),
        ("100%", []),
        ("٢١", [21]),
        ("²", []),
    ],
)
def test_words_stand_in_name_purpose_set_up_measure_skill_or_number(club, found, words, numbers):
    make(club, 1, name="Narrow Gate")
    make(club, 2, purpose="Turn the corner so that nobody is left.")
    make(club, 3, set_up="One wheelbarrow of cones.")
    make(club, 4, success="9 of 10 held")
    make(club, 5, skills={"U10": 100})
    club.skills.filter(code="U10").update(name="Breakdown contest (jackal)")
    make(club, 21)
    query = QueryDict(mutable=True)
    query["q"] = words
    assert found(query.urlencode()) == numbers


def test_a_skill_finds_the_drills_that_teach_it_with_any_share(club, found):
    make(club, 1, skills={"I04": 90, "U01": 10})
    make(club, 2, skills={"U01": 100})
    make(club, 3)
    assert found("skill=U01") == [1, 2]


def test_a_position_group_finds_its_own_drills_and_those_for_everyone(club, found):
    make(club, 1, groups=["FR", "SR"])
    make(club, 2, groups=["all"])
    make(club, 3, groups=["HB"])
    assert found("group=SR") == [1, 2]


@pytest.mark.parametrize(("players", "numbers"), [(3, []), (4, [1]), (12, [1, 2]), (13, [2])])
def test_players_i_have_lie_between_least_and_most(club, found, players, numbers):
    make(club, 1, players_least=4, players_ideal=8, players_most=12)
    make(club, 2, players_least=12, players_ideal=16, players_most=20)
    assert found(f"players={players}") == numbers


def test_minutes_i_have_are_enough_for_the_shortest_run(club, found):
    make(club, 1, minutes_least=5)
    make(club, 2, minutes_least=8)
    assert found("minutes=7") == [1]


def test_rung_and_ladder_filter_exactly(club, found):
    ladder = f.LadderFactory(club=club, code="A")
    make(club, 1, rung="C1", ladder=ladder, step=1)
    make(club, 2, rung="C1")
    make(club, 3, ladder=ladder, step=0)
    assert (found("rung=C1"), found("ladder=A"), found("ladder=A&rung=C1")) == ([1, 2], [1, 3], [1])


def test_a_filter_that_makes_no_sense_finds_nothing_and_says_why(club):
    make(club, 1)
    form = FindForm(QueryDict("players=many&rung=C7"), club=club)
    assert list(form.found_in(Drill.objects.of(club))) == []
    assert form.errors == {
        "players": ["Enter a whole number."],
        "rung": ["Select a valid choice. C7 is not one of the available choices."],
    }
