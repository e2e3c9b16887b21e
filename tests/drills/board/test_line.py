"""One straight line."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.board.line import fit, line
from drills.core.board.scene import Call, Moment
from tests.drills.board.scenes import BENT_Y, STRAIGHT_Y, row, verdicts


def found(scene) -> dict:
    return {each.rule: each for each in line(scene)}


def test_a_man_who_hangs_back_bends_the_line():
    """Worked by hand: the fifth is 1.20 m off the fit, 1.4 m behind both neighbours; the tilt is -1.19 degrees."""
    scene = row(BENT_Y)
    assert verdicts(line(scene)) == {
        "L1": "holds", "L2": "broken", "L3": "broken", "L4": "broken", "L5": "holds", "L6": "holds",
    }  # fmt: skip
    judged = found(scene)
    assert (judged["L2"].worst.who, judged["L2"].worst.value) == (5, pytest.approx(1.20, abs=0.01))
    assert judged["L5"].findings[0].value == pytest.approx(-1.19, abs=0.01)
    steps = [each.value for each in judged["L3"].findings if each.state.key == "broken"]
    assert steps == pytest.approx([-1.4, 1.4])
    assert (judged["L4"].worst.who, judged["L4"].worst.value) == (6, pytest.approx(1.4))
    gaps = [each.value for each in judged["L6"].findings if each.what == "gap"]
    assert gaps == pytest.approx([3, 4, 5, 5.5, 6.5])


def test_with_the_fifth_man_up_the_line_is_straight():
    scene = row(STRAIGHT_Y)
    assert set(verdicts(line(scene)).values()) == {"holds"}
    assert max(each.value for each in found(scene)["L2"].findings) == pytest.approx(0.12, abs=0.01)


def test_the_fit_is_that_of_numpys_least_squares():
    xs, ys = np.array([1.0, 4, 9, 20]), np.array([3.0, 3.5, 2.0, 4.0])
    (slope, at_zero), *_rest = np.linalg.lstsq(np.column_stack([xs, np.ones(4)]), ys, rcond=None)
    mine = fit(xs, ys)
    assert mine.tilt == pytest.approx(np.degrees(np.arctan(slope)))
    assert mine.off == pytest.approx((ys - slope * xs - at_zero) * np.cos(np.arctan(slope)))


places = st.lists(st.floats(43.2, 45), min_size=7, max_size=7)


@given(places)
def test_left_and_right_are_judged_alike(ys):
    scene = row([round(y, 2) for y in ys])
    mirror = scene.mirrored()
    assert {rule: state for rule, state in verdicts(line(scene)).items() if rule != "L3"} == {
        rule: state for rule, state in verdicts(line(mirror)).items() if rule != "L3"
    }
    ours = sorted(abs(each.value) for each in found(scene)["L3"].findings)
    assert sorted(abs(each.value) for each in found(mirror)["L3"].findings) == pytest.approx(ours)


@given(places, st.floats(-20, 20))
def test_only_where_they_stand_to_each_other_makes_it_straight(ys, further):
    ours = fit([1.0, 3, 6, 10, 15, 20, 27], ys)
    theirs = fit([1.0, 3, 6, 10, 15, 20, 27], [y + further for y in ys])
    assert theirs.off == pytest.approx(ours.off, abs=1e-6)
    assert theirs.tilt == pytest.approx(ours.tilt, abs=1e-6)


@given(places, st.floats(0.5, 3))
def test_a_line_drawn_larger_is_as_tilted_and_as_much_more_bent(ys, scale):
    xs = np.array([1.0, 3, 6, 10, 15, 20, 27])
    ours, theirs = fit(xs, ys), fit(xs * scale, np.array(ys) * scale)
    assert theirs.tilt == pytest.approx(ours.tilt, abs=1e-6)
    assert theirs.off == pytest.approx(ours.off * scale, abs=1e-6)


def test_whoever_is_beyond_the_offside_line_is_named():
    judged = found(row([44.5, 45.2, 44.6, 44.6, 44.6, 44.6, 44.6]))["L1"]
    assert (judged.state.key, judged.worst.who, judged.worst.value) == ("broken", 2, pytest.approx(0.2))


def test_a_moving_line_may_be_a_little_less_straight():
    ys = [44.6, 44.6, 44.6, 43.4, 44.6, 44.6, 44.6]
    assert verdicts(line(row(ys)))["L2"] == "broken"
    assert verdicts(line(row(ys, moment=Moment.MOVING)))["L2"] == "holds"


def test_a_jam_allows_the_outside_man_ahead_and_drift_a_tilt():
    jam = [43.8, 43.8, 43.8, 43.8, 43.8, 44.6, 45.0]
    assert verdicts(line(row(jam)))["L4"] == "broken"
    assert verdicts(line(row(jam, calls=frozenset({Call.JAM}))))["L4"] == "holds"
    tilted = [44.95 - 0.06 * 1.6 * n for n in (0, 2, 5, 9, 14, 19, 26)]
    assert verdicts(line(row(tilted)))["L5"] == "broken"
    assert verdicts(line(row(tilted, calls=frozenset({Call.DRIFT}))))["L5"] == "holds"


def test_a_gap_that_grows_too_quickly_and_a_stretched_line_are_told():
    judged = found(row([44.6] * 7, xs=(21, 23, 27, 31, 35, 39, 43)))["L6"]
    assert (judged.state.key, judged.worst.who) == ("broken", 3)
    stretched = found(row([44.6] * 7, xs=(21, 28, 35, 42, 49, 56, 63)))["L6"]
    assert (stretched.state.key, stretched.worst.what) == ("near", "mean gap")


def test_each_stands_on_the_inside_shoulder_of_his_attacker():
    attackers = tuple((x + 1.0, 47.0) for x in (26, 30, 35, 40.5, 47))
    assert verdicts(line(row(STRAIGHT_Y, attackers=attackers)))["L7"] == "holds"
    outside = (*attackers[:-1], (46.0, 47.0))
    judged = found(row(STRAIGHT_Y, attackers=outside))["L7"]
    assert (judged.state.key, judged.worst.who) == ("broken", 7)


def test_the_last_man_is_near_their_last_man_or_the_touch_line():
    assert verdicts(line(row(STRAIGHT_Y, attackers=((54.0, 47.0),))))["L8"] == "holds"
    assert verdicts(line(row(STRAIGHT_Y, attackers=((60.0, 47.0),))))["L8"] == "broken"


def test_two_men_are_no_line():
    judged = found(row([44.6, 44.6], xs=(21, 23)))
    assert judged["L2"].why_not == "fewer than three in the line"
