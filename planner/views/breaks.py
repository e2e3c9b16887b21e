"""The days of a season that fall out: seeing, adding, changing and deleting them, each with a look at what it does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planner.break_actions import change_breaks, look_ahead
from planner.breaks import BreaksPlan, days_told, digest_of
from planner.changes import Refused
from planner.core.laying_out import Break
from planner.falling_out import breaks_of
from planner.forms.breaks import BreakForm
from planner.models import Season
from planner.public_holidays import HOLIDAY
from planner.views.calendar import season_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission

NOT_ASKED_AGAIN = ("csrfmiddlewaretoken", "seen", "again")


@dataclass(frozen=True)
class BreakLine:
    """A break with how many sessions of its days are called off and how many take place all the same."""

    gap: Break
    off: int
    on: int

    @property
    def days(self) -> str:
        return days_told(self.gap.days)

    @property
    def is_holiday(self) -> bool:
        return self.gap.uid.startswith(HOLIDAY)


@needs(Permission.EDIT_CALENDAR)
def breaks(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    found = season_of(club, season)
    sessions = list(
        found.squad.sessions.filter(day__range=(found.first_day, found.last_day)).values("day", "cancelled")
    )
    lines = []
    for gap in breaks_of(found):
        cancelled = [each["cancelled"] for each in sessions if each["day"] in gap.days]
        lines.append(BreakLine(gap, sum(cancelled), len(cancelled) - sum(cancelled)))
    return render(request, "planner/breaks/breaks.html", {"season": found, "lines": lines})


@needs(Permission.EDIT_CALENDAR)
def new_break(request: HttpRequest, club: Club, season: int) -> HttpResponse:
    return break_form(request, season_of(club, season), None)


@needs(Permission.EDIT_CALENDAR)
def edit_break(request: HttpRequest, club: Club, season: int, gap: int) -> HttpResponse:
    found = season_of(club, season)
    known = known_break(found, gap)
    if known is None and request.method == "POST":
        messages.error(request, _("Somebody has taken this break out meanwhile. Save to add it as you have it here."))
        form = BreakForm(request.POST, season=found)
        return render(request, "planner/breaks/form.html", {"form": form, "season": found, "was": digest_of(found)})
    return break_form(request, found, known or missing())


def known_break(season: Season, key: int) -> Break | None:
    return next((gap for gap in breaks_of(season) if gap.key == key), None)


def missing() -> Break:
    raise Http404(_("There is no such break in this season."))


def break_form(request: HttpRequest, season: Season, gap: Break | None) -> HttpResponse:
    """The form; what it would do to sessions; and, once that was seen, the change."""
    form = BreakForm(request.POST or None, season=season, gap=gap)
    if form.is_valid() and "again" not in request.POST:
        others = [other for other in breaks_of(season) if gap is None or other.key != gap.key]
        try:
            return before_or_after(request, season, [*others, form.wanted], title_of(gap))
        except Refused as refusal:
            form.add_error(None, list(refusal.reasons))
    shown = {"form": form, "season": season, "gap": gap, "now": days_told(gap.days) if gap else ""}
    return render(request, "planner/breaks/form.html", shown | {"was": digest_of(season)})


def title_of(gap: Break | None) -> str:
    return _("Before “%(name)s” changes") % {"name": gap.name} if gap else _("Before the break is added")


@needs(Permission.EDIT_CALENDAR)
def remove_break(request: HttpRequest, club: Club, season: int, gap: int) -> HttpResponse:
    """What taking it out would do; and, once that was seen, taking it out."""
    found = season_of(club, season)
    known = known_break(found, gap)
    if known is None:
        messages.warning(request, _("This break is out already."))
        return redirect("breaks", club=club.slug, season=found.pk)
    others = [other for other in breaks_of(found) if other.key != known.key]
    try:
        title = _("Before “%(name)s” is taken out") % {"name": known.name}
        return before_or_after(request, found, others, title, always_asks=True)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("breaks", club=club.slug, season=found.pk)


def before_or_after(
    request: HttpRequest, season: Season, wanted: Sequence[Break], title: str, *, always_asks: bool = False
) -> HttpResponse:
    """The page before the breaks change; or the change, if it does nothing else or that page was seen and holds."""
    today, was = today_at(season.squad.club), request.POST.get("was")
    plan, effects = look_ahead(season=season, wanted=wanted, by=request.user, today=today, was=was)
    seen = f"{plan.digest}{effects.digest}"
    is_asked = request.method == "GET" or always_asks or not plan.is_plain
    if is_asked and request.POST.get("seen") != seen:
        shown = {"season": season, "title": title, "plan": plan, "effects": effects.near_a_match, "seen": seen}
        return render(request, "planner/breaks/before.html", shown | asked_again(request, season))
    change_breaks(season=season, wanted=wanted, by=request.user, today=today, was=was, seen=plan.digest)
    messages.success(request, saved_told(plan))
    return redirect("breaks", club=season.squad.club.slug, season=season.pk)


def asked_again(request: HttpRequest, season: Season) -> dict[str, Any]:
    """What was posted, to be posted once more with the answer; `was` as it stands, where nothing was posted."""
    given = [(name, value) for name, values in request.POST.lists() for value in values if name not in NOT_ASKED_AGAIN]
    return {"given": given or [("was", digest_of(season))]}


def saved_told(plan: BreaksPlan) -> str:
    off, back = len(plan.falling.falls), len(plan.falling.returns)
    told = [_("The breaks are saved.")]
    if off:
        told.append(ngettext("%(n)d session is called off.", "%(n)d sessions are called off.", off) % {"n": off})
    if back:
        told.append(
            ngettext("%(n)d session takes place again.", "%(n)d sessions take place again.", back) % {"n": back}
        )
    return " ".join(told)


patterns = [
    path("seasons/<int:season>/breaks/", breaks, name="breaks"),
    path("seasons/<int:season>/breaks/new/", new_break, name="new_break"),
    path("seasons/<int:season>/breaks/<int:gap>/", edit_break, name="edit_break"),
    path("seasons/<int:season>/breaks/<int:gap>/out/", remove_break, name="remove_break"),
]
