"""A station told again by exceptions: how long each part ran, and who was not there for all of it.

Whoever is not named as an exception was there from the first minute to the last, and took part in what his status
allows. A part keeps its share of contact with its rung; a walk-through has none. What nobody tells otherwise stays as
it was, part by part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from planner.core.record import Block, Here, Part
from shared.core.contact import Kind, Level

Span = tuple[int, int]  # from the first to the last minute of the station, the last one not included


class Stay(StrEnum):
    """For how much of a station somebody was there."""

    ALL = "all"
    LATE = "late"
    EARLY = "early"
    NOT = "not"


class TookPart(StrEnum):
    """In the contact of a station: as his status allows, in all of it, or in none."""

    AS_ALLOWED = "allowed"
    ALL = "all"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Stayed:
    """What is told of one player at a station; `minutes` of whoever came late or left early."""

    stay: Stay = Stay.ALL
    minutes: int = 0
    took_part: TookPart = TookPart.AS_ALLOWED

    @property
    def is_exception(self) -> bool:
        return self != Stayed()


def span_in(parts: Sequence[Part], player: int) -> Span | None:
    """From his first minute in the parts, laid end to end, to his last."""
    starts, spans = 0, []
    for part in parts:
        if (here := part.here.get(player)) is not None:
            spans.append((starts + here.after, starts + here.after + here.minutes))
        starts += part.minutes
    return (spans[0][0], spans[-1][1]) if spans else None


def stayed_in(parts: Sequence[Part], player: int, level: Level) -> Stayed:
    """How the parts tell it. Whoever came late and left early is told as late."""
    span, length = span_in(parts, player), sum(part.minutes for part in parts)
    if span is None:
        return Stayed(Stay.NOT)
    first, last = span
    if (first, last) == (0, length):
        return Stayed(took_part=took_part_in(parts, player, level))
    return Stayed(Stay.LATE if first else Stay.EARLY, last - first, took_part_in(parts, player, level))


def took_part_in(parts: Iterable[Part], player: int, level: Level) -> TookPart:
    """Told as his status allows also where he stood aside from some contact only: one word says no mixture."""
    contact = [(part.kind, part.here[player].aside) for part in parts if player in part.here and part.share]
    contact = [(kind, aside) for kind, aside in contact if kind is not Kind.NONE]
    asides = {aside for _kind, aside in contact}
    if len(asides) > 1 or all(aside != level.allows(kind) for kind, aside in contact):
        return TookPart.AS_ALLOWED
    return TookPart.NONE if asides == {True} else TookPart.ALL


def span_told(stayed: Stayed, length: int) -> Span | None:
    """The minutes of the station that somebody was there; nobody is there for longer than it ran."""
    minutes = length if stayed.stay is Stay.ALL else min(stayed.minutes, length)
    if stayed.stay is Stay.NOT or minutes <= 0:
        return None
    return (length - minutes, length) if stayed.stay is Stay.LATE else (0, minutes)


def told_again(
    parts: Sequence[Part], told: Mapping[int, Stayed], levels: Mapping[int, Level], before: Block
) -> tuple[Part, ...]:
    """The parts with whoever was in them.

    Who is told as he was in a station that ran as long keeps his minutes. Whose contact is told as it was stood aside
    where he did: in each part that is of the same kind as the one in its place before.
    """
    length = sum(part.minutes for part in parts)
    spans: dict[int, Span] = {}
    unchanged = set()
    for player, stayed in told.items():
        was = stayed_in(before.parts, player, levels.get(player, Level.ABSENT))
        is_as_before = length == before.minutes and stayed == was
        span = span_in(before.parts, player) if is_as_before else span_told(stayed, length)
        if span is not None:
            spans[player] = span
        if stayed.took_part is was.took_part:
            unchanged.add(player)
    found, starts = [], 0
    for number, part in enumerate(parts):
        before_aside = asides_in(before, number, part.kind)
        here = {}
        for player, span in spans.items():
            aside = stands_aside(part.kind, told[player], levels.get(player, Level.ABSENT))
            if player in unchanged:
                aside = before_aside.get(player, aside)
            if (each := in_part(part, starts, span, aside=aside)) is not None:
                here[player] = each
        found.append(replace(part, here=here))
        starts += part.minutes
    return tuple(found)


def asides_in(block: Block, number: int, kind: Kind) -> dict[int, bool]:
    """Who stood aside and who did not in the part of this number, from 0, if it is of this kind."""
    same = (part for part in block.parts[number : number + 1] if part.kind is kind)
    return {player: here.aside for part in same for player, here in part.here.items()}


def in_part(part: Part, starts: int, span: Span, *, aside: bool) -> Here | None:
    """Somebody's minutes in a part that begins at a minute of the station."""
    first, last = max(span[0] - starts, 0), min(span[1] - starts, part.minutes)
    return Here(last - first, first, aside) if last > first else None


def stands_aside(kind: Kind, stayed: Stayed, level: Level) -> bool:
    if kind is Kind.NONE or stayed.took_part is TookPart.ALL:
        return False
    return stayed.took_part is TookPart.NONE or not level.allows(kind)
