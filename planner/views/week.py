"""A squad's week: what stands on each night, who still needs what, and the edits of a night."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planner import actions
from planner.actions import Refused
from planner.answers import Answer
from planner.choices import additions_for, swaps_for
from planner.core.totals import monday_of
from planner.forms.days import day_asked
from planner.forms.week import CoachForm, DrillForm, EditForm, LockForm, MoveForm, ShownForm
from planner.models import Block, PlanChange, Session, Slot, Station
from planner.patterns import box_of
from planner.totals import LOOK_BACK
from planner.verdicts import Verdict
from planner.views.blocks import block_of, undone
from planner.views.drawn import kept_for
from planner.weeks import Week, week_of
from planner.welfare import stamp
from shared.access import needs
from shared.clock import clock_at
from shared.http import with_query
from shared.models import Club
from shared.roles import Permission
from squads.models import Squad


def squad_of(club: Club, slug: str) -> Squad:
    return get_object_or_404(Squad.objects.select_related("club"), club=club, slug=slug)


def monday_in(text: str) -> dt.date:
    """The Monday of the week that an address names by one of its days."""
    day = day_asked(text)
    if day is None:
        raise Http404(_("There is no such week. Write a day of it as 2026-10-05."))
    return monday_of(day)


@needs(Permission.SEE_PLAN)
def week(request: HttpRequest, club: Club, squad: str, monday: str) -> HttpResponse:
    """The page, and for htmx the one night in which a slot is opened or closed again."""
    found, first = squad_of(club, squad), monday_in(monday)
    if str(first) != monday:
        return redirect("week", club=club.slug, squad=squad, monday=first)
    form = ShownForm(request.GET)
    slot, night = form.chosen("slot"), form.chosen("night")
    if request.htmx and (slot or night):
        words = words_of(request, found, first, form)
        if words["asked"]:
            return render(request, "planner/week/night.html", words | {"night": words["asked"]})
    if slot:  # its forms are for one person: nothing of it is kept
        page = drawn_week(request, words_of(request, found, first, form))
    else:
        key = ("week", found.pk, first, night, looked_at(found, first, **clock_at(club)))
        page = kept_for(request, key, lambda: drawn_week(request, words_of(request, found, first, form)))
    return render(request, "planner/week/week.html", {"week": page, "last_change": last_change(page.block)})


def looked_at(squad: Squad, monday: dt.date, today: dt.date, now: dt.datetime | None) -> Hashable:
    """What a week is kept under: what moves with a change, and the minute on a day of training, when slots begin."""
    nights = Session.objects.filter(squad=squad).between(monday, monday + LOOK_BACK)
    rows = tuple(nights.order_by("pk").values_list("pk", "day", "starts_at", "cancelled", "plan_version"))
    trains = any(row[1] == today for row in rows)
    return rows, now and trains and now.replace(second=0, microsecond=0), stamp(squad, today)


def words_of(request: HttpRequest, squad: Squad, monday: dt.date, form: ShownForm) -> dict[str, Any]:
    """The whole week, judged for whoever sees totals. `asked`: the night that is open whatever the day."""
    judged = request.membership.may(Permission.SEE_TOTALS)
    shown = week_of(squad, monday, **clock_at(squad.club), judged=judged)
    words = opened(request, shown, form.chosen("slot"), form.chosen("swap"))
    return words | {
        "asked": words["open_night"] or shown.night(form.chosen("night")),
        "box": box_of(shown.days, shown.contact, shown.today) if judged else None,
    }


@dataclass(frozen=True)
class DrawnWeek:
    """The parts of the page, and what stands around them."""

    squad: Squad
    monday: dt.date
    block: Block | None
    top: SafeString
    nights: SafeString
    needs: SafeString


def drawn_week(request: HttpRequest, words: dict[str, Any]) -> DrawnWeek:
    shown = words["week"]
    parts = {name: render_to_string(f"planner/week/{name}.html", words, request) for name in ("top", "nights")}
    needed = request.membership.may(Permission.SEE_TOTALS)
    parts["needs"] = render_to_string("planner/week/needs.html", words, request) if needed else ""
    return DrawnWeek(shown.squad, shown.monday, shown.block, **parts)


def last_change(block: Block | None) -> PlanChange | None:
    """The one that would be undone first."""
    return block and block.changes.filter(undone_at=None).defer("before", "after").first()


def opened(request: HttpRequest, shown: Week, slot: int | None, swap: int | None) -> dict[str, Any]:
    """The words of a week in which a slot may be open for editing, with what can be chosen there."""
    words: dict[str, Any] = {"week": shown, "open_night": None, "today": shown.today}
    night = next((night for night in shown.nights for line in night.slots if line.slot.pk == slot), None)
    if night is None or not night.is_open or not request.membership.may(Permission.EDIT_PLAN):
        return words | {"open_night": night}
    line = next(line for line in night.slots if line.slot.pk == slot)
    built = shown.overview_of(night.session).built
    swapped = next((each.station for each in line.stations if each.station.pk == swap), None)
    return words | {
        "open_night": night,
        "open_slot": slot,
        "additions": additions_for(built, line.slot),
        "swapped": swapped,
        "swaps": swapped and swaps_for(built, swapped),
    }


# Edits


def slot_of(club: Club, key: int) -> Slot:
    slots = Slot.objects.select_related("session__squad__club")
    return get_object_or_404(slots, pk=key, session__squad__club=club)


def station_of(club: Club, key: int) -> Station:
    stations = Station.objects.select_related("slot__session__squad__club", "drill")
    return get_object_or_404(stations, pk=key, slot__session__squad__club=club)


def edited(request: HttpRequest, slot: Slot, form: Form, verb: Callable[[dict[str, Any]], Verdict]) -> HttpResponse:
    """The night as it is after an edit, with what got better and worse, or why nothing was written."""
    if not form.is_valid():
        return answer(request, slot, Answer.mistaken(text for errors in form.errors.values() for text in errors))
    try:
        return answer(request, slot, Answer.to(verb(form.cleaned_data | {"by": request.user})))
    except Refused as refusal:
        return answer(request, slot, Answer.refusing(refusal))


def answer(request: HttpRequest, slot: Slot, told: Answer) -> HttpResponse:
    session = slot.session
    squad, monday = session.squad, monday_of(session.day)
    if not request.htmx:
        (messages.error if told.is_refused else messages.success)(request, str(told))
        address = reverse("week", kwargs={"club": squad.club.slug, "squad": squad.slug, "monday": monday})
        return redirect(f"{with_query(address, slot=slot.pk)}#night-{session.pk}")
    shown = week_of(squad, monday, **clock_at(squad.club))
    words = {"night": shown.night(session.pk), "answer": told, "last_change": last_change(shown.block)}
    return render(request, "planner/week/answer.html", words | opened(request, shown, slot.pk, None))


@needs(Permission.EDIT_PLAN)
@require_POST
def swap_drill(request: HttpRequest, club: Club, station: int) -> HttpResponse:
    found = station_of(club, station)
    form = DrillForm(request.POST, slot=found.slot)
    return edited(request, found.slot, form, lambda given: actions.swap_drill(station=found, **given))


@needs(Permission.EDIT_PLAN)
@require_POST
def remove_station(request: HttpRequest, club: Club, station: int) -> HttpResponse:
    found = station_of(club, station)
    form = EditForm(request.POST)
    return edited(request, found.slot, form, lambda given: actions.remove_station(station=found, **given))


@needs(Permission.EDIT_PLAN)
@require_POST
def lock_station(request: HttpRequest, club: Club, station: int) -> HttpResponse:
    found = station_of(club, station)

    def mark(given: dict[str, Any]) -> Verdict:
        verb = actions.lock_station if given.pop("locked") else actions.unlock_station
        return verb(station=found, **given)

    return edited(request, found.slot, LockForm(request.POST), mark)


@needs(Permission.EDIT_PLAN)
@require_POST
def set_coach(request: HttpRequest, club: Club, station: int) -> HttpResponse:
    found = station_of(club, station)
    form = CoachForm(request.POST)
    return edited(request, found.slot, form, lambda given: actions.set_coach(station=found, **given))


@needs(Permission.EDIT_PLAN)
@require_POST
def add_station(request: HttpRequest, club: Club, slot: int) -> HttpResponse:
    found = slot_of(club, slot)
    form = DrillForm(request.POST, slot=found)
    return edited(request, found, form, lambda given: actions.add_station(slot=found, **given))


@needs(Permission.EDIT_PLAN)
@require_POST
def move_player(request: HttpRequest, club: Club, slot: int) -> HttpResponse:
    found = slot_of(club, slot)
    form = MoveForm(request.POST, slot=found)
    return edited(request, found, form, lambda given: actions.move_player(slot=found, **given))


@needs(Permission.EDIT_PLAN)
@require_POST
def undo_in_week(request: HttpRequest, club: Club, squad: str, monday: str, block: int) -> HttpResponse:
    """The last change of the block, wherever in it it was made; the person comes back to the week."""
    found = block_of(club, block)
    return undone(request, found, reverse("week", args=[club.slug, squad_of(club, squad).slug, monday_in(monday)]))


patterns = [
    path("week/<slug:squad>/<str:monday>/", week, name="week"),
    path("week/<slug:squad>/<str:monday>/undo/<int:block>/", undo_in_week, name="undo_in_week"),
    path("stations/<int:station>/swap/", swap_drill, name="swap_drill"),
    path("stations/<int:station>/remove/", remove_station, name="remove_station"),
    path("stations/<int:station>/lock/", lock_station, name="lock_station"),
    path("stations/<int:station>/coach/", set_coach, name="set_coach"),
    path("slots/<int:slot>/add/", add_station, name="add_station"),
    path("slots/<int:slot>/move/", move_player, name="move_player"),
]
