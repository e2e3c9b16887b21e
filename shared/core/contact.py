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
        return _HEIGHTS[self]

    def allows(self, kind: Kind) -> bool:
        """Live set piece asks for the same clearance as full contact."""
        return _HEIGHTS[self] >= _HEIGHTS[_NEEDED[kind]]


# Looked up some ten thousand times for a week of a squad.
_HEIGHTS = {level: height for height, level in enumerate(Level)}
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


# The steps up to live play, and those up to live set piece: neither of the two is a step below the other.
_FIELD, _SET_PIECE = ("C0", "C1", "C2", "C3", "C4"), ("C0", "C1", "C2", "C3", "SP3", "SP4")


def below_or_at(rung: str) -> frozenset[str]:
    """The rungs that a drill printed at this one may be dropped to without anybody's leave; KeyError if unknown."""
    if rung not in RUNGS:
        raise KeyError(rung)
    ladder = _FIELD if rung in _FIELD else _SET_PIECE
    return frozenset(ladder[: ladder.index(rung) + 1])


_OF_CONTENT = {Kind.NONE: "C0", Kind.CONTROLLED: "C3", Kind.SET_PIECE: "SP4", Kind.FULL: "C4"}


def rung_of_content(kind: Kind) -> str:
    """The rung that content for everyone is written down at: it names a kind only. The highest of that kind."""
    return _OF_CONTENT[kind]
