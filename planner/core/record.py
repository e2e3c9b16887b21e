"""What each player did on a night: from what was planned, what was told of it afterwards, and who was there when.

Of each station or content for everyone (a spot) the account counts that no other replaces; where nobody has told
anything the plan stands in for it, until the night is confirmed. Everything follows from the set of accounts, in
whatever order they were entered. Minutes are whole: a minute that has begun counts, for whoever comes late and for
whoever leaves early. The contact of a stretch is its minutes x the share of its card in hundredths of a minute (house
rules, common practice without a standard); whoever stood aside has none.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from shared.core.contact import Kind, Level, kind_of

LONGEST = 600  # minutes of one part: more is a slip of the thumb
UNCONFIRMED_AFTER = dt.timedelta(hours=48)  # house rule: until then the night is simply open


class Source(StrEnum):
    """Where a figure comes from."""

    CONFIRMED = "confirmed"
    NOT_CONFIRMED = "not confirmed"
    PLANNED = "planned"
    DECLARED = "declared"


def source_of(ends: dt.datetime, now: dt.datetime, *, is_confirmed: bool) -> Source:
    """Of a night that ends at `ends`: planned, and from 48 hours after its end on not confirmed."""
    if is_confirmed:
        return Source.CONFIRMED
    return Source.NOT_CONFIRMED if now >= ends + UNCONFIRMED_AFTER else Source.PLANNED


@dataclass(frozen=True, slots=True)
class Skill:
    """Per cent of the minutes that go to a skill; `groups` None: of every player."""

    code: str
    share: int
    groups: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Card:
    """What a spot ran by. `drill` is the key of the drill, None for content of the club's own."""

    title: str
    drill: int | None = None
    version: int = 0
    rpe: int = 0
    skills: tuple[Skill, ...] = ()


@dataclass(frozen=True, slots=True)
class Here:
    """A player in a part, from its minute `after` on for so many minutes. `aside`: without its contact."""

    minutes: int
    after: int = 0
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """So many minutes at one rung. `initials` and `reason` where that is above the one on the card."""

    minutes: int
    rung: str
    share: int
    card_rung: str
    here: Mapping[int, Here] = field(default_factory=dict)
    initials: str = ""
    reason: str = ""

    @property
    def kind(self) -> Kind:
        return kind_of(self.rung)


@dataclass(frozen=True, slots=True)
class Block:
    """One spot of the night. Spots of one `order` run side by side. `away`: the plan holds them, they are not there."""

    spot: str
    order: int
    letter: int
    card: Card
    parts: tuple[Part, ...]
    placed: bool = True
    away: tuple[int, ...] = ()

    @property
    def minutes(self) -> int:
        return sum(part.minutes for part in self.parts)

    @property
    def players(self) -> list[int]:
        """Each once, in the order of the parts."""
        return list(dict.fromkeys(player for part in self.parts for player in part.here))


@dataclass(frozen=True, slots=True)
class Told:
    """An account: `block` as somebody told it. `key` rises with each one that is entered."""

    key: int
    block: Block
    replaces: int | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """What the plan holds at a spot. `players` None: content for everyone who is there."""

    spot: str
    order: int
    letter: int
    card: Card
    minutes: int
    rung: str
    share: int
    players: tuple[int, ...] | None = None


Stay = tuple[int, int | None]  # minutes from the beginning of the night; None: to its end, however late that was


@dataclass(frozen=True, slots=True)
class Field:
    """Who was on the field that night, from when until when, and the most that each may do."""

    stays: Mapping[int, Stay]
    levels: Mapping[int, Level]

    def level(self, player: int) -> Level:
        return self.levels.get(player, Level.ABSENT)


def standing(told: Iterable[Told]) -> dict[str, Told]:
    """By spot the account that counts: the one that no other replaces, of several the latest."""
    told = list(told)
    replaced = {each.replaces for each in told}
    heads = [each for each in told if each.key not in replaced]
    return {each.block.spot: each for each in sorted(heads, key=lambda each: each.key)}


def night_of(planned: Iterable[Planned], told: Iterable[Told], on: Field, *, is_confirmed: bool) -> list[Block]:
    """The spots of the night in the order of time; of a confirmed one exactly what was told."""
    known = {spot: each.block for spot, each in standing(told).items()}
    open_spots = [] if is_confirmed else [each for each in planned if each.spot not in known]
    starts = starts_of([*known.values()], open_spots)
    filled = (filled_in(each, starts[each.order], on) for each in open_spots)
    return sorted([*known.values(), *filled], key=lambda block: (block.order, block.letter, block.spot))


def starts_of(known: Collection[Block], planned: Collection[Planned]) -> dict[int, int]:
    """The minute at which each order begins: as long as was told of the ones before, else as planned."""
    told: dict[int, int] = defaultdict(int)
    meant: dict[int, int] = defaultdict(int)
    for block in known:
        told[block.order] = max(told[block.order], block.minutes)
    for each in planned:
        meant[each.order] = max(meant[each.order], each.minutes)
    starts, minute = {}, 0
    for order in sorted(told.keys() | meant.keys()):
        starts[order] = minute
        minute += told[order] if order in told else meant[order]
    return starts


