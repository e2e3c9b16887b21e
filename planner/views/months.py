"""The calendar by month and by week, with the ways between them. The address holds the view and its day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from planner.calendar_days import (
    Links,
    NamedDays,
    SquadCalendar,
    nearest_season,
    phases_and_breaks,
    season_in,
    week_around,
)
from planner.calendar_drawn import Drawn, options
from planner.calendar_weeks import slots_of_days
from planner.calendar_words import DayNames
from planner.core.calendar import A_WEEK, Stretch, monday_of, week_number, weeks_of
from planner.core.nearest import month_after, month_of, months_between, names_a_day, nearest_day
from planner.light import light_of
from planner.models import Season
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad

VIEWS = ("month", "week", "season")


@dataclass(frozen=True)
class Asked:
    """What an address of the calendar asks for: one squad, and a day by which the view is found."""

    club: Club
    squads: list[Squad]
    squad: Squad
    seasons: list[Season]
    day: dt.date
    today: dt.date

    def address(self, view: str, day: dt.date) -> str:
        """A season is found by its first day, if there is one at all."""
        season = nearest_season(self.seasons, day) if view == "season" else None
        return address_of(self.club, self.squad, view, season.first_day if season else day)

    def beside(self, view: str, day: dt.date) -> list[tuple[Squad, str]]:
        """Each squad with the address of these days there; the route is looked up once."""
        stand_in = Squad(slug="stands-for-a-squad")
        address = address_of(self.club, stand_in, view, day)
        return [(each, address.replace(stand_in.slug, each.slug)) for each in self.squads]


def address_of(club: Club, squad: Squad, view: str, day: dt.date) -> str:
    """Each view has one address for each of its stretches of days."""
    written = {"month": f"{day:%Y-%m}", "week": monday_of(day).isoformat(), "season": day.isoformat()}[view]
    return reverse(f"calendar_{view}", args=[club.slug, squad.slug, written])


def by_day(view: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """Hand the page what its address asks for; a squad or a day that there is not leads to the nearest, with a word."""

    def decorate(page: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @wraps(page)
        def found_page(request: HttpRequest, club: Club, squad: str, day: str) -> HttpResponse:
            asked = asked_of(request, club, squad, day)
            if asked is None:
                return redirect("calendar", club=club.slug)
            if asked.squad.slug != squad or not names_a_day(day):
                return redirect(asked.address(view, asked.day))
            return page(request, asked, day)

        return found_page

    return decorate


def asked_of(request: HttpRequest, club: Club, squad: str, text: str) -> Asked | None:
    """None for a club without a squad. What was not found is told to the reader."""
    squads = list(Squad.objects.filter(club=club))
    found = next((each for each in squads if each.slug == squad), squads[0] if squads else None)
    if found is None:
        messages.warning(request, _("There is no squad yet. Add one first; its calendar follows."))
        return None
    if found.slug != squad:
        words = {"asked": squad[:40], "found": found}
        messages.warning(request, _("There is no squad “%(asked)s” here; this is %(found)s.") % words)
    found.club, today = club, today_at(club)
    day = nearest_day(text, today)
    if not names_a_day(text):
        words = {"asked": text[:40], "found": date_format(day, "j F Y")}
        messages.warning(request, _("“%(asked)s” is no day. Write 2026-10-05, or 2026-10. You see %(found)s.") % words)
    return Asked(club, squads, found, list(found.seasons.order_by("first_day")), day, today)


@needs(Permission.SEE_CALENDAR)
@by_day("month")
def month(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    first, last = month_of(asked.day)
    if written != f"{first:%Y-%m}":
        return redirect(asked.address("month", first))
    span = monday_of(first), week_around(last)[1]
    calendar, drawn = calendar_between(request, asked, season_in(asked.seasons, first, last), *span), Drawn()
    shown = {
        "first": first,
        "weeks": [(week, drawn.cells(week)) for week in calendar.weeks(first)],
        "weekdays": [drawn.names.weekday(span[0] + dt.timedelta(days=n)) for n in range(7)],
        "before": asked.address("month", month_after(first, -1)),
        "after": asked.address("month", month_after(first)),
    }
    return render(
        request, "planner/calendar/month.html", shown | ways(asked, "month", first, calendar.season, calendar.phases)
    )


@needs(Permission.SEE_CALENDAR)
@by_day("week")
def week(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    monday, sunday = week_around(asked.day)
    if written != monday.isoformat():
        return redirect(asked.address("week", monday))
    calendar = calendar_between(request, asked, season_in(asked.seasons, monday, sunday), monday, sunday)
    found, drawn, slots = calendar.weeks()[0], Drawn(), slots_of_days(calendar.sessions)
    shown = {
        "week": found,
        "days": [(day, [(each, drawn.movable(each, day.day)) for each in day.entries]) for day in found.days],
        "slots": slots,
        "lights": {
            each.pk: light_of(each, [line.slot.minutes for line in slots[each.pk]]) for each in calendar.sessions
        },
        "before": asked.address("week", monday - A_WEEK),
        "after": asked.address("week", monday + A_WEEK),
    }
    return render(
        request, "planner/calendar/week.html", shown | ways(asked, "week", monday, calendar.season, calendar.phases)
    )


def calendar_between(
    request: HttpRequest, asked: Asked, season: Season | None, first: dt.date, last: dt.date
) -> SquadCalendar:
    links = Links(asked.club, asked.squad, may_edit=request.membership.may(Permission.EDIT_CALENDAR))
    return SquadCalendar(asked.squad, season, first, last, asked.today, links)


def ways(
    asked: Asked, view: str, day: dt.date, season: Season | None, phases: Iterable[NamedDays] = ()
) -> dict[str, Any]:
    """To the other views of these days, to the other squads, and to each month, week and phase of the season.

    `phases` are those of the season that holds the days; without one the nearest season is offered.
    """
    stands = season or nearest_season(asked.seasons, day)
    if stands and not season:
        phases, _breaks = phases_and_breaks(stands)
    return {
        "view": view,
        "squad": asked.squad,
        "season": season,
        "views": {each: asked.address(each, day) for each in VIEWS},
        "others": asked.beside(view, day),
        "today_address": f"{asked.address(view, asked.today)}#week-{monday_of(asked.today)}",
        "jumps": jumps(stands, phases, day.isoformat() if view == "week" else f"{day:%Y-%m}") if stands else None,
        "stands": stands,
    }


def jumps(season: Season, phases: Iterable[NamedDays], here: str) -> list[tuple[str, SafeString]]:
    """Where a jump may lead, each with the day that it leads to. A phase is found by its first day."""
    names, first = DayNames(), season.first_day
    places = {
        _("Months"): [(f"{day:%Y-%m}", date_format(day, "F Y")) for day in months_between(first, season.last_day)],
        _("Weeks"): [
            (span.first.isoformat(), f"{week_number(span.first, first)} · {names.in_year(span.first)}")
            for span in weeks_of(Stretch(first, season.last_day))
        ],
        _("Phases"): [(phase.first_day.isoformat(), phase.name) for phase in phases],
    }
    return [(name, options(found, here)) for name, found in places.items() if found]


@needs(Permission.SEE_CALENDAR)
def go(request: HttpRequest, club: Club, squad: str) -> HttpResponse:
    """From the list of places to jump to: `?to=` a day or a month, `?view=` the view to show it in."""
    asked = asked_of(request, club, squad, request.GET.get("to", ""))
    view = request.GET.get("view", "")
    if asked is None:
        return redirect("calendar", club=club.slug)
    found = asked.address(view if view in VIEWS else "month", asked.day)
    return redirect(f"{found}#week-{monday_of(asked.day)}")


patterns = [
    path("calendar/<slug:squad>/go/", go, name="calendar_go"),
    path("calendar/<slug:squad>/month/<str:day>/", month, name="calendar_month"),
    path("calendar/<slug:squad>/week/<str:day>/", week, name="calendar_week"),
]
