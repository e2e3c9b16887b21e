"""Rungs of the contact ladder that a player has passed: when, and who noted it.

A rung counts as passed on the day on which the minutes on it, in the days up to then that still count, first reach what
the contact rules ask for before the next rung. Minutes count on the rung that really ran, wherever the card stood. A
house rule (no published source); it says what was trained, not that anybody is ready for more: a coach decides that.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shared.core.contact import RUNGS

ORDER = list(RUNGS)


@dataclass(frozen=True, slots=True)
class Stood:
    """One player on one rung of a ladder for so many minutes of a day; `by` noted it."""

    ladder: str
    rung: str
    day: dt.date
    minutes: int
    by: str = ""


@dataclass(frozen=True, slots=True)
class RungFigure:
    """All minutes on a rung, and since when it is passed; `passed_on` None: not yet. `by` noted that day."""

    ladder: str
    rung: str
    minutes: int
    last: dt.date
    passed_on: dt.date | None = None
    by: str = ""


def rungs(stood: Iterable[Stood], needed: int, days: int) -> list[RungFigure]:
    """Each rung that one player stood on, by ladder and from the lowest up.

    `needed` minutes within `days` days pass a rung; with 0 needed the first minute does.
    """
    by_rung: dict[tuple[str, str], list[Stood]] = defaultdict(list)
    for each in stood:
        if each.minutes:
            by_rung[each.ladder, each.rung].append(each)
    ordered = sorted(by_rung, key=lambda key: (key[0], ORDER.index(key[1])))
    return [figure(sorted(by_rung[key], key=lambda each: each.day), needed, days) for key in ordered]


def figure(stood: Sequence[Stood], needed: int, days: int) -> RungFigure:
    """Of one rung, in the order of time."""
    passing = next((each for each in stood if counted(stood, each.day, days) >= needed), None)
    newest, minutes = stood[-1], sum(each.minutes for each in stood)
    if passing is None:
        return RungFigure(newest.ladder, newest.rung, minutes, newest.day)
    told = next(each.by for each in reversed(stood) if each.day == passing.day)
    return RungFigure(newest.ladder, newest.rung, minutes, newest.day, passing.day, told)


def counted(stood: Iterable[Stood], day: dt.date, days: int) -> int:
    """Minutes of the `days` days that end with this one."""
    return sum(each.minutes for each in stood if 0 <= (day - each.day).days < days)
