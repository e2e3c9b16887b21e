"""What was told of contact elsewhere and of minutes in matches, read for the pages on which it is entered.

A correction is a row that names the one it replaces: a chain is what counts, with what stood there before.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

from django.db.models import Count, Q, QuerySet

from planner.models import Fixture
from planner.record_models import Declared, MatchMinutes
from planner.rpe import MATCH_LASTS
from planner.welfare_models import PlaysElsewhere
from squads.models import Player, Squad

Row = TypeVar("Row", Declared, MatchMinutes)
SIX_DAYS = dt.timedelta(days=6)
SHOWN_DAYS = dt.timedelta(days=182)  # of a player's page, unless all is asked for


@dataclass(frozen=True)
class Chain(Generic[Row]):
    """`row` counts; `earlier` are those that it replaced, the newest first."""

    row: Row
    earlier: tuple[Row, ...] = ()

    @property
    def changes(self) -> list[tuple[Row, Row]]:
        """What stood, and what stood then: the newest change first."""
        rows = (self.row, *self.earlier)
        return [(old, new) for new, old in pairwise(rows)]


def chains(rows: Iterable[Row]) -> list[Chain[Row]]:
    """In the order of the rows. A chain is whole where all of its rows are given."""
    rows = list(rows)
    by_key = {row.pk: row for row in rows}
    replaced = {row.replaces_id for row in rows}
    return [Chain(row, tuple(before(row, by_key))) for row in rows if row.pk not in replaced]


def before(row: Row, by_key: Mapping[int, Row]) -> Iterable[Row]:
    while row.replaces_id in by_key:
        row = by_key[row.replaces_id]
        yield row


# One player


@dataclass(frozen=True)
class ToldOfPlayer:
    """The latest first. `other_team`: whether he plays elsewhere too, as somebody noted last; None if nobody did."""

    player: Player
    contact: list[Chain[Declared]]
    matches: list[Chain[MatchMinutes]]
    other_team: PlaysElsewhere | None
    has_more: bool


def told_of_player(player: Player, today: dt.date, *, everything: bool = False) -> ToldOfPlayer:
    """In three queries. Without `everything` what counts on a day of the last half year."""
    contact = chains(player.declared.order_by("-day", "-pk"))
    matches = chains(player.match_minutes.select_related("fixture").order_by("-kick_off", "-pk"))
    since = dt.date.min if everything else today - SHOWN_DAYS
    lately = [each for each in contact if each.row.day >= since], [each for each in matches if each.row.day >= since]
    has_more = sum(map(len, lately)) < len(contact) + len(matches)
    return ToldOfPlayer(player, *lately, player.plays_elsewhere.filter(from_day__lte=today).last(), has_more)


# A squad in a week


@dataclass(frozen=True)
class MatchTold:
    """`count`: players of whom somebody has told how long they played, those with 0 among them."""

    fixture: Fixture
    count: int


@dataclass(frozen=True)
class ToldInWeek:
    squad: Squad
    monday: dt.date
    contact: list[Chain[Declared]]
    elsewhere: list[Chain[MatchMinutes]]
    matches: list[MatchTold]
    untold: list[PlaysElsewhere]
    players: list[Player]

    @property
    def sunday(self) -> dt.date:
        return self.monday + SIX_DAYS


def told_in_week(squad: Squad, monday: dt.date) -> ToldInWeek:
    """In seven queries at most. The squad's club should be fetched with it."""
    sunday = monday + SIX_DAYS
    contact = whole_chains(Declared.objects.filter(player__squad=squad), monday, sunday)
    elsewhere = whole_chains(MatchMinutes.objects.filter(player__squad=squad, fixture=None), monday, sunday)
    told = {each.row.player_id for each in (*contact, *elsewhere)}
    return ToldInWeek(
        squad,
        monday,
        contact,
        elsewhere,
        list(matches_told(squad, monday, sunday)),
        list(untold(squad, sunday, lambda player: player in told)),
        list(squad.players.in_squad_on(monday, sunday).order_by("family_name", "given_name")),
    )


def whole_chains(rows: QuerySet[Row], first: dt.date, last: dt.date) -> list[Chain[Row]]:
    """Those that count on one of these days, with their earlier rows whatever day these named."""
    counting = list(rows.counting().between(first, last).select_related("player__squad"))
    corrected = {row.player_id for row in counting if row.replaces_id}
    old = rows.filter(player__in=corrected, replaced_by__isnull=False) if corrected else ()
    by_key = {row.pk: row for row in old}
    return [Chain(row, tuple(before(row, by_key))) for row in counting]


def is_over(fixture: Fixture, now: dt.datetime) -> bool:
    """Where no time is known, from the next day on."""
    if fixture.all_day:
        return fixture.day < now.astimezone(fixture.zone).date()
    return fixture.kick_off + MATCH_LASTS <= now


def matches_told(squad: Squad, first: dt.date, last: dt.date) -> Iterable[MatchTold]:
    counts = Count("match_minutes", filter=Q(match_minutes__replaced_by__isnull=True))
    rows = Fixture.objects.filter(squad=squad, day__range=(first, last)).played_or_due().select_related("squad__club")
    return (MatchTold(fixture, fixture.players_told) for fixture in rows.annotate(players_told=counts))


def untold(squad: Squad, sunday: dt.date, is_told: Callable[[int], bool]) -> Iterable[PlaysElsewhere]:
    """Who plays elsewhere too by that Sunday, and of whom nobody has told anything for the week, nor that there was
    nothing."""
    rows = PlaysElsewhere.objects.filter(player__squad=squad, from_day__lte=sunday).select_related("player__squad")
    newest = {row.player_id: row for row in rows}
    return (row for row in newest.values() if row.plays and not is_told(row.player_id))


# A match


@dataclass(frozen=True)
class SheetLine:
    """`chain` is None where nobody has told anything of the player yet."""

    player: Player
    chain: Chain[MatchMinutes] | None

    @property
    def row(self) -> MatchMinutes | None:
        return self.chain.row if self.chain else None

    @property
    def minutes(self) -> int | None:
        return self.row.minutes if self.row else None


@dataclass(frozen=True)
class TeamSheet:
    fixture: Fixture
    lines: tuple[SheetLine, ...]

    @property
    def count(self) -> int:
        return sum(line.chain is not None for line in self.lines)

    @property
    def longest(self) -> int | None:
        """The most minutes that anybody played, if somebody did."""
        return max((line.minutes for line in self.lines if line.minutes), default=None)

    @property
    def changed(self) -> list[SheetLine]:
        return [line for line in self.lines if line.chain and line.chain.earlier]


def team_sheet(fixture: Fixture) -> TeamSheet:
    """Whoever was in the squad on the day, and whoever something was told of, by name; in two queries."""
    told = {each.row.player_id: each for each in chains(MatchMinutes.objects.filter(fixture=fixture).order_by("pk"))}
    members = fixture.squad.players.in_squad_on(fixture.day) | fixture.squad.players.filter(pk__in=told)
    players = members.distinct().select_related("squad").order_by("family_name", "given_name", "pk")
    return TeamSheet(fixture, tuple(SheetLine(player, told.get(player.pk)) for player in players))
