"""Breaks as arithmetic: which are the same, what a day without a year means, which holidays come first."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from planner.core.breaks import (
    days_without_year,
    offered,
    recognised,
    repeated,
    taken_over,
    why_off,
    with_chosen,
    within,
)
from planner.core.calendar import Stretch
from planner.core.laying_out import Break, Night
from tests.planner.breaks.cast import october

DAYS = st.dates(dt.date(2027, 12, 20), dt.date(2028, 3, 10))  # over a new year and a leap day
STRETCHES = st.tuples(DAYS, DAYS).map(lambda pair: Stretch(min(pair), max(pair)))
NAMES = st.sampled_from(["Half term", "half term", "Christmas", "Ball"])
FOUND = st.lists(st.builds(Break, NAMES, STRETCHES, st.sampled_from(["", "", "a", "b", "c"])), max_size=6)


@st.composite
def known_breaks(draw) -> list[Break]:
    """Rows as the database may hold them: each UID once."""
    found = draw(FOUND)
    kept = [gap for n, gap in enumerate(found) if not gap.uid or gap.uid not in {other.uid for other in found[:n]}]
    return [Break(gap.name, gap.days, gap.uid, key) for key, gap in enumerate(kept, start=1)]


def after(found: list[Break], known: list[Break]) -> list[Break]:
    """The rows once everything that was found is taken over."""
    pairs = recognised(found, known)
    changed = {other.key: taken_over(gap, other) for gap, other in zip(found, pairs, strict=True) if other}
    new = [gap for gap, other in zip(found, pairs, strict=True) if other is None]
    rows = [changed.get(gap.key, gap) for gap in known]
    return rows + [Break(gap.name, gap.days, gap.uid, 100 + n) for n, gap in enumerate(new)]


@given(FOUND, known_breaks())
def test_what_was_taken_over_is_found_unchanged_the_second_time(found, known):
    again = repeated(found)
    found = [gap for place, gap in enumerate(found) if place not in again]
    once = after(found, known)
    pairs = recognised(found, once)
    assert None not in pairs
    assert [taken_over(gap, other) for gap, other in zip(found, pairs, strict=True)] == pairs
    assert after(found, once) == once


@given(FOUND, known_breaks())
def test_no_known_break_is_taken_for_two_and_none_is_lost(found, known):
    pairs = [gap.key for gap in recognised(found, known) if gap]
    assert len(pairs) == len(set(pairs))
    assert {gap.key for gap in known} <= {gap.key for gap in after(found, known)}


@given(FOUND, known_breaks())
def test_each_uid_stands_once_when_all_is_taken_over(found, known):
    again = repeated(found)
    found = [gap for place, gap in enumerate(found) if place not in again]
    uids = [gap.uid for gap in after(found, known) if gap.uid]
    assert len(uids) == len(set(uids))


def test_a_break_that_grows_by_a_day_is_the_same_and_half_term_in_spring_is_not():
    spring = Break("Half term", Stretch(dt.date(2027, 2, 15), dt.date(2027, 2, 19)))
    assert recognised([october(26, 31), spring], [october(26, 30, key=1)]) == [october(26, 30, key=1), None]


def test_the_same_days_under_another_name_are_the_same_break():
    known = october(26, 30, "Autumn holidays", key=1)
    assert taken_over(october(26, 30), recognised([october(26, 30)], [known])[0]) == october(26, 30, key=1)


def test_a_break_is_recognised_by_its_uid_wherever_it_moves():
    known = october(1, 2, "Fair", uid="x", key=1)
    assert recognised([october(28, name="Autumn fair", uid="x")], [known]) == [known]


def test_what_a_list_says_twice_is_told_with_the_place_of_the_first():
    found = [october(26, 30), october(1, uid="x"), october(26, 30, "HALF TERM"), october(8, uid="x")]
    assert repeated(found) == {2: 0, 3: 1}


# Days


@given(DAYS)
def test_a_day_without_its_year_is_that_day_of_the_season(day):
    season = Stretch(dt.date(2027, 9, 1), dt.date(2028, 5, 31))
    for text in (f"{day:%d %b}", f"{day:%B %d}", f"{day:%d/%m}", f"{day:%d.%m.}"):
        assert days_without_year(text, season) == [day]


def test_29_february_is_a_day_of_a_season_with_a_leap_day_only():
    assert days_without_year("29 Feb", Stretch(dt.date(2027, 9, 1), dt.date(2028, 5, 31))) == [dt.date(2028, 2, 29)]
    assert days_without_year("29 Feb", Stretch(dt.date(2026, 9, 1), dt.date(2027, 5, 31))) == []


def test_a_day_that_comes_twice_in_a_long_season_is_given_twice():
    found = days_without_year("1 Oct", Stretch(dt.date(2026, 9, 1), dt.date(2027, 12, 1)))
    assert found == [dt.date(2026, 10, 1), dt.date(2027, 10, 1)]


@given(st.text(max_size=12))
def test_any_text_gives_days_of_the_season_or_none(text):
    season = Stretch(dt.date(2027, 9, 1), dt.date(2028, 5, 31))
    assert all(day in season for day in days_without_year(text, season))


@given(STRETCHES, STRETCHES, DAYS)
def test_the_part_within_the_season_has_exactly_the_days_of_both(days, season, day):
    part = within(days, season)
    assert (part is not None and day in part) == (day in days and day in season)


# Public holidays


@given(st.lists(DAYS, max_size=8, unique=True), st.integers(0, 6), STRETCHES, known_breaks())
def test_holidays_on_a_night_come_first_and_none_is_lost(days, weekday, running, known):
    holidays = [Break(f"{day}", Stretch(day, day), f"holiday:{day}") for day in sorted(days)]
    found = offered(holidays, [Night(1, weekday, dt.time(19), running, dt.UTC)], known)
    assert sorted(each.gap.days.first for each in found) == sorted(days)
    marks = [bool(each.nights) for each in found]
    assert marks == sorted(marks, reverse=True)
    for each in found:
        day = each.gap.days.first
        assert bool(each.nights) == (day.weekday() == weekday and day in running)
        assert each.inside == why_off(day, known)


@given(st.lists(DAYS, max_size=8, unique=True), st.sets(DAYS), known_breaks())
def test_exactly_the_chosen_holidays_are_breaks_and_every_other_break_stays(days, chosen, known):
    holidays = [Break(f"{day}", Stretch(day, day), f"holiday:{day}") for day in sorted(days)]
    uids = {gap.uid for gap in holidays if gap.days.first in chosen}
    once = with_chosen(known, holidays, uids)
    assert {gap.uid for gap in once} & {gap.uid for gap in holidays} == uids
    assert [gap for gap in once if gap in known] == known
    assert with_chosen(once, holidays, uids) == once
    assert with_chosen(once, holidays, []) == known


def test_a_chosen_holiday_that_was_renamed_or_made_longer_stays_so():
    holiday = Break("Christmas Day", Stretch(dt.date(2026, 12, 25), dt.date(2026, 12, 25)), "holiday:2026-12-25")
    longer = Break("Christmas", Stretch(dt.date(2026, 12, 24), dt.date(2026, 12, 26)), "holiday:2026-12-25", 1)
    assert with_chosen([longer], [holiday], [holiday.uid]) == [longer]
