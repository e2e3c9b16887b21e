"""Recent against usual load, against the letters that define the ratios.

- Williams, West, Cross & Stokes 2017, Br J Sports Med 51:209-210: N of 7 and 28 days and the decay were read there;
  2 / (N + 1) itself was seen in secondary texts, and the start value was not readable, so ours is declared.
- Lolli et al. 2019, Br J Sports Med 53:921-922: the coupled ratio. Gabbett et al. 2019, Int J Sports Med 40:597-600 and
  Windt & Gabbett 2019, Br J Sports Med 53:988: the uncoupled one.

No day-by-day example with its result could be read (the 28 days behind the ratios of 1.25, 1.41, 1.55 and 1.43 that
Williams et al. give were not), so the vectors are derived: computed from the definitions, printed nowhere.
"""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.load import Form, Missing, decay, rolling_ratio, weighted_means, weighted_ratio

STEP = [100.0] * 21 + [200.0] * 7
FOUR_WEEKS = [300.0, 0.0, 450.0, 400.0, 0.0, 150.0, 700.0] * 4


def test_the_decay_of_williams_is_a_quarter_over_7_days_and_two_29ths_over_28():
    assert decay(7) == 0.25
    assert decay(28) == pytest.approx(0.0689655, abs=5e-8)


@pytest.mark.parametrize(
    ("days", "coupled", "uncoupled"), [(STEP, 1.6, 2.0), (FOUR_WEEKS, 1.0, 1.0)], ids=["step", "weeks"]
)
def test_rolling_ratios(days, coupled, uncoupled):
    """Derived."""
    assert rolling_ratio(days, Form.COUPLED) == pytest.approx(coupled)
    assert rolling_ratio(days, Form.UNCOUPLED) == pytest.approx(uncoupled)


@pytest.mark.parametrize(
    ("days", "seven", "twenty_eight", "ratio"),
    [
        (STEP, 186.651611328, 139.359836467, 1.339350103),
        (FOUR_WEEKS, 339.573260312, 297.551311580, 1.141225890),
    ],
    ids=["step", "weeks"],
)
def test_weighted_means_and_their_ratio(days, seven, twenty_eight, ratio):
    """Derived, with the first day's load as the start."""
    assert weighted_means(days, 7)[-1] == pytest.approx(seven, abs=1e-9)
    assert weighted_means(days, 28)[-1] == pytest.approx(twenty_eight, abs=1e-9)
    assert weighted_ratio(days).value == pytest.approx(ratio, abs=1e-9)


def test_the_other_start_rule_in_use_gives_another_number():
    """pandas' default divides by the sum of the weights so far (derived: 1.28289212); ours is its adjust=False."""
    step = pd.Series(STEP)
    seven, twenty_eight = (step.ewm(span=over).mean().iloc[-1] for over in (7, 28))
    assert (seven, twenty_eight) == pytest.approx((186.679130155, 145.514285585), abs=1e-9)
    assert seven / twenty_eight == pytest.approx(1.28289212, abs=5e-9)
    assert weighted_ratio(STEP).value != pytest.approx(1.28289212, abs=0.01)


@pytest.mark.parametrize(("coupled", "uncoupled"), [(0.8, 0.75), (1.0, 1.0), (1.3, 1.4444), (1.5, 1.8), (2.0, 3.0)])
def test_coupled_and_uncoupled_at_some_points(coupled, uncoupled):
    """Derived. A last week of `coupled` against weeks that bring the mean of all four to 1."""
    days = [(4 - coupled) / 3 * 100] * 21 + [coupled * 100] * 7
    assert rolling_ratio(days, Form.COUPLED) == pytest.approx(coupled)
    assert rolling_ratio(days, Form.UNCOUPLED) == pytest.approx(uncoupled, abs=5e-5)


loads = st.lists(st.integers(0, 1200).map(float), min_size=28, max_size=60)


@given(loads)
def test_uncoupled_is_three_coupled_over_four_minus_coupled(days):
    """Derived from both definitions: U = 3C / (4 - C)."""
    coupled, uncoupled = rolling_ratio(days, Form.COUPLED), rolling_ratio(days, Form.UNCOUPLED)
    if not sum(days[-28:]):
        assert (coupled, uncoupled) == (Missing.UNDEFINED, Missing.UNDEFINED)
    elif not sum(days[-28:-7]):
        assert (coupled, uncoupled) == (pytest.approx(4), Missing.UNDEFINED)
    else:
        assert uncoupled == pytest.approx(3 * coupled / (4 - coupled))


@given(loads)
def test_coupled_never_passes_four(days):
    coupled = rolling_ratio(days)
    assert coupled is Missing.UNDEFINED or coupled <= 4 + 1e-9


def test_a_week_after_three_of_rest_is_four_coupled_and_undefined_uncoupled():
    days = [0.0] * 21 + [100.0] * 7
    assert rolling_ratio(days) == 4
    assert rolling_ratio(days, Form.UNCOUPLED) is Missing.UNDEFINED


def test_fewer_than_28_days_give_no_rolling_ratio():
    assert rolling_ratio([100.0] * 27) is Missing.TOO_EARLY
    assert rolling_ratio([100.0] * 28) == 1
