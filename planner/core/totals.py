"""Contact minutes of each player, counted from what ran, and where they stand against the limits of a week.

All sums are whole hundredths of a minute: minutes x share in per cent gives just these, so that nothing is
rounded before it is compared. 15.00 of 15 is inside, 15.05 is past. Weeks run from Monday to Sunday.

That waiting in line is already in the share, that carrier, tackler and pad holder count alike, and that a
player stands aside from what he may not do and counts nothing there, are rules of this house; so is the
seven-day sum, which is watched and binds nobody.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from planner.core.record import Source
from shared.core.contact import Kind, Level

LIMITED = (Kind.FULL, Kind.CONTROLLED, Kind.SET_PIECE)
SEVEN_DAYS = dt.timedelta(days=7)
ONE_DAY = dt.timedelta(days=1)


class Room(StrEnum):
    """How much room a figure leaves to its limit, the best first; `NOT_ALLOWED`: placed above what he may do."""

    FINE = "fine"
    NEAR = "near"
    PAST = "past"
    NOT_ALLOWED = "not allowed"

    @property
    def rank(self) -> int:
        return _RANKS[self]


_RANKS = {room: rank for rank, room in enumerate(Room)}


def worst(rooms: Iterable[Room]) -> Room:
    return max(rooms, key=lambda room: room.rank, default=Room.FINE)


def monday_of(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def room(hundredths: int, limit: int | None, near_percent: int) -> Room:
    """`hundredths` of a minute against `limit` minutes. The limit itself is inside, and near."""
    if limit is None or not hundredths:
        return Room.FINE
    if hundredths > 100 * limit:
        return Room.PAST
    return Room.NEAR if hundredths >= near_percent * limit else Room.FINE


@dataclass(frozen=True, slots=True)
class Stretch:
    """One player in one slot: so many `minutes`, of which `share` per cent are contact of the `kind`.

    `level` is the most that he may do that day. `placed`: somebody put him there by name; otherwise it is
    content for everyone, from which he stands aside where he must. `aside`: whether he did so on the night; None
    where nobody has told, so that his level says it.
    """

    player: int
    session: int
    slot: int
    day: dt.date
    what: str
    kind: Kind
    minutes: int
    share: int
    level: Level
    placed: bool = True
    aside: bool | None = None
    source: Source = Source.PLANNED

    @property
    def in_contact(self) -> int:
        """Hundredths of a minute that whoever takes part spends in contact."""
        return 0 if self.kind is Kind.NONE else self.minutes * self.share

    @property
    def counted(self) -> int:
        """Hundredths of a minute that are booked to this player."""
        took_part = self.level.allows(self.kind) if self.aside is None else not self.aside
        return self.in_contact if took_part else 0

    @property
    def counted_minutes(self) -> float:
        return self.counted / 100

    @property
    def is_not_allowed(self) -> bool:
        """Put in contact in spite of his ceiling, by the plan or, once somebody has told, on the night itself.

        Who is away takes part in nothing that is planned, so nothing is wrong there.
        """
        if self.aside is not None:
            return bool(self.counted) and not self.level.allows(self.kind)
        return bool(self.placed and self.in_contact) and self.level is not Level.ABSENT and not self.counted


@dataclass(frozen=True, slots=True)
class Limit:
    """So many minutes a week; `source` names the document, or the pattern that is on the week."""

    minutes: int
    source: str
    is_of_pattern: bool = False


@dataclass(frozen=True, slots=True)
class WeekLimits:
    """What binds in a week; a kind that is missing, or None, does not bind."""

    by_kind: Mapping[Kind, Limit] = field(default_factory=dict)
    full_days: int | None = None
    near_percent: int = 80

    def minutes(self, kind: Kind) -> int | None:
        return self.by_kind[kind].minutes if kind in self.by_kind else None


@dataclass(frozen=True, slots=True)
class Rolling:
    """The most contact of a kind in any seven days that end in the week."""

    hundredths: int
    last_day: dt.date

    @property
    def minutes(self) -> float:
        return self.hundredths / 100


@dataclass(frozen=True)
class Figure:
    """Contact of one kind in one week against its limit. `stretches` made it, in the order of time."""

    kind: Kind
    limit: Limit | None
    near_percent: int
    stretches: tuple[Stretch, ...]
    rolling: Rolling

    @cached_property
    def hundredths(self) -> int:
        return sum(stretch.counted for stretch in self.stretches)

    @property
    def minutes(self) -> float:
        return self.hundredths / 100

    @property
    def most(self) -> int | None:
        return self.limit.minutes if self.limit else None

    @property
    def near(self) -> float:
        """The share of the limit from which on it is near."""
        return self.near_percent / 100

    @cached_property
    def not_allowed(self) -> tuple[Stretch, ...]:
        return tuple(stretch for stretch in self.stretches if stretch.is_not_allowed)

    @property
    def against_limit(self) -> Room:
        return room(self.hundredths, self.most, self.near_percent)

    @property
    def room(self) -> Room:
        return Room.NOT_ALLOWED if self.not_allowed else self.against_limit

    @property
    def excess(self) -> float:
        """Minutes above the limit."""
        return 0 if self.limit is None else max(0, self.hundredths - 100 * self.limit.minutes) / 100

    @property
    def excess_shown(self) -> float:
        """In whole tenths, rounded up: an excess never reads as none."""
        return -(-round(100 * self.excess) // 10) / 10

    @property
    def is_watched(self) -> bool:
        """Within the limit from Monday to Sunday, but above it in some seven days."""
        return (
            self.limit is not None
            and self.against_limit is not Room.PAST
            and self.rolling.hundredths > 100 * self.limit.minutes
        )


@dataclass(frozen=True)
class PlayerWeek:
    """One player's contact in the week from `monday`: a figure for each kind that can be limited."""

    player: int
    monday: dt.date
    figures: tuple[Figure, ...]
    days_with_full: tuple[dt.date, ...]
    full_days_limit: int | None

    def figure(self, kind: Kind) -> Figure:
        return next(figure for figure in self.figures if figure.kind is kind)

    @property
    def has_too_many_full_days(self) -> bool:
        """A day is not neared little by little: on the last one allowed nobody is near the limit."""
        return self.full_days_limit is not None and len(self.days_with_full) > self.full_days_limit

    @cached_property
    def room(self) -> Room:
        days = Room.PAST if self.has_too_many_full_days else Room.FINE
        return worst([days, *(figure.room for figure in self.figures)])

    @property
    def urgency(self) -> tuple[int, float, float]:
        """Sorts the most urgent first: the worst standing, then the excess, then how full the limits are."""
        return (
            -self.room.rank,
            -max(figure.excess for figure in self.figures),
            -max(figure.minutes / figure.most if figure.most else 0 for figure in self.figures),
        )


