"""Published limits of contact and of match time, against what is counted and offered here.

Sources, none of which was read as the primary document itself unless said so:
- World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021, as the press reported them:
  full contact at most 15 minutes over at most 2 days a week and none on Monday or Friday; controlled contact at most
  40 minutes with at least one day of no contact of any type; live set piece at most 30 minutes.
- Rugby Football Union, age-grade contact training page (read): at most 30 matches a season, at least 72 hours between
  matches, at most 120 match minutes a week, 15 minutes a week of maximum or high and 30 of medium intensity.
- Scottish Rugby, age banding page (read): under-9 to under-18, at most 90 minutes of game time in any 48 hours.
That "maximum or high" is booked as full contact and "medium" as controlled is a reading of ours.
"""

from __future__ import annotations

import datetime as dt

import pytest

from planner.core.totals import Limit, Room, Stretch, WeekLimits, player_week
from planner.core.windows import Match, Measure, RuleSet, bounds_of, player_windows
from shared.core.contact import Kind, Level
from squads.core.eligibility import MatchRules, ceiling
from squads.published import ELITE_2021, ENGLAND_AGE_GRADE, PublishedRules

MONDAY = dt.date(2026, 10, 5)
FIELDS = {
    Measure.FULL_DAYS: "full_days",
    Measure.FREE_DAYS: "free_days",
    Measure.MATCH_MINUTES: "match_minutes",
    Measure.MATCH_HOURS: "match_hours",
    Measure.SEASON_MATCHES: "season_matches",
}


def day(weekday: int) -> dt.date:
    return MONDAY + dt.timedelta(days=weekday)


def training(kind: Kind, minutes: dict[int, float]) -> list[Stretch]:
    """Minutes of a kind by weekday, 0 for Monday; half minutes as a share of 50 per cent."""
    return [
        Stretch(1, weekday, 0, day(weekday), "a drill", kind, int(2 * much), 50, Level.FULL)
        for weekday, much in minutes.items()
    ]


def judged(rules: PublishedRules, stretches=(), matches=()):
    kinds = {Kind.FULL: "full_minutes", Kind.CONTROLLED: "controlled_minutes", Kind.SET_PIECE: "set_piece_minutes"}
    limits = {kind: Limit(most, "read") for kind, name in kinds.items() if (most := rules.limits.get(name)) is not None}
    week = player_week(1, MONDAY, stretches, WeekLimits(limits, rules.limits["full_days"]))
    others = {measure: most for measure, name in FIELDS.items() if (most := rules.limits.get(name)) is not None}
    return player_windows(week, matches, bounds_of([RuleSet("read", others)]))


def match(weekday: int, minutes: int, hour: int = 15) -> Match:
    return Match(1, day(weekday), minutes, "match", dt.datetime.combine(day(weekday), dt.time(hour), dt.UTC))


# The professional game, 2021


@pytest.mark.parametrize(("minutes", "room"), [(15, Room.NEAR), (15.5, Room.PAST)])
def test_fifteen_minutes_of_full_contact_a_week_are_inside_and_fifteen_and_a_half_are_not(minutes, room):
    assert judged(ELITE_2021, training(Kind.FULL, {1: minutes})).of(Measure.FULL).room is room


def test_three_days_of_five_minutes_break_the_two_days_and_not_the_minutes():
    week = judged(ELITE_2021, training(Kind.FULL, {1: 5, 2: 5, 3: 5}))
    assert [finding.measure for finding in week.past] == [Measure.FULL_DAYS]


def test_forty_controlled_minutes_over_seven_days_break_the_free_day_and_not_the_minutes():
    spread = judged(ELITE_2021, training(Kind.CONTROLLED, {0: 10, 1: 5, 2: 5, 3: 5, 4: 5, 5: 5, 6: 5}))
    assert [finding.measure for finding in spread.past] == [Measure.FREE_DAYS]
    assert judged(ELITE_2021, training(Kind.CONTROLLED, dict.fromkeys(range(6), 6))).past == ()


def test_the_three_categories_are_never_pooled():
    """85 minutes in all: no published limit is passed, for none is published for the sum."""
    kinds = {Kind.FULL: 15, Kind.CONTROLLED: 40, Kind.SET_PIECE: 30}
    assert judged(ELITE_2021, [s for kind, much in kinds.items() for s in training(kind, {1: much})]).past == ()


