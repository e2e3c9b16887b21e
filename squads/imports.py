"""A squad list against the players of a squad: a preview, and the rows that confirming it would write.

An empty cell says nothing and leaves a field as it is. Players whom the list leaves out stay as they are.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from shared.core.positions import POSITION_NAMES
from shared.preview import Change, Line, Preview, State
from shared.tables import Row, Table, read_table
from squads.columns import TITLES, Columns, Entry, Refusal, columns_of, entry_of
from squads.matching import Finding, matched
from squads.models import MADE_KEY, Player, SizeBand, Squad

COMPARED = (
    *("key", "given_name", "family_name", "main_position", "other_positions"),
    *("born", "joined", "seasons_played", "size_band"),
)


@dataclass(frozen=True, slots=True)
class SquadImport:
    """What a list would do. `new` and `changed` are players as they would be saved."""

    preview: Preview
    new: tuple[Player, ...]
    changed: tuple[Player, ...]


def squad_in(squad: Squad, content: bytes, filename: str, *, today: dt.date) -> SquadImport:
    """Compare a file with the players of a squad; nothing is written. Raises Unreadable."""
    table = read_table(content, filename)
    columns = columns_of(table)
    comparison = Comparison(squad, columns, today)
    lines = tuple(comparison.lines(table))
    preview = Preview(lines, tuple(comparison.left_alone()), origin_of(table, columns))
    return SquadImport(preview, tuple(comparison.new), tuple(comparison.changed))


def origin_of(table: Table, columns: Columns) -> str:
    if not columns.unused:
        return table.origin
    return _("%(origin)s; columns not used: %(unused)s") % {
        "origin": table.origin,
        "unused": ", ".join(columns.unused),
    }


@dataclass
class Comparison:
    squad: Squad
    columns: Columns
    today: dt.date
    new: list[Player] = field(default_factory=list)
    changed: list[Player] = field(default_factory=list)
    named: set[int] = field(default_factory=set)  # keys of the rows of players whom the list names

    def __post_init__(self) -> None:
        self.players = list(self.squad.players.all())
        self.made_numbers = count(self.squad.players.next_made_number())

    def lines(self, table: Table) -> Iterator[Line]:
        read = [self.read(row) for row in table.rows]
        findings = matched([entry for entry in read if isinstance(entry, Entry)], self.players)
        for row, entry in zip(table.rows, read, strict=True):
            finding = entry if isinstance(entry, Refusal) else findings[entry.number]
            try:
                yield self.line(entry, finding)
            except Refusal as refusal:
                yield self.refused(row, refusal)

    def read(self, row: Row) -> Entry | Refusal:
        try:
            return entry_of(row, self.columns, self.today)
        except Refusal as refusal:
            return refusal

    def line(self, entry: Entry, finding: Finding) -> Line:
        if isinstance(finding, Refusal):
            raise finding
        return self.created(entry) if finding is None else self.compared(entry, finding)

    def refused(self, row: Row, refusal: Refusal) -> Line:
        fields = ("given_name", "family_name", "name")
        label = " ".join(filter(None, (row.text(self.columns.headers.get(name, "")) for name in fields)))
        column = self.columns.headers.get(refusal.column, refusal.column)
        return Line(where(row.number), label or "–", State.REFUSED, column=column, reason=refusal.reason)

    def created(self, entry: Entry) -> Line:
        if entry.main_position is None:
            raise Refusal("positions", _("a new player needs a position: the shirt number, such as 7, or 12/13."))
        player = Player(squad=self.squad)
        told = take_over(player, entry)
        player.key = player.key or f"{MADE_KEY}{next(self.made_numbers)}"
        refuse_impossible(player)
        self.new.append(player)
        names = {str(TITLES["given_name"]), str(TITLES["family_name"])}
        changes = tuple(change for change in told if change.field not in names)  # the label says them
        return Line(where(entry.number), str(player), State.NEW, changes)

    def compared(self, entry: Entry, player: Player) -> Line:
        self.named.add(player.pk)
        if player.has_left_by(self.today):
            raise Refusal(
                "",
                _("this player left the squad on %(day)s. Take that date off the player's page first.")
                % {"day": date_format(player.left, "j M Y")},
            )
        label = str(player)
        changes = take_over(player, entry)
        refuse_impossible(player)
        if changes:
            self.changed.append(player)
        return Line(where(entry.number), label, State.CHANGED if changes else State.SAME, changes)

    def left_alone(self) -> Iterator[str]:
        for player in self.players:
            if player.pk not in self.named and not player.has_left_by(self.today):
                yield str(player)


def take_over(player: Player, entry: Entry) -> tuple[Change, ...]:
    """Set what the entry says and tell what that changes; on a new player, all that it says."""
    changes = []
    for name in COMPARED:
        wanted = said(entry, name, player)
        before = None if player.pk is None else getattr(player, name)
        if wanted is not None and wanted != before:
            setattr(player, name, wanted)
            changes.append(Change(str(TITLES.get(name) or _("main position")), told(name, before), told(name, wanted)))
    return tuple(changes)


def said(entry: Entry, name: str, player: Player) -> Any:
    """What the entry says of a field, as the player would hold it; None for nothing."""
    value = getattr(entry, name)
    if name == "other_positions":
        main = entry.main_position or player.main_position
        return [number for number in value if number != main] or None
    return None if value == "" else value


def told(name: str, value: Any) -> str:
    """A value in the words of the page."""
    if value in (None, "", []):
        return ""
    if name == "main_position":
        return f"{value} {POSITION_NAMES[value]}"
    if name == "other_positions":
        return ", ".join(str(number) for number in value)
    if isinstance(value, dt.date):
        return date_format(value, "j M Y")
    return str(SizeBand(value).label if name == "size_band" else value)


def refuse_impossible(player: Player) -> None:
    if player.born and player.joined and player.joined < player.born:
        raise Refusal("joined", _("it lies before the date of birth."))
    if player.joined and player.left and player.left < player.joined:
        raise Refusal("joined", _("it lies after the day the player leaves."))


def where(number: int) -> str:
    return _("row %(row)d") % {"row": number}
