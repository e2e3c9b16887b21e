"""What keeps the load of a day from being known, part by part: so that a page can say what is missing and who tells it.

A day has its load only once everything of it is known. Nothing is put in the place of what is missing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from planner.core.load import Measured, Missing
from planner.core.rpe import Did, load_of_day


class Gap(StrEnum):
    """Why a part of a day has no load."""

    NO_NUMBER = "no number"  # he took part, and nobody has said how hard it was
    NO_MINUTES = "no minutes"  # it is known how hard it was, and not for how long
    NOT_TOLD = "not told"  # nobody has said yet whether he took part


@dataclass(frozen=True, slots=True)
class Lack:
    """`occasion` is the name of a night or a match."""

    occasion: str
    gap: Gap


def lacks_of(did: Mapping[str, Did], not_told: Iterable[str] = ()) -> tuple[Lack, ...]:
    """What is missing of a day, by the name of its nights and matches. `not_told`: those whose record is open, of
    which a number counts only with minutes of its own."""
    names = sorted({*did, *not_told})
    found = ((name, gap_of(did.get(name))) for name in names)
    return tuple(Lack(name, gap) for name, gap in found if gap is not None)


def gap_of(did: Did | None) -> Gap | None:
    if did is None:
        return Gap.NOT_TOLD
    if did.rpe is None:
        return Gap.NO_NUMBER
    return Gap.NO_MINUTES if did.minutes is None else None


def load_with(did: Mapping[str, Did], lacks: Iterable[Lack]) -> Measured:
    """AU; not known if anything lacks."""
    return Missing.NOT_KNOWN if tuple(lacks) else load_of_day(did.values())