@pytest.mark.parametrize(("weekday", "allowed"), [(0, False), (1, True), (2, True), (3, True), (4, False)])
def test_before_a_saturday_match_after_a_saturday_match_monday_and_friday_have_no_full_contact(weekday, allowed):
    rules = MatchRules(
        full_after=ELITE_2021.limits["full_after_match"],
        full_before=ELITE_2021.limits["full_before_match"],
        controlled_after=ELITE_2021.limits["controlled_after_match"],
        controlled_before=ELITE_2021.limits["controlled_before_match"],
    )
    saturdays = [day(-2), day(5)]
    assert ceiling(day(weekday), matches=saturdays, rules=rules).level.allows(Kind.FULL) is allowed


# Age grade in England


@pytest.mark.parametrize(
    ("kind", "inside", "past"), [(Kind.FULL, 15, 15.5), (Kind.CONTROLLED, 30, 30.5)], ids=["high", "medium"]
)
def test_each_intensity_has_its_own_minutes_a_week(kind, inside, past):
    measure = Measure(kind.value)
    assert judged(ENGLAND_AGE_GRADE, training(kind, {1: inside})).of(measure).room is Room.NEAR
    assert judged(ENGLAND_AGE_GRADE, training(kind, {1: past})).of(measure).room is Room.PAST


def test_120_match_minutes_a_week_are_inside_and_121_are_not():
    assert judged(ENGLAND_AGE_GRADE, matches=[match(2, 60), match(6, 60)]).of(Measure.MATCH_MINUTES).room is Room.NEAR
    assert judged(ENGLAND_AGE_GRADE, matches=[match(2, 61), match(6, 60)]).of(Measure.MATCH_MINUTES).room is Room.PAST


def test_72_hours_between_matches_are_enough_and_71_are_not():
    assert judged(ENGLAND_AGE_GRADE, matches=[match(2, 50), match(5, 50)]).of(Measure.MATCH_HOURS).room is Room.FINE
    assert judged(ENGLAND_AGE_GRADE, matches=[match(2, 50), match(5, 50, 14)]).of(Measure.MATCH_HOURS).room is Room.PAST


def test_thirty_matches_a_season_are_inside_and_the_thirty_first_is_not():
    weekly = [match(5 - 7 * n, 40) for n in range(31)]
    assert judged(ENGLAND_AGE_GRADE, matches=weekly[:30]).of(Measure.SEASON_MATCHES).room is Room.NEAR
    assert judged(ENGLAND_AGE_GRADE, matches=weekly).of(Measure.SEASON_MATCHES).room is Room.PAST


def test_contact_of_every_setting_counts_together():
    """Club and school: "all settings count together"."""
    club, school = training(Kind.FULL, {1: 9}), training(Kind.FULL, {3: 7})
    assert judged(ENGLAND_AGE_GRADE, [*club, *school]).of(Measure.FULL).excess == 1


# Scotland: a rule that a club adds as its own


def test_ninety_minutes_of_game_time_in_any_48_hours_are_inside_and_91_are_not():
    rules = bounds_of([RuleSet("read", {Measure.TWO_DAY_MINUTES: 90})])
    week = player_week(1, MONDAY, [])
    inside, past = (player_windows(week, [match(5, 50, 10), match(6, much, 12)], rules) for much in (40, 41))
    assert (inside.of(Measure.TWO_DAY_MINUTES).room, past.of(Measure.TWO_DAY_MINUTES).room) == (Room.NEAR, Room.PAST)


# What is offered to a club


def test_the_offered_sets_hold_the_published_figures():
    asked = ("full_minutes", "controlled_minutes", "set_piece_minutes", "full_days", "free_days")
    assert [ELITE_2021.limits[name] for name in asked] == [15, 40, 30, 2, 1]
    asked = ("full_minutes", "controlled_minutes", "match_minutes", "match_hours", "season_matches")
    assert [ENGLAND_AGE_GRADE.limits[name] for name in asked] == [15, 30, 120, 72, 30]
    assert (ENGLAND_AGE_GRADE.limits["age_from"], ENGLAND_AGE_GRADE.limits["age_to"]) == (13, 18)


@pytest.mark.parametrize("rules", [ELITE_2021, ENGLAND_AGE_GRADE], ids=lambda rules: rules.key)
def test_each_offered_set_names_its_source_and_what_could_not_be_verified(rules):
    assert rules.source
    assert rules.unsure
