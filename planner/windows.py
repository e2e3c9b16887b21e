"""What is limited in a squad's week, from its rows: contact as the totals have it, matches by the rules in force."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from planner.core.totals import Room
from planner.core.windows import Bounds, Finding, Match, Measure, PlayerWindows, RuleSet, bounds_of, player_windows
from planner.models import Season
from planner.totals import WeekTotals
from squads.models import ContactRules, Player, Squad

LONGEST_SEASON = dt.timedelta(days=365)
Matches = Mapping[int, Sequence[Match]]  # by player


@dataclass(frozen=True)
class PlayerLine:
    """A player beside everything that is limited in his week."""

    player: Player
    windows: PlayerWindows

    @property
    def room(self) -> Room:
        return self.windows.room


def lines_of(week: WeekTotals, matches: Matches, season_from: dt.date) -> list[PlayerLine]:
    """The most urgent player first."""
    bounds = bounds_in(week.rules)
    lines = [
        PlayerLine(line.player, player_windows(line.week, matches.get(line.player.pk, ()), bounds, season_from))
        for line in week.lines
    ]
    return sorted(lines, key=lambda line: line.windows.urgency)


def bounds_in(rules: Iterable[ContactRules]) -> Bounds:
    return bounds_of(rule_set(each) for each in rules)


def rule_set(rules: ContactRules) -> RuleSet:
    """The limits beside those of contact minutes, which the totals hold."""
    amounts = {Measure(name): amount for name, amount in rules.other_limits.items()}
    return RuleSet(rules.told_source, amounts, rules.near_percent)


def season_start(squad: Squad, day: dt.date) -> dt.date:
    """The first day of the season that the day falls into or after; without any, a year back."""
    begun = Season.objects.filter(squad=squad, first_day__lte=day).order_by("-first_day")
    found = begun.values_list("first_day", flat=True).first()
    return found or day - LONGEST_SEASON


def in_hundredths(finding: Finding) -> Decimal:
    """The figure as a row keeps it."""
    exact = Decimal(finding.amount.numerator) / Decimal(finding.amount.denominator)
    return exact.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
