"""The one check in front of every page."""

from __future__ import annotations

import pytest
from django.core.exceptions import ImproperlyConfigured, PermissionDenied
from django.http import Http404, HttpResponse
from django.urls import path
from django.views.generic import TemplateView

from shared.access import context, for_anyone, for_members, guarded, needs
from shared.roles import ROLES, Permission


@needs(Permission.EDIT_PLAN)
def plan_page(request, club):
    return HttpResponse(club.name)


@pytest.fixture
def get(rf):
    """`get(view, user, "brackenford")` is the view's answer to that user."""

    def answer(view, user, *words):
        request = rf.get("/somewhere/")
        request.user = user
        return view(request, *words)

    return answer


def test_a_view_without_a_guard_is_refused_when_the_site_starts():
    def open_page(request, club):
        return HttpResponse("everything")

    with pytest.raises(ImproperlyConfigured, match="open_page, which has no guard"):
        guarded([path("open/", open_page)])


def test_a_class_based_view_without_a_guard_is_refused_too():
    with pytest.raises(ImproperlyConfigured, match="no guard"):
        guarded([path("open/", TemplateView.as_view(template_name="base.html"))])


@pytest.mark.parametrize("guard", [needs(Permission.SEE_CLUB), for_members, for_anyone])
def test_a_view_with_any_of_the_three_guards_is_let_into_the_addresses(guard):
    patterns = [path("page/", guard(lambda request: HttpResponse()))]
    assert guarded(patterns) == patterns


def test_who_holds_the_permission_gets_the_page_with_the_club(get, head):
    assert get(plan_page, head, "brackenford").content == b"Brackenford RFC"


@pytest.mark.parametrize("slug", ["brackenford", "no-such-club"])
def test_another_club_looks_like_one_that_does_not_exist(get, head, stranger, slug):
    with pytest.raises(Http404) as refusal:
        get(plan_page, stranger, slug)
    assert str(refusal.value) == "There is no such club among yours."


def test_a_member_without_the_permission_is_refused_and_told_their_role(get, assistant):
    with pytest.raises(PermissionDenied, match="Assistant coach"):
        get(plan_page, assistant, "brackenford")


def test_somebody_who_is_not_logged_in_is_sent_to_the_login_and_back(client, club):
    from django.contrib.auth.models import AnonymousUser
    from django.test import RequestFactory

    request = RequestFactory().get("/c/brackenford/plan/")
    request.user = AnonymousUser()
    answer = plan_page(request, "brackenford")
    assert (answer.status_code, answer.url) == (302, "/login/?next=/c/brackenford/plan/")


def test_a_role_in_one_club_gives_nothing_in_another(get, assistant, stranger):
    theirs = stranger.clubs.get()
    theirs.memberships.create(user=assistant, role="head_coach")
    assert get(plan_page, assistant, theirs.slug).status_code == 200
    with pytest.raises(PermissionDenied):
        get(plan_page, assistant, "brackenford")


def test_templates_may_ask_what_the_role_allows(rf, welfare):
    request = rf.get("/")
    request.membership = welfare.memberships.get()
    assert context(request)["can"] == {permission.value: True for permission in ROLES["welfare_officer"].permissions}


def test_outside_a_club_templates_see_no_club(rf):
    assert context(rf.get("/")) == {"club": None, "can": {}}


def who_may(permission: Permission) -> list[str]:
    return [key for key, role in ROLES.items() if role.may(permission)]


def test_only_a_welfare_officer_chooses_contact_rules():
    assert who_may(Permission.EDIT_CONTACT_RULES) == ["welfare_officer"]


def test_a_welfare_officer_and_medical_roles_record_clearances():
    assert who_may(Permission.EDIT_CLEARANCE) == ["welfare_officer", "medical"]


def test_only_medical_roles_see_what_is_medical_and_a_welfare_officer_may_ask():
    assert who_may(Permission.SEE_MEDICAL) == ["medical"]
    assert who_may(Permission.ASK_FOR_MEDICAL) == ["welfare_officer"]


def test_only_a_head_coach_plans():
    assert who_may(Permission.EDIT_PLAN) == ["head_coach"]


def test_an_assistant_sees_no_contact_totals():
    assert who_may(Permission.SEE_TOTALS) == ["head_coach", "welfare_officer", "medical"]


def test_every_role_says_what_it_does():
    assert all(str(role.name) and str(role.does) for role in ROLES.values())


def test_every_permission_belongs_to_a_role():
    assert set().union(*(role.permissions for role in ROLES.values())) == set(Permission)
