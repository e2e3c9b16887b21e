"""Graded return after a head injury against the unions' texts.

How far each was read: the UK grassroots guidance (April 2023, updated November 2024) in a club's page that quotes
the union's text, and its Day 0 in a school's sheet of the same programme; the Irish union's protocol on its own page
(stages and least days); the New Zealand stand-down in an optician's page that quotes it; the French federation's
text of 3 January 2020 on its own page, since replaced for players over 19 by days that could not be read; World
Rugby Regulation 10.1.1 on its own page, where the least number of days was cut off. Day arithmetic and the
scenario of October 2025 are derived from the UK text by hand.
"""

import datetime as dt

import pytest

from shared.core.contact import Level
from squads.core.eligibility import Decision, ceiling
from squads.core.graduated import Allowed, Course, SymptomFree, Symptoms, next_dates, rule_of
from squads.core.union_tables import NOT_STATED, TABLES, Least, Step, table_for

UK = TABLES["uk-grassroots"]
INJURED = dt.date(2025, 10, 4)  # a Saturday, Day 0
FREE = SymptomFree(dt.date(2025, 10, 8))


def october(day: int) -> dt.date:
    return dt.date(2025, 10, day)


def days_of(dates) -> dict[str, dt.date | None]:
    return {step.value: dates[step].day for step in Step}


@pytest.mark.parametrize(("day", "date"), [(8, 9), (15, 16), (21, 22)])
def test_day_arithmetic_counts_the_day_of_the_injury_as_day_0(day, date):
    """Injury on 1 March: Day 8 is the 9th, Day 15 the 16th, Day 21 the 22nd."""
    step = {8: Step.NON_CONTACT, 15: Step.CONTACT, 21: Step.MATCH}[day]
    injured = dt.date(2025, 3, 1)
    assert next_dates(UK, injured, [SymptomFree(injured)])[step].day == dt.date(2025, 3, date)


def test_the_uk_table_says_day_8_15_and_21_and_14_days_without_symptoms():
    assert (UK.non_contact, UK.contact, UK.match) == (
        Least(day=8),
        Least(day=15, clear=14),
        Least(day=21, clear=14),
    )


# Scenario: head injury Sat 4 Oct 2025, symptom-free at rest from Wed 8 Oct


def test_the_days_of_the_scenario_follow_from_the_uk_table():
    assert days_of(next_dates(UK, INJURED, [FREE])) == {
        "non_contact": october(12),  # Day 8, a Sunday
        "contact": october(22),  # not Sun 19 (Day 15): 14 clear days end on Tue 21
        "match": october(25),  # Day 21
    }


def test_each_day_of_the_scenario_has_its_reason():
    dates = next_dates(UK, INJURED, [FREE])
    assert [dates[step].reason for step in Step] == [
        "not before Day 8 after 4 Oct",
        "14 days without symptoms from 8 Oct",
        "not before Day 21 after 4 Oct",
    ]


def test_new_symptoms_on_the_15th_close_every_step_until_their_end_is_entered():
    assert set(days_of(next_dates(UK, INJURED, [FREE, Symptoms(october(15))])).values()) == {None}


@pytest.mark.parametrize("free", [16, 17, 20])
def test_new_symptoms_on_the_15th_push_contact_to_14_days_after_they_end(free):
    events = [FREE, Symptoms(october(15)), SymptomFree(october(free))]
    dates = next_dates(UK, INJURED, events)
    assert dates[Step.CONTACT].day == october(free) + dt.timedelta(days=14)
    assert dates[Step.MATCH].day > dates[Step.CONTACT].day  # through contact training first


@pytest.mark.parametrize(
    ("day", "most"),
    [
        (3, Level.FULL),
        (4, Level.ABSENT),
        (11, Level.ABSENT),
        (12, Level.NONE),
        (19, Level.NONE),
        (21, Level.NONE),
        (22, Level.FULL),
    ],
)
def test_whoever_decides_may_decide_no_more_than_the_day_allows(day, most):
    assert Course(UK, INJURED, (FREE,)).most_on(october(day)) == most


def test_a_day_that_passes_clears_nobody():
    """Taken off on the 4th and nothing decided since: he stays off on Day 8, 15, 22 and after."""
    off = Decision(INJURED, Level.ABSENT, INJURED, "A. Keel")
    for day in (12, 19, 22, 25, 31):
        found = ceiling(october(day), decisions=[off], courses=[Course(UK, INJURED, (FREE,))])
        assert found.level is Level.ABSENT


