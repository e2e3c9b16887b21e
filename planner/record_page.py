"""The record of a night as its page and its sheet show it: each station with who was not there as planned, and how
each line came to be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from planner.core import record as core
from planner.core.retold import Stay, Stayed, span_in, stayed_in
from planner.record import A_MINUTE, told_of
from planner.record_models import Account
from planner.record_night import NightRecord
from planner.record_told import block_words, different, parts_words
from shared.core.contact import Kind, Level, below_or_at
from squads.models import Player


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the record: who told what, and what stood there before. `can_return`: it is not what counts now."""

    account: Account
    old: str
    new: str
    raised: tuple[core.Part, ...]
    can_return: bool


@dataclass(frozen=True, slots=True)
class StationTold:
    """A spot of the night as it counts. `players` are named only where the plan or somebody named them."""

    block: core.Block
    starts: dt.datetime
    letter: str
    players: tuple[Player, ...]
    exceptions: tuple[str, ...]
    in_spite: tuple[str, ...]
    changes: tuple[Change, ...]
    planned: str

    @property
    def words(self) -> str:
        return block_words(self.block)

    @property
    def is_told(self) -> bool:
        return bool(self.changes)

    @property
    def is_changed(self) -> bool:
        return self.planned != self.words or bool(self.exceptions)


def stations_told(night: NightRecord) -> list[StationTold]:
    starts = starts_of(night)
    beside = {order: sum(block.order == order for block in night.blocks) for order in starts}
    return [
        StationTold(
            block,
            night.session.on_the_wall(night.session.starts_at + A_MINUTE * starts[block.order]),
            "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[block.letter % 26] if block.placed and beside[block.order] > 1 else "",
            tuple(night.days.players[key] for key in block.players if key in night.days.players),
            tuple(exceptions_in(night, block)),
            tuple(in_spite(night, block)),
            tuple(changes_of(night, block.spot)),
            block_words(night.planned[block.spot]) if block.spot in night.planned else "",
        )
        for block in night.blocks
    ]


def starts_of(night: NightRecord) -> dict[int, int]:
    """The minute at which each order began."""
    length: dict[int, int] = {}
    for block in night.blocks:
        length[block.order] = max(length.get(block.order, 0), block.minutes)
    starts, minute = {}, 0
    for order in sorted(length):
        starts[order] = minute
        minute += length[order]
    return starts


def exceptions_in(night: NightRecord, block: core.Block) -> Iterator[str]:
    """By name whoever was not there for all of it, stood aside, or was not there although the plan holds him."""
    for key in block.players:
        stayed = stayed_in(block.parts, key, night.allowed.get(key, Level.ABSENT))
        said = [*presence_words(block, key, stayed), *aside_words(block, key, stayed)]
        if said and key in night.days.players:
            yield f"{night.days.players[key].sheet_name}: {', '.join(said)}"
    if block.spot in night.planned:
        here = {*block.players}
        planned = night.planned[block.spot]
        if block.placed:
            away = [key for key in (*planned.players, *planned.away) if key not in here]
            yield from (_("%(player)s: not there") % {"player": name_in(night, key)} for key in away)


def name_in(night: NightRecord, key: int) -> str:
    return night.days.players[key].sheet_name if key in night.days.players else _("a player")


def presence_words(block: core.Block, player: int, stayed: Stayed) -> Iterator[str]:
    span = span_in(block.parts, player)
    if stayed.stay in {Stay.LATE, Stay.EARLY} and span:
        told = {"minutes": span[1] - span[0], "all": block.minutes}
        late = _("came late, %(minutes)d of %(all)d min") if stayed.stay is Stay.LATE else ""
        yield (late or _("left early, %(minutes)d of %(all)d min")) % told


def aside_words(block: core.Block, player: int, stayed: Stayed) -> Iterator[str]:
    """Also where his status asked for it."""
    contact = in_contact(block, player)
    aside = [part for part in contact if part.here[player].aside]
    if aside and len(aside) == len(contact):
        yield _("stood aside from contact")
    elif aside:
        yield _("stood aside from contact at %(rungs)s") % {"rungs": ", ".join(part.rung for part in aside)}


def in_spite(night: NightRecord, block: core.Block) -> Iterator[str]:
    """Who took part in contact that his status does not allow."""
    for key in block.players:
        level = night.allowed.get(key, Level.ABSENT)
        took = (part for part in in_contact(block, key) if not part.here[key].aside)
        if any(not level.allows(part.kind) for part in took):
            yield name_in(night, key)


def in_contact(block: core.Block, player: int) -> list[core.Part]:
    """The parts with contact that he was in, aside or not."""
    return [part for part in block.parts if player in part.here and part.share and part.kind is not Kind.NONE]


def changes_of(night: NightRecord, spot: str) -> Iterator[Change]:
    """The oldest first; what stood before the first one is what was planned."""
    standing = night.standing.get(spot)
    before = night.planned.get(spot)
    for account in night.history(spot):
        block = told_of(account, account.lines.all()).block
        old = parts_words(before.parts) if before else _("not planned")
        new = parts_words(block.parts)
        if before and old == new and not core.same_parts(before.parts, block.parts):
            new, old = different(night, block.parts, before.parts)
        raised = tuple(part for part in block.parts if part.rung not in below_or_at(part.card_rung))
        yield Change(account, old, new, raised, account != standing)
        before = block
