"""A pattern lowers limits and ceilings and never raises one; which pattern fits which week."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.pattern import Pattern, lower_of, rises
from planner.core.pattern_fit import Fit, Matches
from planner.core.totals import LIMITED, Limit, WeekLimits
from shared.core.contact import Kind, Level
from squads.core.eligibility import Ceiling, MatchRules, ceiling

MONDAY = dt.date(2026, 10, 5)
SATURDAY = dt.date(2026, 10, 10)
minutes = st.integers(0, 60)
days = st.integers(0, 7)
maybe_days = st.none() | days
match_rules = st.builds(MatchRules, days, days, days, days)
patterns = st.builds(
    Pattern,
    name=st.just("Short week"),
    weekly=st.dictionaries(st.sampled_from(LIMITED), minutes),
    full_days=maybe_days,
    full_first=maybe_days,
    near_matches=match_rules,
    holds_from=st.dates(MONDAY, MONDAY + dt.timedelta(days=6)),
)
limits = st.builds(
    WeekLimits,
    by_kind=st.dictionaries(st.sampled_from(LIMITED), st.builds(Limit, minutes, st.just("Rules"))),
    full_days=maybe_days,
)
near = st.dates(MONDAY - dt.timedelta(days=14), MONDAY + dt.timedelta(days=20))


@given(patterns, limits)
def test_no_limit_of_a_week_is_higher_with_a_pattern_than_without(pattern, before):
    after = pattern.lowered(before)
    for kind, limit in before.by_kind.items():
        assert after.by_kind[kind].minutes <= limit.minutes
    assert before.full_days is None or after.full_days <= before.full_days


@given(patterns, limits)
def test_every_limit_of_a_pattern_holds_where_the_rules_allow_more(pattern, before):
    after = pattern.lowered(before)
    for kind, most in pattern.weekly.items():
        assert after.by_kind[kind].minutes <= most
    assert pattern.full_days is None or after.full_days <= pattern.full_days


@given(patterns, near, st.lists(near), st.none() | match_rules)
def test_no_ceiling_is_higher_with_a_pattern_than_without(pattern, day, matches, rules):
    before = ceiling(day, matches=matches, rules=rules)
    assert lower_of(before, pattern.ceiling(day, matches)).level.height <= before.level.height


@given(patterns, st.lists(near))
def test_days_before_a_pattern_was_put_on_stay_as_they_were(pattern, matches):
    assert pattern.ceiling(pattern.holds_from - dt.timedelta(days=1), matches).level is Level.FULL


def test_a_limit_that_the_pattern_lowers_names_it_and_the_others_keep_their_document():
    rules = WeekLimits({Kind.CONTROLLED: Limit(40, "Rules"), Kind.FULL: Limit(2, "Rules")})
    after = Pattern("Short week", {Kind.CONTROLLED: 12, Kind.FULL: 3}).lowered(rules)
    assert after.by_kind[Kind.CONTROLLED] == Limit(12, "pattern: Short week", is_of_pattern=True)
    assert after.by_kind[Kind.FULL] == Limit(2, "Rules")


@pytest.mark.parametrize(
    ("day", "level"),
    [(4, "controlled"), (5, "full"), (6, "full"), (7, "full"), (8, "controlled"), (9, "none"), (12, "controlled")],
)
def test_full_contact_lies_between_md_5_and_md_3_and_not_within_48_hours_after_a_match(day, level):
    """The house rule of the usual patterns, on the days around a Saturday match."""
    rules = MatchRules(full_after=3, full_before=3, controlled_after=1, controlled_before=2)
    found = Pattern("Usual", full_first=5, near_matches=rules).ceiling(dt.date(2026, 10, day), [SATURDAY])
    assert found.level == level


def test_the_reason_of_a_lowered_ceiling_names_the_pattern():
    found = Pattern("Usual", full_first=5).ceiling(MONDAY - dt.timedelta(days=3), [SATURDAY])
    assert found == Ceiling(Level.CONTROLLED, "pattern Usual: full contact from MD-5 on")


def test_a_week_may_rise_by_a_step_and_no_more():
    steps = {Kind.CONTROLLED: 10, Kind.FULL: 4}
    before = {Kind.CONTROLLED: 10.0, Kind.FULL: 2.0}
    assert rises(before, {Kind.CONTROLLED: 20.0, Kind.FULL: 6.0}, steps) == {}
    assert rises(before, {Kind.CONTROLLED: 20.5, Kind.FULL: 0.0}, steps) == {Kind.CONTROLLED: 10.5}


# Which pattern fits


def on(*days: int, finals: tuple[int, ...] = ()) -> Matches:
    """Matches on these days of October 2026; 3, 10, 17, 24 and 31 are Saturdays."""
    return Matches([dt.date(2026, 10, day) for day in days], [dt.date(2026, 10, day) for day in finals])


@pytest.mark.parametrize(
    ("matches", "fit"),
    [
        (on(3, 10, 17), None),
        (on(3, 9, 17), Fit.SHORT),
        (on(4, 9), Fit.SHORT),
        (on(4, 10), Fit.SHORT),
        (on(3, 7, 17), Fit.MIDWEEK),
        (on(6, 10), Fit.MIDWEEK),
        (on(3, 17), Fit.BYE),
        (on(3), None),
        (on(17), None),
        (on(3, 17, 17, 18), Fit.BEFORE_FESTIVAL),
        (on(3, 3, 4, 10), Fit.AFTER_FESTIVAL),
        (on(3, 10, 17, 24, finals=(10,)), Fit.LAST),
        (on(3, 10, 17, 24, finals=(17,)), Fit.SECOND_LAST),
        (on(3, 10, 17, 24, finals=(24,)), Fit.THIRD_LAST),
        (on(3, 10, 17, 24, 31, finals=(31,)), None),
        (on(3, 7, 10, 24, finals=(24,)), Fit.THIRD_LAST),
    ],
)
def test_the_week_of_5_october_is_known_by_its_matches(matches, fit):
    found = matches.fitting(MONDAY)
    assert (found and found.fit) == fit


def test_a_fitting_week_tells_the_days_that_make_it_so():
    found = on(3, 9).fitting(MONDAY)
    assert (found.first, found.last) == (dt.date(2026, 10, 3), dt.date(2026, 10, 9))
