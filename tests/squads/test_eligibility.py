"""What sets a player's ceiling on a day, as examples and as laws."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.core.contact import Level
from squads.core.eligibility import Away, Ceiling, Decision, MatchRules, ceiling, in_force

DAY = dt.date(2026, 10, 7)
SATURDAY = dt.date(2026, 10, 10)
HOUSE = MatchRules(full_after=3, full_before=3, controlled_after=2, controlled_before=2)


def decided(level, from_day, decided_on=None, by="Dr Ann Ferris"):
    return Decision(from_day, level, decided_on or from_day, by)


def test_without_anything_known_all_work_is_allowed():
    assert ceiling(DAY) == Ceiling(Level.FULL, "all work")


def test_a_player_is_absent_before_joining():
    assert ceiling(DAY, joined=dt.date(2026, 10, 8)) == Ceiling(Level.ABSENT, "joins the squad on 8 Oct")


def test_the_day_of_joining_counts():
    assert ceiling(DAY, joined=DAY).level == Level.FULL


def test_the_last_day_in_the_squad_counts_and_the_next_does_not():
    assert ceiling(DAY, left=DAY).level == Level.FULL
    assert ceiling(DAY + dt.timedelta(1), left=DAY) == Ceiling(Level.ABSENT, "left the squad on 7 Oct")


@pytest.mark.parametrize(
    ("day", "level"),
    [(4, Level.FULL), (5, Level.ABSENT), (7, Level.ABSENT), (9, Level.ABSENT), (10, Level.FULL)],
)
def test_an_absence_holds_from_its_first_to_its_last_day(day, level):
    away = Away(dt.date(2026, 10, 5), dt.date(2026, 10, 9))
    assert ceiling(dt.date(2026, 10, day), absences=[away]).level == level


def test_of_two_overlapping_absences_the_later_end_is_told():
    absences = [Away(DAY, DAY + dt.timedelta(2)), Away(DAY, DAY + dt.timedelta(9))]
    assert ceiling(DAY, absences=absences).reason == "away until 16 Oct"


def test_the_year_is_told_where_it_is_another_one():
    assert ceiling(DAY, absences=[Away(DAY, dt.date(2027, 1, 3))]).reason == "away until 3 Jan 2027"


def test_a_clearance_tells_its_date_and_who_decided():
    decision = decided(Level.CONTROLLED, dt.date(2026, 10, 3))
    assert ceiling(DAY, decisions=[decision]) == Ceiling(
        Level.CONTROLLED, "controlled at most by clearance of 3 Oct, decided by Dr Ann Ferris"
    )


def test_a_clearance_does_not_hold_before_its_first_day():
    assert ceiling(DAY, decisions=[decided(Level.NONE, DAY + dt.timedelta(1), DAY)]).level == Level.FULL


def test_a_later_decision_replaces_an_earlier_one():
    decisions = [decided(Level.ABSENT, dt.date(2026, 10, 1)), decided(Level.FULL, dt.date(2026, 10, 6))]
    assert ceiling(DAY, decisions=decisions).level == Level.FULL


def test_a_decision_taken_today_also_ends_one_that_was_planned_for_later():
    planned = decided(Level.FULL, from_day=dt.date(2026, 10, 20), decided_on=dt.date(2026, 10, 1))
    today = decided(Level.NONE, from_day=dt.date(2026, 10, 7))
    assert ceiling(dt.date(2026, 10, 21), decisions=[planned, today]).level == Level.NONE


def test_a_decision_entered_late_does_not_replace_a_newer_one():
    newer = decided(Level.ABSENT, dt.date(2026, 10, 5))
    late_paper = decided(Level.FULL, dt.date(2026, 10, 2))
    assert ceiling(DAY, decisions=[newer, late_paper]).level == Level.ABSENT


def test_of_two_decisions_of_one_day_the_one_entered_last_holds():
    first, second = decided(Level.FULL, DAY), decided(Level.NONE, DAY)
    assert in_force(DAY, [first, second]) == second
    assert in_force(DAY, [second, first]) == first


def test_no_contact_on_the_day_of_a_match_even_without_rules():
    assert ceiling(SATURDAY, matches=[SATURDAY]) == Ceiling(Level.NONE, "match day: no contact in training")


@pytest.mark.parametrize(
    ("day", "level", "reason"),
    [
        (11, Level.NONE, "1 day after a match: no contact"),
        (12, Level.CONTROLLED, "2 days after a match: controlled at most"),
        (13, Level.FULL, "all work"),
        (14, Level.FULL, "all work"),
        (15, Level.CONTROLLED, "2 days before a match: controlled at most"),
        (16, Level.NONE, "1 day before a match: no contact"),
        (17, Level.NONE, "match day: no contact in training"),
    ],
)
def test_a_week_between_two_saturday_matches_under_rules_of_three_and_two_days(day, level, reason):
    found = ceiling(dt.date(2026, 10, day), matches=[SATURDAY, dt.date(2026, 10, 17)], rules=HOUSE)
    assert found == Ceiling(level, reason)


def test_the_published_weekday_rule_no_full_contact_on_monday_and_friday_of_a_saturday_match_week():
    # World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021, for the professional
    # game, as the press reported them: at most two days a week with full contact, none on Monday and Friday.
    saturdays = [dt.date(2026, 10, 10), dt.date(2026, 10, 17)]
    published = MatchRules(full_after=3, full_before=2, controlled_after=2, controlled_before=2)
    week = [dt.date(2026, 10, 12) + dt.timedelta(n) for n in range(5)]
    full_days = [f"{day:%a}" for day in week if ceiling(day, matches=saturdays, rules=published).level == Level.FULL]
    assert full_days == ["Tue", "Wed", "Thu"]


def test_the_same_distances_serve_a_sunday_match():
    published = MatchRules(full_after=3, full_before=2, controlled_after=2, controlled_before=2)
    sundays = [dt.date(2026, 10, 11), dt.date(2026, 10, 18)]
    tuesday, saturday = dt.date(2026, 10, 13), dt.date(2026, 10, 17)
    assert ceiling(tuesday, matches=sundays, rules=published).level == Level.CONTROLLED
    assert ceiling(saturday, matches=sundays, rules=published).level == Level.NONE


def test_three_days_after_a_match_are_three_dates_across_the_change_of_the_clocks():
    # Clocks in Europe/London go back on Sunday 25 October 2026, so these three days last 73 hours.
    assert ceiling(dt.date(2026, 10, 27), matches=[dt.date(2026, 10, 24)], rules=HOUSE).level == Level.FULL
    assert ceiling(dt.date(2026, 10, 26), matches=[dt.date(2026, 10, 24)], rules=HOUSE).level == Level.CONTROLLED


def test_the_leap_day_is_a_day():
    match = dt.date(2028, 2, 27)
    assert ceiling(dt.date(2028, 2, 29), matches=[match], rules=HOUSE).level == Level.CONTROLLED
    assert ceiling(dt.date(2028, 3, 1), matches=[match], rules=HOUSE).level == Level.FULL


def test_an_absence_is_told_before_a_clearance_of_the_same_level():
    found = ceiling(DAY, absences=[Away(DAY, DAY)], decisions=[decided(Level.ABSENT, DAY)])
    assert found.reason == "away this day"


days = st.dates(dt.date(2026, 9, 1), dt.date(2026, 11, 30))
spans = st.builds(lambda first, length: Away(first, first + dt.timedelta(length)), days, st.integers(0, 30))
decisions = st.builds(Decision, days, st.sampled_from(Level), days, st.just("A. Person"))
distances = st.integers(0, 6)
rules = st.none() | st.builds(MatchRules, distances, distances, distances, distances)
situations = st.fixed_dictionaries(
    {
        "joined": st.none() | days,
        "left": st.none() | days,
        "absences": st.lists(spans, max_size=3),
        "decisions": st.lists(decisions, max_size=4),
        "matches": st.lists(days, max_size=5),
        "rules": rules,
    }
)


@given(days, situations, spans)
def test_another_absence_never_raises_a_ceiling(day, situation, away):
    more = situation | {"absences": [*situation["absences"], away]}
    assert ceiling(day, **more).level.height <= ceiling(day, **situation).level.height


@given(days, situations, days)
def test_another_match_never_raises_a_ceiling(day, situation, match):
    more = situation | {"matches": [*situation["matches"], match]}
    assert ceiling(day, **more).level.height <= ceiling(day, **situation).level.height


@given(days, situations, decisions)
def test_a_stricter_decision_than_the_one_in_force_never_raises_a_ceiling(day, situation, decision):
    now = in_force(day, situation["decisions"])
    height = Level.FULL.height if now is None else now.level.height
    strict = Decision(decision.from_day, list(Level)[min(height, decision.level.height)], decision.decided_on, "B")
    more = situation | {"decisions": [*situation["decisions"], strict]}
    assert ceiling(day, **more).level.height <= ceiling(day, **situation).level.height


@given(days, situations, decisions)
def test_a_decision_for_a_later_day_changes_nothing_today(day, situation, decision):
    later = Decision(day + dt.timedelta(1), decision.level, decision.decided_on, decision.decided_by)
    more = situation | {"decisions": [*situation["decisions"], later]}
    assert ceiling(day, **more) == ceiling(day, **situation)


@given(days, situations)
def test_no_clearance_row_restricts_nothing(day, situation):
    without = situation | {"decisions": []}
    cleared = situation | {"decisions": [decided(Level.FULL, dt.date(2020, 1, 1))]}
    assert ceiling(day, **without) == ceiling(day, **cleared)


@given(days, situations, st.permutations(["absences", "matches"]), st.randoms())
def test_the_order_of_absences_and_matches_does_not_matter(day, situation, fields, random):
    shuffled = dict(situation)
    for field in fields:
        shuffled[field] = random.sample(situation[field], len(situation[field]))
    assert ceiling(day, **shuffled) == ceiling(day, **situation)


@given(days, situations)
def test_a_ceiling_always_gives_its_reason(day, situation):
    assert ceiling(day, **situation).reason != ""
