"""Load figures: what is missing stays missing, and the rest agrees with pandas and polars."""

import pandas as pd
import polars as pl
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.core.load import (
    Deviation,
    Form,
    Missing,
    daily_load,
    jump,
    monotony,
    rolling_ratio,
    session_load,
    strain,
    weekly_load,
    weighted_means,
    weighted_ratio,
    weighted_ratios,
)

UNKNOWN = Missing.NOT_KNOWN
known = st.integers(0, 1500).map(float)
days = st.lists(st.one_of(known, known, known, st.just(UNKNOWN)), min_size=1, max_size=70)
FORMS = [Form.COUPLED, Form.UNCOUPLED]


def empty_for_unknown(loads):
    return [None if isinstance(load, Missing) else load for load in loads]


# Sessions and days


def test_a_session_of_80_minutes_at_rpe_6_is_480_au():
    assert session_load(6, 80) == 480


@pytest.mark.parametrize(("rpe", "minutes"), [(None, 80), (6, None), (None, None)])
def test_a_session_without_rpe_or_minutes_is_not_known(rpe, minutes):
    assert session_load(rpe, minutes) is UNKNOWN


def test_a_session_rated_0_is_a_load_of_0_and_known():
    assert session_load(0, 60) == 0


@pytest.mark.parametrize(("rpe", "minutes"), [(11, 60), (-1, 60), (5, -1), (float("nan"), 60), (5, float("inf"))])
def test_an_rpe_off_the_scale_or_minutes_that_cannot_be_are_refused(rpe, minutes):
    with pytest.raises(ValueError, match=r"RPE|minutes"):
        session_load(rpe, minutes)


def test_a_day_of_rest_is_0():
    assert daily_load([]) == 0


def test_two_sessions_of_a_day_add_up():
    assert daily_load([480.0, 140.0]) == 620


def test_a_day_with_one_session_not_known_is_not_known():
    assert daily_load([480.0, UNKNOWN]) is UNKNOWN


# Weeks


def test_a_week_with_a_day_not_known_is_not_known_nor_are_its_monotony_and_strain():
    week = [300.0, 0.0, UNKNOWN, 0.0, 0.0, 0.0, 640.0]
    assert (weekly_load(week), monotony(week), strain(week)) == (UNKNOWN, UNKNOWN, UNKNOWN)


def test_six_days_are_no_week():
    with pytest.raises(ValueError, match="7 days"):
        weekly_load([0.0] * 6)


def test_one_load_is_too_early_for_a_monotony():
    assert monotony([300.0]) is Missing.TOO_EARLY


@given(st.lists(known, min_size=2, max_size=14), st.sampled_from(Deviation))
@example([0.0, 0.0], Deviation.SAMPLE)
def test_monotony_is_mean_over_deviation_as_pandas_and_polars_have_them(loads, deviation):
    ddof = {Deviation.POPULATION: 0, Deviation.SAMPLE: 1}[deviation]
    found = monotony(loads, deviation)
    if len(set(loads)) == 1:
        assert found is Missing.UNDEFINED
    else:
        assert found == pytest.approx(pd.Series(loads).mean() / pd.Series(loads).std(ddof=ddof))
        assert found == pytest.approx(pl.Series(loads).mean() / pl.Series(loads).std(ddof=ddof))


@given(st.lists(known, min_size=7, max_size=7))
def test_strain_is_the_week_times_its_monotony(week):
    if monotony(week) is Missing.UNDEFINED:
        assert strain(week) is Missing.UNDEFINED
    else:
        assert strain(week) == pytest.approx(weekly_load(week) * monotony(week))


# Ratios


@given(days)
def test_a_coupled_ratio_is_that_of_rolling_means_in_pandas(loads):
    column = pd.Series(empty_for_unknown(loads), dtype=float)
    expected = column.rolling(7).mean().iloc[-1] / column.rolling(28).mean().iloc[-1]
    agree(rolling_ratio(loads), expected)


@given(days)
def test_an_uncoupled_ratio_is_that_of_rolling_means_in_polars(loads):
    column = pl.Series(empty_for_unknown(loads), dtype=pl.Float64)
    expected = (column.rolling_mean(7) / column.shift(7).rolling_mean(21))[-1]
    agree(rolling_ratio(loads, Form.UNCOUPLED), expected)


def agree(found, expected):
    """A figure of ours, and that of a library which divides by zero and rolls sums along with a rounding error."""
    if isinstance(found, Missing):
        assert expected is None or not 0 <= expected < 1e6
    else:
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("form", FORMS)
def test_one_day_not_known_among_the_last_28_leaves_no_rolling_ratio(form):
    assert rolling_ratio([UNKNOWN, *[100.0] * 27], form) is UNKNOWN
    assert rolling_ratio([UNKNOWN, *[100.0] * 28], form) == 1


