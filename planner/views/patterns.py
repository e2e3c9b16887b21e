"""The club's patterns for a week, and putting one on a week of a squad."""

from __future__ import annotations

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planner.changes import Refused
from planner.forms.patterns import PatternForm, PutForm
from planner.moved_told import effects_of
from planner.moving import what_if
from planner.pattern_actions import (
    add_usual_patterns,
    bring_pattern_back,
    put_pattern,
    retire_pattern,
    save_pattern,
    take_pattern_off,
)
from planner.pattern_models import Pattern, WeekPattern
from planner.patterns import limit_lines, proposals_for, too_steep
from planner.totals import LOOK_BACK
from planner.views.blocks import given
from planner.views.week import monday_in, squad_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


def pattern_of(club: Club, key: int) -> Pattern:
    return get_object_or_404(Pattern.objects.of(club).select_related("club"), pk=key)


@needs(Permission.SEE_CALENDAR)
def patterns_of_club(request: HttpRequest, club: Club) -> HttpResponse:
    rows = list(Pattern.objects.of(club).prefetch_related("skills"))
    shown = {
        "on_offer": [row for row in rows if row.retired_on is None],
        "retired": [row for row in rows if row.retired_on is not None],
    }
    return render(request, "planner/patterns/patterns.html", shown)


@needs(Permission.EDIT_CALENDAR)
def new_pattern(request: HttpRequest, club: Club) -> HttpResponse:
    """With `?copy=` the figures of another one to begin with."""
    key = request.GET.get("copy", "")
    known = Pattern.objects.of(club).filter(pk=key).first() if key.isdecimal() and len(key) < 10 else None
    form = PatternForm(given(request), club=club, instance=Pattern(club=club), initial=copied(known) if known else {})
    return pattern_form(request, club, form)


def copied(pattern: Pattern) -> dict[str, object]:
    fields = {name: getattr(pattern, name) for name in PatternForm.Meta.fields if name != "skills"}
    name = _("%(name)s, copy") % {"name": pattern.name}
    return fields | {"name": name[:60], "fits": "", "skills": list(pattern.skills.all())}


@needs(Permission.EDIT_CALENDAR)
def edit_pattern(request: HttpRequest, club: Club, pattern: int) -> HttpResponse:
    return pattern_form(request, club, PatternForm(given(request), club=club, instance=pattern_of(club, pattern)))


def pattern_form(request: HttpRequest, club: Club, form: PatternForm) -> HttpResponse:
    if form.is_valid():
        try:
            saved = save_pattern(pattern=form.instance, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            messages.success(request, _("“%(pattern)s” is saved.") % {"pattern": saved})
            return redirect("patterns", club=club.slug)
    return render(request, "planner/patterns/form.html", {"form": form, "pattern": form.instance})


@needs(Permission.EDIT_CALENDAR)
@require_POST
def retire(request: HttpRequest, club: Club, pattern: int) -> HttpResponse:
    """Takes it from the offer, or with `back` puts it there again."""
    found = pattern_of(club, pattern)
    if "back" in request.POST:
        bring_pattern_back(pattern=found, by=request.user)
        messages.success(request, _("“%(pattern)s” is on offer again.") % {"pattern": found})
    else:
        retire_pattern(pattern=found, by=request.user, today=today_at(club))
        messages.success(request, _("“%(pattern)s” is retired. Weeks that it is on keep it.") % {"pattern": found})
    return redirect("patterns", club=club.slug)


@needs(Permission.EDIT_CALENDAR)
@require_POST
def add_usual(request: HttpRequest, club: Club) -> HttpResponse:
    count = len(add_usual_patterns(club=club, by=request.user))
    if count:
        told = ngettext("%(count)d pattern is added.", "%(count)d patterns are added.", count)
        messages.success(request, told % {"count": count})
    else:
        messages.success(request, _("The club has all of the usual patterns already."))
    return redirect("patterns", club=club.slug)


@needs(Permission.EDIT_PLAN)
def put(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    """Which pattern; what it would do; and, once that was seen, the pattern on the week."""
    found, first, today = squad_of(club, squad), monday_in(monday), today_at(club)
    row = WeekPattern.objects.filter(squad=found, monday=first).first()
    proposal = None if row else proposals_for(found, [first]).get(first)
    asked = request.GET.get("pattern") or (proposal.pattern.pk if proposal else None)
    form = PutForm(given(request), club=club, initial={"pattern": asked})
    shown = {
        "squad": found,
        "monday": first,
        "form": form,
        "proposal": proposal,
        "row": row,
        "is_past": first + LOOK_BACK < today,
    }
    if not form.is_valid() or "again" in request.POST:
        return render(request, "planner/patterns/choose.html", shown)
    pattern = form.cleaned_data["pattern"]
    try:
        return put_or_show(request, found, first, pattern, shown)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        return render(request, "planner/patterns/choose.html", shown)


def put_or_show(
    request: HttpRequest, squad: Squad, monday: dt.date, pattern: Pattern, shown: dict[str, object]
) -> HttpResponse:
    today = today_at(squad.club)

    def change() -> WeekPattern:
        return put_pattern(pattern=pattern, squad=squad, monday=monday, by=request.user, today=today)

    difference = what_if(squad, [monday], change, today)
    effects = effects_of(difference)
    if difference is None or request.POST.get("seen") == effects.digest:
        change()
        messages.success(request, _("“%(pattern)s” is on the week.") % {"pattern": pattern})
        if "deal" in request.POST and effects.to_deal_again:
            return redirect("deal_again", club=squad.club.slug, block=effects.to_deal_again.pk)
        return redirect("week", club=squad.club.slug, squad=squad.slug, monday=monday)
    before, after = difference.before.weeks[monday], difference.after.weeks[monday]
    words = {
        "pattern": pattern,
        "effects": effects,
        "limits": limit_lines(before.limits, pattern, after.limits),
        "cautions": too_steep(difference.after.days, after, pattern),
    }
    return render(request, "planner/patterns/put.html", shown | words)


@needs(Permission.EDIT_PLAN)
@require_POST
def take_off(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    found, first = squad_of(club, squad), monday_in(monday)
    try:
        take_pattern_off(squad=found, monday=first, by=request.user, today=today_at(club))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("No pattern is on the week: the limits of the contact rules hold."))
    return redirect("week", club=club.slug, squad=found.slug, monday=first)


patterns = [
    path("patterns/", patterns_of_club, name="patterns"),
    path("patterns/new/", new_pattern, name="new_pattern"),
    path("patterns/usual/", add_usual, name="usual_patterns"),
    path("patterns/<int:pattern>/", edit_pattern, name="edit_pattern"),
    path("patterns/<int:pattern>/retire/", retire, name="retire_pattern"),
    path("week/<slug:squad>/<str:monday>/pattern/", put, name="put_pattern"),
    path("week/<slug:squad>/<str:monday>/pattern/off/", take_off, name="take_pattern_off"),
]
