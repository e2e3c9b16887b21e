"""Skill minutes against targets and weeks since each skill (house rules), by examples and by pandas."""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.core.exposure import Met, SkillFigure, Spell, family, figures, met, target_over

TODAY = dt.date(2026, 10, 30)
FIRST = TODAY - dt.timedelta(days=27)


def spell(skill, minutes, days_ago=0):
    return Spell(1, TODAY - dt.timedelta(days=days_ago), skill, minutes)


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        (4.9, Met.FAR_SHORT),
        (5, Met.SHORT),
        (7.9, Met.SHORT),
        (8, Met.MET),
        (13, Met.MET),
        (13.1, Met.MUCH),
    ],
)
def test_half_four_fifths_and_thirteen_tenths_of_a_target_divide_short_from_met(minutes, expected):
    assert met(minutes, 10) is expected


def test_without_a_target_nothing_is_short():
    assert met(0, 0) is None
    assert not SkillFigure("I04", 0, 0, 0, None).is_short


def test_a_block_of_six_weeks_at_half_the_usual_minutes_asks_for_three_quarters_of_the_target():
    assert target_over(20, 6, 50) == 15


def test_minutes_count_from_the_first_day_on_and_the_last_day_may_lie_before_it():
    found = figures([spell("I04", 6, 28), spell("I04", 5, 27), spell("U01", 4, 60)], {"I04": 10}, FIRST)
    assert (found["I04"].minutes, found["I04"].last) == (5, FIRST)
    assert (found["U01"].minutes, found["U01"].weeks_since(TODAY)) == (0, 8)


@pytest.mark.parametrize(("days_ago", "weeks"), [(0, 0), (6, 0), (7, 1), (20, 2), (21, 3)])
def test_weeks_since_are_whole_weeks(days_ago, weeks):
    assert figures([spell("I04", 5, days_ago)], {}, FIRST)["I04"].weeks_since(TODAY) == weeks


def test_a_skill_never_worked_on_has_no_weeks_since_and_stands_far_short():
    found = figures([], {"B02": 24}, FIRST)["B02"]
    assert (found.weeks_since(TODAY), found.met) == (None, Met.FAR_SHORT)


def test_skills_stand_in_the_order_of_their_targets_and_others_after_them():
    found = figures([spell("T01", 3), spell("K01", 3)], {"U01": 10, "I04": 10}, FIRST)
    assert list(found) == ["U01", "I04", "K01", "T01"]


def test_much_of_one_skill_does_not_hide_that_another_of_its_family_is_missing():
    found = figures([spell("I04", 40)], {"I04": 10, "I06": 10}, FIRST)
    together = family("I", list(found.values()))
    assert (together.minutes, together.target, together.covered) == (40, 20, 10)
    assert together.is_short


days_ago, skills = st.integers(0, 80), st.sampled_from(["I04", "U01", "B02"])
spells = st.lists(st.builds(spell, skills, st.integers(1, 40), days_ago), max_size=40)


@given(spells)
def test_minutes_and_last_days_are_those_of_a_grouping_by_pandas(each):
    found = figures(each, {}, FIRST)
    rows = pd.DataFrame([(s.skill, s.day, s.minutes) for s in each], columns=["skill", "day", "minutes"])
    minutes = rows[rows.day >= FIRST].groupby("skill").minutes.sum()
    last = rows.groupby("skill").day.max()
    assert {name: figure.last for name, figure in found.items()} == last.to_dict()
    assert {name: figure.minutes for name, figure in found.items() if figure.minutes} == minutes.to_dict()


@given(spells, st.dictionaries(skills, st.integers(1, 40)))
def test_a_family_never_covers_more_than_its_target_nor_than_its_minutes(each, targets):
    together = family("all", list(figures(each, targets, FIRST).values()))
    assert 0 <= together.covered <= min(together.target, together.minutes)
