"""A night of a season changes: which of its sessions follow, and what each keeps because it was changed by hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from enum import StrEnum
from typing import Any

from planner.core.calendar import monday_of, week_of, weekdays_between

Values = Mapping[str, Any]


class Scope(StrEnum):
    """How far a change reaches: one session, that and all later ones of its night, or all of the season."""

    ONE = "one"
    LATER = "later"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Merged:
    """Fields of one session. `changes`: before and after. `kept`: what it holds instead of what the night changes to.

    A field that the night does not change, or that the session holds already, is in neither.
    """

    changes: Mapping[str, tuple[Any, Any]] = field(default_factory=dict)
    kept: Mapping[str, Any] = field(default_factory=dict)


def merged(session: Values, night: Values, wanted: Values, *, all_the_same: bool = False) -> Merged:
    """Field by field: a session follows its night where it held the night's value, and keeps its own elsewhere.

    `all_the_same`: it follows even where it was changed by hand.
    """
    changes, kept = {}, {}
    for name, new in wanted.items():
        own = session[name]
        if night[name] == new or own == new:
            continue
        if own == night[name] or all_the_same:
            changes[name] = (own, new)
        else:
            kept[name] = own
    return Merged(changes, kept)


@dataclass(frozen=True, slots=True)
class Member:
    """A session of a night as the rules of a scope see it. `stays`: why it may not change at all, "" if it may."""

    key: int
    pattern_day: dt.date
    values: Values
    stays: str = ""


@dataclass(frozen=True)
class Sorted:
    """Every member that the scope reaches is in exactly one of the three, by its key.

    `same`: nothing of what the night changes concerns it.
    """

    changed: Mapping[int, Merged]
    kept: Mapping[int, str | Merged]
    same: Collection[int]


def sort_out(
    members: Iterable[Member],
    night: Values,
    wanted: Values,
    *,
    all_the_same: bool = False,
    refused: Callable[[Member, Merged], str] = lambda _member, _merged: "",
) -> Sorted:
    """What becomes of each member. `refused` says of one that would change why it must not, or "".

    One that keeps fields of its own and changes none is kept, with those fields.
    """
    changed: dict[int, Merged] = {}
    kept: dict[int, str | Merged] = {}
    same: list[int] = []
    for member in members:
        found = merged(member.values, night, wanted, all_the_same=all_the_same)
        if not found.changes and not found.kept:
            same.append(member.key)
        elif not found.changes:
            kept[member.key] = found
        elif reason := member.stays or refused(member, found):
            kept[member.key] = reason
        else:
            changed[member.key] = found
    return Sorted(changed, kept, same)


def reached(members: Iterable[Member], scope: Scope, key: int | None, since: dt.date | None) -> list[Member]:
    """Those that a scope reaches: of ONE the member `key`, of LATER those whose pattern day is `since` or later."""
    if scope is Scope.ONE:
        return [member for member in members if member.key == key]
    if scope is Scope.LATER and since is not None:
        return [member for member in members if member.pattern_day >= since]
    return list(members)


def day_in_week_of(day: dt.date, weekday: int) -> dt.date:
    """The day on that weekday (0 is Monday) in the training week of `day`."""
    return weekdays_between(weekday, week_of(day))[0]


def first_week(pattern: Iterable[dt.date], since: dt.date) -> dt.date | None:
    """The Monday from which a change holds that begins on `since`: that of the first pattern day from then on.

    Whole weeks, so that a night that moves to another weekday has one session in each week before and after.
    """
    first = min((day for day in pattern if day >= since), default=None)
    return monday_of(first) if first else None


def carried_over(old: Sequence[Hashable], new: Sequence[Hashable], held: Collection[int]) -> list[int | None] | None:
    """For each new slot the place of the old one that it carries on, or None; None in all if one of `held` is lost.

    A slot is carried on by an equal one in the same order.
    """
    found: list[int | None] = [None] * len(new)
    for block in SequenceMatcher(None, old, new, autojunk=False).get_matching_blocks():
        for step in range(block.size):
            found[block.b + step] = block.a + step
    return found if set(held) <= {place for place in found if place is not None} else None
