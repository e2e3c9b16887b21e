"""What the tables themselves keep out, each constraint both ways."""

import pytest
from django.db import IntegrityError, transaction

from drills.models import DrillSkill
from tests import factories as f


def refused(**fields):
    with transaction.atomic(), pytest.raises(IntegrityError) as error:
        f.DrillFactory(**fields)
    return str(error.value)


@pytest.mark.parametrize(
    ("good", "bad", "name"),
    [
        ({"rung": "C4", "contact_share": 30}, {"rung": "C5"}, "drill_rung_known"),
        ({"rpe": 10}, {"rpe": 11}, "drill_rpe_1_to_10"),
        ({"rpe": 1}, {"rpe": 0}, "drill_rpe_1_to_10"),
        ({"rung": "C1", "contact_share": 100}, {"rung": "C1", "contact_share": 101}, "contact_share_at_most_100"),
        ({"players_least": 12}, {"players_least": 13}, "drill_players_in_order"),
        ({"players_ideal": 30}, {"players_ideal": 31}, "drill_players_in_order"),
        ({"players_least": 1}, {"players_least": 0}, "drill_players_in_order"),
        ({"minutes_ideal": 20}, {"minutes_ideal": 21}, "drill_minutes_in_order"),
        ({"rung": "C1", "contact_share": 5}, {"rung": "C0", "contact_share": 5}, "walk_through_without_contact"),
        ({"rung": "C1", "contacts_most": 5}, {"rung": "C0", "contacts_most": 5}, "walk_through_without_contact"),
        (
            {"rung": "C1", "contacts_least": 5, "contacts_most": 5},
            {"rung": "C1", "contacts_least": 6, "contacts_most": 5},
            "drill_contacts_in_order",
        ),
    ],
)
def test_a_drill_row_keeps_its_rules(db, good, bad, name):
    assert f.DrillFactory(**good).pk
    assert name in refused(**bad)


def test_a_drill_on_a_ladder_has_a_step(club):
    ladder = f.LadderFactory(club=club)
    assert f.DrillFactory(club=club, ladder=ladder, step=0).pk
    assert "drill_on_a_ladder_has_a_step" in refused(club=club, ladder=ladder)


def test_a_number_is_unique_in_a_club_only(club):
    f.DrillFactory(club=club, number=5)
    assert f.DrillFactory(number=5).pk
    with pytest.raises(IntegrityError):
        f.DrillFactory(club=club, number=5)


@pytest.mark.parametrize("share", [0, 101])
def test_a_share_is_one_to_a_hundred(club, share):
    drill = f.DrillFactory(club=club)
    assert DrillSkill.objects.create(drill=drill, skill=f.SkillFactory(club=club, code="U01"), share=100).pk
    with pytest.raises(IntegrityError):
        DrillSkill.objects.create(drill=drill, skill=f.SkillFactory(club=club, code="U02"), share=share)


def test_a_drill_names_a_skill_once(club):
    drill = f.DrillFactory(club=club, skills={"I04": 50})
    with pytest.raises(IntegrityError):
        DrillSkill.objects.create(drill=drill, skill=f.SkillFactory(club=club, code="I04"), share=50)


def test_kit_and_ground_grow_with_the_grids_that_players_fill(db):
    kit = [{"item": "cones", "count": 4, "per": 4}, {"item": "balls", "count": 2, "per": None}]
    drill = f.DrillFactory(grid_width=5, grid_length=10, grid_per=4, kit=kit)
    assert [(drill.grids(n), drill.area(n), drill.kit_for(n)) for n in (4, 5)] == [
        (1, 50, {"cones": 4, "balls": 2}),
        (2, 100, {"cones": 8, "balls": 2}),
    ]