def filled_in(planned: Planned, starts: int, on: Field) -> Block:
    """The spot as it ran if everything went by the plan, with who was there for as long as he was."""
    placed = planned.players is not None
    listed = planned.players if planned.players is not None else tuple(sorted(on.stays))
    part = Part(planned.minutes, planned.rung, planned.share, planned.rung)
    here = {player: found for player in listed if (found := here_in(part, starts, player, on)) is not None}
    away = tuple(player for player in listed if on.level(player) is Level.ABSENT) if placed else ()
    return Block(planned.spot, planned.order, planned.letter, planned.card, (replace(part, here=here),), placed, away)


def here_in(part: Part, starts: int, player: int, on: Field) -> Here | None:
    """For how long a player is in a part that begins at a minute of the night; None if not for any of it."""
    level, stay = on.level(player), on.stays.get(player)
    if level is Level.ABSENT or stay is None:
        return None
    came, left = stay
    first = max(0, came - starts)
    last = part.minutes if left is None else min(part.minutes, left - starts)
    if last <= first:
        return None
    return Here(last - first, first, aside=not level.allows(part.kind))


def cut(parts: Sequence[Part], minute: int) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """The parts before a minute of the spot, and those from it on; each player stays where he was."""
    before: list[Part] = []
    after: list[Part] = []
    starts = 0
    for part in parts:
        at = min(max(minute - starts, 0), part.minutes)
        before.append(slice_of(part, 0, at))
        after.append(slice_of(part, at, part.minutes))
        starts += part.minutes
    return tuple(p for p in before if p.minutes), tuple(p for p in after if p.minutes)


def slice_of(part: Part, first: int, last: int) -> Part:
    here = {}
    for player, each in part.here.items():
        came, left = max(each.after, first), min(each.after + each.minutes, last)
        if left > came:
            here[player] = replace(each, minutes=left - came, after=came - first)
    return replace(part, minutes=last - first, here=here)


def same_parts(one: Sequence[Part], other: Sequence[Part]) -> bool:
    """Whether two accounts say the same: how long, at which rung, and who was there for how long."""
    return [(part.minutes, part.rung, dict(part.here)) for part in one] == [
        (part.minutes, part.rung, dict(part.here)) for part in other
    ]


def dropped(parts: Sequence[Part], minute: int, rung: str, levels: Mapping[int, Level]) -> tuple[Part, ...]:
    """From a minute of the spot on at another rung; who may take part in that one does so."""
    before, after = cut(parts, minute)
    return (*before, *(at_rung(part, rung, levels) for part in after))


def at_rung(part: Part, rung: str, levels: Mapping[int, Level]) -> Part:
    """A walk-through is without contact; otherwise the share of the card stays."""
    kind = kind_of(rung)
    here = {
        player: replace(each, aside=each.aside and not levels.get(player, Level.ABSENT).allows(kind))
        for player, each in part.here.items()
    }
    return replace(part, rung=rung, share=0 if rung == "C0" else part.share, here=here)


@dataclass(frozen=True, slots=True)
class Took:
    """One player in one part of one spot: `minutes` of his own, `contact` in hundredths of a minute."""

    player: int
    session: int
    day: dt.date
    block: Block
    part: Part
    minutes: int
    aside: bool
    source: Source

    @property
    def kind(self) -> Kind:
        return self.part.kind

    @property
    def contact(self) -> int:
        return 0 if self.aside or self.kind is Kind.NONE else self.minutes * self.part.share

    def skill_minutes(self, groups: Collection[str] = ()) -> dict[str, float]:
        """Minutes of each skill of the card that count for a player of these groups."""
        return {
            skill.code: self.minutes * skill.share / 100
            for skill in self.block.card.skills
            if skill.groups is None or set(skill.groups) & set(groups)
        }


def taken(blocks: Iterable[Block], session: int, day: dt.date, source: Source) -> Iterator[Took]:
    """Who did what, in the order of time."""
    for block in blocks:
        for part in block.parts:
            for player, here in part.here.items():
                yield Took(player, session, day, block, part, here.minutes, here.aside, source)


@dataclass(frozen=True, slots=True)
class DaySum:
    """One player's day: minutes of training, and hundredths of a minute in contact by kind."""

    minutes: int = 0
    contact: Mapping[Kind, int] = field(default_factory=dict)


def day_sums(took: Iterable[Took]) -> dict[tuple[int, dt.date], DaySum]:
    """By player and day: always the sum of what he took part in."""
    minutes: dict[tuple[int, dt.date], int] = defaultdict(int)
    contact: dict[tuple[int, dt.date], dict[Kind, int]] = defaultdict(lambda: defaultdict(int))
    for each in took:
        key = each.player, each.day
        minutes[key] += each.minutes
        if each.contact:
            contact[key][each.kind] += each.contact
    return {key: DaySum(much, dict(contact[key])) for key, much in minutes.items()}


def too_much_at_once(blocks: Iterable[Block]) -> dict[int, int]:
    """Players who are down for more minutes of spots side by side than the longest of these took, and how many."""
    found: dict[int, int] = {}
    by_order: dict[int, list[Block]] = defaultdict(list)
    for block in blocks:
        by_order[block.order].append(block)
    for beside in by_order.values():
        length = max(block.minutes for block in beside)
        spent: dict[int, int] = defaultdict(int)
        for block in beside:
            for part in block.parts:
                for player, here in part.here.items():
                    spent[player] += here.minutes
        found |= {player: minutes for player, minutes in spent.items() if minutes > length}
    return found
