"""The parts of a planning problem that are given facts: players, drills, sessions and limits."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from planner.core.reading import Node
from planner.core.writing import WHEN_GIVEN, as_object

LONGEST_SLOT = 1440  # minutes: a day


class Contact(StrEnum):
    """What kind of contact a drill holds."""

    NONE = "none"
    CONTROLLED = "controlled"
    SET_PIECE = "set_piece"
    FULL = "full"


class Ceiling(StrEnum):
    """The most that a player may take part in on a day."""

    ABSENT = "absent"
    NONE = "none"
    CONTROLLED = "controlled"
    FULL = "full"

    def allows(self, contact: Contact) -> bool:
        """A player who is absent may take part in nothing, not even without contact."""
        return contact in _ALLOWED[self]


_ALLOWED: dict[Ceiling, frozenset[Contact]] = {
    Ceiling.ABSENT: frozenset(),
    Ceiling.NONE: frozenset({Contact.NONE}),
    Ceiling.CONTROLLED: frozenset({Contact.NONE, Contact.CONTROLLED}),
    Ceiling.FULL: frozenset(Contact),
}


@dataclass(frozen=True, slots=True)
class Done:
    """Minutes at one rung of a ladder that a player has behind him before the block."""

    ladder: str
    rung: int
    date: date
    minutes: int

    @classmethod
    def read(cls, key: str, pair: Node) -> Done:
        ladder, _, rung = key.rpartition(":")
        if not ladder or not rung.isascii() or not rung.isdigit() or str(int(rung[:9])) != rung:
            raise pair.refuse("the key is not a rung of a ladder", 'write "LADDER:RUNG", as in "tackle:2"')
        entry = pair.items()
        if len(entry) != 2:
            raise pair.refuse("is not a pair", "write [date, minutes]")
        return cls(ladder, int(rung), entry[0].day(), entry[1].whole(0, LONGEST_SLOT))


@dataclass(frozen=True, slots=True)
class Accrued:
    """Contact minutes of one kind that a player has already spent in a week of the block."""

    week: int
    contact: Contact
    minutes: float


@dataclass(frozen=True, slots=True)
class Player:
    id: str
    roles: tuple[str, ...]
    done: tuple[Done, ...] = ()
    accrued: tuple[Accrued, ...] = ()

    def has(self, roles: Collection[str]) -> bool:
        """True if he has at least one of these roles."""
        return any(role in roles for role in self.roles)

    def spent(self, week: int, contact: Contact) -> float:
        """Contact minutes of this kind that are already gone in that week."""
        return sum(a.minutes for a in self.accrued if a.week == week and a.contact is contact)

    @classmethod
    def read(cls, node: Node, weeks: int) -> Player:
        done = tuple(Done.read(key, pair) for key, pairs in node.get("done").entries() for pair in pairs.items())
        return cls(node.get("id").text(), node.get("roles").needed().texts(), done, cls._accrued(node, weeks))

    @staticmethod
    def _accrued(node: Node, weeks: int) -> tuple[Accrued, ...]:
        accrued = []
        for week, kinds in node.get("accrued").entries():
            if week not in map(str, range(weeks)):
                raise kinds.refuse("that is not a week of the block", f'write "0" to "{weeks - 1}"')
            for kind, minutes in kinds.entries():
                contact = Node(kind, kinds.where).choice(Contact)
                accrued.append(Accrued(int(week), contact, minutes.amount()))
        return tuple(accrued)

    def to_json(self) -> dict[str, Any]:
        done: dict[str, list[list[Any]]] = {}
        for entry in self.done:
            done.setdefault(f"{entry.ladder}:{entry.rung}", []).append([str(entry.date), entry.minutes])
        accrued: dict[str, dict[str, float]] = {}
        for spent in self.accrued:
            accrued.setdefault(str(spent.week), {})[spent.contact.value] = spent.minutes
        return {"id": self.id, "roles": list(self.roles), "done": done, "accrued": accrued}


@dataclass(frozen=True, slots=True)
class SkillShare:
    """The part of a drill's minutes that trains a skill, for players with one of `roles` (None: for all)."""

    skill: str
    share: float
    roles: tuple[str, ...] | None = None

    def counts_for(self, player: Player) -> bool:
        return self.roles is None or player.has(self.roles)

    @classmethod
    def read(cls, node: Node, skills: Collection[str]) -> SkillShare:
        roles = node.get("roles")
        return cls(
            node.get("skill").one_of(skills, "skill"),
            node.get("share").amount(0, 1),
            roles.texts() if roles.given else None,
        )


