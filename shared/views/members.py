"""Members of a club and their roles: everybody reads who has which, whoever manages the club gives and takes them."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from shared.access import needs
from shared.member_actions import Refused, give_role, role_changes, take_role
from shared.member_forms import NONE, NewMemberForm, RoleForm
from shared.models import Club
from shared.roles import ROLES, Permission

SHOWN_CHANGES = 40


@needs(Permission.SEE_CLUB)
def members(request: HttpRequest, club: Club) -> HttpResponse:
    """Who has which role; for whoever manages or looks after the club, who gave what to whom as well."""
    rows = list(club.memberships.select_related("user").order_by("user__last_name", "user__username"))
    by_role = [(role, [row for row in rows if row.role == key]) for key, role in ROLES.items()]
    changes = role_changes(club, SHOWN_CHANGES) if request.membership.may(Permission.SEE_AUDIT) else []
    invited = list(club.invitations.all()) if request.membership.may(Permission.MANAGE_CLUB) else []
    return render(request, "shared/members.html", {"by_role": by_role, "changes": changes, "invited": invited})


@needs(Permission.MANAGE_CLUB)
def new_member(request: HttpRequest, club: Club) -> HttpResponse:
    form = NewMemberForm(request.POST or None)
    if form.is_valid():
        told = form.cleaned_data
        give = {"club": club, "user": told["name"], "role": told["role"], "why": told["why"], "by": request.user}
        if done(form, lambda: give_role(**give)):
            messages.success(request, _("%(who)s has the role now.") % {"who": told["name"]})
            return redirect("members", club=club.slug)
    return render(request, "shared/member.html", {"form": form})


@needs(Permission.MANAGE_CLUB)
def member(request: HttpRequest, club: Club, member: int) -> HttpResponse:
    found = get_object_or_404(club.memberships.select_related("user", "club"), pk=member)
    form = RoleForm(request.POST or None, initial={"role": found.role})
    if form.is_valid():
        role, told = form.cleaned_data["role"], {"why": form.cleaned_data["why"], "by": request.user}
        if role == NONE:
            is_done = done(form, lambda: take_role(membership=found, **told))
        else:
            is_done = done(form, lambda: give_role(club=club, user=found.user, role=role, **told))
        if is_done:
            messages.success(request, _("The role of %(who)s is changed.") % {"who": found.user})
            return redirect("members", club=club.slug)
    return render(request, "shared/member.html", {"form": form, "member": found})


def done(form: RoleForm, verb: Callable[[], object]) -> bool:
    """Whether the verb went through; what it refuses is told in the form."""
    try:
        verb()
    except Refused as refused:
        form.add_error(None, str(refused))
    return form.is_valid()
