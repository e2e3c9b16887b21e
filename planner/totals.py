"""Contact totals of a squad: from its rows to figures, and from figures to a table for other programs.

What was told of a night counts, else what is planned (planner.record), and beside it what was declared of contact
elsewhere; each figure says what of these is in it.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from django.utils import timezone

from planner.core.pattern import Pattern
from planner.core.record import Block, Part, Source
from planner.core.totals import (
    Figure,
    Limit,
    PlayerWeek,
    Room,
    Stretch,
    WeekLimits,
    player_week,
)
from planner.days import Days
from planner.elsewhere import declared_on
from planner.models import Session
from planner.record_days import blocks_on
from shared.cells import harmless
from shared.core.contact import Kind
from squads.models import ContactRules, Player, Squad

WEEK = dt.timedelta(days=7)
LOOK_BACK = dt.timedelta(days=6)  # so that the sums of seven days are whole on the first Monday
COLUMNS = ("player", "group", "week", "kind", "minutes", "limit", "standing", "limit_source", "counted_as")


@dataclass(frozen=True)
class PlayerLine:
    """A player beside his contact of a week."""

    player: Player
    week: PlayerWeek

    @property
    def room(self) -> Room:
        return self.week.room


@dataclass(frozen=True)
class WeekTotals:
    """A squad in the week from `monday`; the most urgent player first. `rules`: those in force in the week.

    `pattern`: the one that is on it; `limits` are lowered by it. `by_player`: what it was added up from.
    """

    monday: dt.date
    lines: tuple[PlayerLine, ...]
    limits: WeekLimits
    rules: tuple[ContactRules, ...]
    by_player: Mapping[int, list[Stretch]] = field(repr=False)
    pattern: Pattern | None = None

    @property
    def sunday(self) -> dt.date:
        return self.monday + LOOK_BACK

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many players stand how, the worst standing first; standings that nobody has are left out."""
        found = Counter(line.room for line in self.lines)
        return {room.value: found[room] for room in reversed(Room) if found[room]}

    @property
    def to_look_at(self) -> list[PlayerLine]:
        """Players who are near a limit or worse."""
        return [line for line in self.lines if line.room is not Room.FINE]

    def of(self, player: int) -> PlayerWeek | None:
        return next((line.week for line in self.lines if line.player.pk == player), None)


@dataclass(frozen=True)
class Totals:
    """Weeks of one squad, in order, as seen on `today`."""

    squad: Squad
    today: dt.date
    weeks: tuple[WeekTotals, ...]
    days: Days

    def of(self, player: int) -> list[PlayerWeek]:
        return [found for week in self.weeks if (found := week.of(player))]


def totals_of(squad: Squad, first_monday: dt.date, weeks: int, today: dt.date, *, only: Player | None = None) -> Totals:
    """The contact of each player in so many weeks, or of one alone. The squad's club should be fetched with it."""
    first, last = first_monday - LOOK_BACK, first_monday + weeks * WEEK - dt.timedelta(days=1)
    days = Days.of(squad, first, last, only=only, to_count=True)
    return totals_from(days, first_monday, weeks, today)


def totals_from(days: Days, first_monday: dt.date, weeks: int, today: dt.date) -> Totals:
    """`days` should begin six days before the first Monday, or the sums of seven days miss something."""
    by_player = stretches_by_player(days)
    mondays = (first_monday + n * WEEK for n in range(weeks))
    return Totals(days.squad, today, tuple(week_totals(days, monday, by_player) for monday in mondays), days)


def stretches_by_player(
    days: Days, declared: Mapping[int, Sequence[Stretch]] | None = None
) -> dict[int, list[Stretch]]:
    """Of our nights, and what was declared of contact elsewhere; it is fetched unless it is given."""
    by_player: dict[int, list[Stretch]] = defaultdict(list)
    for player, stretches in (declared_on(days) if declared is None else declared).items():
        by_player[player].extend(stretches)
    for stretch in stretches_of(days):
        by_player[stretch.player].append(stretch)
    return by_player


