"""Members of a club: who gives and takes which role, and what stays on record of it."""

from __future__ import annotations

import pytest

from shared import audit
from shared.member_actions import Refused, give_role, take_role
from shared.models import AuditEvent, Membership
from tests import factories as f

MEMBERS = "/c/brackenford/members/"


@pytest.fixture
def physio(db):
    return f.UserFactory(username="physio")


def given(user, role="medical"):
    return {"name": user.username, "role": role, "why": "physio of the firsts, asked by the committee"}


def events(club) -> list[tuple]:
    found = AuditEvent.objects.filter(club=club.slug, did__contains="role").order_by("number")
    return [(each.actor, each.did, each.subject, each.detail["was"], each.detail["now"]) for each in found]


def test_the_head_coach_gives_the_medical_role_by_name_and_it_is_on_record(club, head, physio, log_in):
    answer = log_in(head).post(MEMBERS + "new/", given(physio), follow=True).content.decode()
    assert physio.memberships.get(club=club).role == "medical"
    assert events(club) == [("head", "gave role", "physio", "", "medical")]
    assert "physio of the firsts, asked by the committee" in answer
    assert list(audit.broken_links(club)) == []


def test_and_takes_it_again_with_a_date(club, head, physio, log_in):
    member = f.MembershipFactory(club=club, user=physio, role="medical")
    client = log_in(head)
    client.post(f"{MEMBERS}{member.pk}/", {"role": "none", "why": "left the club"})
    assert not physio.memberships.exists()
    assert events(club) == [("head", "took role", "physio", "medical", "")]
    assert log_in(physio).get(MEMBERS).status_code == 404


def test_nobody_gives_himself_a_role(club, head, log_in):
    own = head.memberships.get()
    client = log_in(head)
    for address, told in ((f"{MEMBERS}{own.pk}/", {"role": "medical", "why": "x"}), (MEMBERS + "new/", given(head))):
        assert "Nobody gives or takes his own role" in client.post(address, told).content.decode()
    own.refresh_from_db()
    assert (own.role, events(club)) == ("head_coach", [])


@pytest.mark.parametrize("role", ["assistant", "welfare_officer", "medical"])
def test_other_roles_read_who_has_which_role_and_give_none(club, physio, role, log_in):
    member = f.MembershipFactory(club=club, role=role)
    client = log_in(member.user)
    assert str(member.user) in client.get(MEMBERS).content.decode()
    assert client.post(MEMBERS + "new/", given(physio)).status_code == 403
    assert client.post(f"{MEMBERS}{member.pk}/", {"role": "head_coach", "why": "x"}).status_code == 403
    with pytest.raises(Refused, match="does not include saying who belongs"):
        give_role(club=club, user=physio, role="medical", by=member.user, why="x")
    assert events(club) == []


def test_a_head_coach_of_another_club_changes_nobody_here(club, head, stranger, physio, log_in):
    member = f.MembershipFactory(club=club, user=physio, role="assistant")
    other = stranger.clubs.get()
    client = log_in(stranger)
    assert client.post(f"{MEMBERS}{member.pk}/", {"role": "medical", "why": "x"}).status_code == 404
    assert client.post(f"/c/{other.slug}/members/{member.pk}/", {"role": "medical", "why": "x"}).status_code == 404
    with pytest.raises(Refused):
        take_role(membership=member, by=stranger, why="x")
    member.refresh_from_db()
    assert member.role == "assistant"


def test_of_two_head_coaches_who_take_each_others_role_one_stays(club, head):
    second = f.MembershipFactory(club=club, user__username="second", role="head_coach")
    first = head.memberships.get()
    take_role(membership=second, by=head, why="x")
    with pytest.raises(Refused):
        take_role(membership=first, by=second.user, why="x")
    assert Membership.objects.filter(club=club, role="head_coach").count() == 1


def test_a_role_that_he_has_already_is_told_and_not_written(club, head, physio):
    f.MembershipFactory(club=club, user=physio, role="medical")
    with pytest.raises(Refused, match="has this role already"):
        give_role(club=club, user=physio, role="medical", by=head, why="x")
    assert events(club) == []


@pytest.mark.parametrize(
    "told", [{"name": "nobody", "role": "medical", "why": "x"}, {"name": "physio", "role": "owner", "why": "x"},
             {"name": "physio", "role": "medical", "why": ""}],
)  # fmt: skip
def test_a_wrong_name_role_or_no_reason_is_told_at_its_field(club, head, physio, log_in, told):
    answer = log_in(head).post(MEMBERS + "new/", told)
    assert answer.status_code == 200
    assert 'class="errorlist"' in answer.content.decode()
    assert not physio.memberships.exists()


def test_the_new_member_sees_what_his_role_is_for_at_once(club, head, physio, log_in):
    give_role(club=club, user=physio, role="medical", by=head, why="physio")
    assert log_in(physio).get("/c/brackenford/now/").status_code == 200


def test_the_list_takes_as_many_queries_for_twenty_members_as_for_one(club, head, log_in, django_assert_num_queries):
    client = log_in(head)
    for more in (0, 20):
        f.MembershipFactory.create_batch(more, club=club, role="assistant")
        with django_assert_num_queries(6):  # session, user, membership; members, changes
            client.get(MEMBERS)
