"""What is limited in a squad's week, from its rows: contact as the totals have it, matches by the rules in force."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from planner.core.record import Source
from planner.core.totals import Room, Stretch
from planner.core.windows import Bounds, Finding, Match, Measure, PlayerWindows, RuleSet, bounds_of, player_windows
from planner.days import Days
from planner.elsewhere import declared_on
from planner.models import Fixture, Season
from planner.record_days import KINDS as CONTACT_KEPT
from planner.record_models import MatchMinutes, PlayerDay
from planner.totals import LOOK_BACK, WEEK, Totals, WeekTotals, stretches_by_player, week_totals
from shared.core.contact import Kind, Level
from squads.models import ContactRules, Player, Squad

NO_SESSION = 0
FORTNIGHT = dt.timedelta(days=14)
LONGEST_SEASON = dt.timedelta(days=365)
Matches = Mapping[int, Sequence[Match]]  # by player


@dataclass(frozen=True)
class Told:
    """What was told from elsewhere and of matches: contact as stretches, and match minutes, by player."""

    contact: Mapping[int, Sequence[Stretch]]
    matches: Matches

    def is_of_match(self, player: int, fixture: Fixture) -> bool:
        """Somebody told how long he played in this match of ours, or that he did not."""
        return any(each.fixture == fixture.pk for each in self.matches.get(player, ()))

    def is_from_elsewhere(self, player: int, first: dt.date, last: dt.date) -> bool:
        """Somebody told something of another team for one of these days."""
        days = [each.day for each in (*self.contact.get(player, ()), *self.matches.get(player, ())) if not by_us(each)]
        return any(first <= day <= last for day in days)


def by_us(told: Stretch | Match) -> bool:
    return isinstance(told, Match) and told.fixture is not None


def told_of(days: Days, season_from: dt.date) -> Told:
    """In two queries. Contact on these days, matches from the season's first day on and a fortnight before."""
    return Told(declared_on(days), matches_between(days, season_from - FORTNIGHT))


def matches_between(days: Days, first: dt.date) -> dict[int, list[Match]]:
    """From that day on up to the last of the days, those in which he did not play with 0 minutes."""
    found: dict[int, list[Match]] = defaultdict(list)
    rows = MatchMinutes.objects.filter(player__in=days.players).counting().order_by()
    rows = rows.between(first, days.last)
    named = rows.values_list("player", "day", "minutes", "opponent", "fixture__opponent", "kick_off", "fixture")
    for player, day, minutes, opponent, ours, starts, fixture in named:
        found[player].append(Match(player, day, minutes, ours or opponent, starts, fixture))
    return found


def totals_with_told(
    squad: Squad,
    first_monday: dt.date,
    weeks: int,
    today: dt.date,
    season_from: dt.date,
    *,
    whole_from: dt.date | None = None,
    only: Player | None = None,
) -> tuple[Totals, Told]:
    """The totals of the squad, or of one player of it, with what was told from elsewhere and of matches.

    Nights before `whole_from` that are confirmed stand there as the sums that are kept of their days, without what
    made them.
    """
    first, last = first_monday - LOOK_BACK, first_monday + weeks * WEEK - dt.timedelta(days=1)
    days = Days.of(squad, first, last, whole_from=whole_from, only=only, to_count=True)
    told = told_of(days, season_from)
    by_player = stretches_by_player(days, told.contact)
    for player, stretches in (sums_kept(squad, first, whole_from) if whole_from else {}).items():
        by_player[player].extend(stretches)
    mondays = (first_monday + n * WEEK for n in range(weeks))
    return Totals(squad, today, tuple(week_totals(days, monday, by_player) for monday in mondays), days), told


def sums_kept(squad: Squad, first: dt.date, before: dt.date) -> dict[int, list[Stretch]]:
    """The contact of confirmed nights by player, a stretch for each day and kind: all of it took place, and counts."""
    found: dict[int, list[Stretch]] = defaultdict(list)
    rows = PlayerDay.objects.filter(player__squad=squad, day__gte=first, day__lt=before).order_by()
    for player, day, *sums in rows.values_list("player", "day", *CONTACT_KEPT.values()):
        for kind, hundredths in zip(CONTACT_KEPT, sums, strict=True):
            if hundredths:
                found[player].append(summed_stretch(player, day, kind, hundredths))
    return found


def summed_stretch(player: int, day: dt.date, kind: Kind, hundredths: int) -> Stretch:
    """One hundredth of a minute is a minute of which one per cent is contact."""
    return Stretch(
        player, NO_SESSION, 0, day, "", kind, hundredths, 1, Level.FULL, aside=False, source=Source.CONFIRMED
    )


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
