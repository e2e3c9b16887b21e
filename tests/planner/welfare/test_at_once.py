"""Two people press the same button at the same moment: one of them goes through, the other is told."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread

import pytest
from django.db import connection

from planner.changes import Refused
from planner.welfare_actions import ask_excess, decide_excess, sign_week
from planner.welfare_models import Excess, ExcessDecision, WeekChecked
from shared.invitation_actions import invite, standing, take_back, take_up
from shared.member_actions import Refused as RoleRefused
from shared.member_actions import take_role
from shared.models import Membership
from tests import factories as f
from tests.planner.welfare.cast import MONDAY
from tests.planner.welfare.test_rows import beyond

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*verbs: Callable[[], object]) -> list[str]:
    """What became of each: "done", or the name of what was raised."""
    gate, ends = Barrier(len(verbs)), []

    def press(verb: Callable[[], object]) -> None:
        gate.wait()
        try:
            verb()
            ends.append("done")
        except Exception as raised:
            ends.append(type(raised).__name__)
        finally:
            connection.close()

    threads = [Thread(target=press, args=[verb]) for verb in verbs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(ends)


@pytest.fixture
def second(club):
    """`second("welfare_officer")`: one more of that role."""
    return lambda role: f.MembershipFactory(club=club, role=role).user


def test_of_two_requests_for_the_same_one_waits_for_an_answer(cast, head, second):
    asks = {"session": cast.thursday, "beyond": [beyond(cast.players[0])], "why": "Cup week", "today": MONDAY}
    other = second("head_coach")
    ends = at_once(lambda: ask_excess(by=head, **asks), lambda: ask_excess(by=other, **asks))
    assert (ends, Excess.objects.count()) == ([Refused.__name__, "done"], 1)


def test_of_a_yes_and_a_no_one_is_the_answer(cast, head, welfare, second):
    beyond_one = [beyond(cast.players[0])]
    excess = ask_excess(session=cast.thursday, beyond=beyond_one, why="Cup week", by=head, today=MONDAY)[0]
    other = second("welfare_officer")
    ends = at_once(
        lambda: decide_excess(excess=excess, approved=True, why="once", by=welfare),
        lambda: decide_excess(excess=excess, approved=False, why="no", by=other),
    )
    assert (ends, ExcessDecision.objects.count()) == ([Refused.__name__, "done"], 1)


def test_of_two_signatures_of_the_same_figures_one_is_kept(cast, welfare, second):
    signs = {"squad": cast.squad, "monday": MONDAY, "digest": "a" * 64, "seen": {}}
    other = second("welfare_officer")
    ends = at_once(lambda: sign_week(by=welfare, **signs), lambda: sign_week(by=other, **signs))
    assert (ends, WeekChecked.objects.count()) == ([Refused.__name__, "done"], 1)


def test_of_two_head_coaches_who_take_each_others_role_one_stays(club, head, second):
    other = second("head_coach")
    first, its = Membership.objects.get(user=head), Membership.objects.get(user=other)
    ends = at_once(
        lambda: take_role(membership=its, by=head, why="x"), lambda: take_role(membership=first, by=other, why="x")
    )
    assert ends == [RoleRefused.__name__, "done"]
    assert Membership.objects.filter(club=club, role="head_coach").count() == 1


def test_an_invitation_that_is_taken_up_as_it_is_taken_back_ends_one_way_or_the_other(club, head):
    token = invite(club=club, role="assistant", name="Wenna Tarrow", why="coaches the backs", by=head)
    invitation, guest = standing(token), f.UserFactory()
    ends = at_once(
        lambda: take_up(invitation=invitation, user=guest), lambda: take_back(invitation=invitation, by=head)
    )
    assert ends in (["done", "done"], [RoleRefused.__name__, "done"])
    assert Membership.objects.filter(club=club, user=guest).exists() == (ends == ["done", "done"])
    assert not club.invitations.exists()
