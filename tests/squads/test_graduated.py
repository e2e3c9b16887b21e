"""Laws of the graded return: days move later, the stricter holds, and only a medical entry moves them sooner."""

import datetime as dt
import re
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared.core.contact import Level
from squads.core.eligibility import Decision, ceiling
from squads.core.graduated import Allowed, Course, SymptomFree, Symptoms, floors, next_dates, rule_of, step_of
from squads.core.union_tables import TABLES, UNIONS, Least, Step, Table, age_on, table_for

INJURED = dt.date(2026, 10, 3)
MOST_DAYS = 60

days = st.integers(0, MOST_DAYS).map(lambda n: INJURED + dt.timedelta(days=n))
counts = st.none() | st.integers(0, 30)
leasts = st.builds(Least, day=counts, clear=counts)
tables = st.sampled_from(list(TABLES.values())) | st.builds(
    Table,
    *map(st.just, ("any", "any", "any", "any", "any")),
    non_contact=leasts,
    contact=leasts,
    match=leasts,
    step_days=st.integers(0, 3),
)
entries = st.builds(Allowed, days, st.sampled_from(Step), days, st.just("Dr Ann Ferris"), st.just("club doctor"))
told = st.builds(SymptomFree, days) | st.builds(Symptoms, days)
events = st.lists(told | entries, max_size=6)


def never_sooner(after, before) -> bool:
    return all(after[step].order >= before[step].order for step in Step)


@given(tables, events, days, days)
def test_new_symptoms_never_bring_a_day_nearer(table, events, again, over):
    before = next_dates(table, INJURED, events)
    assert never_sooner(next_dates(table, INJURED, [*events, Symptoms(again)]), before)
    after = next_dates(table, INJURED, [*events, Symptoms(again), SymptomFree(over)])
    assert all(after[step].order >= found.order for step, found in before.items() if found.day)


@given(tables, events, st.lists(told, max_size=4))
def test_without_a_medical_entry_a_day_once_known_never_comes_nearer(table, events, more):
    before = {step: found for step, found in next_dates(table, INJURED, events).items() if found.day}
    after = next_dates(table, INJURED, [*events, *more])
    assert all(after[step].order >= found.order for step, found in before.items())


@given(tables, events)
def test_contact_never_comes_before_non_contact_nor_a_match_before_contact(table, events):
    known = [found.day for found in next_dates(table, INJURED, events).values() if found.day]
    assert known == sorted(known)


@given(tables, tables, events)
def test_a_stricter_table_never_gives_a_nearer_day(table, other, events):
    stricter = table.with_stricter(other)
    # A day that only the other one states replaces "ask the union", which is no day at all.
    assume(all(table.least(step).day is not None or stricter.least(step).day is None for step in Step))
    assert never_sooner(next_dates(stricter, INJURED, events), next_dates(table, INJURED, events))


@given(tables, events)
def test_no_day_is_nearer_than_the_count_of_the_table_unless_a_medical_entry_says_so(table, events):
    told_only = [event for event in events if not isinstance(event, Allowed)]
    for step, found in next_dates(table, INJURED, told_only).items():
        if found.day and table.least(step).day is not None:
            assert (found.day - INJURED).days >= table.least(step).day


@given(tables, st.lists(told, max_size=5), days)
def test_a_step_opens_only_after_its_clear_days(table, told, day):
    """Counted again from the events themselves: the last symptoms and what was entered as their end."""
    symptoms = [event.day for event in told if isinstance(event, Symptoms)]
    for step, found in next_dates(table, INJURED, told).items():
        clear = rule_of(table).least(step).clear
        if found.day and clear is not None and symptoms:
            assert (found.day - max(symptoms)).days > clear


@given(tables, events, days)
def test_a_medical_entry_decides_its_own_step_until_something_new_is_told(table, events, day):
    entry = Allowed(day, Step.CONTACT, day, "Dr Ann Ferris", "club doctor")
    found = next_dates(table, INJURED, [*events, SymptomFree(INJURED + dt.timedelta(days=99)), entry])
    assert found[Step.CONTACT].day == day


@given(tables, events, days)
def test_what_dates_allow_never_falls_as_days_go_by_without_news(table, events, day):
    course = Course(table, INJURED, tuple(events))
    last = max([event.day for event in events], default=INJURED)
    levels = [course.most_on(last + dt.timedelta(days=n)).height for n in range(5)]
    assert levels == sorted(levels)


