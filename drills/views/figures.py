"""The board's book of a club: everybody reads by which figures a defence is judged, head coaches change them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from drills.board_actions import FiguresRefused, book_of, set_figures
from drills.board_models import BoardFigure, words_of
from drills.core.board.book import OURS
from drills.figure_form import FiguresForm, GradeForm
from shared.access import needs
from shared.models import Club
from shared.roles import Permission


@needs(Permission.SEE_DRILLS)
def board_figures(request: HttpRequest, club: Club) -> HttpResponse:
    """`?under=16`: the figures for under-16s."""
    return shown(request, club, grade_of(request.GET), None)


@needs(Permission.EDIT_DRILLS)
@require_POST
def board_figures_save(request: HttpRequest, club: Club) -> HttpResponse:
    under = grade_of(request.POST)
    form = form_of(club, under, request.POST)
    if form.is_valid():
        try:
            changed = set_figures(club, under, form.wanted, by=request.user)
        except FiguresRefused as refused:
            form.refuse(refused.faults)
        else:
            told = ngettext("%d figure changed.", "%d figures changed.", changed) % changed
            messages.success(request, told if changed else _("Nothing was changed."))
            return redirect(f"{reverse('board_figures', kwargs={'club': club.slug})}?under={under}")
    return shown(request, club, under, form)


def grade_of(sent: object) -> int:
    form = GradeForm(sent)
    return form.cleaned_data["under"] if form.is_valid() else 0


def form_of(club: Club, under: int, data: object) -> FiguresForm:
    """Below an age grade lie the club's figures for everybody, and below those lie ours."""
    own = {row.figure: row.value for row in BoardFigure.objects.of(club).filter(under=under)}
    return FiguresForm(data, own=own, below=book_of(club) if under else OURS)


def shown(request: HttpRequest, club: Club, under: int, form: FiguresForm | None) -> HttpResponse:
    words = {
        "form": form or form_of(club, under, None),
        "grade": GradeForm({"under": under}, label_suffix=""),
        "under": under,
        "whose": words_of(under),
        "grades": BoardFigure.grades_of(club),
    }
    return render(request, "drills/board/figures.html", words)


patterns = [
    path("board/figures/", board_figures, name="board_figures"),
    path("board/figures/save/", board_figures_save, name="board_figures_save"),
]
