"""How a club gets its people: a first head coach from the command line, everybody else by an address taken up once."""

from __future__ import annotations

import datetime as dt
import io
import re

import pytest
from axes.models import AccessAttempt
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone

from shared import audit
from shared.invitation_actions import invite, take_up
from shared.member_actions import Refused, take_role
from shared.models import AuditEvent, Club, Invitation, Membership, User
from shared.tokens import digest_of
from tests import factories as f

MEMBERS = "/c/brackenford/members/"
TOLD = {"name": "Wenna Tarrow", "role": "assistant", "why": "coaches the backs"}
NEW = {"first_name": "Wenna", "last_name": "Tarrow", "username": "wenna"} | {
    f"password{n}": "a-long-straight-line" for n in (1, 2)
}


def join_path(text: str) -> str:
    return re.search(r"/join/[\w-]{43}/", text)[0]


@pytest.fixture
def address(club, head, log_in) -> str:
    return join_path(log_in(head).post(MEMBERS + "invite/", TOLD).content.decode())


def test_a_club_made_from_the_command_line_is_taken_up_by_its_first_head_coach(db, client):
    said = io.StringIO()
    call_command(
        "make_club", "Hollowmere RFC", "hollowmere", "--head", "Petra Lunt", "--zone", "Europe/Dublin", stdout=said
    )
    answer = client.post(join_path(said.getvalue()), NEW | {"username": "petra"}, follow=True)
    assert answer.redirect_chain[-1][0] == "/c/hollowmere/now/"
    member = Membership.objects.get(user__username="petra")
    assert (member.role, member.club.zone) == ("head_coach", "Europe/Dublin")
    events = AuditEvent.objects.filter(club="hollowmere").values_list("actor", "did")
    assert list(events.order_by("number")) == [("make_club", "invited"), ("make_club", "gave role")]
    assert client.get("/c/hollowmere/members/").status_code == 200


@pytest.mark.parametrize(
    ("slug", "zone"), [("brackenford", "Europe/London"), ("new", "Europe/Nowhere"), ("a b", "UTC")]
)
def test_a_short_name_that_is_taken_or_a_zone_that_is_none_makes_no_club(club, slug, zone):
    with pytest.raises(CommandError):
        call_command("make_club", "Another RFC", slug, "--head", "Petra Lunt", "--zone", zone)
    assert (Club.objects.count(), Invitation.objects.count()) == (1, 0)


def test_whoever_is_invited_makes_an_account_and_has_the_role(address, club):
    guest = Client()
    asked = guest.get(address)
    assert "Join Brackenford" in asked.content.decode()
    assert asked.context["form"].initial == {"first_name": "Wenna", "last_name": "Tarrow"}
    assert guest.post(address, NEW, follow=True).redirect_chain[-1][0] == "/c/brackenford/now/"
    member = Membership.objects.get(club=club, user__username="wenna")
    assert (member.role, str(member.user)) == ("assistant", "Wenna Tarrow")
    assert member.user.check_password("a-long-straight-line")
    last = AuditEvent.objects.filter(club=club.slug).order_by("number").last()
    assert (last.actor, last.did, last.detail["now"]) == ("head", "gave role", "assistant")
    assert list(audit.broken_links(club)) == []


def test_an_address_is_taken_up_once(address):
    Client().post(address, NEW)
    second = Client().post(address, NEW | {"username": "other"})
    assert (second.status_code, "This address opens nothing" in second.content.decode()) == (404, True)
    assert not User.objects.filter(username="other").exists()


def test_only_the_digest_of_an_address_is_kept_and_no_browser_keeps_the_page_that_shows_it(club, head, log_in):
    answer = log_in(head).post(MEMBERS + "invite/", TOLD)
    token = join_path(answer.content.decode()).split("/")[2]
    assert Invitation.objects.get().digest == digest_of(token)
    assert token not in str(list(AuditEvent.objects.values()))
    assert "no-store" in answer.headers["Cache-Control"]
    assert token not in log_in(head).get(MEMBERS).content.decode()


def test_somebody_with_an_account_joins_with_it(address, club, log_in):
    guest = f.UserFactory(username="guest")
    client = log_in(guest)
    assert "Join as guest" in client.get(address).content.decode()
    client.post(address)
    assert guest.memberships.get(club=club).role == "assistant"


def test_a_member_keeps_his_role_and_the_invitation_stays_for_whom_it_is(address, head, log_in):
    answer = log_in(head).post(address, follow=True).content.decode()
    assert "You are a member of this club already" in answer
    assert (head.memberships.get().role, Invitation.objects.count()) == ("head_coach", 1)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"password2": "another"}, "The two password fields didn’t match."),
        ({"password1": "short", "password2": "short"}, "at least 10 characters"),
        ({"username": "head"}, "already exists"),
        ({"username": "HEAD"}, "already exists"),  # on record the two would read alike
        ({"last_name": ""}, "This field is required"),
    ],
)
def test_a_form_that_is_wrong_says_what_and_leaves_the_invitation(address, wrong, words):
    assert words in Client().post(address, NEW | wrong).content.decode()
    assert Invitation.objects.count() == 1


