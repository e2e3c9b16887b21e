"""Which standard deviation monotony divides by: what holds, who chose it when, and choosing another."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from planner.changes import Refused
from planner.forms.loads import DeviationForm
from planner.load_actions import choose_deviation, deviation_of
from planner.load_models import DeviationChosen
from shared.access import needs
from shared.models import Club
from shared.roles import Permission


@needs(Permission.MANAGE_CLUB)
def deviation(request: HttpRequest, club: Club) -> HttpResponse:
    form = DeviationForm(request.POST or None, initial={"deviation": deviation_of(club)})
    if form.is_valid():
        try:
            choose_deviation(club=club, by=request.user, **form.cleaned_data)
            messages.success(request, _("That is noted. Every ledger says from now on which one it is."))
            return redirect("load_deviation", club=club.slug)
        except Refused as reason:
            form.add_error("deviation", str(reason))
    chosen = DeviationChosen.objects.of(club).newest_first()
    words = {"form": form, "chosen": chosen, "now": deviation_of(club)}
    return render(request, "planner/ledger/deviation.html", words)


patterns = [path("figures/load/deviation/", deviation, name="load_deviation")]
