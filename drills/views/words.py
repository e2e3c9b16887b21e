"""The club's own words: skills, ladders, positions; and what is in its store."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.models import Ladder, Skill
from drills.vocabulary import (
    Word,
    WordRefused,
    add_word,
    bring_back_word,
    change_word,
    is_used,
    keep_store,
    name_positions,
    remove_word,
    retire_word,
)
from drills.vocabulary_forms import MODELS, NamesForm, StoreForm, WordForm
from shared.access import needs
from shared.clock import today_at
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_DRILLS)
def drill_words(request: HttpRequest, club: Club) -> HttpResponse:
    """All skills and ladders, with how many current cards name each."""
    skills = Skill.objects.of(club).annotate(
        cards=Count("drill_shares", filter=Q(drill_shares__drill__retired_on=None), distinct=True)
    )
    ladders = Ladder.objects.of(club).annotate(cards=Count("drills", filter=Q(drills__retired_on=None)))
    return render(request, "drills/words.html", {"skills": skills, "ladders": ladders})


@needs(Permission.EDIT_DRILLS)
def word_new(request: HttpRequest, club: Club, kind: str) -> HttpResponse:
    model = model_of(kind)
    form = WordForm(request.POST or None, model=model)
    if form.is_valid():
        try:
            word = add_word(model, club=club, by=request.user, **form.told)
        except WordRefused as refused:
            form.add_error("code", str(refused))
        else:
            messages.success(request, _("%(word)s is there.") % {"word": word})
            return redirect("drill_words", club=club.slug)
    return render(request, "drills/word.html", {"form": form, "kind": kind})


@needs(Permission.EDIT_DRILLS)
def word_edit(request: HttpRequest, club: Club, kind: str, code: str) -> HttpResponse:
    word = word_of(club, kind, code)
    form = WordForm(request.POST or None, model=type(word), word=word)
    if form.is_valid():
        try:
            word = change_word(word, by=request.user, seen=form.cleaned_data["seen"], **form.told)
        except WordRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _("It is called %(word)s now.") % {"word": word})
            return redirect("drill_words", club=club.slug)
    return render(request, "drills/word.html", {"form": form, "kind": kind, "word": word, "is_used": is_used(word)})


@needs(Permission.EDIT_DRILLS)
@require_POST
def word_retire(request: HttpRequest, club: Club, kind: str, code: str) -> HttpResponse:
    word = word_of(club, kind, code)
    retire_word(word, by=request.user, today=today_at(club))
    messages.success(request, _("%(word)s is retired: cards keep it, new ones are not offered it.") % {"word": word})
    return redirect("drill_words", club=club.slug)


@needs(Permission.EDIT_DRILLS)
@require_POST
def word_bring_back(request: HttpRequest, club: Club, kind: str, code: str) -> HttpResponse:
    word = word_of(club, kind, code)
    bring_back_word(word, by=request.user)
    messages.success(request, _("%(word)s is offered again.") % {"word": word})
    return redirect("drill_words", club=club.slug)


@needs(Permission.EDIT_DRILLS)
@require_POST
def word_remove(request: HttpRequest, club: Club, kind: str, code: str) -> HttpResponse:
    word = word_of(club, kind, code)
    try:
        remove_word(word, by=request.user)
    except WordRefused as refused:
        messages.error(request, str(refused))
        return redirect("word_edit", club=club.slug, kind=kind, code=code)
    messages.success(request, _("%(word)s is removed.") % {"word": word})
    return redirect("drill_words", club=club.slug)


@needs(Permission.MANAGE_CLUB)
def position_names(request: HttpRequest, club: Club) -> HttpResponse:
    form = NamesForm(request.POST or None, club=club)
    if form.is_valid():
        name_positions(club, form.cleaned_data, by=request.user)
        messages.success(request, _("Positions and groups are called as you wrote."))
        return redirect("drill_words", club=club.slug)
    return render(request, "drills/names.html", {"form": form})


@needs(Permission.EDIT_DRILLS)
def kit_store(request: HttpRequest, club: Club) -> HttpResponse:
    form = StoreForm(request.POST or None, club=club)
    if form.is_valid():
        keep_store(club, form.kit, by=request.user)
        messages.success(request, _("The store is counted."))
        return redirect("drills", club=club.slug)
    return render(request, "drills/store.html", {"form": form})


def model_of(kind: str) -> type[Word]:
    if kind not in MODELS:
        raise Http404(_("There are skills and ladders."))
    return MODELS[kind]


def word_of(club: Club, kind: str, code: str) -> Word:
    return get_object_or_404(model_of(kind).objects.of(club).select_related("club"), code=code)


patterns = [
    path("drills/words/", drill_words, name="drill_words"),
    path("drills/words/positions/", position_names, name="position_names"),
    path("drills/words/<slug:kind>/new/", word_new, name="word_new"),
    path("drills/words/<slug:kind>/<str:code>/", word_edit, name="word_edit"),
    path("drills/words/<slug:kind>/<str:code>/retire/", word_retire, name="word_retire"),
    path("drills/words/<slug:kind>/<str:code>/bring-back/", word_bring_back, name="word_bring_back"),
    path("drills/words/<slug:kind>/<str:code>/remove/", word_remove, name="word_remove"),
    path("drills/store/", kit_store, name="kit_store"),
]
