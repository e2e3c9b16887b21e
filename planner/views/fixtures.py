"""Fixtures: by hand one at a time, and by file with a preview."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Collection
from copy import copy
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from planner.calendar_actions import choose_columns, import_fixtures
from planner.changes import Refused
from planner.column_models import FixtureColumns
from planner.columns import ColumnsUnclear
from planner.core.calendar import monday_of
from planner.fixture_files.columns import MATCHES
from planner.forms.calendar import FixtureForm, FixturesUploadForm
from planner.forms.days import day_asked
from planner.forms.moving import FatesForm
from planner.imports import FixtureImport, fixtures_in
from planner.models import Fixture, FixtureState, Session
from planner.moved_told import Effects, effects_of
from planner.moving import Difference, what_if
from planner.moving_actions import change_match, digest_of
from planner.season_place import place_in_season
from planner.views.calendar import calendar_of, chosen_squad
from planner.views.columns import columns_page, no_day_above_12
from shared import uploads
from shared.access import needs
from shared.cells import Unreadable
from shared.clock import today_at
from shared.http import with_query
from shared.models import Club, Upload, User
from shared.preview import Outdated
from shared.roles import Permission
from squads.models import Squad


@needs(Permission.EDIT_CALENDAR)
def new_fixture(request: HttpRequest, club: Club) -> HttpResponse:
    squad = chosen_squad(request, list(Squad.objects.filter(club=club)))
    if squad is None:
        messages.error(request, _("A match is for a squad: add the squad first."))
        return redirect("squads", club=club.slug)
    initial = {"squad": squad, "home": "yes", "day": day_asked(request.GET.get("day", ""))}
    form = FixtureForm(request.POST or None, club=club, initial=initial)
    return fixture_form(request, club, Fixture(), form)


@needs(Permission.EDIT_CALENDAR)
def edit_fixture(request: HttpRequest, club: Club, fixture: int) -> HttpResponse:
    found = get_object_or_404(Fixture.objects.of(club).select_related("squad__club", "final"), pk=fixture)
    initial = FixtureForm.filled_from(found) | {"was": digest_of(found)}
    initial["day"] = day_asked(request.GET.get("day", "")) or initial["day"]
    form = FixtureForm(request.POST or None, club=club, where=found.where, initial=initial)
    form.fields["squad"].disabled = True
    return fixture_form(request, club, found, form)


def fixture_form(request: HttpRequest, club: Club, fixture: Fixture, form: FixtureForm) -> HttpResponse:
    """The form; what it would do to the weeks around the match; and, once that was seen, the save."""
    shown = {"form": form, "fixture": fixture, "place": place_in_season(fixture) if fixture.pk else None}
    if not form.is_valid() or "again" in request.POST:
        return render(request, "planner/calendar/fixture_form.html", shown)
    change = MatchChange(fixture, form.fields_of_fixture, today_at(club), request.user)
    fates = FatesForm(request.POST, sessions=change.met, match_days=change.match_days, today=change.today)
    try:
        effects = effects_of(change.tried(fates))
        if fates.is_valid() and (effects.is_nothing or request.POST.get("seen") == effects.digest):
            return saved_match(request, change.saved(fates), effects)
    except Refused as refusal:
        form.add_error(None, list(refusal.reasons))
        return render(request, "planner/calendar/fixture_form.html", shown)
    return render(request, "planner/calendar/moved.html", shown | {"effects": effects, "fates": fates})


def saved_match(request: HttpRequest, fixture: Fixture, effects: Effects) -> HttpResponse:
    """To dealing again if that was asked for, to the week of the match if it changed something, else the calendar."""
    messages.success(request, _("%(fixture)s is saved.") % {"fixture": fixture})
    club, squad = fixture.squad.club, fixture.squad
    if "deal" in request.POST and effects.to_deal_again and request.membership.may(Permission.EDIT_PLAN):
        return redirect("deal_again", club=club.slug, block=effects.to_deal_again.pk)
    if effects.is_nothing:
        return redirect(calendar_of(squad))
    return redirect("week", club=club.slug, squad=squad.slug, monday=monday_of(fixture.day))


@dataclass(frozen=True)
class MatchChange:
    """A match as it is and the fields as they should be; `met`: sessions that the change puts on a match day."""

    fixture: Fixture
    fields: dict[str, Any]
    today: dt.date
    by: User

    @property
    def squad(self) -> Squad:
        return self.fields["squad"]

    @property
    def day(self) -> dt.date:
        return self.fields["kick_off"].astimezone(self.fields["where"].zone_or(self.squad.club.tzinfo)).date()

    @property
    def is_on(self) -> bool:
        return self.fields["state"] == FixtureState.PLANNED

    @property
    def was_on(self) -> bool:
        return bool(self.fixture.pk) and self.fixture.state == FixtureState.PLANNED

    @property
    def met(self) -> list[Session]:
        if not self.is_on or self.day < self.today or (self.was_on and self.fixture.day == self.day):
            return []
        return list(self.squad.sessions.between(self.day, self.day).select_related("squad__club"))

    @property
    def match_days(self) -> list[dt.date]:
        others = self.squad.fixtures.played_or_due().exclude(pk=self.fixture.pk)
        return [*others.values_list("day", flat=True), *([self.day] if self.is_on else [])]

    def tried(self, fates: FatesForm) -> Difference | None:
        days = {self.day} | ({self.fixture.day} if self.fixture.pk else set())
        return what_if(self.squad, days, lambda: self.saved(fates), self.today)

    def saved(self, fates: FatesForm) -> Fixture:
        """Row by row from what stands now, so that a trial leaves no trace in memory either."""
        chosen = list(fates.fates) if fates.is_valid() else []
        return change_match(fixture=copy(self.fixture), by=self.by, today=self.today, fates=chosen, **self.fields)


@needs(Permission.EDIT_CALENDAR)
def upload_fixtures(request: HttpRequest, club: Club) -> HttpResponse:
    squads = list(Squad.objects.filter(club=club))
    initial = {"squad": chosen_squad(request, squads)}
    form = FixturesUploadForm(request.POST or None, request.FILES or None, club=club, initial=initial)
    if form.is_valid():
        squad = form.cleaned_data["squad"]
        try:
            upload = uploads.keep(club, form.cleaned_data["file"], request.user)
            return redirect(next_step(squad, upload), club=club.slug, squad=squad.slug, upload=upload.pk)
        except Unreadable as problem:
            form.add_error("file", str(problem))
    return render(request, "planner/calendar/fixtures_upload.html", {"form": form, "squads": squads})


def next_step(squad: Squad, upload: Upload) -> str:
    """The preview, or the choice of columns where the file leaves open what they hold. Raises Unreadable."""
    return "fixture_columns" if left_open(squad, upload) else "confirm_fixtures"


@needs(Permission.EDIT_CALENDAR)
def fixture_columns(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    """Which column of a list holds what, beside the first rows of the list; remembered for the squad."""
    found = get_object_or_404(Squad.objects.select_related("club"), club=club, slug=squad)
    try:
        kept = uploads.take(club, upload, request.user)
        return columns_page(
            request,
            kept,
            found,
            of=MATCHES,
            chosen=FixtureColumns.objects.reading_for(found),
            why=left_open(found, kept),
            choose=lambda reading: choose_columns(squad=found, reading=reading, by=request.user),
            onward=reverse("confirm_fixtures", args=[club.slug, found.slug, kept.pk]),
            back=with_query(reverse("import_fixtures", args=[club.slug]), squad=found.slug),
        )
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("import_fixtures", club=club.slug)


def left_open(squad: Squad, upload: Upload) -> str:
    """What somebody has to say before the file can be read, in words; "" if nothing. Raises Unreadable."""
    try:
        found = fixtures_in(squad, bytes(upload.content), upload.name)
    except ColumnsUnclear as problem:
        return str(problem)
    if found.day_order_is_open:
        return no_day_above_12()
    return ""


@needs(Permission.EDIT_CALENDAR)
def confirm_fixtures(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    """What the file would do; pressing the button does it, after the file was read once more."""
    found = get_object_or_404(Squad.objects.select_related("club"), club=club, slug=squad)
    try:
        kept = uploads.take(club, upload, request.user)
        return (
            take_fixtures(request, found, kept) if request.method == "POST" else fixtures_preview(request, found, kept)
        )
    except ColumnsUnclear as problem:
        messages.warning(request, str(problem))
        return redirect("fixture_columns", club=club.slug, squad=found.slug, upload=upload)
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("import_fixtures", club=club.slug)


def fixtures_preview(request: HttpRequest, squad: Squad, kept: Upload, moved: Collection[str] = ()) -> HttpResponse:
    """`moved`: UIDs of the known matches that were ticked as the same on another day."""
    read = fixtures_in(squad, bytes(kept.content), kept.name, moved)
    effects = effects_of(tried(squad, read, kept, request.user, moved))
    shown = {"squad": squad, "upload": kept, "preview": read.preview, "effects": effects, "read": read}
    return render(request, "planner/calendar/fixtures_preview.html", shown | {"moved": moved})


def tried(squad: Squad, read: FixtureImport, kept: Upload, by: User, moved: Collection[str]) -> Difference | None:
    """What the file would do to the weeks around the matches that it brings or moves."""
    before = squad.fixtures.filter(pk__in=[fixture.pk for fixture in read.changed]).values_list("day", flat=True)
    days = {*before, *(fixture.day for fixture in (*read.new, *read.changed))}

    def write() -> object:
        return import_fixtures(squad=squad, content=bytes(kept.content), filename=kept.name, by=by, moved=moved)

    return what_if(squad, days, write, today_at(squad.club))


def take_fixtures(request: HttpRequest, squad: Squad, kept: Upload) -> HttpResponse:
    """Where it would write other lines than were seen, also because of what was ticked, they are shown first."""
    moved, seen = request.POST.getlist("moved"), request.POST.get("seen")
    given = {"squad": squad, "content": bytes(kept.content), "filename": kept.name}
    try:
        preview = import_fixtures(**given, by=request.user, moved=moved, seen=seen)
    except Outdated:
        messages.warning(
            request,
            _(
                "Nothing is written yet: with what you ticked, or with what the calendar holds by now, the file does "
                "something else than you saw. Look through it, then write."
            ),
        )
        return fixtures_preview(request, squad, kept, moved)
    kept.delete()
    messages.success(request, _("The fixtures are in the calendar: %(counts)s.") % {"counts": preview.told})
    return redirect(calendar_of(squad))


patterns = [
    path("fixtures/new/", new_fixture, name="new_fixture"),
    path("fixtures/<int:fixture>/", edit_fixture, name="edit_fixture"),
    path("fixtures/import/", upload_fixtures, name="import_fixtures"),
    path("fixtures/import/<slug:squad>/<uuid:upload>/columns/", fixture_columns, name="fixture_columns"),
    path("fixtures/import/<slug:squad>/<uuid:upload>/", confirm_fixtures, name="confirm_fixtures"),
]
