"""Around the ball."""

from __future__ import annotations

import pytest

from drills.core.board.ruck import around_the_ball
from drills.core.board.scene import Call, Ruck
from tests.drills.board.scenes import scene, verdicts

# A ruck 12 m in from the left, its edges at 11.5 and 12.5: guards, bodyguards, and a third man on the open side.
MEN = {1: (11.0, 0.3), 2: (9.3, 0.3), 3: (13.0, 0.3), 4: (14.7, 0.3), 5: (17.2, 0.3)}
RUCK = Ruck(12, 40, 0.5, (6,))


def found(men=MEN, ruck=RUCK, **more) -> dict:
    return {each.rule: each for each in around_the_ball(scene(12, men, ruck=ruck, **more))}


def test_a_set_ruck_holds():
    judged = verdicts(around_the_ball(scene(12, MEN, ruck=RUCK)))
    assert judged == dict.fromkeys(("R1", "R2", "R3", "R4", "R6", "R7"), "holds")


@pytest.mark.parametrize(
    ("men", "rule", "who", "state"),
    [
        ({3: (13.9, 0.3)}, "R1", 3, "broken"),
        ({3: (13.7, 0.3)}, "R1", 3, "near"),
        ({3: (13.0, 0.9)}, "R1", 3, "broken"),
        ({3: (13.0, -0.4)}, "R1", 3, "broken"),
        ({4: (13.4, 0.3)}, "R2", 4, "broken"),
        ({2: (7.0, 0.3)}, "R2", 2, "broken"),
        ({5: (20.0, 0.3)}, "R3", 5, "broken"),
    ],
)
def test_a_man_out_of_place_is_named(men, rule, who, state):
    worst = found(MEN | men)[rule].worst
    assert (worst.who, worst.state.key) == (who, state)


def test_a_side_without_anybody_is_named():
    worst = found({3: MEN[3], 4: MEN[4], 5: MEN[5]})["R1"].worst
    assert (worst.what, worst.at, worst.value) == ("guards", "left", 0)


def test_a_narrow_short_side_needs_no_bodyguard():
    near_touch = {1: (5.0, 0.3), 3: (7.0, 0.3), 4: (8.7, 0.3), 5: (11.2, 0.3)}
    judged = found(near_touch, Ruck(6, 40, 0.5))
    assert judged["R2"].state.key == "holds"
    assert found({n: p for n, p in MEN.items() if n != 2})["R2"].worst.at == "left"


def test_three_stand_around_the_ball():
    assert found({1: (11.0, 0.3), 3: (13.0, 0.3)})["R4"].worst.value == 2
    spread = {1: (5.9, 0.3), 3: (13.0, 0.3), 4: (18.1, 0.3)}
    assert found(spread)["R4"].state.key == "broken"


def test_counts_of_each_side():
    """Left of the ruck two against two, right of it three against five."""
    attackers = ((4.0, 42.0), (9.0, 42.0), *((float(x), 42.0) for x in (15, 20, 26, 33, 41)))
    judged = found(attackers=attackers)["R5"]
    assert [(each.at, each.value, each.state.key) for each in judged.findings] == [
        ("left", 0, "holds"), ("right", -2, "broken"),
    ]  # fmt: skip


def test_one_fewer_on_the_open_side_is_near_and_right_with_drift():
    attackers = tuple((float(x), 42.0) for x in (15, 20, 26, 33))
    assert found(attackers=attackers)["R5"].state.key == "near"
    assert found(attackers=attackers, calls=frozenset({Call.DRIFT}))["R5"].state.key == "holds"


def test_a_third_man_in_the_ruck_needs_a_call():
    crowded = Ruck(12, 40, 0.5, (6, 7, 8))
    assert found(ruck=crowded)["R6"].state.key == "broken"
    assert found(ruck=crowded, calls=frozenset({Call.COUNTER_RUCK}))["R6"].why_not == "counter-ruck called"


def test_the_side_folds_in_time_if_a_spare_man_is_near():
    """The open side lacks its bodyguard; the third man of the short side runs 6 m at 7.8 m/s, about 1.8 s."""
    short = {3: MEN[3], 1: (11.0, 0.3), 2: (9.3, 0.3), 10: (8.75, 0.3)}
    worst = found(short)["R7"].worst
    assert worst.state.key == "holds"
    assert worst.value == pytest.approx(1.8, abs=0.06)
    slow = found(short | {10: (1.0, 0.3)})["R7"].worst
    assert slow.value == pytest.approx(2.96, abs=0.06)


def test_without_a_spare_man_nobody_can_fold():
    worst = found({1: MEN[1], 2: MEN[2]})["R7"].worst
    assert (worst.what, worst.value, worst.low) == ("men to fold", 0, 2)


def test_without_a_ruck_its_rules_are_not_asked():
    judged = found(ruck=None)
    assert {rule for rule, each in judged.items() if each.why_not == "no ruck"} == {"R1", "R2", "R3", "R6", "R7"}
