"""What a squad has said of its next nights: a line for each player, a cell for each night, and who comes to each."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from planner.attendance import Key, replies_of
from planner.attendance_models import Reply
from planner.days import Days
from planner.models import Session
from shared.core.contact import Level
from shared.core.positions import GROUPS
from squads.core.eligibility import Ceiling
from squads.models import Player, Squad

MOST_NIGHTS = 4
# A form may hold a thousand fields, and each cell has three.
MOST_CELLS = 300


@dataclass(frozen=True)
class Cell:
    """One player on one night. `reply`: what was said last of it."""

    player: Player
    session: Session
    number: int  # of the night on the page, from 1
    reply: Reply | None
    ceiling: Ceiling

    @property
    def key(self) -> Key:
        return self.player.pk, self.session.pk

    @property
    def name(self) -> str:
        """What its fields are called, behind a word of their own."""
        return f"{self.player.pk}-{self.session.pk}"

    @property
    def comes(self) -> bool:
        """Nothing that is known says that he does not."""
        return self.ceiling.level is not Level.ABSENT

    @property
    def has_no_word(self) -> bool:
        return self.reply is None and self.comes

    @property
    def reason(self) -> str:
        """Why he is not expected although he has said nothing."""
        return "" if self.reply or self.comes else self.ceiling.reason


@dataclass(frozen=True)
class Line:
    """`cells`: one for each night; None for a night on which he is not of the squad."""

    player: Player
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class NightReplies:
    """One night with the cells of all who are of the squad then."""

    session: Session
    number: int
    cells: tuple[Cell, ...]

    @cached_property
    def coming(self) -> list[Cell]:
        return [cell for cell in self.cells if cell.comes]

    @property
    def without_a_word(self) -> int:
        return sum(cell.has_no_word for cell in self.cells)

    @property
    def in_part(self) -> int:
        return sum(bool(cell.reply and (cell.reply.from_time or cell.reply.until_time)) for cell in self.coming)

    @property
    def groups(self) -> list[tuple[str, int]]:
        """How many come of each position group, those with nobody included."""
        counts = Counter(cell.player.group for cell in self.coming)
        return [(group, counts[group]) for group in GROUPS]


@dataclass(frozen=True)
class Replies:
    squad: Squad
    nights: tuple[NightReplies, ...]
    lines: tuple[Line, ...]
    later: dt.date | None  # the first day after these nights on which there is another one

    @property
    def cells(self) -> list[Cell]:
        return [cell for line in self.lines for cell in line.cells if cell]


def replies_from(squad: Squad, first: dt.date) -> Replies:
    """The next nights from a day on, in a fixed number of queries. The squad's club should be fetched with it."""
    coming = list(coming_days(squad, first))
    if not coming:
        return Replies(squad, (), (), None)
    shown = coming[: nights_that_fit(squad.players.in_squad_on(first, coming[-1]).count())]
    days = Days.of(squad, first, shown[-1])
    sessions = days.sessions[: len(shown)]
    cells = cells_of(days, sessions, replies_of(sessions))
    players = sorted(days.players.values(), key=lambda player: (player.family_name.casefold(), player.given_name))
    lines = [Line(player, tuple(cells.get((player.pk, session.pk)) for session in sessions)) for player in players]
    nights = [
        NightReplies(session, number, tuple(cell for cell in cells.values() if cell.number == number))
        for number, session in enumerate(sessions, start=1)
    ]
    later = coming[len(shown)] if len(coming) > len(shown) else None
    return Replies(squad, tuple(nights), tuple(line for line in lines if any(line.cells)), later)


def coming_days(squad: Squad, first: dt.date) -> Iterable[dt.date]:
    coming = Session.objects.filter(squad=squad, day__gte=first, cancelled=False).order_by("starts_at")
    return coming.values_list("day", flat=True)[: MOST_NIGHTS + 1]


def nights_that_fit(players: int) -> int:
    return max(1, min(MOST_NIGHTS, MOST_CELLS // max(1, players)))


def cells_of(days: Days, sessions: Iterable[Session], replies: Mapping[Key, Reply]) -> dict[Key, Cell]:
    return {
        (player.pk, session.pk): Cell(
            player, session, number, replies.get((player.pk, session.pk)), days.ceiling(player, session)
        )
        for number, session in enumerate(sessions, start=1)
        for player in days.players.values()
        if is_of_the_squad(player, session.day)
    }


def is_of_the_squad(player: Player, day: dt.date) -> bool:
    return (player.joined is None or player.joined <= day) and not player.has_left_by(day)
