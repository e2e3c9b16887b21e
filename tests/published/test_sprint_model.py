"""The sprint model against figures outside this project.

Model: Furusawa, Hill and Parkinson 1927, Proc R Soc B 102:29-42 (from memory); restated by Samozino et al. 2016,
Scand J Med Sci Sports 26:648-658, and Clark et al. 2019, J Strength Cond Res 33(6):1542-1550. The metres and seconds
below are computed from that formula, not printed in the papers. Clark et al. give 0.77 s as the usual tau of fast
players; a 10 m split of 1.80 s at a top speed of 9.0 m/s fits it.
"""

from __future__ import annotations

import numpy as np
import pytest

from drills.core.board.reach import Runner, distance, seconds_to

FAST = Runner(9.0, reaction=0.0, tau=1.2)


def test_metres_after_some_seconds():
    wanted = [2.89, 9.24, 17.09, 25.59, 29.08, 34.37]
    assert distance(np.array([1, 2, 3, 4, 4.4, 5]), FAST) == pytest.approx(wanted, abs=0.0051)


def test_seconds_to_some_metres():
    wanted = [1.374, 2.103, 3.349, 4.505, 5.633]
    assert seconds_to(np.array([5.0, 10, 20, 30, 40]), FAST) == pytest.approx(wanted, abs=0.00051)


@pytest.mark.parametrize(
    ("speed", "wanted"),
    [(9.0, [17.1, 23.0, 26.5, 30.0]), (8.5, [16.1, 21.7, 25.0, 28.3]), (9.5, [18.0, 24.3, 27.9, 31.6])],
)
def test_metres_under_a_box_kick_of_the_hang_times_that_are_contested(speed, wanted):
    """Contested box kicks hang 3.3 to 4.8 s (a magazine's analysis of instrumented balls)."""
    runner = Runner(speed, reaction=0.3, tau=1.2)
    assert distance(np.array([3.3, 4.0, 4.4, 4.8]), runner) == pytest.approx(wanted, abs=0.051)


@pytest.mark.parametrize(("tau", "split"), [(0.695, 1.75), (0.760, 1.80), (1.027, 1.99)])
def test_the_tau_that_a_split_of_ten_metres_tells(tau, split):
    assert float(seconds_to(10.0, Runner(9.0, 0.0, tau))) == pytest.approx(split, abs=0.001)


def test_metres_with_the_published_tau():
    wanted = [3.96, 11.59, 20.21, 29.11]
    assert distance(np.arange(1.0, 5.0), Runner(9.0, 0.0, 0.77)) == pytest.approx(wanted, abs=0.0051)
