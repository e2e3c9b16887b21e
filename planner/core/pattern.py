"""What a pattern makes of a week: lower limits and lower ceilings, never higher ones.

The figures are the club's own; where they come from the usual table they are common practice or a house rule.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace

from planner.core.totals import Limit, WeekLimits
from shared.core.contact import Kind, Level
from squads.core.eligibility import Ceiling, MatchRules, at_distance, lowest

ANY_DISTANCE = MatchRules(full_after=0, full_before=0, controlled_after=0, controlled_before=0)


@dataclass(frozen=True, slots=True)
class Pattern:
    """Limits of one week; what is missing, or None, is left as the contact rules have it.

    `weekly`: minutes by kind. `full_first`: full contact at most so many days before the next match, 5 for MD-5.
    `near_matches`: as in the contact rules; 0 leaves a distance to them. `holds_from`: earlier days of the week are
    over and stay as they were.
    """

    name: str
    weekly: Mapping[Kind, int] = field(default_factory=dict)
    full_days: int | None = None
    full_first: int | None = None
    near_matches: MatchRules = ANY_DISTANCE
    holds_from: dt.date = dt.date.min

    def lowered(self, limits: WeekLimits) -> WeekLimits:
        """The limits of the week with the pattern on it."""
        source = f"pattern: {self.name}"
        lower = {kind: Limit(most, source, is_of_pattern=True) for kind, most in self.lower(limits)}
        return replace(limits, by_kind={**limits.by_kind, **lower}, full_days=least(limits.full_days, self.full_days))

    def lower(self, limits: WeekLimits) -> Iterator[tuple[Kind, int]]:
        """The kinds of which it allows less than the limits do."""
        for kind, most in self.weekly.items():
            before = limits.minutes(kind)
            if before is None or most < before:
                yield kind, most

    def ceiling(self, day: dt.date, matches: Collection[dt.date]) -> Ceiling:
        """The most that it allows on a day of its week."""
        found = lowest(self._by_matches(day, matches) if day >= self.holds_from else ())
        return found if found.level is Level.FULL else replace(found, reason=f"pattern {self.name}: {found.reason}")

    def _by_matches(self, day: dt.date, matches: Collection[dt.date]) -> Iterator[Ceiling]:
        until = min(((match - day).days for match in matches if match > day), default=None)
        since = min(((day - match).days for match in matches if match < day), default=None)
        rules = self.near_matches
        yield from at_distance(until, "before", rules.full_before, rules.controlled_before)
        yield from at_distance(since, "after", rules.full_after, rules.controlled_after)
        if self.full_first is not None and until is not None and until > self.full_first:
            yield Ceiling(Level.CONTROLLED, f"full contact from MD-{self.full_first} on")


def least(one: int | None, other: int | None) -> int | None:
    """The lower of two limits of which None does not bind."""
    return min((each for each in (one, other) if each is not None), default=None)


def lower_of(ceiling: Ceiling, pattern: Ceiling) -> Ceiling:
    """The pattern's ceiling where it is lower; of two equally low ones the other reason is told."""
    return pattern if pattern.level.height < ceiling.level.height else ceiling


def rises(before: Mapping[Kind, float], after: Mapping[Kind, float], steps: Mapping[Kind, int]) -> dict[Kind, float]:
    """By how many minutes a week rises above the one before, of the kinds that rise by more than a step."""
    found = {kind: after.get(kind, 0) - before.get(kind, 0) for kind in steps}
    return {kind: much for kind, much in found.items() if much > steps[kind]}
