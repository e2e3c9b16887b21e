"""The pendulum and the half-back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.board.judge import judged
from drills.core.board.scene import Next
from tests.drills.board.scenes import BALL_LEFT, BALL_MIDDLE, scene, verdicts

PLACES = ("P1", "P2", "P3", "P4", "P5", "P6", "H1", "H2", "H3", "H4", "H5")
LEFT = {11: (7, 3), 15: (17, 22), 14: (46, 17), 9: (17, 6)}
MIDDLE = {11: (11, 10), 15: (35, 24), 14: (59, 10), 9: (38, 6)}


def states(found) -> dict[str, str]:
    return {rule: state for rule, state in verdicts(judged(found)).items() if rule in PLACES}


def worst(found, rule: str):
    return next(each for each in judged(found) if each.rule == rule).worst


def test_the_worked_scenes_hold():
    assert states(BALL_LEFT) == dict.fromkeys(("P1", "P2", "P3", "P5", "P6", "H1", "H5"), "holds")
    assert states(BALL_MIDDLE) == dict.fromkeys(("P1", "P4", "P5", "P6", "H1", "H5"), "holds")


@pytest.mark.parametrize(
    ("who", "place", "rule", "what"),
    [
        (15, (17, 9), "P1", "players deep"),
        (11, (7, 9), "P2", "depth"),
        (11, (15, 3), "P2", "from touch"),
        (15, (28, 22), "P2", "inside ball"),
        (14, (58, 17), "P3", "from touch"),
        (14, (46, 8), "P3", "depth"),
        (14, (52, 17), "P5", "to full back"),
        (15, (17, 19), "P6", "deeper than wing"),
        (9, (24, 6), "H1", "from ball"),
        (9, (17, 12), "H1", "depth"),
        (9, (8, 6), "H1", "open side"),
    ],
)
def test_one_man_out_of_place_is_named_by_the_rule_that_he_breaks(who, place, rule, what):
    found = scene(12, LEFT | {who: place})
    if rule in ("P1", "P6"):
        assert worst(found, rule).what == what
        assert worst(found, rule).state.key in ("near", "broken")
        return
    named = [(each.what, each.who) for v in judged(found) for each in v.findings if v.rule == rule and each.off > 0]
    assert (what, who) in named


@pytest.mark.parametrize(
    ("who", "place", "what"),
    [(15, (44, 24), "off centre"), (11, (4, 10), "from touch"), (14, (59, 4), "depth"), (14, (59, 17), "wings level")],
)
def test_with_the_ball_in_the_middle_each_has_his_place(who, place, what):
    found = scene(35, MIDDLE | {who: place})
    assert what in [each.what for v in judged(found) for each in v.findings if v.rule == "P4" and each.off > 0]


def test_a_place_a_little_off_is_near_and_not_broken():
    assert states(scene(12, LEFT | {11: (9.5, 3)}))["P2"] == "near"
    assert states(scene(12, LEFT | {11: (10.5, 3)}))["P2"] == "broken"


def test_level_with_their_last_man_is_as_good_as_near_the_touch_line():
    wide = LEFT | {11: (13, 3)}
    assert states(scene(18, wide))["P2"] == "broken"
    assert states(scene(18, wide, attackers=((12.0, 42.0),)))["P2"] == "holds"


men = st.fixed_dictionaries(
    {number: st.tuples(st.integers(1, 69), st.integers(0, 38)) for number in (9, 11, 14, 15)}
)  # fmt: skip


@given(men, st.integers(0, 70), st.sampled_from([15, 40, 60, 85]))
def test_the_mirror_image_is_judged_alike(places, ball, line):
    found = scene(ball, {n: (x, min(d, line)) for n, (x, d) in places.items()}, line=line)
    mirror = found.mirrored()
    if found.side == "middle":  # which is the open side of a ball right in the middle is a matter of choice
        return
    assert states(mirror) == states(found)
    assert found.mirrored().mirrored() == found


def test_in_the_own_22_the_half_back_belongs_in_the_line():
    sweeping = scene(12, {11: (6, 2), 15: (16, 10), 14: (46, 6), 9: (15, 5)}, line=18)
    assert states(sweeping)["H2"] == "broken"
    up = scene(12, {11: (6, 2), 15: (16, 10), 14: (46, 6), 9: (15, 0.5)}, line=18)
    assert states(up)["H2"] == "holds"
    assert "P6" not in states(up)


def test_a_full_back_behind_his_own_goal_line_is_told():
    behind = scene(12, {11: (6, 2), 15: (16, 14), 14: (46, 6), 9: (15, 0.5)}, line=13)
    assert ("depth", 15) in [(e.what, e.who) for v in judged(behind) for e in v.findings if v.rule == "P2" and e.off]


def test_an_overload_on_the_open_side_draws_the_half_back_in():
    few = {1: (16, 0.5), 2: (20, 0.5)} | LEFT
    crowd = tuple((float(x), 42.0) for x in (18, 24, 30, 36))
    assert states(scene(12, few, attackers=crowd))["H2"] == "broken"
    assert "H2" not in states(scene(12, few, attackers=crowd[:2]))


def test_with_the_half_back_in_the_line_the_full_back_lifts_and_the_far_wing_drops():
    lifted = LEFT | {9: (15, 0.5), 15: (17, 14), 14: (46, 20)}
    assert states(scene(12, lifted)) == dict.fromkeys(("P1", "P2", "P3", "P5", "H3", "H4", "H5"), "holds")
    stays = states(scene(12, LEFT | {9: (15, 0.5)}))
    assert (stays["H3"], stays["H5"]) == ("broken", "broken")


def test_a_deputy_who_sweeps_makes_up_for_him():
    deputy = scene(12, LEFT | {9: (15, 0.5), 10: (18, 6)}, sweeper=10)
    assert states(deputy) == dict.fromkeys(("P1", "P2", "P3", "P5", "P6", "H1", "H5"), "holds")


def test_two_sweepers_do_not_stand_together():
    assert states(scene(12, LEFT | {10: (22, 6)}))["H5"] == "broken"
    assert states(scene(12, LEFT | {10: (30, 6)}))["H5"] == "holds"


def test_without_the_back_three_their_rules_are_not_asked():
    found = next(each for each in judged(scene(12, {11: (7, 3)})) if each.rule == "P1")
    assert found.why_not == "back three incomplete"


def after(seconds: float, **places) -> Next:
    return Next((58.0, 40.0), seconds, tuple((int(n[1:]), place) for n, place in places.items()))


def test_the_three_swing_in_time_or_are_told_by_how_much_they_are_late():
    swing = after(4.0, _11=(24.0, 23.0), _15=(53.0, 18.0), _14=(63.0, 37.0))
    late = worst(scene(12, LEFT, next=swing), "P7")
    assert (late.who, late.state.key) == (15, "broken")
    assert late.value == pytest.approx(5.59, abs=0.01)  # 36 m at 8.2 m/s by the model
    enough = after(5.6, _11=(24.0, 23.0), _15=(53.0, 18.0), _14=(63.0, 37.0))
    assert worst(scene(12, LEFT, next=enough), "P7").state.key == "holds"
