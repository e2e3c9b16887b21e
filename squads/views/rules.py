"""The contact rules of a club: which hold from when, and where they come from."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.actions import add_contact_rules
from squads.forms import ContactRulesForm
from squads.models import ContactRules, Squad
from squads.published import PUBLISHED


@needs(Permission.SEE_SQUAD)
def contact_rules(request: HttpRequest, club: Club) -> HttpResponse:
    today = today_at(club)
    found = [(squad, ContactRules.objects.in_force(squad, today)) for squad in Squad.objects.filter(club=club)]
    in_force = [(squad, rules, rules is not None and rules.fits(squad)) for squad, rules in found]
    rules = ContactRules.objects.of(club).select_related("squad")
    shown = {"rules": rules, "in_force": in_force, "published": PUBLISHED.values(), "today": today}
    return render(request, "squads/contact_rules.html", shown)


@needs(Permission.EDIT_CONTACT_RULES)
def contact_rules_add(request: HttpRequest, club: Club) -> HttpResponse:
    """`?set=` fills the form with published limits, which stay to be read and signed."""
    published = PUBLISHED.get(request.GET.get("set", ""))
    initial = {"valid_from": today_at(club)}
    if published:
        initial |= {"name": published.name, "source": published.source, "body": published.body}
        initial |= published.limits
    form = ContactRulesForm(request.POST or None, club=club, initial=initial)
    if form.is_valid():
        fields = {name: value for name, value in form.cleaned_data.items() if name != "read"}
        rules = add_contact_rules(club=club, by=request.user, **fields)
        messages.success(request, _("“%(rules)s” is recorded.") % {"rules": rules})
        return redirect("contact_rules", club=club.slug)
    return render(request, "squads/contact_rules_form.html", {"form": form, "published": published})


patterns = [
    path("contact-rules/", contact_rules, name="contact_rules"),
    path("contact-rules/add/", contact_rules_add, name="contact_rules_add"),
]