def test_coaches_read_a_date_and_no_reason():
    decided = Decision(october(12), Level.FULL, october(12), "Dr Ann Ferris")
    found = ceiling(october(13), decisions=[decided], courses=[Course(UK, INJURED, (FREE,))])
    assert (found.level, found.reason) == (Level.NONE, "no contact before 22 Oct")


# The other unions' tables, on the same Saturday and with the same first day without symptoms


@pytest.mark.parametrize(
    ("union", "age", "key", "non_contact", "match"),
    [
        ("irfu", 20, "irfu-adult", None, october(25)),  # 21 days
        ("irfu", 19, "irfu-u20", None, october(27)),  # 23 days
        ("nzr", 19, "nzr-adult", None, october(25)),  # 21 days
        ("nzr", 18, "nzr-u19", None, october(27)),  # 23 days
        ("ffr", 17, "ffr-2020-u18", october(12), october(27)),  # from Day 8; blocked for 23 days
        ("ffr", 19, "ffr-adult", None, None),  # changed since; the new days were not readable
        ("world-rugby", 30, "world-rugby", None, None),  # the least number of days was cut off
    ],
)
def test_another_union_gives_the_days_that_its_text_states(union, age, key, non_contact, match):
    table = table_for(union, INJURED.replace(year=2025 - age), INJURED)
    dates = next_dates(table, INJURED, [FREE])
    assert (table.key, dates[Step.NON_CONTACT].day, dates[Step.MATCH].day) == (key, non_contact, match)


def test_the_french_text_of_2020_for_adults_is_kept_and_offered_to_nobody():
    old = TABLES["ffr-2020-adult"]
    dates = next_dates(old, INJURED, [SymptomFree(INJURED)])
    assert (dates[Step.NON_CONTACT].day, dates[Step.MATCH].day) == (october(7), october(15))  # Day 3, Day 11
    assert not old.offered


def test_the_elite_table_is_kept_with_its_twelve_days_and_offered_to_nobody():
    elite = TABLES["world-rugby-elite"]
    assert next_dates(elite, INJURED, [SymptomFree(INJURED)])[Step.MATCH].day == october(16)
    assert not elite.offered


def test_a_step_that_a_text_does_not_date_says_so_and_stays_closed():
    irish = TABLES["irfu-adult"]
    assert next_dates(irish, INJURED, [FREE])[Step.CONTACT].reason == NOT_STATED == "not stated: ask the union"
    assert Course(irish, INJURED, (FREE,)).most_on(october(31)) is Level.ABSENT


def test_regulation_10_wants_symptoms_over_before_rugby_training_under_every_unions_table():
    """Regulation 10.1.1: symptom-free before the high-intensity stages, which begin with non-contact training."""
    for table in TABLES.values():
        if table.key != "by-hand":
            assert next_dates(table, INJURED, [])[Step.NON_CONTACT].day is None


def test_regulation_10_wants_a_medical_clearance_before_contact_under_every_unions_table():
    assert {rule_of(t).medical_before for t in TABLES.values() if t.key != "by-hand"} == {Step.CONTACT}


def test_a_step_takes_at_least_24_hours():
    """Consensus statement of Berlin 2016. Of the days of the UK text it moves the match only."""
    dates = next_dates(UK, INJURED, [SymptomFree(october(20))])
    assert (dates[Step.CONTACT].day, dates[Step.MATCH].day) == (dt.date(2025, 11, 3), dt.date(2025, 11, 4))


def test_the_uk_text_sends_to_a_doctor_after_28_days_of_symptoms():
    course = Course(UK, INJURED)
    assert not course.symptoms_last(INJURED + dt.timedelta(days=28))
    assert course.symptoms_last(INJURED + dt.timedelta(days=29))


def test_a_medical_entry_moves_a_day_and_names_its_author():
    entry = Allowed(october(14), Step.CONTACT, october(18), "Dr Ann Ferris", "club doctor")
    found = next_dates(UK, INJURED, [FREE, entry])
    assert days_of(found) == {"non_contact": october(12), "contact": october(18), "match": october(25)}
    assert found[Step.CONTACT].reason == "allowed by Dr Ann Ferris, club doctor, on 14 Oct"
