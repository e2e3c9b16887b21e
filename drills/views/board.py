"""The board: does this defence hold? A scene in fields, its verdicts on the page and for the page's script."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
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
from drills.board_fields import CardForm, SaveForm, ShownForm
from drills.board_form import BoardForm
from drills.board_models import BoardFigure, BoardScene
from drills.board_page import BoardPage, advised, ink
from drills.board_presets import FIRST, PRESETS
from drills.board_words import page_words
from drills.core.board.reading import Unfit, scene_from
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
    """What changes when somebody is moved, as JSON; with `advise` the advice alone. 422: the fields are no scene.

    With `held`, while he is still being moved, the swing is left out.
    """
    sent = sent_with(request)
    shown = shown_of(sent, club)
    form = form_of(sent, club, shown)
    if form.scene is None:
        return JsonResponse({"html": part("faults", request, form=form)}, status=422)
    if "advise" in sent:
        return JsonResponse({"html": part("advice", request, advised=advised(form.scene))})
    page = BoardPage(form, shown, form.scene)
    told = {"html": part("verdicts", request, page=page)}
    if "held" in sent:
        return JsonResponse(told | page.drawn_while_held)
    return JsonResponse(told | page.drawn | {"swing_html": part("swing", request, page=page)})


def of_kept(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Hands a view a kept scene and its page. One that cannot be read is told instead, and can be removed."""

    @wraps(view)
    def shown(request: HttpRequest, club: Club, scene: int) -> HttpResponse:
        kept = kept_of(club, scene)
        try:
            page = page_of(kept)
        except Unfit as unfit:
            return render(request, "drills/board/unreadable.html", {"kept": kept, "faults": unfit.faults})
        return view(request, club, kept, page)

    return shown


@needs(Permission.SEE_DRILLS)
@of_kept
def board_scene(request: HttpRequest, club: Club, kept: BoardScene, page: BoardPage) -> HttpResponse:
    """A scene that the club kept, as it was saved, judged by the figures of today."""
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
@of_kept
def board_scene_card(request: HttpRequest, club: Club, kept: BoardScene, page: BoardPage) -> HttpResponse:
    """Put a kept scene on a drill card, as frames with their verdicts in words."""
    form = CardForm(request.POST or None, club=club)
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
@of_kept
def board_scene_paper(request: HttpRequest, club: Club, kept: BoardScene, page: BoardPage) -> HttpResponse:
    """A kept scene on one sheet: the drawing, and every verdict in words."""
    words = {"kept": kept, "page": page, "club": club, "today": today_at(club)}
    try:
        made = pdf("print/board.html", words, title=_("Board: %s") % kept)
    except PrintingUnavailable as reason:
        messages.error(request, str(reason))
        return redirect("board_scene", club=club.slug, scene=kept.pk)
    return download(made, f"board-{club.slug}-{kept.pk}.pdf", "application/pdf", inline=True)


def sent_with(request: HttpRequest) -> QueryDict:
    return request.POST if request.method == "POST" else request.GET


def kept_of(club: Club, scene: int) -> BoardScene:
    return get_object_or_404(BoardScene.objects.of(club).select_related("club"), pk=scene)


def page_of(kept: BoardScene) -> BoardPage:
    """A kept scene, judged by the figures of the age grade for which it was saved. Raises Unfit."""
    book = book_of(kept.club, kept.under)
    scene = scene_from(kept.scene, book)
    shown = ShownForm({"kind": USUAL_MAP, "under": kept.under}, grades=BoardFigure.grades_of(kept.club))
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
    words = {
        "page": page,
        "form": form,
        "shown": shown,
        "presets": PRESETS.values(),
        "kept_scenes": BoardScene.objects.of(club).only("name", "club"),
        "asked": sent_with(request),
        "save": SaveForm(initial=saved_as(sent_with(request), more.get("kept"))),
        "data": page and data(club, page),
    }
    return render(request, "drills/board/board.html", words | more)


def saved_as(sent: QueryDict, kept: BoardScene | None) -> dict[str, Any]:
    """The name under which the scene would be kept: what was typed, or the name that it has."""
    return {"name": sent.get("name", kept.name if kept else ""), "replace": "replace" in sent}


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
