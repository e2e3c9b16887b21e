"""A drill in words: figures, ladders, and the safety box."""

import pytest

from drills import words
from drills.ladders import Steps
from drills.models import Drill
from drills.safety import safety_box
from tests import factories as f


@pytest.fixture
def drill(db):
    return f.DrillFactory(
        number=7,
        groups=["FR", "B3"],
        needs={"FR": 6},
        kit=[
            {"item": "cones", "count": 4, "per": 4},
            {"item": "balls", "count": 1, "per": 4},
            {"item": "bibs", "count": 12, "per": None},
            {"item": "shields", "count": 1, "per": 1},
        ],
        grid_per=4,
        age_from=14,
    )


def test_figures_are_told_as_a_coach_says_them(drill):
    assert words.players(drill) == "4–30, best 12"
    assert words.minutes(drill) == "5–20, best 10 min"
    assert words.grid(drill) == "20 × 20 m for every 4"
    assert words.kit(drill) == "4 cones, 1 ball for every 4; 12 bibs in all; 1 shield for each player"
    assert words.groups(drill) == "front row, back three"
    assert words.needs(drill) == "6 front row"
    assert words.age(drill) == "U14 and older"


def test_what_is_nothing_special_is_told_shortly(db):
    drill = f.DrillFactory(players_least=8, players_ideal=8, players_most=8)
    assert words.players(drill) == "8"
    assert words.grid(drill) == "20 × 20 m"
    assert (words.kit(drill), words.contacts(drill), words.needs(drill)) == ("", "", "")
    assert (words.groups(drill), words.age(drill)) == ("everyone", "any age")


@pytest.mark.parametrize(
    ("rung", "told"),
    [
        ("C0", "no contact"),
        ("C1", "touch only, 30 % of the time"),
        ("C2", "controlled, 30 % of the time"),
        ("C4", "full contact, 30 % of the time"),
        ("SP3", "live set piece, 30 % of the time"),
    ],
)
def test_contact_is_told_in_words(rung, told):
    assert words.contact(Drill(rung=rung, contact_share=30)) == told


def test_neighbours_stand_on_the_nearest_steps_that_have_cards(club):
    ladder = f.LadderFactory(club=club)
    on = {n: f.DrillFactory(club=club, number=n, ladder=ladder, step=step) for n, step in [(1, 0), (2, 0), (3, 2)]}
    top = f.DrillFactory(club=club, number=4, ladder=ladder, step=4)
    f.DrillFactory(club=club, number=5, ladder=ladder, step=1, retired_on="2026-10-01")
    f.DrillFactory(club=club, number=6, ladder=f.LadderFactory(club=club), step=1)
    off = f.DrillFactory(club=club, number=7)
    steps = Steps.of(club)
    assert steps.beside(on[3]).lower == (on[1], on[2])
    assert steps.beside(on[3]).higher == (top,)
    assert (steps.beside(on[1]).lower, steps.beside(top).higher) == ((), ())
    assert (steps.beside(off).lower, steps.beside(off).higher) == ((), ())


DEFERS = "Your union's regulations and medical staff decide; this card does not."


@pytest.mark.parametrize(
    ("rung", "barred", "rules", "asks"),
    [
        ("C0", "", 0, False),
        ("C1", "Not in the contact: anyone marked NC or not cleared for C1, touch and grip.", 1, False),
        ("C2", "Not in the contact: anyone marked NC or not cleared for C2, bags and pads.", 3, False),
        ("C3", "Not in the contact: anyone marked NC or not cleared for C3, controlled.", 3, False),
        ("C4", "Not in the contact: anyone marked NC or not cleared for C4, live.", 3, True),
        (
            "SP3",
            "Not in the contact: anyone marked NC or not cleared for SP3, set piece, contested.",
            3,
            True,
        ),
    ],
)
def test_the_safety_box_grows_with_the_rung(rung, barred, rules, asks):
    box = safety_box(Drill(rung=rung, safety=["Own note."]))
    assert (box.notes, box.barred, len(box.rules), bool(box.check)) == (("Own note.",), barred, rules, asks)
    assert (box.stop, box.defers) == (("“Freeze” stops the drill; anyone may call it.", DEFERS) if barred else ("", ""))
