"""A season at a glance: a line for each week, the contact planned against its limits, and the season strip."""

from __future__ import annotations

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import path
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from planner.calendar_days import NamedDays, nearest_season, season_in, season_span, week_around
from planner.core.nearest import month_of
from planner.core.totals import LIMITED
from planner.models import Season
from planner.season_figures import audit_end
from planner.season_print import PAPERS, season_pdf
from planner.season_view import SeasonPage
from planner.views.drawn import kept_for
from planner.views.months import Asked, by_day, calendar_between, ways
from planner.views.prints import PDF
from planner.welfare import stamp
from shared.access import needs
from shared.http import download
from shared.printing import PrintingRefused
from shared.roles import Permission


@needs(Permission.SEE_CALENDAR)
@by_day("season")
def season_view(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    """The season that holds the day of the address, or the nearest one."""
    season = nearest_season(asked.seasons, asked.day)
    if season is None:
        return render(request, "planner/calendar/season_view.html", ways(asked, "season", asked.day, None))
    if written != season.first_day.isoformat():
        if not season.first_day <= asked.day <= season.last_day:
            messages.warning(request, outside(season, asked.day))
        return redirect(asked.address("season", season.first_day))
    at = stamp(asked.squad, asked.today)
    drawn, phases = kept_for(request, ("season", season.pk, at), lambda: body(request, asked, season, at[-1]))
    shown = {"drawn": drawn, "before": neighbour(asked, season, -1), "after": neighbour(asked, season, 1)}
    return render(
        request, "planner/calendar/season_view.html", shown | ways(asked, "season", season.first_day, season, phases)
    )


def body(request: HttpRequest, asked: Asked, season: Season, end: str | None) -> tuple[SafeString, list[NamedDays]]:
    """Strip and weeks as they are drawn, and the phases of the season."""
    found = SeasonPage.of(calendar_between(request, asked, season, *season_span(season)), end)
    with_contact = request.membership.may(Permission.SEE_TOTALS)
    words = {
        "rows": found.rows(with_contact=with_contact),
        "strip": found.strip,
        "with_contact": with_contact,
        "kinds": LIMITED,
    }
    drawn = render_to_string("planner/calendar/season_body.html", words, request)
    return drawn, list(found.calendar.phases)


def outside(season: Season, day: dt.date) -> str:
    words = {"day": date_format(day, "j F Y"), "season": season}
    return _("%(day)s lies in no season; the nearest is %(season)s.") % words


def neighbour(asked: Asked, season: Season, step: int) -> str:
    """The address of the season before or after, "" if there is none."""
    place = asked.seasons.index(season) + step
    return asked.address("season", asked.seasons[place].first_day) if 0 <= place < len(asked.seasons) else ""


@needs(Permission.SEE_TOTALS)
@by_day("month")
def month_contact(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    first, last = month_of(asked.day)
    return contact_between(request, asked, "month", week_around(first)[0], week_around(last)[1])


@needs(Permission.SEE_TOTALS)
@by_day("week")
def week_contact(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    return contact_between(request, asked, "week", *week_around(asked.day))


def contact_between(request: HttpRequest, asked: Asked, view: str, first: dt.date, last: dt.date) -> HttpResponse:
    """The contact planned in each of these weeks: a page, and for htmx the part that the calendar fetches.

    It stands apart from month and week, which answer at once: after a change these figures are counted anew.
    """
    end = audit_end(asked.squad)
    season = season_in(asked.seasons, first, last)
    found = SeasonPage.of(calendar_between(request, asked, season, first, last), end)
    words = {"rows": found.contact_rows(), "kinds": LIMITED, "squad": asked.squad, "first": first, "last": last}
    part = "planner/calendar/contact_part.html" if request.htmx else "planner/calendar/contact.html"
    return render(request, part, words | {"back": asked.address(view, asked.day)})


@needs(Permission.PRINT_SHEETS)
@by_day("season")
def season_paper(request: HttpRequest, asked: Asked, written: str) -> HttpResponse:
    """The season that holds the day on one page; `?paper=` a4 or a3."""
    season, paper = nearest_season(asked.seasons, asked.day), request.GET.get("paper", "a4")
    if season and paper not in PAPERS:
        messages.warning(request, _("“%s” is no paper for a season: choose A4 or A3.") % paper[:20])
    if season is None or paper not in PAPERS:
        return redirect(asked.address("season", asked.day))
    end = audit_end(asked.squad)
    found = SeasonPage.of(calendar_between(request, asked, season, *season_span(season)), end)
    try:
        content = season_pdf(found, PAPERS[paper])
    except PrintingRefused as reason:
        return render(request, "planner/no_print.html", {"reason": reason}, status=422)
    return download(content, f"season-{asked.squad.slug}-{season.first_day}-{paper}.pdf", PDF, inline=True)


patterns = [
    path("calendar/<slug:squad>/month/<str:day>/contact/", month_contact, name="month_contact"),
    path("calendar/<slug:squad>/week/<str:day>/contact/", week_contact, name="week_contact"),
    path("calendar/<slug:squad>/season/<str:day>/", season_view, name="calendar_season"),
    path("calendar/<slug:squad>/season/<str:day>/paper.pdf", season_paper, name="season_paper"),
]