def week_totals(days: Days, monday: dt.date, by_player: Mapping[int, list[Stretch]]) -> WeekTotals:
    """Players who do not belong to the squad that week are left out, unless they stand somewhere."""
    rules = days.rules_in(monday, monday + LOOK_BACK)
    pattern = days.patterns.get(monday)
    limits = pattern.lowered(limits_of(rules)) if pattern else limits_of(rules)
    lines = [
        PlayerLine(player, player_week(player.pk, monday, by_player[player.pk], limits))
        for player in days.players.values()
        if belongs(player, monday) or by_player[player.pk]
    ]
    lines.sort(key=lambda line: line.week.urgency)
    return WeekTotals(monday, tuple(lines), limits, tuple(rules), by_player, pattern)


def belongs(player: Player, monday: dt.date) -> bool:
    return player.is_in_squad(monday, monday + LOOK_BACK)


def limits_of(rules: Iterable[ContactRules]) -> WeekLimits:
    """The strictest figure of each limit, with the document that it comes from, when rules change within the week."""
    rules, by_kind = list(rules), {}
    for each in rules:
        for kind, minutes in each.weekly.items():
            if Kind(kind) not in by_kind or minutes < by_kind[Kind(kind)].minutes:
                by_kind[Kind(kind)] = Limit(minutes, each.told_source)
    return WeekLimits(
        by_kind,
        full_days=min((each.full_days for each in rules if each.full_days is not None), default=None),
        near_percent=min((each.near_percent for each in rules), default=WeekLimits().near_percent),
    )


def stretches_of(days: Days, now: dt.datetime | None = None) -> Iterator[Stretch]:
    """Who spends how long in contact, session by session: as it was told, else as it is planned."""
    now = now or timezone.now()
    for session in days.sessions:
        source = days.records.source(session, now)
        told = {each.block.spot for each in days.records.told.get(session.pk, ())}
        for block in blocks_on(days, session):
            yield from of_block(days, session, block, source, is_told=block.spot in told)


def of_block(days: Days, session: Session, block: Block, source: Source, *, is_told: bool) -> Iterator[Stretch]:
    """Content without contact is left out where nobody is placed by name: it would fill the ledger."""
    for part in block.parts:
        if not block.placed and (part.kind is Kind.NONE or not part.share):
            continue
        for player, minutes, aside in everyone_in(block, part):
            yield Stretch(
                player,
                session.pk,
                block.order,
                session.day,
                block.card.title,
                part.kind,
                minutes,
                part.share,
                days.ceiling(days.players[player], session).level,
                placed=block.placed,
                aside=aside if is_told else None,
                source=source,
            )


def everyone_in(block: Block, part: Part) -> Iterator[tuple[int, int, bool]]:
    """Player, minutes, and whether he stands aside; whoever is placed and away is listed with what he would have."""
    yield from ((player, here.minutes, here.aside) for player, here in part.here.items())
    yield from ((player, part.minutes, True) for player in block.away)


def totals_csv_text(totals: Totals) -> str:
    """One row for each week, player and kind, in stable columns by RFC 4180; `week` is its Monday by ISO 8601.

    `minutes` are exact, `limit` is empty where nothing binds, `standing` is fine, near, past or not allowed.
    `counted_as`: whether the nights behind the minutes are confirmed, not confirmed in 48 hours, or planned, and
    whether contact elsewhere is among them, as declared.
    """
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow(COLUMNS)
    for week in totals.weeks:
        for line in week.lines:
            writer.writerows(csv_row(line, figure) for figure in line.week.figures)
    return written.getvalue()


def csv_row(line: PlayerLine, figure: Figure) -> tuple[str, ...]:
    return (
        harmless(line.player.sheet_name),
        line.player.group,
        line.week.monday.isoformat(),
        figure.kind.value,
        f"{figure.minutes:.2f}",
        "" if figure.limit is None else str(figure.limit.minutes),
        figure.room.value,
        "" if figure.limit is None else harmless(figure.limit.source),
        " + ".join(sorted({stretch.source.value for stretch in figure.stretches})),
    )