@dataclass(frozen=True, slots=True)
class Repeats:
    """How often a drill runs in the block: `least` is wished for at a weight, `most` and `gap_days` have to be kept.

    `most` None: as often as you like. `gap_days` is the least difference between two dates on which it runs.
    """

    least: int = 0
    most: int | None = None
    gap_days: int = 0
    weight: float = 0

    @classmethod
    def read(cls, node: Node) -> Repeats:
        if not node.given:
            return cls()
        most, weight = node.get("most"), node.get("weight")
        repeats = cls(
            node.get("least").whole_or(0),
            most.whole() if most.given else None,
            node.get("gap_days").whole_or(0),
            weight.amount() if weight.given else 0,
        )
        if repeats.most is not None and repeats.least > repeats.most:
            raise node.refuse(f"least {repeats.least} is above most {repeats.most}", "exchange them")
        return repeats


class Keep(StrEnum):
    """Whether the units of a drill work apart from each other or with each other."""

    TOGETHER = "together"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class Units:
    """Roles that a station keeps to one of (`together`), or has `least` players of each of (`mixed`)."""

    roles: tuple[str, ...]
    keep: Keep
    least: int = 1

    def of(self, player: Player) -> str | None:
        """His unit: the first of these roles that he has; None for a player who may stand with any of them."""
        return next((role for role in self.roles if role in player.roles), None)

    @classmethod
    def read(cls, node: Node) -> Units | None:
        if not node.given:
            return None
        roles = node.get("roles").needed().texts()
        if len(set(roles)) < max(2, len(roles)):
            raise node.refuse("roles does not name two different roles", "name each unit once, and two at least")
        return cls(roles, node.get("keep").choice(Keep), node.get("least").whole_or(1, low=1))


@dataclass(frozen=True, slots=True)
class Drill:
    """`players` and `minutes` are (least, most); `share` is the part of its minutes spent in contact.

    `theme` is the aim that it serves; a `fresh` drill wants legs and heads that are not tired yet.
    """

    id: str
    roles: tuple[str, ...]
    needs: Mapping[str, int]
    players: tuple[int, int]
    minutes: tuple[int, int]
    rpe: int
    kind: Contact
    share: float
    skills: tuple[SkillShare, ...]
    coaches: int = 0
    area: float = 0
    kit: Mapping[str, int] = field(default_factory=dict)
    ladder: str | None = None
    rung: int = 1
    theme: str | None = field(default=None, metadata=WHEN_GIVEN)
    fresh: bool = field(default=False, metadata=WHEN_GIVEN)
    repeats: Repeats = field(default=Repeats(), metadata=WHEN_GIVEN)
    units: Units | None = field(default=None, metadata=WHEN_GIVEN)

    def all_needs(self) -> dict[str, int]:
        """How many of each role a station needs, those of the units that it mixes among them."""
        mixed = self.units if self.units is not None and self.units.keep is Keep.MIXED else None
        units = {role: max(self.needs.get(role, 0), mixed.least) for role in mixed.roles} if mixed else {}
        return {**self.needs, **units}

    def share_for(self, player: Player, skill: str) -> float:
        """The part of its minutes that counts towards the skill for this player."""
        return sum(entry.share for entry in self.skills if entry.skill == skill and entry.counts_for(player))

    def contact_minutes(self, minutes: int) -> float:
        """Minutes of contact in so many minutes of the drill."""
        return 0 if self.kind is Contact.NONE else minutes * self.share

    @classmethod
    def read(cls, node: Node, skills: Collection[str]) -> Drill:
        contact, ladder, theme = node.get("contact"), node.get("ladder"), node.get("theme")
        kind = contact.get("kind").choice(Contact)
        share = contact.get("share")
        return cls(
            id=node.get("id").text(),
            roles=node.get("roles").needed().texts(),
            needs=node.get("needs").counts(),
            players=node.get("players").span(1000),
            minutes=node.get("minutes").span(LONGEST_SLOT),
            rpe=node.get("rpe").whole(1, 10),
            kind=kind,
            share=share.amount(0, 1) if share.given or kind is not Contact.NONE else 0,
            skills=tuple(SkillShare.read(entry, skills) for entry in node.get("skills").needed().items()),
            coaches=node.get("coaches").whole() if node.get("coaches").given else 0,
            area=node.get("area").amount() if node.get("area").given else 0,
            kit=node.get("kit").counts(),
            ladder=ladder.text() if ladder.given else None,
            rung=node.get("rung").whole(1, 1000) if ladder.given else 1,
            theme=theme.text() if theme.given else None,
            fresh=node.get("fresh").flag(),
            repeats=Repeats.read(node.get("repeats")),
            units=Units.read(node.get("units")),
        )

    def to_json(self) -> dict[str, Any]:
        written = as_object(self)
        written["contact"] = {"kind": written.pop("kind"), "share": written.pop("share")}
        return written


