"""Several people confirm the same night, or tell the same station, at the same moment: one record, and clear words."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread

import pytest
from django.db import connections

from planner.changes import Refused
from planner.record_actions import confirm_night, correct_line
from planner.record_days import differences
from planner.record_models import Account, Confirmation, PlayerDay
from tests import factories as f
from tests.planner.record.conftest import NEXT_DAY

pytestmark = pytest.mark.django_db(transaction=True)
COACHES = ("Ash", "Bo", "Cy", "Dru")


@pytest.fixture
def coaches(squad):
    return [f.MembershipFactory(club=squad.club, user__username=name, role="assistant").user for name in COACHES]


def all_at_once(coaches, ask: Callable) -> list[str]:
    """What each was told; "" for whoever's entry was taken. Any other error fails the test."""
    gate, answers = Barrier(len(coaches)), {}

    def one(coach) -> None:
        try:
            gate.wait(10)
            ask(coach)
            answers[coach.username] = ""
        except Refused as refused:
            answers[coach.username] = str(refused)
        except Exception as error:  # told below, with its kind
            answers[coach.username] = f"{type(error).__name__}: {error}"
        finally:
            connections.close_all()

    threads = [Thread(target=one, args=[coach]) for coach in coaches]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return [answers[coach.username] for coach in coaches]


def test_a_night_that_four_confirm_at_once_has_one_record_and_three_are_told_by_whom(evening, coaches):
    session = evening.session
    said = all_at_once(
        coaches, lambda coach: confirm_night(session=session, by=coach, version=session.plan_version, now=NEXT_DAY)
    )
    taken = Confirmation.objects.get()
    assert said[COACHES.index(taken.by_name)] == ""
    told = f"{taken.by_name} has confirmed {session} already. Correct a line if something is wrong."
    assert sorted(said) == ["", told, told, told]
    spots = list(Account.objects.filter(session=session).values_list("spot", flat=True))
    assert len(spots) == len(set(spots)) == 4
    assert PlayerDay.objects.get(player=evening.players[0]).full == 300
    assert differences(session.squad, session.day, session.day) == []


def test_a_station_that_four_tell_at_once_has_one_line_that_counts_and_three_are_shown_both(evening, coaches):
    session, spot = evening.session, evening.spot(evening.live)
    minutes = dict(zip(COACHES, (5, 6, 7, 8), strict=True))
    said = all_at_once(
        coaches,
        lambda coach: correct_line(
            session=session, spot=spot, parts=evening.parts(minutes[coach.username]), seen=None, by=coach, now=NEXT_DAY
        ),
    )
    row = Account.objects.get()
    assert said[COACHES.index(row.by_name)] == ""
    theirs = f"{row.by_name} has noted {minutes[row.by_name]} min C4, 4 players meanwhile, you "
    late = [words for words in said if words]
    assert len(late) == 3
    assert all(theirs in words and "Nothing was written" in words for words in late)
