"""The rules of a drill beyond its shape. They are rules of our own; the trade has no published ones."""

import pytest
from hypothesis import given

from drills.core.pack import faults
from tests.drills.packs import VOCABULARY, entries, entry


def told(**changes):
    return [(fault.field, fault.why) for fault in faults(entry(**changes), VOCABULARY)]


def share(skill, part):
    return {"skill": skill, "share": part, "roles": None}


@given(entries())
def test_a_drill_that_keeps_every_rule_has_no_fault(drill):
    assert faults(drill, VOCABULARY) == []


@pytest.mark.parametrize(
    ("changes", "field", "why"),
    [
        ({"skills": [share("I04", 60), share("U01", 30)]}, "skills", "the shares sum to 90; make them sum to 100"),
        (
            {"skills": [share("I04", 60), share("I04", 40)]},
            "skills, no. 2, skill",
            "I04 stands there twice; join the two shares",
        ),
        (
            {"skills": [share("X99", 100)]},
            "skills, no. 1, skill",
            "the club has no skill X99; add it, or use one it has",
        ),
        ({"ladder": "Z"}, "ladder", "the club has no ladder Z; add it, or write null"),
        ({"step": None}, "step", "is missing: which step of ladder A, 0 to 4?"),
        ({"ladder": None}, "ladder", "is missing: step 3 of which ladder?"),
        (
            {"groups": ["all", "HB"]},
            "groups",
            "“all” includes every other group; write it alone, or leave it out",
        ),
        ({"needs": {"SR": 2}}, "needs, SR", "needs SR, who are not among the groups that it fits"),
        ({"needs": {"HB": 9, "FR": 8}}, "needs", "needs 17 players of named groups, but takes 16 at most"),
        (
            {"players": {"least": 4, "ideal": 20, "most": 16}},
            "players",
            "least 4, ideal 20, most 16: put them in rising order",
        ),
        (
            {"minutes": {"least": 9, "ideal": 8, "most": 12}},
            "minutes",
            "least 9, ideal 8, most 12: put them in rising order",
        ),
        ({"contacts": {"least": 9, "most": 8}}, "contacts", "least 9, most 8: put them in rising order"),
        (
            {"cues": ["Feet level", "up as one and stop when I call", "Go"]},
            "cues, no. 2",
            "has 8 words; a cue that is heard has 6 at most",
        ),
        (
            {"kit": [{"item": "cones", "count": 4, "per": 4}, {"item": "cones", "count": 1, "per": 6}]},
            "kit, no. 2",
            "cones stand there twice; join the two lines",
        ),
        (
            {"rung": "C2", "contact_share": 0},
            "contact share",
            "is 0, but C2 is counted by it; say what share of the time is contact",
        ),
        (
            {"rung": "SP4", "contacts": {"least": 0, "most": 8}},
            "contacts",
            "from 0, but at SP4 every player meets contact; say how often at least",
        ),
        ({"safety": ["Jog only."]}, "safety", "has 1 notes; from C1 up a card carries 2 of its own or more"),
        (
            {"rung": "C1", "safety": []},
            "safety",
            "has 0 notes; from C1 up a card carries 2 of its own or more",
        ),
    ],
)
def test_a_broken_rule_is_told_with_its_field(changes, field, why):
    assert told(**changes) == [(field, why)]


def test_a_walk_through_has_neither_contact_share_nor_contacts():
    assert told(rung="C0") == [
        ("contact share", "is 30 %, but C0 is without contact; write 0, or choose another rung"),
        ("contacts", "up to 8, but C0 is without contact; write 0, or choose another rung"),
    ]


def test_a_walk_through_may_go_without_safety_notes():
    assert told(rung="C0", contact_share=0, contacts={"least": 0, "most": 0}, safety=[]) == []


def test_pieces_in_all_and_pieces_per_group_of_one_kind_may_stand_together():
    kit = [{"item": "balls", "count": 1, "per": 4}, {"item": "balls", "count": 4, "per": None}]
    assert told(kit=kit) == []