def player_week(
    player: int, monday: dt.date, stretches: Sequence[Stretch], limits: WeekLimits | None = None
) -> PlayerWeek:
    """The player's week. `stretches` are his own; those of the six days before count in the seven-day sums."""
    limits, sunday = limits or WeekLimits(), monday + 6 * ONE_DAY
    near = (s for s in stretches if s.player == player and monday - 6 * ONE_DAY <= s.day <= sunday)
    his = sorted(near, key=lambda stretch: (stretch.day, stretch.slot))
    here = [stretch for stretch in his if stretch.day >= monday]
    return PlayerWeek(
        player,
        monday,
        tuple(
            Figure(
                kind,
                limits.by_kind.get(kind),
                limits.near_percent,
                tuple(stretch for stretch in here if stretch.kind is kind and stretch.in_contact),
                rolling([stretch for stretch in his if stretch.kind is kind], monday),
            )
            for kind in LIMITED
        ),
        tuple(sorted({stretch.day for stretch in here if stretch.kind is Kind.FULL and stretch.counted})),
        limits.full_days,
    )


def rolling(stretches: Iterable[Stretch], monday: dt.date) -> Rolling:
    """The largest sum of seven days that end from Monday to Sunday, and the last of those days."""
    by_day: dict[dt.date, int] = defaultdict(int)
    for stretch in stretches:
        by_day[stretch.day] += stretch.counted
    if not by_day:
        return Rolling(0, monday)
    ends = (monday + n * ONE_DAY for n in range(7))
    sums = (Rolling(sum(much for day, much in by_day.items() if end - SEVEN_DAYS < day <= end), end) for end in ends)
    return max(sums, key=lambda each: each.hundredths)
