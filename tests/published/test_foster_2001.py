"""Session load, monotony and strain against Foster et al. 2001, J Strength Cond Res 15(1):109-115, table 5.

The table was read in full. It does not agree with itself, and nothing here bends a figure to hide that:

- three of its printed loads are not RPE x minutes (940 for 5 x 180, 390 twice for 8 x 75), so that the sum and the
  strain are checked on the loads as printed;
- its monotony of 1.26 is the mean of the nine sessions over their standard deviation as a population. The days of the
  second sessions are inferred from the layout (nine rows, seven names of days), and the seven daily sums give 1.21
  with the deviation of a population, 1.12 with that of a sample.

Values marked "derived" were computed from the definitions and are printed nowhere.
"""

import pytest

from planner.core.load import Deviation, Missing, daily_load, monotony, session_load, strain, total, weekly_load

# (RPE, minutes, load as printed), Sunday to Saturday; the second sessions of Tuesday and Saturday are rows 4 and 9.
TABLE_5 = [
    (5, 180, 940),
    (2, 25, 50),
    (7, 120, 840),
    (7, 40, 280),
    (3, 60, 180),
    (8, 75, 390),
    (2, 25, 50),
    (8, 75, 390),
    (7, 40, 280),
]
PRINTED = [float(load) for _rpe, _minutes, load in TABLE_5]
DAYS = [[0], [1], [2, 3], [4], [5], [6], [7, 8]]


def days_of(loads):
    return [daily_load(loads[row] for row in rows) for rows in DAYS]


def test_the_printed_loads_sum_to_the_printed_weekly_load():
    assert total(PRINTED) == 3400
    assert weekly_load(days_of(PRINTED)) == 3400


def test_the_printed_monotony_is_that_of_nine_sessions_as_a_population():
    assert round(monotony(PRINTED, Deviation.POPULATION), 2) == 1.26
    assert round(monotony(PRINTED, Deviation.SAMPLE), 2) != 1.26


def test_the_printed_strain_is_the_printed_load_times_the_printed_monotony():
    assert round(total(PRINTED) * round(monotony(PRINTED), 2)) == 4284
    assert strain(PRINTED) == pytest.approx(4284, rel=0.005)  # unrounded monotony: 1.2646


def test_six_of_nine_printed_loads_are_rpe_times_minutes_and_three_are_not():
    products = [session_load(rpe, minutes) for rpe, minutes, _load in TABLE_5]
    assert [row for row, load in enumerate(PRINTED) if products[row] != load] == [0, 5, 7]
    assert [products[row] for row in (0, 5, 7)] == [900, 600, 600]
    assert total(products) == 3780


@pytest.mark.parametrize(
    ("deviation", "alike"), [(Deviation.POPULATION, 1.2116), (Deviation.SAMPLE, 1.1217)], ids=["population", "sample"]
)
def test_seven_days_of_the_printed_loads_give_another_monotony_than_the_printed_one(deviation, alike):
    """Derived."""
    days = days_of(PRINTED)
    assert days == [940, 50, 1120, 180, 390, 50, 670]
    assert monotony(days, deviation) == pytest.approx(alike, abs=5e-5)


@pytest.mark.parametrize(
    ("deviation", "alike"), [(Deviation.POPULATION, 1.307), (Deviation.SAMPLE, 1.210)], ids=["population", "sample"]
)
def test_seven_days_of_the_true_products(deviation, alike):
    """Derived."""
    days = days_of([session_load(rpe, minutes) for rpe, minutes, _load in TABLE_5])
    assert days == [900, 50, 1120, 180, 600, 50, 880]
    assert monotony(days, deviation) == pytest.approx(alike, abs=5e-4)


WEEK = [300.0, 0.0, 450.0, 400.0, 0.0, 150.0, 700.0]


@pytest.mark.parametrize(
    ("deviation", "alike", "strained"),
    [(Deviation.POPULATION, 1.20495, 2409.9), (Deviation.SAMPLE, 1.11557, 2231.1)],
    ids=["population", "sample"],
)
def test_a_week_with_two_days_of_rest(deviation, alike, strained):
    """Derived."""
    assert weekly_load(WEEK) == 2000
    assert monotony(WEEK, deviation) == pytest.approx(alike, abs=5e-6)
    assert strain(WEEK, deviation) == pytest.approx(strained, abs=0.05)


def test_over_seven_days_a_sample_is_lower_by_the_root_of_six_sevenths():
    """Derived."""
    assert monotony(WEEK, Deviation.SAMPLE) == pytest.approx(monotony(WEEK) * (6 / 7) ** 0.5)
    assert monotony(WEEK, Deviation.SAMPLE) / monotony(WEEK) == pytest.approx(0.92582, abs=5e-6)


@pytest.mark.parametrize("load", [0.0, 0.1, 300.0])
def test_seven_equal_days_have_no_monotony_and_no_strain(load):
    """Foster's definition would divide by zero; no number is put in its place."""
    assert monotony([load] * 7) is Missing.UNDEFINED
    assert strain([load] * 7) is Missing.UNDEFINED
