"""The papers that a drill card is printed on, and the type that it is set in. Lengths in pt (72 to the inch).

The template sets by these measures and drills.core.fit reckons by them, so that both speak of the same card.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

MM = 72 / 25.4
RISE, DROP, LEADING = 0.78, 0.2, 0.16  # of the type size: above and below the line of writing, and between lines
ITEM_GAP = 0.24  # of the type size, between the items of a list
BULLET_ROOM, NUMBER_ROOM = 0.35, 0.4  # of the type size, between the mark of an item and its text
RULES = 0.9  # of the type of the safety box: what it says on every card
TYPE = {
    "rise": RISE, "drop": DROP, "leading": LEADING, "item-gap": ITEM_GAP,
    "bullet-room": BULLET_ROOM, "number-room": NUMBER_ROOM, "rules": RULES,
}  # fmt: skip
BETWEEN = 3 * MM  # columns


@dataclass(frozen=True, slots=True)
class Paper:
    """One card of `across` times `down` on a sheet.

    Plain type is `comfort` or larger: what would make it smaller is left off where there is a `larger` card to refer
    to, and drawings give way to the first `wanted` extras. Only texts beyond what a card is made for are set
    smaller, down to `least`. Steps, safety and cues are larger than plain type by the factors `key` and `cue`. A
    drawing of one frame takes the part `drawing` of the width and stands beside the text; up to `frames` of
    several stand in rows of `row`.
    """

    name: str
    larger: str
    width: float
    height: float
    across: int
    down: int
    margin: float
    gap: float
    code: float
    foot: float
    title: float
    rung: float
    key: float
    cue: float
    comfort: float
    largest: float
    least: float
    wanted: int
    drawing: float
    frames: int
    row: int

    @property
    def narrow(self) -> bool:
        """Too narrow for two columns of plain type."""
        return self.width < 120 * MM

    @property
    def inner_width(self) -> float:
        return self.width - 2 * self.margin

    @property
    def inner_height(self) -> float:
        return self.height - 2 * self.margin


def paper(name: str, width: float, height: float, margin: float, gap: float, code: float, **rest: Any) -> Paper:
    """A paper with its lengths told in mm."""
    return Paper(name, width=width * MM, height=height * MM, margin=margin * MM, gap=gap * MM, code=code * MM, **rest)


PAPERS = {
    each.name: each
    for each in (
        paper(
            "a4", 210, 297, larger="", margin=12, gap=2.4, code=24, across=1, down=1, foot=9, title=24, rung=14,
            key=1.2, cue=1.25, comfort=9, largest=13, least=5, wanted=99, drawing=0.4, frames=12, row=4,
        ),
        paper(
            "a5", 148.5, 210, larger="A4", margin=6.5, gap=1.4, code=17, across=2, down=1, foot=7.5, title=17, rung=11,
            key=1.25, cue=1.2, comfort=8, largest=11, least=4, wanted=8, drawing=0.36, frames=3, row=3,
        ),
        paper(
            "a6", 105, 148.5, larger="A5", margin=5, gap=0.8, code=13.5, across=2, down=2, foot=6.5, title=12, rung=8.5,
            key=1.15, cue=1.2, comfort=6.8, largest=9, least=3, wanted=0, drawing=0.34, frames=1, row=1,
        ),
    )
}  # fmt: skip
