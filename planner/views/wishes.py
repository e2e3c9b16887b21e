"""What a coach wishes of a block: one page for all of it, and a form for each wish."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planner.build import problem_of
from planner.changes import Refused
from planner.forms.wishes import ApartForm, DrillWishForm, FavouriteForm, NightsForm, VersionForm
from planner.models import Block
from planner.overview import Overview
from planner.views.blocks import block_of, given
from planner.wish_actions import Wish, remove_wish, save_night_wishes, save_wish
from planner.wish_models import Apart, BlockWishes, DrillWish, Favourite
from planner.wishes_told import broken, told, unmet
from shared.access import needs
from shared.clock import clock_at
from shared.models import Club
from shared.roles import Permission


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of wish: its rows, its form, what the page of a new one is called, the word for it in addresses."""

    word: str
    model: type[Wish]
    form: type[VersionForm]
    title: Promise


KINDS = {
    kind.word: kind
    for kind in (
        Kind("drill", DrillWish, DrillWishForm, gettext_lazy("Wish for a drill")),
        Kind("apart", Apart, ApartForm, gettext_lazy("Two players kept apart")),
        Kind("favourite", Favourite, FavouriteForm, gettext_lazy("Favourites of a coach")),
    )
}


def kind_of(word: str) -> Kind:
    if word not in KINDS:
        raise Http404(_("There is no such kind of wish."))
    return KINDS[word]


def wishes_of(block: Block) -> BlockWishes:
    wishes = BlockWishes.objects.filter(block=block).with_all().first() or BlockWishes()
    wishes.block = block  # as it was fetched, with its squad and club
    return wishes


@needs(Permission.EDIT_PLAN)
def block_wishes(request: HttpRequest, club: Club, block: int) -> HttpResponse:
    """Every wish in words, what stands against it now, and the form of what every night keeps to."""
    found = block_of(club, block)
    wishes = wishes_of(found)
    form = NightsForm(given(request), initial=NightsForm.initial_of(wishes))
    if form.is_valid():
        try:
            save_night_wishes(block=found, by=request.user, version=form.cleaned_data["version"], **form.wished)
            return saved(request, found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "planner/blocks/wishes.html", page_of(found, wishes) | {"form": form})


def page_of(block: Block, wishes: BlockWishes) -> dict[str, Any]:
    built = problem_of(block, **clock_at(block.squad.club), as_it_stands=True)
    overview = Overview(built, built.programme)
    return {
        "stretch": block,
        "wishes": wishes,
        "drill_wishes": in_words(wishes, DrillWish),
        "apart": in_words(wishes, Apart),
        "favourites": in_words(wishes, Favourite),
        "broken": broken(overview),
        "unmet": unmet(built, overview.standing.stations),
        "planned_before": is_planned_before(block, wishes),
        "notes": built.notes,
    }


def in_words(wishes: BlockWishes, model: type[Wish]) -> list[tuple[Wish, str]]:
    """Nobody has wished for anything until there is a row for the block."""
    if wishes.pk is None:
        return []
    rows = {DrillWish: wishes.drill_wishes, Apart: wishes.apart, Favourite: wishes.favourites}[model]
    return [(wish, told(wish, wishes.block.squad.club.names)) for wish in rows.all()]


def is_planned_before(block: Block, wishes: BlockWishes) -> bool:
    """Whether the accepted plan was asked for before the wishes were last changed."""
    accepted = block.runs.filter(accepted_at__isnull=False).order_by("-accepted_at")
    made_at = accepted.values_list("made_at", flat=True).first()
    return bool(made_at and wishes.pk and wishes.changed_at > made_at)


def saved(request: HttpRequest, block: Block) -> HttpResponse:
    messages.success(request, _("Saved. Stations stay as they are: plan the block again to have it followed."))
    return redirect("block_wishes", club=block.squad.club.slug, block=block.pk)


@needs(Permission.EDIT_PLAN)
def add_wish(request: HttpRequest, club: Club, block: int, sort: str) -> HttpResponse:
    of_kind = kind_of(sort)
    return wish_form(request, block_of(club, block), of_kind, of_kind.model())


@needs(Permission.EDIT_PLAN)
def change_wish(request: HttpRequest, club: Club, block: int, sort: str, wish: int) -> HttpResponse:
    found = block_of(club, block)
    return wish_form(request, found, kind_of(sort), wish_of(found, kind_of(sort), wish))


def wish_of(block: Block, kind: Kind, key: int) -> Wish:
    return get_object_or_404(kind.model.objects.of(block.squad.club), wishes__block=block, pk=key)


def wish_form(request: HttpRequest, block: Block, kind: Kind, wish: Wish) -> HttpResponse:
    initial = {"version": wishes_of(block).version} | kind.form.initial_of(wish)
    form = kind.form(given(request), block=block, wish=wish, initial=initial)
    title = told(wish, block.squad.club.names) if wish.pk else kind.title
    if form.is_valid():
        try:
            save_wish(block=block, wish=wish, by=request.user, version=form.cleaned_data["version"], **form.wished)
            return saved(request, block)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    shown = {"stretch": block, "form": form, "title": title}
    return render(request, "planner/blocks/wish_form.html", shown)


@needs(Permission.EDIT_PLAN)
def drop_wish(request: HttpRequest, club: Club, block: int, sort: str, wish: int) -> HttpResponse:
    """Asks first; the button takes the wish back."""
    found = block_of(club, block)
    row = wish_of(found, kind_of(sort), wish)
    form = VersionForm(given(request), initial={"version": wishes_of(found).version})
    if form.is_valid():
        try:
            remove_wish(block=found, wish=row, by=request.user, version=form.cleaned_data["version"])
            return saved(request, found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    shown = {"stretch": found, "form": form, "words": told(row, club.names)}
    return render(request, "planner/blocks/wish_remove.html", shown)


patterns = [
    path("blocks/<int:block>/wishes/", block_wishes, name="block_wishes"),
    path("blocks/<int:block>/wishes/<str:sort>/new/", add_wish, name="add_wish"),
    path("blocks/<int:block>/wishes/<str:sort>/<int:wish>/", change_wish, name="change_wish"),
    path("blocks/<int:block>/wishes/<str:sort>/<int:wish>/remove/", drop_wish, name="remove_wish"),
]
