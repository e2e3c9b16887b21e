"""Finding drills: each filter by itself, and several at once."""

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from drills.core.folding import fold
from drills.forms import FindForm
from drills.models import Drill, Store
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
    make(club, 2, name="Second", purpose="Turn the corner so that nobody is left.")
    make(club, 3, name="Third", set_up="One wheelbarrow of cones.")
    make(club, 4, name="Fourth", success="9 of 10 held")
    make(club, 5, name="Fifth", skills={"U10": 100})
    club.skills.filter(code="U10").update(name="Breakdown contest (jackal)")
    make(club, 21, name="Last")
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


def test_words_are_found_without_their_accents_and_capitals_and_in_every_text_of_a_card(club, found):
    make(club, 1, name="Défense glissée")
    make(club, 2, cues=["STRASSE zu", "feet first", "stay square"])
    make(club, 3, faults=[{"fault": "Dog-leg", "fix": "Wait for the inside"}] * 3)
    make(club, 4, runs=["Straße frei.", "Stop."])
    assert found("q=DEFENSE") == [1]
    assert found("q=GLISSÉE") == [1]
    assert found("q=strasse") == [2, 4]
    assert found("q=inside+dog-leg") == [3]


def test_no_word_is_found_across_two_texts_and_a_percent_sign_is_a_percent_sign(club, found):
    make(club, 1, name="Line", purpose="Speed of all.")
    make(club, 2, success="9 of 10, 90% in line_speed")
    assert found("q=linespeed") == []
    assert (found("q=90%25"), found("q=line_speed"), found("q=line%25speed")) == ([2], [2], [])


def test_a_renamed_skill_finds_its_cards_by_the_new_name_at_once(club, found):
    make(club, 1, skills={"U10": 100})
    club.skills.filter(code="U10").update(name="Poaching")
    assert (found("q=poach"), found("q=Front-on")) == ([1], [])


def test_a_family_finds_each_drill_once_however_many_of_its_skills_it_teaches(club, found):
    make(club, 1, skills={"U01": 50, "U02": 50})
    make(club, 2)
    assert (found("family=U"), found("family=I"), found("family=K")) == ([1], [2], [])


@pytest.mark.parametrize(
    ("grass", "numbers"),
    [
        ("width=20&length=40", [1, 2]),
        ("width=40&length=20", [1, 2]),
        ("width=19&length=100", []),
        ("width=20&length=20", [1]),
        ("width=20&length=20&players=8", []),
        ("width=20&length=40&players=8", [1, 2]),
        ("width=39&length=39&players=8", []),
        ("width=20&length=80&players=16", [1, 2]),
        ("width=20&length=79&players=16", []),
    ],
)
def test_grass_must_hold_the_grids_that_the_players_fill(club, found, grass, numbers):
    """Drill 1 is a grid of 20 x 20 m for each four, drill 2 one of 20 x 40 m for eight."""
    make(club, 1, grid_width=20, grid_length=20, grid_per=4, players_least=4)
    make(club, 2, grid_width=20, grid_length=40, grid_per=8, players_least=8)
    if "players" in grass:
        numbers = [number for number in numbers if number in found(grass.rpartition("&")[2])]
    assert found(grass) == numbers


def test_a_grid_for_all_is_one_whatever_their_number(club, found):
    make(club, 1, grid_width=50, grid_length=60, grid_per=None, players_most=40)
    assert (found("width=70&length=50"), found("width=60&length=50&players=40"), found("width=59&length=60")) == (
        [1],
        [1],
        [1],
    )
    assert found("width=49&length=100") == []


def test_half_of_a_grass_is_refused_in_words(club):
    make(club, 1)
    form = FindForm(QueryDict("width=20"), club=club)
    assert list(form.found_in(Drill.objects.of(club))) == []
    assert form.non_field_errors() == ["Grass has a width and a length: fill in both, or neither."]


def test_an_age_grade_finds_what_it_is_old_enough_for(club, found):
    make(club, 1, age_from=0)
    make(club, 2, age_from=14)
    make(club, 3, age_from=18)
    assert (found("age=13"), found("age=14"), found("age=18")) == ([1], [1, 2], [1, 2, 3])


def test_kit_in_store_is_asked_for_the_players_of_tonight_or_the_fewest(club, found):
    make(club, 1, kit=[{"item": "bags", "count": 1, "per": 4}], players_least=4)
    make(club, 2, kit=[{"item": "mats", "count": 1, "per": None}])
    make(club, 3, kit=[{"item": "balls", "count": 99, "per": None}])
    make(club, 4, kit=[])
    assert found("store=on") == [1, 2, 3, 4]
    Store.objects.create(club=club, kit={"bags": 2, "mats": 0})
    assert found("store=on") == [1, 3, 4]
    assert found("store=on&players=8") == [1, 3, 4]
    assert found("store=on&players=9") == [3, 4]


def test_filters_narrow_one_another_and_stand_in_the_address(club, found):
    for number, more in enumerate(({"age_from": 18}, {"minutes_least": 9}, {"rung": "C1"}, {}), 1):
        make(club, number, **more)
    assert found("age=14&minutes=8&rung=C0&players=12&q=hold&width=20&length=20&family=I&store=on") == [4]


def test_what_ran_lately_is_asked_of_whoever_knows(club):
    ran = make(club, 1)
    other = make(club, 2)
    form = FindForm(QueryDict("unused=6"), club=club, used=lambda of, weeks: {ran.pk} if weeks == 6 else set())
    assert list(form.found_in(Drill.objects.of(club))) == [other]
    assert "unused" not in FindForm(QueryDict("unused=6"), club=club).fields


@given(st.text(max_size=40))
def test_folding_twice_is_folding_once_and_knows_no_capitals(text):
    assert fold(fold(text)) == fold(text)
    assert fold(text.upper()) == fold(text.lower()) or not text.isascii()
