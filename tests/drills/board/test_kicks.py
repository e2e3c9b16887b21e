"""Margins under kicks, and the map of the back field."""

from __future__ import annotations

import numpy as np
import pytest

from drills.core.board.kicks import KINDS, covered, kick_verdict, reach_map
from drills.core.board.reach import seconds_to
from drills.core.board.verdict import State
from tests.drills.board.scenes import BALL_LEFT, BALL_MIDDLE, row, scene


def margins(found) -> dict[str, tuple[int, float]]:
    return {cover.kick.name: (cover.who, cover.margin) for cover in covered(found)}


def test_margins_with_the_ball_left():
    """Worked by hand from the usual speeds: 8.2 m/s for the back three, 7.8 for the half-back."""
    found = margins(BALL_LEFT)
    assert {name: who for name, (who, _margin) in found.items()} == {
        "chip": 9, "box": 15, "near corner": 15, "middle": 15, "far corner": 14, "flat cross-kick": 14,
    }  # fmt: skip
    wanted = {
        "chip": 0.26, "box": 1.81, "near corner": 0.99, "middle": 0.31, "far corner": 0.23, "flat cross-kick": -0.36,
    }  # fmt: skip
    assert {name: margin for name, (_who, margin) in found.items()} == pytest.approx(wanted, abs=0.0101)


def test_margins_with_the_ball_in_the_middle():
    found = margins(BALL_MIDDLE)
    wanted = {"left corner": -0.11, "right corner": -0.11, "middle": 1.23}
    assert {name: margin for name, (_who, margin) in found.items()} == pytest.approx(wanted, abs=0.0101)


def test_a_kick_that_nobody_gets_to_breaks_the_rule_and_a_little_late_is_near():
    assert kick_verdict(BALL_LEFT).state is State.BROKEN
    assert kick_verdict(BALL_LEFT).worst.at == "flat cross-kick"
    assert kick_verdict(BALL_MIDDLE).state is State.NEAR


def test_without_kicks_or_without_a_back_field_nothing_is_asked():
    assert kick_verdict(scene(12, {15: (17, 22)})).why_not == "no kicks"
    assert kick_verdict(row([44.0] * 7)).why_not == "nobody in the back field"


def test_the_map_tells_the_first_man_of_each_square():
    found = reach_map(BALL_LEFT)
    assert found.first.shape == found.who.shape == (100, 70)
    men = BALL_LEFT.back_field
    for x, y in [(4, 5), (35, 0), (64, 2), (20, 30), (69, 99)]:
        taken = [float(seconds_to(np.hypot(x + 0.5 - m.x, y + 0.5 - m.y), BALL_LEFT.runner(m))) for m in men]
        assert found.first[y, x] == pytest.approx(min(taken))
        assert found.who[y, x] == men[int(np.argmin(taken))].number


def test_the_map_shows_a_kind_of_kick_only_where_it_comes_down():
    found = reach_map(BALL_LEFT)
    for kind in KINDS:
        rows, columns = np.nonzero(~np.isnan(found.margins[kind.name]))
        far = np.hypot(columns + 0.5 - 12, rows + 0.5 - 40)
        assert far.min() >= kind.near
        assert far.max() <= kind.far
        assert rows.max() < 40  # nobody kicks backwards


def test_the_map_agrees_with_the_margin_of_a_kick():
    found = reach_map(BALL_LEFT)
    box = next(kind for kind in KINDS if kind.name == "box")
    there = scene(12, {m.number: (m.x, 40 - m.y) for m in BALL_LEFT.defenders}, [("box", 8.5, 21.5, box.hang, 0)])
    assert found.margins["box"][18, 8] == pytest.approx(covered(there)[0].margin)


def test_a_map_of_nobody_is_refused():
    with pytest.raises(ValueError, match="nobody"):
        reach_map(row([44.0] * 7))
