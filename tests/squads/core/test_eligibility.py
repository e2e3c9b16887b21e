"""The ceiling of a player on a day."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from shared.core.contact import Level
from squads.core.eligibility import Ceiling, Cleared, MatchRules, ceiling, match_day_label

TUESDAY = dt.date(2026, 10, 6)
SATURDAY = dt.date(2026, 10, 10)
RULES = MatchRules(full_after=3, full_before=3, controlled_after=2, controlled_before=2)


def day(offset: int) -> dt.date:
    return TUESDAY + dt.timedelta(days=offset)


def test_a_player_about_whom_nothing_is_known_may_do_all():
    assert ceiling(TUESDAY) == Ceiling(Level.FULL, "")


def test_an_absence_counts_from_its_first_to_its_last_day():
    away = [(day(0), day(2))]
    assert [ceiling(day(n), absences=away).level for n in (-1, 0, 2, 3)] == [
        Level.FULL, Level.ABSENT, Level.ABSENT, Level.FULL,
    ]  # fmt: skip
    assert ceiling(day(1), absences=away).reason == "away until 8 Oct"


def test_a_player_is_absent_before_he_joins_and_after_he_leaves():
    levels = [ceiling(day(n), joined=day(0), left=day(1)).level for n in (-1, 0, 1, 2)]
    assert levels == [Level.ABSENT, Level.FULL, Level.FULL, Level.ABSENT]


def test_the_latest_clearance_in_force_holds_and_names_who_decided_but_no_reason():
    cleared = [Cleared(day(-9), Level.ABSENT, "A. Physio"), Cleared(day(-2), Level.NONE, "B. Physio")]
    assert ceiling(TUESDAY, cleared=cleared) == Ceiling(
        Level.NONE, "non-contact only since 4 Oct, decided by B. Physio"
    )
    assert ceiling(day(-3), cleared=cleared).level == Level.ABSENT


def test_of_two_decisions_on_one_day_the_later_entry_holds():
    cleared = [Cleared(day(0), Level.NONE), Cleared(day(0), Level.FULL)]
    assert ceiling(day(0), cleared=cleared).level == Level.FULL


def test_a_clearance_for_later_does_not_count_yet():
    assert ceiling(TUESDAY, cleared=[Cleared(day(1), Level.ABSENT)]).level == Level.FULL


def test_the_week_of_a_saturday_match_under_the_club_rules_of_the_tests():
    """House rules: full contact from the third day after to the third day before a match, controlled from the
    second to the second."""
    matches = [SATURDAY - dt.timedelta(days=7), SATURDAY]
    week = [ceiling(day(n), matches=matches, rules=RULES).level for n in range(-2, 5)]
    assert week == [
        Level.NONE, Level.CONTROLLED, Level.FULL, Level.FULL, Level.CONTROLLED, Level.NONE, Level.NONE,
    ]  # Sunday to Saturday  # fmt: skip


def test_no_full_contact_on_monday_and_friday_of_a_saturday_match_week():
    """World Rugby and International Rugby Players, contact load guidelines of 23 September 2021, as reported by the
    press: zero full contact on Monday and Friday. The default distances from a match keep to that."""
    matches = [SATURDAY - dt.timedelta(days=7), SATURDAY]
    monday, friday = SATURDAY - dt.timedelta(days=5), SATURDAY - dt.timedelta(days=1)
    assert not ceiling(monday, matches=matches, rules=RULES).level.height >= Level.FULL.height
    assert not ceiling(friday, matches=matches, rules=RULES).level.height >= Level.FULL.height


def test_without_rules_only_the_match_day_itself_is_kept_free():
    assert [ceiling(day(n), matches=[day(0)]).level for n in (-1, 0, 1)] == [Level.FULL, Level.NONE, Level.FULL]


def test_days_are_counted_by_the_calendar_over_a_clock_change_and_a_leap_day():
    sunday_of_the_clock_change = dt.date(2026, 10, 25)
    rules = MatchRules(full_after=3, full_before=1, controlled_after=1, controlled_before=1)
    levels = [
        ceiling(sunday_of_the_clock_change + dt.timedelta(days=n), matches=[dt.date(2026, 10, 24)], rules=rules).level
        for n in (0, 1, 2)
    ]
    assert levels == [Level.CONTROLLED, Level.CONTROLLED, Level.FULL]
    assert ceiling(dt.date(2028, 3, 1), matches=[dt.date(2028, 2, 28)], rules=rules).level == Level.CONTROLLED


days = st.integers(-30, 30).map(day)
levels = st.sampled_from(list(Level))
spans = st.tuples(days, days).map(lambda pair: (min(pair), max(pair)))
rule_sets = st.none() | st.builds(MatchRules, *[st.integers(0, 5)] * 4)


@given(
    on=days,
    absences=st.lists(spans, max_size=4),
    more=spans,
    matches=st.lists(days, max_size=5),
    match=days,
    rules=rule_sets,
)
def test_one_more_absence_or_match_never_raises_a_ceiling(on, absences, more, matches, match, rules):
    before = ceiling(on, absences=absences, matches=matches, rules=rules).level.height
    assert ceiling(on, absences=[*absences, more], matches=matches, rules=rules).level.height <= before
    assert ceiling(on, absences=absences, matches=[*matches, match], rules=rules).level.height <= before


@given(on=days, entries=st.lists(st.builds(Cleared, days, levels), max_size=5), rules=rule_sets, matches=st.lists(days))
def test_a_ceiling_below_full_always_has_its_reason(on, entries, rules, matches):
    found = ceiling(on, cleared=entries, matches=matches, rules=rules)
    assert (found.reason == "") == (found.level is Level.FULL)


def test_a_day_is_named_by_the_next_match_before_the_last_one():
    matches = [SATURDAY - dt.timedelta(days=7), SATURDAY]
    assert [match_day_label(day(n), matches) for n in (-1, 0, 4, 5)] == ["MD-5", "MD-4", "MD", "MD+1"]
    assert match_day_label(SATURDAY + dt.timedelta(days=9), matches) == ""
