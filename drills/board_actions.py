"""What people do to a club's board: scenes that are kept, figures that are changed, drawings for a card."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace as replace_field
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from drills.actions import DrillRefused, copy_with_diagram, set_diagram
from drills.board_models import BoardFigure, BoardScene
from drills.core.board.as_diagram import around, as_diagram
from drills.core.board.book import OURS, Book
from drills.core.board.figures import faults_in, with_figures
from drills.core.board.reading import readable, written
from drills.core.board.scene import Scene
from drills.core.diagram import MOST_FRAMES, Diagram
from drills.core.diagram import written as diagram_written
from drills.core.fault import Fault
from drills.models import Drill
from shared import audit
from shared.models import Club, User


class NameTaken(Exception):
    """The club has a scene of that name, and nobody said that it may be replaced."""

    def __init__(self, scene: BoardScene) -> None:
        self.scene = scene
        super().__init__(_("“%s” is the name of another scene: tick that this one takes its place.") % scene)


class FiguresRefused(ValueError):
    """Figures that do not go together; `faults` says which."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault.field}: {fault.why}" for fault in faults))


def book_of(club: Club, under: int = 0) -> Book:
    """Ours, with the club's own figures for that age grade in place. One query."""
    own = BoardFigure.values_of(club, under)
    return with_figures(own) if own else OURS


@transaction.atomic
def save_scene(
    club: Club, name: str, scene: Scene, *, under: int, replace: bool, by: User | str, today: dt.date
) -> BoardScene:
    """Keep a scene under a name, as its next version if the club has one of that name and it may be replaced.

    Raises NameTaken, and Unfit for a scene that nobody could read again.
    """
    readable(scene)
    Club.objects.select_for_update().get(pk=club.pk)
    kept = BoardScene.objects.of(club).filter(name=name).first()
    if kept and not replace:
        raise NameTaken(kept)
    before = {"before": kept.scene} if kept else {}
    kept = kept or BoardScene(club=club, name=name, version=0)
    kept.version += 1
    kept.scene, kept.under, kept.saved_on, kept.author = written(scene), under, today, str(by)[:80]
    kept.save()
    audit.record(club, "saved a scene of the board", kept, by=by, version=kept.version, scene=kept.scene, **before)
    return kept


@transaction.atomic
def remove_scene(kept: BoardScene, *, by: User | str) -> None:
    """Take a scene off the list; what it held stays in the audit chain."""
    audit.record(kept.club, "removed a scene of the board", kept, by=by, version=kept.version, scene=kept.scene)
    kept.delete()


@transaction.atomic
def set_figures(club: Club, under: int, wanted: Mapping[str, float | None], *, by: User | str) -> int:
    """Make these figures the club's own for an age grade; None gives one back to us. Returns how many changed.

    Raises FiguresRefused, and then nothing is changed.
    """
    Club.objects.select_for_update().get(pk=club.pk)
    now = {row.figure: row.value for row in BoardFigure.objects.of(club).filter(under=under)}
    after = {key: value for key, value in (now | dict(wanted)).items() if value is not None}
    below = book_of(club) if under else OURS
    faults = faults_in(after, below) or (() if under else list(faults_of_grades(club, after)))
    if faults:
        raise FiguresRefused(faults)
    changed = {key: [now.get(key), after.get(key)] for key in {*now, *after} if now.get(key) != after.get(key)}
    BoardFigure.objects.of(club).filter(under=under, figure__in=changed).delete()
    BoardFigure.objects.bulk_create(
        BoardFigure(club=club, under=under, figure=key, value=after[key]) for key in sorted(changed) if key in after
    )
    if changed:
        audit.record(club, "changed figures of the board", club, by=by, under=under, figures=changed)
    return len(changed)


def faults_of_grades(club: Club, adults: Mapping[str, float]) -> Iterator[Fault]:
    """What the figures for adults would do to an age grade, which inherits those that it has not changed."""
    grades: dict[int, dict[str, float]] = {}
    for row in BoardFigure.objects.of(club).filter(under__gt=0):
        grades.setdefault(row.under, {})[row.figure] = row.value
    for under, own in grades.items():
        for fault in faults_in({**adults, **own}):
            yield Fault(fault.path, _("under %(under)d: %(why)s") % {"under": under, "why": fault.why})


def put_on_card(
    drill: Drill,
    scenes: Sequence[Scene],
    notes: Sequence[str],
    *,
    how: str,
    version: int,
    by: User,
    today: dt.date,
    who: str = "all",
) -> Drill:
    """A scene, or the moments of its swing, as frames of a drill's drawing: its next version, or a copy of the card.

    `how`: "after" the frames that are there, "instead" of them, or on a "copy". `who`: "all", or "back" for the back
    field alone, since a line of men is a heap on a small drawing. Raises DrillRefused, EditedMeanwhile.
    """
    shown = scenes if who == "all" else [replace_field(scene, defenders=scene.back_field) for scene in scenes]
    drawn = diagram_written(drawing_of(shown, notes))
    if how == "copy":
        return copy_with_diagram(drill, drawn, by=by, today=today)
    if how == "after" and drill.diagram:
        drawn = joined(drill.diagram, drawn)
    return set_diagram(drill, drawn, version=version, by=by, today=today)


def drawing_of(scenes: Sequence[Scene], notes: Sequence[str]) -> Diagram:
    """With the flight of each kick, as a card has no map."""
    return as_diagram(tuple(scenes), around(scenes), tuple(notes), flights=True)


def joined(first: Mapping[str, Any], second: Mapping[str, Any]) -> dict[str, Any]:
    """The frames of both, if they show the same part of the pitch. Raises DrillRefused."""
    if (first["area"], first["pitch"]) != (second["area"], second["pitch"]):
        why = _("shows another part of the pitch: put the scene in its place, or on a copy of the card")
        raise DrillRefused([Fault(("diagram",), why)])
    frames = [*first["frames"], *second["frames"]]
    if len(frames) > MOST_FRAMES:
        raise DrillRefused([Fault(("diagram",), _("holds %d frames; there is room for 12") % len(frames))])
    return {**first, "frames": frames}