def test_symptoms_of_a_later_day_do_not_close_an_earlier_one():
    course = Course(TABLES["uk-grassroots"], INJURED, (SymptomFree(INJURED), Symptoms(INJURED + dt.timedelta(days=12))))
    levels = [course.most_on(INJURED + dt.timedelta(days=n)) for n in (7, 8, 11, 12, 40)]
    assert levels == [Level.ABSENT, Level.NONE, Level.NONE, Level.ABSENT, Level.ABSENT]


def test_a_return_that_is_closed_limits_no_day_from_then_on():
    course = Course(TABLES["by-hand"], INJURED, closed=INJURED + dt.timedelta(days=30))
    assert course.most_on(INJURED + dt.timedelta(days=29)) is Level.ABSENT
    assert course.most_on(INJURED + dt.timedelta(days=30)) is Level.FULL


def test_dates_by_hand_come_only_from_entries():
    entry = Allowed(INJURED, Step.NON_CONTACT, INJURED + dt.timedelta(days=2), "P. Hollin", "physiotherapist")
    dates = next_dates(TABLES["by-hand"], INJURED, [entry])
    assert [dates[step].day for step in Step] == [INJURED + dt.timedelta(days=2), None, None]


def test_the_end_of_symptoms_cannot_lie_on_their_day():
    again = INJURED + dt.timedelta(days=10)
    dates = next_dates(TABLES["uk-grassroots"], INJURED, [Symptoms(again), SymptomFree(again)])
    assert dates[Step.CONTACT].day == again + dt.timedelta(days=15)


@pytest.mark.parametrize(
    ("born", "day", "age"),
    [
        (dt.date(2007, 10, 3), INJURED, 19),
        (dt.date(2007, 10, 4), INJURED, 18),
        (dt.date(2008, 2, 29), dt.date(2026, 2, 28), 17),
        (dt.date(2008, 2, 29), dt.date(2026, 3, 1), 18),
    ],
)
def test_age_is_counted_in_whole_years_on_the_day_of_the_injury(born, day, age):
    assert age_on(born, day) == age


def test_a_birthday_after_the_injury_changes_no_table():
    assert table_for("nzr", dt.date(2007, 10, 4), INJURED).key == "nzr-u19"
    assert table_for("nzr", dt.date(2007, 10, 3), INJURED).key == "nzr-adult"


@pytest.mark.parametrize("union", UNIONS)
def test_without_a_date_of_birth_the_longest_table_of_the_union_holds(union):
    held = table_for(union, None, INJURED)
    for age in range(6, 40):
        other = table_for(union, INJURED.replace(year=INJURED.year - age), INJURED)
        assert all((held.least(step).day or 0) >= (other.least(step).day or 0) for step in Step)


@given(st.sampled_from(sorted(UNIONS)), st.integers(0, 90))
def test_every_union_has_exactly_one_table_for_each_age(union, age):
    assert sum(t.is_for(age) for t in TABLES.values() if t.union == union and t.offered) == 1


def test_a_union_without_a_table_is_refused():
    with pytest.raises(KeyError):
        table_for("nowhere", None, INJURED)


def test_every_table_says_where_it_comes_from_and_how_far_it_was_read():
    assert all(table.source and table.verified and table.key == key for key, table in TABLES.items())


def test_a_step_that_the_table_does_not_date_still_takes_its_time():
    rule = replace(rule_of(TABLES["ffr-2020-u18"]), match=Least(day=8))
    assert floors(rule, INJURED, INJURED)[Step.MATCH].day == INJURED + dt.timedelta(days=10)


def test_a_level_takes_the_step_of_its_contact():
    assert [step_of(level) for level in Level] == [None, Step.NON_CONTACT, Step.CONTACT, Step.CONTACT]


@given(tables, events, days, st.sampled_from(Level))
def test_no_decision_lifts_a_ceiling_above_what_the_dates_allow(table, events, day, level):
    course = Course(table, INJURED, tuple(events))
    decided = Decision(INJURED, level, INJURED, "Dr Ann Ferris")
    found = ceiling(day, decisions=[decided], courses=[course]).level
    assert found == min(level, course.most_on(day), key=lambda each: each.height)


@given(tables, events, days)
def test_the_reason_of_a_return_is_a_date_and_no_word_on_its_kind(table, events, day):
    reason = ceiling(day, courses=[Course(table, INJURED, tuple(events))]).reason
    assert re.fullmatch(r"all work|no (training|contact)( before \d+ \w+( \d{4})?|, no date for more yet)", reason)
