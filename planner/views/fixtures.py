"""Fixtures: by hand one at a time, and by file with a preview."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from planner.calendar_actions import import_fixtures, save_fixture
from planner.forms.calendar import FixtureForm, FixturesUploadForm
from planner.imports import fixtures_in
from planner.models import Fixture
from planner.views.calendar import chosen_squad
from shared import uploads
from shared.access import needs
from shared.cells import Unreadable
from shared.models import Club, Upload
from shared.preview import State
from shared.roles import Permission
from squads.models import Squad


@needs(Permission.EDIT_CALENDAR)
def new_fixture(request: HttpRequest, club: Club) -> HttpResponse:
    squad = chosen_squad(request, list(Squad.objects.filter(club=club)))
    if squad is None:
        messages.error(request, _("A match is for a squad: add the squad first."))
        return redirect("squads", club=club.slug)
    form = FixtureForm(request.POST or None, club=club, initial={"squad": squad, "home": "yes"})
    return fixture_form(request, club, Fixture(), form)


@needs(Permission.EDIT_CALENDAR)
def edit_fixture(request: HttpRequest, club: Club, fixture: int) -> HttpResponse:
    found = get_object_or_404(Fixture.objects.of(club).select_related("squad__club"), pk=fixture)
    form = FixtureForm(request.POST or None, club=club, initial=FixtureForm.filled_from(found))
    form.fields["squad"].disabled = True
    return fixture_form(request, club, found, form)


def fixture_form(request: HttpRequest, club: Club, fixture: Fixture, form: FixtureForm) -> HttpResponse:
    if form.is_valid():
        save_fixture(fixture=fixture, by=request.user, **form.fields_of_fixture)
        messages.success(request, _("%(fixture)s is saved.") % {"fixture": fixture})
        return redirect("calendar", club=club.slug)
    return render(request, "planner/calendar/fixture_form.html", {"form": form, "fixture": fixture})


@needs(Permission.EDIT_CALENDAR)
def upload_fixtures(request: HttpRequest, club: Club) -> HttpResponse:
    squads = list(Squad.objects.filter(club=club))
    initial = {"squad": chosen_squad(request, squads)}
    form = FixturesUploadForm(request.POST or None, request.FILES or None, club=club, initial=initial)
    if form.is_valid():
        squad = form.cleaned_data["squad"]
        try:
            upload = uploads.keep(club, form.cleaned_data["file"], request.user)
            fixtures_in(squad, bytes(upload.content), upload.name)
        except Unreadable as problem:
            form.add_error("file", str(problem))
        else:
            return redirect("confirm_fixtures", club=club.slug, squad=squad.slug, upload=upload.pk)
    return render(request, "planner/calendar/fixtures_upload.html", {"form": form, "squads": squads})


@needs(Permission.EDIT_CALENDAR)
def confirm_fixtures(request: HttpRequest, club: Club, squad: str, upload: uuid.UUID) -> HttpResponse:
    """What the file would do; pressing the button does it, after the file was read once more."""
    found = get_object_or_404(Squad.objects.select_related("club"), club=club, slug=squad)
    try:
        kept = uploads.take(club, upload, request.user)
        if request.method == "POST":
            return take_fixtures(request, found, kept)
        preview = fixtures_in(found, bytes(kept.content), kept.name).preview
    except Unreadable as problem:
        messages.error(request, str(problem))
        return redirect("import_fixtures", club=club.slug)
    shown = {"squad": found, "upload": kept, "preview": preview}
    return render(request, "planner/calendar/fixtures_preview.html", shown)


def take_fixtures(request: HttpRequest, squad: Squad, kept: Upload) -> HttpResponse:
    preview = import_fixtures(squad=squad, content=bytes(kept.content), filename=kept.name, by=request.user)
    kept.delete()
    counts = ", ".join(f"{preview.count(state)} {state.word}" for state in State)
    messages.success(request, _("The fixtures are in the calendar: %(counts)s.") % {"counts": counts})
    return redirect("calendar", club=squad.club.slug)


patterns = [
    path("fixtures/new/", new_fixture, name="new_fixture"),
    path("fixtures/<int:fixture>/", edit_fixture, name="edit_fixture"),
    path("fixtures/import/", upload_fixtures, name="import_fixtures"),
    path("fixtures/import/<slug:squad>/<uuid:upload>/", confirm_fixtures, name="confirm_fixtures"),
]