def test_a_log_in_name_that_was_taken_meanwhile_leaves_the_invitation(address, head):
    with pytest.raises(Refused, match="taken this log-in name"):
        take_up(invitation=Invitation.objects.get(), user=User(username="head"))
    assert Invitation.objects.count() == 1


def test_a_phone_does_not_begin_the_log_in_name_with_a_capital(address):
    assert Client().get(address).context["form"]["username"].field.widget.attrs["autocapitalize"] == "none"


def test_whoever_opens_his_address_again_is_shown_the_way_to_his_club(address):
    guest = Client()
    guest.post(address, NEW)
    assert 'You have joined already? <a href="/">' in guest.get(address).content.decode()
    assert 'You have made your account already? <a href="/login/">' in Client().get(address).content.decode()


def test_a_log_in_that_fails_on_the_way_to_an_invitation_keeps_no_secret(address, client):
    wrong = {"username": "head", "password": "not-this-one", "next": address}
    assert client.post(f"/login/?next={address}", wrong).status_code == 200
    kept = str(list(AccessAttempt.objects.values()))
    assert "next=***" in kept
    assert address.split("/")[2] not in kept


def test_a_lost_first_address_is_replaced_from_the_command_line(db, settings):
    settings.SITE_ADDRESS = "https://plumbline.example/"
    first, second = io.StringIO(), io.StringIO()
    call_command("make_club", "Hollowmere RFC", "hollowmere", "--head", "Petra Lunt", stdout=first)
    call_command("invite_head", "hollowmere", "--head", "Petra Lunt", stdout=second)
    assert all("\nhttps://plumbline.example/join/" in said.getvalue() for said in (first, second))
    assert Client().get(join_path(first.getvalue())).status_code == 404
    Client().post(join_path(second.getvalue()), NEW | {"username": "petra"})
    assert Membership.objects.get(user__username="petra").role == "head_coach"


def test_an_invitation_of_a_head_coach_stays_when_the_keeper_makes_one(address, club):
    call_command("invite_head", club.slug, "--head", "Petra Lunt", stdout=io.StringIO())
    assert Client().get(address).status_code == 200


def test_a_head_coach_of_no_club_is_invited_nowhere_and_the_clubs_there_are_named(club):
    with pytest.raises(CommandError, match=f"There are: {club.slug}"):
        call_command("invite_head", "nowhere", "--head", "Petra Lunt")
    assert not Invitation.objects.exists()


def test_an_invitation_ends_after_two_weeks(address):
    Invitation.objects.update(ends_at=timezone.now() - dt.timedelta(seconds=1))
    assert Client().get(address).status_code == 404


def test_a_head_coach_takes_an_invitation_back(address, head, log_in):
    client = log_in(head)
    assert "Wenna Tarrow, Assistant coach" in client.get(MEMBERS).content.decode()
    client.post(f"{MEMBERS}invited/{Invitation.objects.get().pk}/end/")
    assert Client().get(address).status_code == 404


def test_the_invitation_of_another_club_cannot_be_taken_back(address, log_in):
    other = f.MembershipFactory(role="head_coach")
    path = f"/c/{other.club.slug}/members/invited/{Invitation.objects.get().pk}/end/"
    assert log_in(other.user).post(path).status_code == 404
    assert Invitation.objects.count() == 1


@pytest.mark.parametrize("role", ["assistant", "welfare_officer", "medical"])
def test_other_roles_invite_nobody(club, role, log_in):
    member = f.MembershipFactory(club=club, role=role)
    assert log_in(member.user).post(MEMBERS + "invite/", TOLD).status_code == 403
    with pytest.raises(Refused):
        invite(club=club, by=member.user, **TOLD)


def test_whoever_loses_the_role_of_head_coach_has_no_invitation_waiting(address, club, head):
    second = f.MembershipFactory(club=club, role="head_coach")
    take_role(membership=head.memberships.get(), by=second.user, why="left")
    assert Client().get(address).status_code == 404


def test_an_own_password_is_changed_by_whoever_knows_the_old_one(address):
    guest = Client()
    guest.post(address, NEW)
    fresh = {f"new_password{n}": "another-straight-line" for n in (1, 2)}
    assert "entered incorrectly" in guest.post("/password/", {"old_password": "x"} | fresh).content.decode()
    guest.post("/password/", {"old_password": "a-long-straight-line"} | fresh)
    assert User.objects.get(username="wenna").check_password("another-straight-line")
    assert guest.get(MEMBERS).status_code == 200


@pytest.mark.parametrize("wrong", [{"role": "king"}, {"name": ""}, {"digest": "short"}])
def test_the_database_keeps_no_invitation_that_nobody_could_take_up(club, wrong):
    right = {"role": "assistant", "name": "Wenna", "digest": digest_of("x"), "ends_at": timezone.now()}
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.create(club=club, **right | wrong)
    assert Invitation.objects.create(club=club, **right).pk
