"""The cover tackle."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from drills.core.board.cover import meetings
from drills.core.board.reach import seconds_to
from drills.core.board.scene import Carrier
from tests.drills.board.scenes import scene

MEN = {11: (7, 3), 15: (17, 22), 14: (46, 17), 9: (17, 6)}
DOWN_THE_LINE = Carrier("wing", 3, 42, 3, 0, 8.0)


def test_the_full_back_meets_a_runner_down_the_touch_line():
    first = meetings(scene(12, MEN), DOWN_THE_LINE)[0]
    x, y = first.place
    assert first.who == 15
    assert x == pytest.approx(3)
    assert y == pytest.approx(42 - 8.0 * first.seconds)
    within_an_arm = np.hypot(x - 17, y - 18) - 1.0
    assert float(seconds_to(within_an_arm, scene(12, MEN).book.runner(15))) == pytest.approx(first.seconds)


def test_whoever_cannot_be_there_before_the_line_is_told_by_how_much():
    far = {each.who: each for each in meetings(scene(12, MEN), DOWN_THE_LINE)}[14]
    assert (far.seconds, far.place) == (None, None)
    assert far.short_by > 0


def test_a_runner_through_a_gap_is_met_by_the_sweeper_first():
    through = Carrier("centre", 18, 41, 20, 0, 7.5)
    assert meetings(scene(12, MEN), through)[0].who == 9


runs = st.builds(
    lambda x, y, to_x, speed: Carrier("run", x, y, to_x, 0.0, speed),
    st.integers(0, 70), st.integers(20, 45), st.integers(0, 70), st.floats(4, 10),
)  # fmt: skip


@given(runs)
def test_nobody_is_met_before_a_man_can_be_there_and_the_first_moment_is_meant(carrier):
    """Looked for at two thousand moments of the run; a man whom the runner comes to need not move at all."""
    found = scene(12, MEN)
    way = np.hypot(carrier.to_x - carrier.x, carrier.to_y - carrier.y)
    for each in meetings(found, carrier):
        man = found.man(each.who)

        def late(t, man=man):
            share = t * carrier.speed / way
            x, y = carrier.x + share * (carrier.to_x - carrier.x), carrier.y * (1 - share)
            return seconds_to(np.maximum(np.hypot(x - man.x, y - man.y) - 1.0, 0.0), found.runner(man)) - t

        end = way / carrier.speed if each.seconds is None else each.seconds
        assert (late(np.linspace(0, end, 2000)[:-1]) > -1e-9).all()
        if each.seconds is not None:
            assert late(each.seconds) <= 1e-6


def test_the_moment_of_meeting_is_that_of_a_root_finder():
    """scipy.optimize.brentq."""
    found = scene(12, MEN)
    man = found.man(15)

    def late(t):
        return float(seconds_to(np.hypot(3 - man.x, 42 - 8 * t - man.y) - 1.0, found.runner(man))) - t

    assert meetings(found, DOWN_THE_LINE)[0].seconds == pytest.approx(brentq(late, 0.0, 4.0), abs=1e-9)


def test_a_runner_who_crosses_the_goal_line_is_not_met_beyond_it():
    beyond = Carrier("wing", 3, 20, 3, -20, 8.0)
    assert all(each.place is None or each.place[1] >= 0 for each in meetings(scene(12, MEN), beyond))
