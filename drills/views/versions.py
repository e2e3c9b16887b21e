"""The versions of a drill: the list, two beside each other, one as it was."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.actions import DrillRefused, EditedMeanwhile, bring_back_version
from drills.cards import CardRefused, cards_pdf
from drills.models import Drill, DrillVersion
from drills.pages import CardPage
from drills.pictures import pictures
from drills.versions import Words, as_it_was, differences, kept_versions
from drills.views.fetch import drill_of
from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable
from shared.roles import Permission


class CompareForm(forms.Form):
    """Two versions of a drill, by number."""

    before = forms.TypedChoiceField(label=_("From"), coerce=int)
    after = forms.TypedChoiceField(label=_("To"), coerce=int)

    def __init__(self, data: object, *, versions: list[DrillVersion]) -> None:
        super().__init__(data, label_suffix="")
        for name in ("before", "after"):
            self.fields[name].choices = [(kept.version, kept.title) for kept in versions]
        self.by_number = {kept.version: kept for kept in versions}

    @property
    def pair(self) -> tuple[DrillVersion, DrillVersion]:
        return self.by_number[self.cleaned_data["before"]], self.by_number[self.cleaned_data["after"]]


@needs(Permission.SEE_DRILLS)
def drill_versions(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """Each version with what it changed; `?before=1&after=4` compares any two."""
    drill, known = drill_of(club, number), Words.of(club)
    kept = kept_versions(drill, known)
    asked = request.GET if "before" in request.GET or "after" in request.GET else None
    form = CompareForm(asked, versions=[each.version for each in kept])
    between = None
    if form.is_valid():
        before, after = form.pair
        between = list(differences(before.entry, after.entry, known))
    words = {"drill": drill, "kept": kept, "form": form, "between": between}
    return render(request, "drills/versions.html", words)


@needs(Permission.SEE_DRILLS)
def drill_version(request: HttpRequest, club: Club, number: int, version: int) -> HttpResponse:
    """A card as it was. Nothing on it can be changed."""
    drill, kept = version_of(club, number, version)
    was = as_it_was(drill, kept, Words.of(club))
    words = {"now": drill, "kept": kept, "drill": was, "page": CardPage(was), "pictures": pictures(was)}
    return render(request, "drills/version.html", words)


@needs(Permission.PRINT_SHEETS)
def drill_version_pdf(request: HttpRequest, club: Club, number: int, version: int) -> HttpResponse:
    drill, kept = version_of(club, number, version)
    try:
        printed = cards_pdf([as_it_was(drill, kept, Words.of(club))])
    except (CardRefused, PrintingUnavailable) as problem:
        messages.error(request, str(problem))
        return redirect("drill_version", club=club.slug, number=number, version=version)
    return download(printed, f"card-{club.slug}-{number}-version-{version}.pdf", "application/pdf", inline=True)


@needs(Permission.EDIT_DRILLS)
@require_POST
def drill_version_bring_back(request: HttpRequest, club: Club, number: int, version: int) -> HttpResponse:
    """The old text as the next version; `seen` is the version that the page showed as the present one."""
    drill, kept = version_of(club, number, version)
    seen = request.POST.get("seen", "")
    try:
        saved = bring_back_version(
            drill, kept, version=int(seen) if seen.isdecimal() else 0, by=request.user, today=today_at(club)
        )
    except (DrillRefused, EditedMeanwhile) as problem:
        messages.error(request, _("Nothing was changed: %(why)s") % {"why": problem})
        return redirect("drill_version", club=club.slug, number=number, version=version)
    messages.success(
        request,
        _("%(drill)s says what version %(old)d said, as version %(new)d.")
        % {"drill": saved, "old": version, "new": saved.version},
    )
    return redirect("drill", club=club.slug, number=number)


def version_of(club: Club, number: int, version: int) -> tuple[Drill, DrillVersion]:
    drill = drill_of(club, number)
    return drill, get_object_or_404(drill.versions, version=version)


patterns = [
    path("drills/<int:number>/versions/", drill_versions, name="drill_versions"),
    path("drills/<int:number>/versions/<int:version>/", drill_version, name="drill_version"),
    path("drills/<int:number>/versions/<int:version>/card.pdf", drill_version_pdf, name="drill_version_pdf"),
    path(
        "drills/<int:number>/versions/<int:version>/bring-back/",
        drill_version_bring_back,
        name="drill_version_bring_back",
    ),
]
