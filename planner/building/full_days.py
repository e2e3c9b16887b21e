"""Days of a week with full contact: what was used, what a pattern takes away, and whom that leaves below full work."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from django.utils.translation import gettext as _

from planner.building.attendance import Rulings
from planner.building.nights import Nights
from planner.models import Session
from shared.core.contact import Level
from squads.core.eligibility import Ceiling

Spent: TypeAlias = Mapping[tuple[int, int], set[dt.date]]  # days by player and week of the block


@dataclass(frozen=True, slots=True)
class Fewer:
    """At most so many days of one week, and why."""

    most: int
    why: str


@dataclass(frozen=True)
class FullDays:
    """`most` of every week; `fewer` by week of the block; `standing`: days on which full contact stands already."""

    nights: Nights
    spent: Spent
    most: int | None
    fewer: Mapping[int, Fewer] = field(default_factory=dict)
    standing: frozenset[dt.date] = frozenset()

    def lowered(self, base: Rulings) -> Rulings:
        """The rulings after what the past, fixed content and the patterns leave of the days.

        The problem counts planned days only, and knows one limit for all weeks. So whoever has used some, or whose
        week has fewer, keeps besides those very days the nights until the limit: first those on which full contact
        stands, then in order of time. On the others he goes down to controlled contact.
        """
        found = dict(base)
        for (player, week), fewer in self._binding({player for player, _night in base}):
            for night in self._beyond(base, player, week, fewer.most):
                found[player, night.pk] = Ceiling(Level.CONTROLLED, fewer.why)
        return found

    def _binding(self, players: set[int]) -> Iterator[tuple[tuple[int, int], Fewer]]:
        for (player, week), days in self.spent.items():
            if self.most is not None and week not in self.fewer:
                told = _("full contact on %(days)s of this week's days already") % {"days": len(days)}
                yield (player, week), Fewer(self.most, told)
        for week, fewer in self.fewer.items():
            yield from (((player, week), fewer) for player in players)

    def _beyond(self, base: Rulings, player: int, week: int, most: int) -> Iterator[Session]:
        nights = (night for night in self.nights.open if self.nights.week(night) == week)
        full = [night for night in nights if base[player, night.pk].level is Level.FULL]
        days = self.spent.get((player, week), set())
        others = sorted({night.day for night in full} - days, key=lambda day: (day not in self.standing, day))
        kept = [*sorted(days), *others][:most]
        return (night for night in full if night.day not in kept)
