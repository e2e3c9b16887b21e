"""Invitations: a head coach makes one and hands its address over; whoever opens it joins the club."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from shared.access import for_anyone, needs
from shared.invitation_actions import invite, standing, take_back, take_up
from shared.member_actions import Refused
from shared.member_forms import AccountForm, InvitationForm
from shared.models import Club
from shared.roles import Permission

LOGIN = "django.contrib.auth.backends.ModelBackend"


@needs(Permission.MANAGE_CLUB)
@never_cache
def new_invitation(request: HttpRequest, club: Club) -> HttpResponse:
    """The answer to the form shows the address, once."""
    form, address = InvitationForm(request.POST or None), ""
    if form.is_valid():
        try:
            token = invite(club=club, by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            address = request.build_absolute_uri(reverse("join", args=[token]))
    return render(request, "shared/invitation.html", {"form": form, "address": address})


@needs(Permission.MANAGE_CLUB)
@require_POST
def end_invitation(request: HttpRequest, club: Club, invitation: int) -> HttpResponse:
    found = get_object_or_404(club.invitations.select_related("club"), pk=invitation)
    try:
        take_back(invitation=found, by=request.user)
        messages.success(request, _("The invitation for %(name)s opens nothing any more.") % {"name": found})
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("members", club=club.slug)


# Whoever is invited has no account yet; the secret in the address is what lets him in.
@for_anyone
@never_cache
def join(request: HttpRequest, token: str) -> HttpResponse:
    """With an account that he is logged in with, or with a new one."""
    found = standing(token)
    if found is None:
        return render(request, "shared/no_invitation.html", status=404)
    own = request.user if request.user.is_authenticated else None
    form = None if own else AccountForm(request.POST or None, initial=names_in(found.name))
    if (own and request.method == "POST") or (form and form.is_valid()):
        try:
            member = take_up(invitation=found, user=own or form.save(commit=False))
        except Refused as refused:
            messages.error(request, str(refused))
        else:
            login(request, member.user, LOGIN)
            return redirect("home")
    return render(request, "shared/join.html", {"invitation": found, "form": form, "token": token})


def names_in(name: str) -> dict[str, str]:
    """A guess to begin with: the last word is the family name."""
    *given, family = name.split() or [""]
    return {"first_name": " ".join(given), "last_name": family}
