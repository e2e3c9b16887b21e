"""Scenes to begin with: where the ball is and how the half-back plays. Everybody stands as the club's book wants it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from drills.core.board.book import Book
from drills.core.board.scene import Carrier, Scene
from drills.core.board.swing import next_by_the_book
from drills.core.board.usual import laid_out


@dataclass(frozen=True)
class Preset:
    """`ball` and `line` in metres from the left touch line and the own goal line; `next`: where the ball goes."""

    key: str
    name: Promise
    ball: float
    line: float
    half_back_in: bool = False
    whole: bool = True
    next: float | None = None
    runner: tuple[float, float] | None = None  # x, and metres beyond the line

    def scene(self, book: Book) -> Scene:
        scene = laid_out(book, self.ball, self.line, half_back_in=self.half_back_in, whole=self.whole)
        if self.next is not None:
            scene = replace(scene, next=next_by_the_book(scene, self.next, 5.0))
        if self.runner:
            x, beyond = self.runner
            runner = Carrier(str(_("wing")), x, self.line + beyond, x, 0.0, 8.0)
            scene = replace(scene, carriers=(runner,))
        return scene


PRESETS = {
    preset.key: preset
    for preset in (
        Preset("left", _("Ruck on the left 15 m line, half-back sweeps"), 15, 40),
        Preset("left-in", _("Ruck on the left 15 m line, half-back drawn in"), 15, 40, half_back_in=True),
        Preset("right-in", _("Ruck on the right 15 m line, half-back drawn in"), 55, 40, half_back_in=True),
        Preset("middle", _("Ruck in midfield, half-back sweeps"), 35, 40),
        Preset("own-22", _("Ruck in the own 22, left"), 15, 15),
        Preset("their-half", _("Ruck in their half, right"), 55, 62),
        Preset("swing", _("Back field only: the ball goes from left to right"), 12, 40, whole=False, next=50),
        Preset("wing-away", _("Back field only: their wing is away on the left"), 12, 40, whole=False, runner=(3, 5)),
    )
}
FIRST = "left"
