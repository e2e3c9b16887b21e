"""Requests, answers, actions and signatures: what the database keeps, and what the verbs refuse."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from planner.changes import Refused
from planner.core.totals import Limit, WeekLimits, player_week
from planner.core.windows import Bounds, Measure, player_windows
from planner.welfare_actions import (
    Beyond,
    ask_excess,
    decide_excess,
    note_action,
    note_elsewhere,
    note_excess,
    sign_week,
)
from planner.welfare_models import ActionTaken, Excess, ExcessDecision, PlaysElsewhere, WeekChecked
from shared.core.contact import Kind
from shared.models import AuditEvent, Membership
from tests import factories as f
from tests.planner.core.test_totals import of
from tests.planner.welfare.cast import FRIDAY, MONDAY

pytestmark = pytest.mark.django_db


def refused(make):
    with pytest.raises(IntegrityError), transaction.atomic():
        make()
    return True


def beyond(player, hundredths: int = 1720) -> Beyond:
    week = player_week(1, MONDAY, of(hundredths), WeekLimits({Kind.FULL: Limit(15, "Committee paper")}))
    return Beyond(player, player_windows(week, [], Bounds()).of(Measure.FULL))


def row(cast, **fields) -> Excess:
    known = {
        "player": cast.players[0], "monday": MONDAY, "session": cast.thursday, "measure": "full", "amount": 17.2,
        "limit": 15, "source": "paper", "why": "Cup week", "by_name": "Head",
    }  # fmt: skip
    return Excess.objects.create(**(known | fields))


@pytest.fixture
def asked(cast, head) -> Excess:
    return ask_excess(session=cast.thursday, beyond=[beyond(cast.players[0])], why="Cup week", by=head, today=MONDAY)[0]


# What the database keeps


@pytest.mark.parametrize(
    "wrong", [{"why": ""}, {"measure": "luck"}, {"amount": -1}, {"session": None}, {"by_name": ""}], ids=str
)
def test_an_excess_says_why_by_whom_of_what_and_for_which_night(cast, wrong):
    assert refused(lambda: row(cast, **wrong))
    assert row(cast)
    assert row(cast, session=None, is_note=True)


@pytest.mark.parametrize("wrong", [{"why": ""}, {"by_name": ""}], ids=str)
def test_an_answer_gives_a_reason_and_a_name(asked, welfare, wrong):
    given = {"excess": asked, "approved": True, "why": "once", "by": welfare, "by_name": "Welfare"}
    assert refused(lambda: ExcessDecision.objects.create(**(given | wrong)))
    assert ExcessDecision.objects.create(**given)


def test_the_database_itself_lets_nobody_decide_what_he_asked_for(asked, head, welfare):
    given = {"excess": asked, "asked_by": head, "approved": True, "why": "once", "by_name": "x"}
    assert refused(lambda: ExcessDecision.objects.create(by=head, **given))
    assert ExcessDecision.objects.create(by=welfare, **given)


def test_a_request_has_one_answer(asked, welfare):
    given = {"excess": asked, "approved": False, "why": "no", "by": welfare, "by_name": "x"}
    ExcessDecision.objects.create(**given)
    assert refused(lambda: ExcessDecision.objects.create(**given))


@pytest.mark.parametrize(
    "wrong",
    [{"did": "luck"}, {"did": "other", "words": ""}, {"follow_up": MONDAY - dt.timedelta(1)}, {"by_name": ""}],
    ids=str,
)
def test_an_action_is_a_known_one_and_looked_at_again_later(cast, wrong):
    given = {"player": cast.players[0], "monday": MONDAY, "did": "rest", "by_name": "x"}
    assert refused(lambda: ActionTaken.objects.create(**(given | wrong)))
    assert ActionTaken.objects.create(**given, follow_up=MONDAY)
    assert ActionTaken.objects.create(**(given | {"did": "other", "words": "moved to the seconds"}))


def test_a_signature_names_who_signed_and_what(squad):
    given = {"squad": squad, "monday": MONDAY, "by_name": "x", "digest": "0" * 64}
    assert refused(lambda: WeekChecked.objects.create(**(given | {"digest": ""})))
    assert refused(lambda: WeekChecked.objects.create(**(given | {"by_name": ""})))
    assert WeekChecked.objects.create(**given)


def test_whoever_plays_elsewhere_plays_somewhere(cast):
    given = {"player": cast.players[0], "from_day": MONDAY, "by_name": "x"}
    assert refused(lambda: PlaysElsewhere.objects.create(**given))
    assert PlaysElsewhere.objects.create(**given, where="Harrow Vale School")
    assert PlaysElsewhere.objects.create(**given, plays=False)


def test_no_row_is_ever_changed(asked, welfare):
    decision = decide_excess(excess=asked, approved=True, why="once", by=welfare)
    for each in (asked, decision):
        with pytest.raises(TypeError):
            each.save()
        with pytest.raises(TypeError):
            type(each).objects.update(why="another")


# Asking and answering


def test_before_the_night_it_is_a_request_and_afterwards_a_note(cast, head):
    asks = {"session": cast.thursday, "why": "Cup week", "by": head}
    before = ask_excess(beyond=[beyond(cast.players[0])], today=cast.thursday.day, **asks)[0]
    after = ask_excess(beyond=[beyond(cast.players[1])], today=FRIDAY, **asks)[0]
    assert (before.is_note, after.is_note) == (False, True)
    assert (before.monday, str(before.amount), before.limit, before.source) == (MONDAY, "17.20", 15, "Committee paper")


def test_an_assistant_and_a_welfare_officer_ask_for_nothing(cast, assistant, welfare):
    for person in (assistant, welfare):
        with pytest.raises(Refused, match="does not include this"):
            ask_excess(session=cast.thursday, beyond=[beyond(cast.players[0])], why="x", by=person)


def test_the_same_is_not_asked_twice_while_the_answer_is_to_come(cast, asked, head, welfare):
    again = {"session": cast.thursday, "beyond": [beyond(cast.players[0], 1800)], "why": "More", "by": head}
    with pytest.raises(Refused, match="the answer is still to come"):
        ask_excess(**again)
    decide_excess(excess=asked, approved=False, why="Too much", by=welfare)
    assert len(ask_excess(**again)) == 1


def test_of_several_one_that_is_refused_leaves_nothing_behind(cast, asked, head):
    with pytest.raises(Refused):
        ask_excess(session=cast.thursday, beyond=[beyond(cast.players[1]), beyond(cast.players[0])], why="x", by=head)
    assert Excess.objects.count() == 1


def test_an_answer_is_kept_when_it_is_no(asked, welfare):
    decide_excess(excess=asked, approved=False, why="He played 80 minutes on Saturday", by=welfare)
    kept = Excess.objects.with_answers().get()
    assert (kept.is_answered, kept.is_approved, kept.decision.why) == (
        True,
        False,
        "He played 80 minutes on Saturday",
    )


def test_nobody_answers_his_own_request_even_after_a_change_of_role(asked, head):
    Membership.objects.filter(user=head).update(role="welfare_officer")
    with pytest.raises(Refused, match="You asked for this yourself"):
        decide_excess(excess=asked, approved=True, why="fine", by=head)
    assert not ExcessDecision.objects.exists()


@pytest.mark.parametrize("who", ["head", "assistant", "stranger"])
def test_only_a_welfare_officer_of_the_club_answers(asked, who, request):
    with pytest.raises(Refused):
        decide_excess(excess=asked, approved=True, why="fine", by=request.getfixturevalue(who))


def test_a_welfare_officer_of_another_club_does_not_answer(asked):
    other = f.MembershipFactory(role="welfare_officer").user
    with pytest.raises(Refused):
        decide_excess(excess=asked, approved=True, why="fine", by=other)


def test_a_second_answer_is_refused_and_the_first_stays(asked, club, welfare):
    decide_excess(excess=asked, approved=False, why="no", by=welfare)
    second = f.MembershipFactory(club=club, role="welfare_officer").user
    with pytest.raises(Refused, match="answered meanwhile"):
        decide_excess(excess=asked, approved=True, why="yes", by=second)
    assert not ExcessDecision.objects.get().approved


def test_a_note_about_a_week_names_no_night(cast, head):
    made = note_excess(monday=MONDAY, beyond=[beyond(cast.players[0])], why="School match", by=head)
    assert (made[0].session, made[0].is_note) == (None, True)


# Everything is told in the audit chain


def test_each_verb_leaves_its_entry_in_the_audit_chain(cast, asked, head, welfare):
    decide_excess(excess=asked, approved=True, why="once", by=welfare)
    note_action(player=cast.players[0], monday=FRIDAY, did="rest", by=welfare)
    sign_week(squad=cast.squad, monday=MONDAY, digest="0" * 64, seen={}, by=welfare)
    note_elsewhere(player=cast.players[0], from_day=MONDAY, where="School", by=welfare)
    told = list(AuditEvent.objects.order_by("number").values_list("actor", "did"))
    assert told == [
        ("head", "asked for excess"),
        ("welfare", "approved excess"),
        ("welfare", "noted action"),
        ("welfare", "checked week"),
        ("welfare", "noted other team"),
    ]


def test_an_action_belongs_to_the_week_of_its_day(cast, welfare):
    assert note_action(player=cast.players[0], monday=FRIDAY, did="rest", by=welfare).monday == MONDAY


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ({"did": "other"}, "Say in a few words"),
        ({"did": "rest", "follow_up": MONDAY - dt.timedelta(1)}, "before the week"),
    ],
)
def test_an_action_that_says_nothing_is_refused(cast, welfare, what, words):
    with pytest.raises(Refused, match=words):
        note_action(player=cast.players[0], monday=MONDAY, by=welfare, **what)
