"""The contact ladder: rungs of a drill, the kind of contact that each counts as, and what a ceiling allows.

Rungs and their booking are a house rule; bodies that publish limits name two or three kinds, which
the rungs are mapped to here and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How contact minutes are booked."""

    NONE = "none"
    CONTROLLED = "controlled"
    SET_PIECE = "set_piece"
    FULL = "full"


class Level(StrEnum):
    """The most that a player may take part in on a day, lowest first."""

    ABSENT = "absent"
    NONE = "none"
    CONTROLLED = "controlled"
    FULL = "full"

    @property
    def height(self) -> int:
        return list(Level).index(self)

    def allows(self, kind: Kind) -> bool:
        """Live set piece asks for the same clearance as full contact."""
        return self.height >= _NEEDED[kind].height


_NEEDED = {
    Kind.NONE: Level.NONE,
    Kind.CONTROLLED: Level.CONTROLLED,
    Kind.SET_PIECE: Level.FULL,
    Kind.FULL: Level.FULL,
}


@dataclass(frozen=True, slots=True)
class Rung:
    code: str
    name: str
    kind: Kind
    note: str


RUNGS: dict[str, Rung] = {
    rung.code: rung
    for rung in (
        Rung("C0", "Walk-through", Kind.NONE, "shape, talk, running and catching alone"),
        Rung("C1", "Touch and grip", Kind.NONE, "touch, kneeling or walking fits; logged, not limited"),
        Rung("C2", "Bags and pads", Kind.CONTROLLED, "bags, shields, suits, scrum machine"),
        Rung("C3", "Controlled", Kind.CONTROLLED, "player on player at agreed pace, space or finish"),
        Rung("C4", "Live", Kind.FULL, "game speed, not scripted, to ground"),
        Rung(
            "SP3",
            "Set piece, contested",
            Kind.SET_PIECE,
            "engaged and contested, brought to ground with care",
        ),
        Rung("SP4", "Set piece, live", Kind.SET_PIECE, "engaged and contested at match pace"),
    )
}


def kind_of(rung: str) -> Kind:
    """The kind that minutes at this rung are booked as; KeyError for an unknown rung."""
    return RUNGS[rung].kind
