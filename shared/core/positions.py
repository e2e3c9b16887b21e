"""Shirt numbers and the groups that coaches train in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

GROUPS: dict[str, tuple[int, ...]] = {
    "FR": (1, 2, 3),
    "SR": (4, 5),
    "BR": (6, 7, 8),
    "HB": (9, 10),
    "CE": (12, 13),
    "B3": (11, 14, 15),
}
GROUP_NAMES = {
    "FR": "Front row",
    "SR": "Second row",
    "BR": "Back row",
    "HB": "Half-backs",
    "CE": "Centres",
    "B3": "Back three",
}
POSITION_NAMES = {
    1: "Loose-head prop",
    2: "Hooker",
    3: "Tight-head prop",
    4: "Lock",
    5: "Lock",
    6: "Blind-side flanker",
    7: "Open-side flanker",
    8: "Number 8",
    9: "Half-back",
    10: "Fly-half",
    11: "Left wing",
    12: "Inside centre",
    13: "Outside centre",
    14: "Right wing",
    15: "Full back",
}
ALL = "all"
FORWARDS = "forwards"
BACKS = "backs"
# Everything that a club may have its own word for, by its code.
USUAL_NAMES = GROUP_NAMES | {str(number): name for number, name in POSITION_NAMES.items()}


@dataclass(frozen=True, slots=True)
class Names:
    """What a club calls positions and groups: its own words by code ("FR", "9"), and the usual ones for the rest."""

    own: Mapping[str, str] = field(default_factory=dict)

    def of(self, code: str) -> str:
        """The word for a group, a shirt number as text, or forwards, backs and all, which are words already."""
        return self.own.get(code) or USUAL_NAMES.get(code, code)

    def group(self, code: str) -> str:
        return self.of(code)

    def position(self, number: int) -> str:
        return self.of(str(number))

    @property
    def groups(self) -> dict[str, str]:
        return {code: self.of(code) for code in GROUPS}

    @property
    def positions(self) -> dict[int, str]:
        return {number: self.position(number) for number in POSITION_NAMES}


def group_of(number: int) -> str:
    """The group of a shirt number from 1 to 15; raises ValueError for any other."""
    for group, numbers in GROUPS.items():
        if number in numbers:
            return group
    raise ValueError(f"there is no shirt number {number}")


def roles_of(numbers: Iterable[int]) -> frozenset[str]:
    """Every role that somebody who plays these shirt numbers can fill.

    The numbers themselves ("9"), their groups ("HB"), "forwards" or "backs", and "all".
    """
    wanted = set(numbers)
    groups = {group_of(number) for number in wanted}
    halves = {FORWARDS if number <= 8 else BACKS for number in wanted}
    return frozenset({str(number) for number in wanted} | groups | halves | {ALL})
