"""The board: does this defence hold? A scene in fields, its verdicts on the page and for the page's script."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drills.actions import DrillRefused, EditedMeanwhile
from drills.board_actions import NameTaken, book_of, put_on_card, remove_scene, save_scene
from drills.board_form import BoardForm, CardForm, SaveForm, ShownForm
from drills.board_models import BoardFigure, BoardScene
from drills.board_page import BoardPage, advised, ink
from drills.board_presets import FIRST, PRESETS
from drills.board_words import page_words
from drills.core.board.reading import scene_from
from shared.access import needs
from shared.clock import today_at
from shared.http import download
from shared.models import Club
from shared.printing import PrintingUnavailable, pdf
from shared.roles import Permission

USUAL_MAP = "long"


@needs(Permission.SEE_DRILLS)
def board(request: HttpRequest, club: Club) -> HttpResponse:
    """A preset, or the scene that was sent, judged. Fields that make no scene are told beside themselves."""
    sent = sent_with(request)
    if (key := sent.get("preset", "")).startswith("kept-"):
        return redirect("board_scene", club=club.slug, scene=int(key[5:]) if key[5:].isdecimal() else 0)
    shown = shown_of(sent, club)
    form = form_of(sent, club, shown)
    found = advised(form.scene) if form.scene and ("advise" in sent or "take" in sent) else []
    taken = next((each for each in found if each.key == sent.get("take")), None)
    if taken:
        form, found = BoardForm(form.book, shown=taken.scene), []
    return shown_page(request, club, form, shown, advised=found)


@needs(Permission.SEE_DRILLS)
def board_verdicts(request: HttpRequest, club: Club) -> JsonResponse:
    """What changes when somebody is moved, as JSON; with `advise` the advice alone. 422: the fields are no scene."""
    sent = sent_with(request)
    shown = shown_of(sent, club)
    form = form_of(sent, club, shown)
    if form.scene is None:
        return JsonResponse({"html": part("faults", request, form=form)}, status=422)
    if "advise" in sent:
        return JsonResponse({"html": part("advice", request, advised=advised(form.scene))})
    page = BoardPage(form, shown, form.scene)
    drawn = {"html": part("verdicts", request, page=page), "swing_html": part("swing", request, page=page)}
    return JsonResponse(drawn | page.drawn)


@needs(Permission.SEE_DRILLS)
def board_scene(request: HttpRequest, club: Club, scene: int) -> HttpResponse:
    """A scene that the club kept, as it was saved, judged by the figures of today."""
    kept = kept_of(club, scene)
    page = page_of(kept)
    return shown_page(request, club, page.form, page.shown, kept=kept)


@needs(Permission.EDIT_DRILLS)
@require_POST
def board_save(request: HttpRequest, club: Club) -> HttpResponse:
    """Keep the scene that was sent under a name; what is wrong is told on the board, with everything that was typed."""
    shown = shown_of(request.POST, club)
    form, save = form_of(request.POST, club, shown), SaveForm(request.POST)
    if form.scene and save.is_valid():
        try:
            kept = save_scene(
                club, scene=form.scene, under=shown.grade, by=request.user, today=today_at(club), **save.cleaned_data
            )
        except NameTaken as taken:
            save.add_error("replace", str(taken))
        else:
            messages.success(request, _("“%(scene)s” is kept, version %(n)d.") % {"scene": kept, "n": kept.version})
            return redirect("board_scene", club=club.slug, scene=kept.pk)
    return shown_page(request, club, form, shown, save=save)


@needs(Permission.EDIT_DRILLS)
@require_POST
def board_scene_remove(request: HttpRequest, club: Club, scene: int) -> HttpResponse:
    kept = kept_of(club, scene)
    remove_scene(kept, by=request.user)
    messages.success(request, _("“%s” is taken off the list.") % kept)
    return redirect("board", club=club.slug)


@needs(Permission.EDIT_DRILLS)
def board_scene_card(request: HttpRequest, club: Club, scene: int) -> HttpResponse:
    """Put a kept scene on a drill card, as frames with their verdicts in words."""
    kept = kept_of(club, scene)
    page, form = page_of(kept), CardForm(request.POST or None, club=club)
    if form.is_valid():
        drill, (scenes, notes) = form.cleaned_data["drill"], page.frames
        told = {name: form.cleaned_data[name] for name in ("how", "who")}
        told |= {"version": drill.version, "by": request.user, "today": today_at(club)}
        try:
            saved = put_on_card(drill, scenes, notes, **told)
        except (DrillRefused, EditedMeanwhile) as refused:
            form.add_error(None, _("Nothing was changed: %s") % refused)
        else:
            messages.success(request, _("The scene is drawn on %s.") % saved)
            return redirect("drill", club=club.slug, number=saved.number)
    return render(request, "drills/board/card.html", {"kept": kept, "page": page, "form": form})


@needs(Permission.PRINT_SHEETS)
def board_scene_paper(request: HttpRequest, club: Club, scene: int) -> HttpResponse:
    """A kept scene on one sheet: the drawing, and every verdict in words."""
    kept = kept_of(club, scene)
    words = {"kept": kept, "page": page_of(kept), "club": club, "today": today_at(club)}
    try:
        made = pdf("print/board.html", words, title=_("Board: %s") % kept)
    except PrintingUnavailable as reason:
        messages.error(request, str(reason))
        return redirect("board_scene", club=club.slug, scene=scene)
    return download(made, f"board-{club.slug}-{kept.pk}.pdf", "application/pdf", inline=True)


def sent_with(request: HttpRequest) -> QueryDict:
    return request.POST if request.method == "POST" else request.GET


def kept_of(club: Club, scene: int) -> BoardScene:
    return get_object_or_404(BoardScene.objects.of(club).select_related("club"), pk=scene)


def page_of(kept: BoardScene) -> BoardPage:
    """A kept scene, judged by the figures of the age grade for which it was saved."""
    book = book_of(kept.club, kept.under)
    scene = scene_from(kept.scene, book)
    shown = ShownForm({"kind": USUAL_MAP, "under": kept.under}, grades=[kept.under] if kept.under else [])
    return BoardPage(BoardForm(book, shown=scene), shown, scene)


def form_of(sent: QueryDict, club: Club, shown: ShownForm) -> BoardForm:
    """The scene that was sent whole, or a preset."""
    book = book_of(club, shown.grade)
    if "ball_x" in sent:
        return BoardForm(book, sent)
    preset = PRESETS.get(sent.get("preset", ""), PRESETS[FIRST])
    return BoardForm(book, shown=preset.scene(book))


def shown_of(sent: QueryDict, club: Club) -> ShownForm:
    chosen = sent if "ball_x" in sent else {"kind": sent.get("kind", USUAL_MAP)}
    return ShownForm(chosen, grades=BoardFigure.grades_of(club))


def part(name: str, request: HttpRequest, **words: object) -> str:
    return render_to_string(f"drills/board/{name}.html", words, request)


def shown_page(request: HttpRequest, club: Club, form: BoardForm, shown: ShownForm, **more: Any) -> HttpResponse:
    page = BoardPage(form, shown, form.scene) if form.scene else None
    kept = more.get("kept")
    words = {
        "page": page,
        "form": form,
        "shown": shown,
        "presets": PRESETS.values(),
        "kept_scenes": BoardScene.objects.of(club).only("name", "club"),
        "asked": sent_with(request),
        "save": SaveForm(initial={"name": kept.name} if kept else None),
        "data": page and data(club, page),
    }
    return render(request, "drills/board/board.html", words | more)


def data(club: Club, page: BoardPage) -> dict[str, Any]:
    """What the page's script needs to begin."""
    verdicts = reverse("board_verdicts", kwargs={"club": club.slug})
    return page.drawn | {"inkbox": ink(), "words": page_words(), "verdicts": verdicts}


patterns = [
    path("board/", board, name="board"),
    path("board/verdicts/", board_verdicts, name="board_verdicts"),
    path("board/scenes/save/", board_save, name="board_save"),
    path("board/scenes/<int:scene>/", board_scene, name="board_scene"),
    path("board/scenes/<int:scene>/remove/", board_scene_remove, name="board_scene_remove"),
    path("board/scenes/<int:scene>/card/", board_scene_card, name="board_scene_card"),
    path("board/scenes/<int:scene>.pdf", board_scene_paper, name="board_scene_paper"),
]
