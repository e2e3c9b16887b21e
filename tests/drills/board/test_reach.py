"""How far a player gets, and how long he takes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import lambertw

from drills.core.board.reach import Runner, distance, seconds_to, unit_time

speeds = st.floats(2, 12)
metres = st.floats(0.001, 120)
runners = st.builds(Runner, speeds, st.floats(0, 1), st.floats(0.2, 2))

# Metres in 1, 2, 3, 4 s and seconds to 5, 10, 15, 20, 25, 30 m: usual figures of ours for grown amateurs.
TABLE = {
    6.8: ((1.5, 6.4, 12.5, 19.1), (1.76, 2.60, 3.38, 4.13, 4.87, 5.61)),
    7.4: ((1.6, 6.9, 13.7, 20.8), (1.68, 2.47, 3.19, 3.89, 4.57, 5.25)),
    7.8: ((1.7, 7.3, 14.4, 22.0), (1.64, 2.39, 3.08, 3.74, 4.40, 5.04)),
    8.2: ((1.8, 7.7, 15.1, 23.1), (1.60, 2.32, 2.98, 3.62, 4.24, 4.85)),
}


@pytest.mark.parametrize(("speed", "wanted"), TABLE.items())
def test_the_usual_table_of_metres_and_seconds_comes_out(speed, wanted):
    runner = Runner(speed)
    assert distance(np.arange(1.0, 5.0), runner) == pytest.approx(wanted[0], abs=0.051)
    assert seconds_to(np.arange(5.0, 31.0, 5.0), runner) == pytest.approx(wanted[1], abs=0.006)


def random_cases(count: int = 10_000):
    chance = np.random.default_rng(20261127)
    return zip(chance.uniform(0.01, 110, count), chance.uniform(4, 11, count), chance.uniform(0.3, 1.6, count),
               chance.uniform(0, 0.6, count), strict=True)  # fmt: skip


def test_ten_thousand_random_times_equal_those_of_a_root_finder():
    """scipy.optimize.brentq on the distance itself."""
    worst = 0.0
    for far, speed, tau, reaction in random_cases():
        runner = Runner(speed, reaction, tau)

        def over(u, far=far, speed=speed, tau=tau):
            return speed * tau * (u + np.expm1(-u)) - far

        u = brentq(over, 0.0, far / (speed * tau) + 2.0, xtol=1e-14, rtol=1e-14)
        wanted = reaction + tau * u
        worst = max(worst, abs(float(seconds_to(far, runner)) - wanted) / wanted)
    assert worst < 1e-9


def test_times_equal_the_closed_form_by_lamberts_function():
    """scipy.special.lambertw, where the closed form keeps its digits."""
    for far, speed, tau, reaction in random_cases(2_000):
        k = 1 + far / (speed * tau)
        wanted = reaction + tau * (k + lambertw(-np.exp(-k)).real)
        if far > 0.5:
            assert float(seconds_to(far, Runner(speed, reaction, tau))) == pytest.approx(wanted, rel=1e-9)


@given(st.floats(1e-12, 1e3))
def test_the_equation_of_the_time_is_solved_however_small_the_way(way):
    u = float(unit_time(np.asarray(way)))
    assert u + np.expm1(-u) == pytest.approx(way, rel=1e-6)


@given(metres, runners)
def test_whoever_runs_for_the_time_to_a_place_is_there(far, runner):
    assert float(distance(seconds_to(far, runner), runner)) == pytest.approx(far, rel=1e-9, abs=1e-9)


@given(metres, runners, st.floats(0.1, 10))
def test_twice_the_way_at_twice_the_speed_takes_as_long(far, runner, scale):
    faster = Runner(runner.speed * scale, runner.reaction, runner.tau)
    assert float(seconds_to(far * scale, faster)) == pytest.approx(float(seconds_to(far, runner)), rel=1e-9)


@given(metres, st.floats(0.01, 20), runners)
def test_further_takes_longer(far, more, runner):
    assert float(seconds_to(far + more, runner)) > float(seconds_to(far, runner))


def test_where_he_stands_he_is_at_once():
    assert float(seconds_to(0.0, Runner(8.2))) == 0.0


def test_nobody_moves_while_he_reacts():
    assert float(distance(0.3, Runner(8.2))) == 0.0


@pytest.mark.parametrize("bad", [{"speed": 0}, {"speed": 8, "tau": 0}, {"speed": 8, "reaction": -1}])
def test_a_runner_without_speed_is_refused(bad):
    with pytest.raises(ValueError, match="speed"):
        Runner(**bad)


def test_a_distance_below_nothing_is_refused():
    with pytest.raises(ValueError, match="0 m or more"):
        seconds_to(-1.0, Runner(8.2))
