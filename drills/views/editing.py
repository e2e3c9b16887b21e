"""Changes to single drills."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.actions import DrillRefused, EditedMeanwhile, add_drill, bring_back_drill, edit_drill, retire_drill
from drills.editor import DrillEditor
from drills.models import Drill
from drills.views.fetch import drill_of
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.EDIT_DRILLS)
def drill_new(request: HttpRequest, club: Club) -> HttpResponse:
    return new_card(request, club)


@needs(Permission.EDIT_DRILLS)
def drill_copy(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """The form of a new card with everything that this one says: change it, then save it under its own number."""
    return new_card(request, club, like=drill_of(club, number))


def new_card(request: HttpRequest, club: Club, like: Drill | None = None) -> HttpResponse:
    editor = DrillEditor(request.POST or None, club=club, like=like)
    last = Drill.objects.of(club).aggregate(last=Max("number"))["last"] or 0
    editor.form.initial["number"] = last + 1

    def save() -> Drill:
        return add_drill(club, editor.entry, by=request.user, today=today_at(club), like=like)

    return edited(request, editor, save, None, like)


@needs(Permission.EDIT_DRILLS)
def drill_edit(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    drill = drill_of(club, number)
    editor = DrillEditor(request.POST or None, club=club, drill=drill)

    def save() -> Drill:
        return edit_drill(drill, editor.entry, version=editor.version, by=request.user, today=today_at(club))

    return edited(request, editor, save, drill)


def edited(
    request: HttpRequest,
    editor: DrillEditor,
    save: Callable[[], Drill],
    drill: Drill | None,
    like: Drill | None = None,
) -> HttpResponse:
    """Save what was sent and go to the card, or show the form with what is to be mended."""
    if request.method == "POST" and editor.is_valid():
        try:
            saved = save()
        except DrillRefused as refused:
            editor.refuse(refused.faults)
        except EditedMeanwhile as newer:
            editor.form.add_error(None, str(newer))
        else:
            messages.success(request, _("%(drill)s is version %(n)d.") % {"drill": saved, "n": saved.version})
            return redirect("drill", club=saved.club.slug, number=saved.number)
    return render(request, "drills/drill_edit.html", {"editor": editor, "drill": drill, "like": like})


@needs(Permission.EDIT_DRILLS)
@require_POST
def drill_retire(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    drill = drill_of(club, number)
    retire_drill(drill, by=request.user, today=today_at(club))
    messages.success(request, _("%(drill)s is retired: new plans pass it over.") % {"drill": drill})
    return redirect("drill", club=club.slug, number=number)


@needs(Permission.EDIT_DRILLS)
@require_POST
def drill_bring_back(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    drill = drill_of(club, number)
    bring_back_drill(drill, by=request.user)
    messages.success(request, _("%(drill)s is back in the library.") % {"drill": drill})
    return redirect("drill", club=club.slug, number=number)


patterns = [
    path("drills/new/", drill_new, name="drill_new"),
    path("drills/<int:number>/edit/", drill_edit, name="drill_edit"),
    path("drills/<int:number>/copy/", drill_copy, name="drill_copy"),
    path("drills/<int:number>/retire/", drill_retire, name="drill_retire"),
    path("drills/<int:number>/bring-back/", drill_bring_back, name="drill_bring_back"),
]
