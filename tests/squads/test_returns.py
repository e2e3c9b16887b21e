"""A player's return to training: who may decide what by when, and what a coach's page may know of it."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from shared.audit import broken_links
from shared.clock import today_at
from shared.core.contact import Level
from shared.models import AuditEvent
from squads.actions import Refused
from squads.clearance_actions import (
    allow,
    close_return,
    record_clearance,
    start_return,
    tell_symptom_free,
    tell_symptoms,
)
from squads.core.union_tables import Step
from squads.models import Clearance, Player
from squads.return_models import ReturnEntry
from tests import factories as f

pytestmark = pytest.mark.django_db
DOCTOR = {"decided_by": "Dr Ann Ferris", "decided_as": "club doctor"}
AIDER = {"decided_by": "P. Hollin", "decided_as": "first aider"}


@pytest.fixture
def today(club):
    return today_at(club)


@pytest.fixture
def ago(today):
    return lambda days: today - dt.timedelta(days=days)


@pytest.fixture
def bo(squad):
    return f.PlayerFactory(squad=squad, given_name="Bo", family_name="Marr", born=dt.date(1999, 5, 1))


@pytest.fixture
def started(bo, welfare, ago):
    """`started(10)`: a return that began ten days ago under the UK table, symptom-free from two days later."""

    def start(days, free=2, union="uk-grassroots"):
        case = start_return(player=bo, union=union, day=ago(days), by=welfare, **AIDER)
        if free is not None:
            tell_symptom_free(case=case, day=ago(days - free), by=welfare)
        return case

    return start


def decide(player, level, by, day, **more):
    told = DOCTOR | {"from_day": day, "decided_on": today_at(player.squad.club)} | more
    return record_clearance(player=player, level=level, by=by, **told)


def now(player) -> Player:
    return Player.objects.with_availability().get(pk=player.pk)


def level_on(player, day):
    return now(player).ceiling_on(day).level


# Off at once


def test_a_return_takes_the_player_off_from_the_day_of_the_injury(bo, started, ago, today):
    started(3)
    assert [level_on(bo, day) for day in (ago(4), ago(3), today)] == [Level.FULL, Level.ABSENT, Level.ABSENT]


def test_a_return_says_in_the_clearances_who_took_the_player_off(bo, started, ago, today):
    started(3)
    found = Clearance.objects.get()
    assert (found.level, found.from_day, found.decided_by, found.decided_as, found.decided_on) == (
        *("absent", ago(3), "P. Hollin", "first aider"),
        today,
    )


def test_a_decision_made_before_the_return_holds_no_longer(bo, welfare, started, today):
    decide(bo, "full", welfare, today)
    started(20, free=None, union="by-hand")
    assert level_on(bo, today) is Level.ABSENT


def test_no_day_that_passes_lets_a_player_back(bo, started, today):
    started(3)
    later = [today + dt.timedelta(days=n) for n in (10, 20, 40, 400)]
    assert {level_on(bo, day) for day in later} == {Level.ABSENT}


def test_a_return_cannot_begin_tomorrow_nor_twice_on_a_day_nor_long_ago(bo, welfare, started, ago):
    started(3)
    for day, words in ((ago(-1), "still to come"), (ago(3), "there already"), (ago(1200), "over three years")):
        with pytest.raises(Refused, match=words):
            start_return(player=bo, union="irfu", day=day, by=welfare, **AIDER)
    assert ReturnEntry.objects.cases().count() == 1


def test_the_table_is_chosen_by_the_age_on_the_day_of_the_injury_and_kept(bo, welfare, today, ago):
    bo.born = dt.date(ago(10).year - 19, 1, 1)  # nineteen then, on whatever day of the year
    bo.save()
    case = start_return(player=bo, union="irfu", day=ago(10), by=welfare, **AIDER)
    assert case.table == "irfu-u20"


# Decisions and days


def test_a_decision_within_the_days_holds(bo, welfare, started, today):
    started(10)
    decide(bo, "none", welfare, today)
    assert level_on(bo, today) is Level.NONE


def test_a_decision_above_the_days_is_refused_with_the_day_and_nothing_is_written(bo, welfare, started, today, ago):
    started(5)
    with pytest.raises(Refused, match=f"Non-contact training: not before {(ago(5) + dt.timedelta(days=8)):%-d %B %Y}"):
        decide(bo, "none", welfare, today)
    assert Clearance.objects.count() == 1


def test_contact_is_refused_on_day_15_while_14_clear_days_have_not_passed(bo, welfare, started, today):
    started(15, free=4)  # free from Day 4: contact from Day 18
    with pytest.raises(Refused, match="Contact training: not before"):
        decide(bo, "controlled", welfare, today, letter_received=True)
    decide(bo, "controlled", welfare, today + dt.timedelta(days=3), letter_received=True)
    assert [level_on(bo, today + dt.timedelta(days=n)) for n in (2, 3)] == [Level.ABSENT, Level.CONTROLLED]


def test_contact_wants_the_letter_of_a_medical_clearance(bo, welfare, started, today):
    started(20)
    with pytest.raises(Refused, match="medical clearance is wanted"):
        decide(bo, "full", welfare, today)
    decide(bo, "full", welfare, today, letter_received=True)
    assert level_on(bo, today) is Level.FULL


def test_a_medical_role_may_decide_above_the_days_and_that_is_an_entry(bo, medic, started, today):
    case = started(10)
    decide(bo, "full", medic, today, medical=True)
    entry = case.entries.get(kind="allowed")
    assert (entry.step, entry.from_day, entry.decided_by, entry.entered_by) == (
        "contact",
        today,
        "Dr Ann Ferris",
        medic,
    )
    assert level_on(bo, today) is Level.FULL


def test_not_even_a_medical_role_decides_while_symptoms_go_on(bo, medic, started, today):
    started(10, free=None)
    with pytest.raises(Refused, match="Enter first from which day on there are no symptoms"):
        decide(bo, "none", medic, today, medical=True)
    assert Clearance.objects.count() == 1


def test_out_may_always_be_decided(bo, welfare, started, today):
    started(1, free=None)
    decide(bo, "absent", welfare, today)
    assert Clearance.objects.count() == 2


def test_a_decision_from_a_past_day_is_measured_by_today_as_well(bo, welfare, started, ago):
    case = started(12)
    tell_symptoms(case=case, day=ago(2), by=welfare, **AIDER)
    with pytest.raises(Refused):
        decide(bo, "none", welfare, ago(3))


def test_a_later_first_day_without_symptoms_lowers_a_decision_that_stands(bo, welfare, started, today, ago):
    case = started(16)
    decide(bo, "full", welfare, today, letter_received=True)
    assert level_on(bo, today) is Level.FULL
    tell_symptom_free(case=case, day=ago(5), by=welfare)
    found = now(bo).ceiling_on(today)
    contact = ago(5) + dt.timedelta(days=14)
    assert found.level is Level.NONE
    assert found.reason.startswith(f"no contact before {contact.day} {contact:%b}")


def test_by_hand_every_step_waits_for_a_medical_entry(bo, welfare, medic, started, today):
    started(30, free=None, union="by-hand")
    with pytest.raises(Refused, match="no day yet"):
        decide(bo, "none", welfare, today)
    decide(bo, "none", medic, today, medical=True)
    assert level_on(bo, today) is Level.NONE


# What is entered since


def test_new_symptoms_take_the_player_off_again(bo, welfare, started, today, ago):
    case = started(12)
    decide(bo, "none", welfare, ago(1))
    tell_symptoms(case=case, day=today, by=welfare, **AIDER)
    assert [level_on(bo, day) for day in (ago(1), today, today + dt.timedelta(days=60))] == [
        *(Level.NONE, Level.ABSENT, Level.ABSENT),
    ]


def test_an_earlier_first_day_without_symptoms_is_refused(started, welfare, ago):
    case = started(10)
    with pytest.raises(Refused, match="Only a medical entry can name an earlier one"):
        tell_symptom_free(case=case, day=ago(9), by=welfare)


def test_symptoms_cannot_end_on_their_own_day(started, welfare, ago):
    case = started(10)
    tell_symptoms(case=case, day=ago(3), by=welfare, **AIDER)
    with pytest.raises(Refused, match="first day after them"):
        tell_symptom_free(case=case, day=ago(3), by=welfare)
    tell_symptom_free(case=case, day=ago(2), by=welfare)
    assert case.entries.count() == 3


@pytest.mark.parametrize("days", [11, -1])
def test_a_day_outside_the_return_is_refused(started, welfare, ago, days):
    case = started(10)
    with pytest.raises(Refused):
        tell_symptoms(case=case, day=ago(days), by=welfare, **AIDER)


def test_a_medical_entry_moves_a_day_sooner_and_later(bo, started, medic, today, ago):
    case = started(10)
    told = DOCTOR | {"decided_on": today, "by": medic}
    allow(case=case, step=Step.CONTACT, from_day=ago(-1), **told)
    assert case_now(case).dates[Step.CONTACT].day == ago(-1)
    allow(case=case, step=Step.CONTACT, from_day=ago(-30), **told)
    assert case_now(case).dates[Step.CONTACT].day == ago(-30)


def case_now(case):
    return ReturnEntry.objects.get(pk=case.pk).as_course


def test_new_symptoms_undo_what_was_allowed_sooner(started, medic, welfare, today, ago):
    case = started(10)
    allow(case=case, step=Step.CONTACT, from_day=ago(-1), decided_on=ago(3), by=medic, **DOCTOR)
    tell_symptoms(case=case, day=ago(1), by=welfare, **AIDER)
    tell_symptom_free(case=case, day=today, by=welfare)
    assert case_now(case).dates[Step.CONTACT].day == today + dt.timedelta(days=14)


def test_a_return_closes_from_the_day_of_a_match_on(started, welfare, medic):
    with pytest.raises(Refused, match="has not come"):
        close_return(case=started(20), by=welfare, **DOCTOR)
    old = ReturnEntry.objects.cases().get()
    close_return(case=old, by=medic, medical=True, **DOCTOR)
    assert case_now(old).closed
    with pytest.raises(Refused, match="closed"):
        close_return(case=old, by=medic, medical=True, **DOCTOR)


def test_a_closed_return_leaves_the_last_decision_as_it_is(bo, started, welfare, today):
    case = started(22)
    close_return(case=case, by=welfare, **DOCTOR)
    assert level_on(bo, today) is Level.ABSENT
    decide(bo, "full", welfare, today)
    assert level_on(bo, today) is Level.FULL


# What the rows and the chain hold


def test_the_audit_chain_tells_who_and_when_and_nothing_of_symptoms_or_tables(club, started, welfare, medic, today):
    case = started(10)
    tell_symptoms(case=case, day=today, by=welfare, **AIDER)
    close_return(case=case, by=medic, medical=True, **DOCTOR)
    told = " ".join(f"{event.did} {event.subject} {event.detail}" for event in AuditEvent.objects.all()).lower()
    assert "started a return to training bo marr" in told
    assert not any(word in told for word in ("symptom", "head", "grassroots", "concussion", "free", "table"))
    assert list(broken_links(club)) == []


def test_an_entry_is_never_changed(started):
    case = started(10)
    with pytest.raises(TypeError):
        case.save()
    with pytest.raises(TypeError):
        ReturnEntry.objects.update(table="irfu-adult")


def entry(player, **fields):
    return ReturnEntry(player=player, **{"kind": "started", "day": dt.date(2026, 10, 3), "table": "by-hand"} | fields)


def test_a_return_with_a_known_table_is_kept(bo):
    entry(bo).save()
    assert ReturnEntry.objects.count() == 1


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "healed"},
        {"table": ""},
        {"table": "my own"},
        {"step": "contact"},
        {"from_day": dt.date(2026, 10, 3)},
        {"kind": "free", "table": ""},  # of no case
    ],
)
def test_the_database_refuses_a_beginning_that_makes_no_sense(bo, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        entry(bo, **fields).save()


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "free", "table": "by-hand"},
        {"kind": "allowed", **DOCTOR, "step": "contact"},
        {"kind": "allowed", **DOCTOR, "from_day": dt.date(2026, 10, 9)},
        {"kind": "allowed", "step": "contact", "from_day": dt.date(2026, 10, 9)},
        {"kind": "closed"},
    ],
)
def test_the_database_refuses_an_entry_that_lacks_what_it_needs(bo, fields):
    case = entry(bo)
    case.save()
    with pytest.raises(IntegrityError), transaction.atomic():
        entry(bo, case=case, **{"table": ""} | fields).save()


def test_a_return_is_closed_once_and_begins_once_on_a_day(bo):
    case = entry(bo)
    case.save()
    entry(bo, case=case, table="", kind="closed", **DOCTOR).save()
    with pytest.raises(IntegrityError), transaction.atomic():
        entry(bo, case=case, table="", kind="closed", **DOCTOR).save()
    with pytest.raises(IntegrityError), transaction.atomic():
        entry(bo).save()