@pytest.mark.parametrize("form", FORMS)
def test_28_days_of_rest_have_no_ratio(form):
    assert rolling_ratio([0.0] * 28, form) is Missing.UNDEFINED


@given(st.lists(known, min_size=1, max_size=90), st.sampled_from([7, 28]))
def test_weighted_means_are_those_of_pandas_and_polars_without_adjustment(loads, over):
    found = weighted_means(loads, over)
    assert found == pytest.approx(list(pd.Series(loads).ewm(span=over, adjust=False).mean()))
    assert found == pytest.approx(pl.Series(loads).ewm_mean(span=over, adjust=False).to_list())


@given(days, st.sampled_from([7, 28]))
def test_each_stretch_between_unknown_days_is_weighted_for_itself(loads, over):
    column = pd.Series(empty_for_unknown(loads), dtype=float)
    stretches = column.isna().cumsum().where(column.notna())
    weighted = column.groupby(stretches).transform(lambda each: each.ewm(span=over, adjust=False).mean())
    found = pd.Series(empty_for_unknown(weighted_means(loads, over)), dtype=float)
    pd.testing.assert_series_equal(found, weighted.reindex(column.index), check_names=False)


def test_a_weighted_ratio_is_warming_up_on_its_first_28_days():
    marks = [weighted_ratio([100.0] * n).is_warming_up for n in range(1, 31)]
    assert marks == [True] * 28 + [False] * 2


def test_a_weighted_ratio_warms_up_anew_after_a_day_not_known():
    before = [300.0] * 40
    assert weighted_ratio([*before, UNKNOWN]).value is UNKNOWN
    after = weighted_ratio([*before, UNKNOWN, 50.0])
    assert (after.value, after.is_warming_up) == (1, True)


def test_a_weighted_ratio_of_nothing_but_rest_is_undefined_and_of_no_day_too_early():
    assert weighted_ratio([0.0] * 40).value is Missing.UNDEFINED
    assert weighted_ratio([]).value is Missing.TOO_EARLY


def test_the_rolling_function_gives_no_weighted_ratio():
    with pytest.raises(ValueError, match="weighted"):
        rolling_ratio([100.0] * 28, Form.WEIGHTED)


@given(days)
def test_on_each_day_the_weighted_ratio_is_that_of_the_days_up_to_it(loads):
    assert weighted_ratios(loads) == [weighted_ratio(loads[: n + 1]) for n in range(len(loads))]


@given(st.lists(days, max_size=4))
def test_a_weighted_ratio_warms_up_on_28_days_after_each_gap(stretches):
    loads = [load for stretch in stretches for load in [UNKNOWN, *stretch]]
    for n, found in enumerate(weighted_ratios(loads)):
        run = next((ago for ago, load in enumerate(reversed(loads[: n + 1])) if load is UNKNOWN), n + 1)
        assert found.is_warming_up == (run <= 28)


# Week on week


def test_a_jump_is_this_week_over_the_mean_of_the_last_four():
    assert jump(1500.0, [9999.0, 900.0, 1000.0, 1100.0, 1000.0]).value == 1.5


def test_three_weeks_are_enough_and_two_are_not():
    assert jump(1500.0, [900.0, 1000.0, 1100.0]).value == 1.5
    assert jump(1500.0, [900.0, 1000.0]).value is Missing.TOO_EARLY


def test_a_week_not_known_is_left_out_of_the_mean_and_told():
    found = jump(1500.0, [900.0, UNKNOWN, 1000.0, 1100.0])
    assert (found.value, found.weeks) == (1.5, 3)


def test_two_weeks_not_known_leave_no_jump():
    assert jump(1500.0, [UNKNOWN, UNKNOWN, 1000.0, 1100.0]).value is UNKNOWN


def test_an_unknown_week_has_no_jump():
    assert jump(UNKNOWN, [1000.0] * 4).value is UNKNOWN


def test_after_weeks_of_rest_a_jump_is_undefined():
    assert jump(1500.0, [0.0] * 4).value is Missing.UNDEFINED


# Never infinite


@given(days, st.sampled_from(Deviation))
def test_no_figure_is_infinite_or_not_a_number(loads, deviation):
    week = loads[-7:]
    found = [monotony(week, deviation), strain(week, deviation), *(rolling_ratio(loads, form) for form in FORMS)]
    found += [weighted_ratio(loads).value, jump(loads[-1], loads[:-1]).value]
    assert all(isinstance(each, Missing) or 0 <= each < 1e9 for each in found)
