"""The drills that come with Plumbline, measured against what a card must hold (rules of our own; the trade has
no published ones)."""

import datetime as dt
from collections import Counter

import pytest

from drills.actions import add_starter_library, export_pack, starter_entries
from drills.models import Drill, Ladder, Skill
from shared.core.contact import Kind, kind_of
from shared.models import AuditEvent
from tests import factories as f

DAY = dt.date(2026, 9, 1)


@pytest.fixture
def library(club):
    add_starter_library(club, by="somebody", today=DAY)
    return club


def test_the_starter_library_is_sixty_drills_on_thirteen_ladders_and_thirty_five_skills(library):
    assert list(Drill.objects.of(library).values_list("number", flat=True)) == list(range(1, 61))
    assert (Ladder.objects.of(library).count(), Skill.objects.of(library).count()) == (13, 35)


def test_every_field_of_every_starter_drill_is_filled(library):
    may_be_empty = {"needs", "kit", "groups", "skills", "contact_share", "step"}
    empty = [
        (drill["number"], field)
        for drill in starter_entries()
        for field in drill
        if field not in may_be_empty and drill[field] in ("", [], None, {})
    ]
    assert empty == []


def test_the_names_are_all_different():
    assert [name for name, count in Counter(drill["name"] for drill in starter_entries()).items() if count > 1] == []


def test_the_shares_of_each_starter_drill_sum_to_a_hundred():
    assert {sum(share["share"] for share in drill["skills"]) for drill in starter_entries()} == {100}


def test_each_skill_is_taught_by_two_starter_drills_at_least(library):
    drills = {skill.code: skill.drill_shares.count() for skill in Skill.objects.of(library)}
    assert {code: count for code, count in drills.items() if count < 2} == {}


def test_every_ladder_rises_from_gentler_to_harder_contact():
    """A step further up never counts as a lesser kind of contact than the step below."""
    heights = list(Kind).index
    ladders: dict[str, dict[int, set[int]]] = {}
    for drill in starter_entries():
        height = min(heights(kind_of(drill["rung"])), heights(Kind.SET_PIECE))
        ladders.setdefault(drill["ladder"], {}).setdefault(drill["step"], set()).add(height)
    falls = [
        (ladder, step)
        for ladder, steps in ladders.items()
        for step in steps
        for lower in steps
        if lower < step and max(steps[lower]) > min(steps[step])
    ]
    assert falls == []


def test_adding_the_starter_library_again_adds_nothing(library):
    assert add_starter_library(library, by="somebody", today=DAY) == 0
    assert AuditEvent.objects.count() == 1


def test_a_club_keeps_its_own_drill_and_its_own_words(club):
    own = f.DrillFactory(club=club, number=5, name="Our own")
    Skill.objects.filter(club=club, code="I04").update(name="Smother")
    assert add_starter_library(club, by="somebody", today=DAY) == 59
    own.refresh_from_db()
    assert (own.name, own.version) == ("Our own", 1)
    assert Skill.objects.get(club=club, code="I04").name == "Smother"


def test_the_starter_library_given_out_is_what_came_in(library):
    assert export_pack(Drill.objects.of(library))["drills"] == starter_entries()