@dataclass(frozen=True, slots=True)
class Session:
    """A training session: `slots` holds the minutes of each slot, `stations` to `kit` what one slot can hold.

    `themes_most` is how many themes it may have (None: any number), `nothing_new` that its drills have to be
    known, `breaks` the slots before which there is a water break.
    """

    id: str
    date: date
    slots: tuple[int, ...]
    stations: int
    coaches: int
    area: float
    kit: Mapping[str, int] = field(default_factory=dict)
    themes_most: int | None = field(default=None, metadata=WHEN_GIVEN)
    nothing_new: bool = field(default=False, metadata=WHEN_GIVEN)
    breaks: tuple[int, ...] = field(default=(), metadata=WHEN_GIVEN)

    @classmethod
    def read(cls, node: Node) -> Session:
        slots = tuple(slot.whole(1, LONGEST_SLOT) for slot in node.get("slots").needed().items())
        themes = node.get("themes_most")
        return cls(
            id=node.get("id").text(),
            date=node.get("date").day(),
            slots=slots,
            stations=node.get("stations").whole(),
            coaches=node.get("coaches").whole(),
            area=node.get("area").amount(),
            kit=node.get("kit").counts(),
            themes_most=themes.whole() if themes.given else None,
            nothing_new=node.get("nothing_new").flag(),
            breaks=tuple(cls._break(entry, len(slots)) for entry in node.get("breaks").items()),
        )

    @staticmethod
    def _break(entry: Node, slots: int) -> int:
        if (before := entry.whole()) not in range(1, slots):
            between = f"name a slot from 1 to {slots - 1}" if slots > 1 else "leave it out"
            raise entry.refuse(f"there is no break before slot {before} of {slots}, counted from 0", between)
        return before


@dataclass(frozen=True, slots=True)
class LadderRule:
    """So many minutes at the rung below within so many days before a rung may be stood on."""

    minutes: int
    days: int


@dataclass(frozen=True, slots=True)
class Limits:
    """What binds in a week; a kind of contact that is missing, or None, does not bind."""

    weekly: Mapping[Contact, float] = field(default_factory=dict)
    full_days_per_week: int | None = None
    repeats_per_week: int | None = None
    ladder: LadderRule | None = None

    @classmethod
    def read(cls, node: Node) -> Limits:
        if not node.given:
            return cls()
        weekly = {
            Node(kind, node.get("weekly").where).choice(Contact): minutes.amount()
            for kind, minutes in node.get("weekly").entries()
        }
        full_days, repeats, ladder = (node.get(key) for key in ("full_days_per_week", "repeats_per_week", "ladder"))
        return cls(
            weekly,
            full_days.whole() if full_days.given else None,
            repeats.whole() if repeats.given else None,
            LadderRule(ladder.get("minutes").whole(), ladder.get("days").whole()) if ladder.given else None,
        )
