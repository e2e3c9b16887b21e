"""Groups that swap, from the rows of a night: who is here, which cards, what the night has; and what comes of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills import words
from drills.models import Drill
from planner.attendance_here import HereLine, here_of
from planner.building.house_rules import PLAYERS_A_COACH
from planner.building.nights import dark_in, moment_of
from planner.core.groups import Person
from planner.core.parts import Ceiling, Contact
from planner.core.rotation import Card, Means, Mend, Rotation, Stand, Trouble, mends, rotate, waves_of
from planner.core.words import number
from planner.models import Session, Slot
from planner.swap_models import Swap, swaps_of
from shared.core.contact import Level
from squads.models import Player, SizeBand

CHANGE = 1.5  # minutes between two rounds; common practice, without a source
SIZES = {SizeBand.LIGHT: 0, SizeBand.MIDDLE: 1, SizeBand.HEAVY: 2}


@dataclass(frozen=True)
class Evening:
    """What a swap is made from. `ahead`: slots to plan that have not begun and have light; `slots`: the ones chosen."""

    session: Session
    lines: tuple[HereLine, ...]
    is_marked: bool
    ahead: tuple[Slot, ...]
    slots: tuple[Slot, ...]
    swap: Swap | None

    @property
    def minutes(self) -> int:
        return sum(slot.minutes for slot in self.session.slots.all())

    @cached_property
    def drills(self) -> list[Drill]:
        """The cards that stand in the slots ahead, in the order in which they come."""
        standing = [station.drill for slot in self.ahead for station in slot.stations.all()]
        return list({drill.pk: drill for drill in standing}.values())

    @property
    def usual_drills(self) -> list[int]:
        """Keys of the cards of the chosen slots."""
        standing = (station.drill_id for slot in self.slots for station in slot.stations.all())
        return list(dict.fromkeys(standing))

    @property
    def usual_minutes(self) -> int:
        return min((slot.minutes for slot in self.slots), default=10)

    @property
    def people(self) -> list[Person]:
        return [person_of(line.player, line.level) for line in self.lines]

    @property
    def players(self) -> dict[int, Player]:
        return {line.player.pk: line.player for line in self.lines}


def evening_of(session: Session, now: dt.datetime | None = None, chosen: Collection[int] | None = None) -> Evening:
    """Who was marked here; before anybody is, who is expected. Whoever may not train at all is left out.

    Unless slots are chosen (keys) they are those of the swap that stands, else those with stations side by side.
    """
    here = here_of(session)
    lines = here.here or [line for line in here.lines if line.expected]
    night = here.session
    slots = list(night.slots.all())
    dark = set(dark_in(night))
    lit = (slot for n, slot in enumerate(slots) if now is None or moment_of(night, n) > now)
    ahead = tuple(slot for slot in lit if slot.is_planned and slot not in dark)
    swap = swaps_of([night]).get(night.pk)
    return Evening(
        night,
        tuple(line for line in lines if line.level is not Level.ABSENT),
        bool(here.here),
        ahead,
        chosen_of(ahead, swap, chosen),
        swap,
    )


def chosen_of(ahead: tuple[Slot, ...], swap: Swap | None, chosen: Collection[int] | None) -> tuple[Slot, ...]:
    if chosen is None:
        chosen = swap.slots if swap else [slot.pk for slot in ahead if len(slot.stations.all()) > 1]
    return tuple(slot for slot in ahead if slot.pk in chosen) or ahead


def person_of(player: Player, level: Level) -> Person:
    size = SIZES[SizeBand(player.size_band)]
    return Person(str(player.pk), player.group, size, player.seasons_played, Ceiling(level))


@dataclass(frozen=True)
class Asked:
    """What somebody wants to swap: these cards in this order, rounds of so many minutes, in this many in all."""

    drills: tuple[Drill, ...]
    minutes: int
    change: float
    in_all: int


@dataclass(frozen=True)
class Proposed:
    """A rotation for an evening. `changes` are whole minutes to put between rounds that nothing lies between."""

    evening: Evening
    asked: Asked
    rotation: Rotation

    @property
    def slots(self) -> tuple[Slot, ...]:
        return self.evening.slots

    @cached_property
    def drills(self) -> Mapping[str, Drill]:
        return {str(drill.pk): drill for drill in self.asked.drills}

    @cached_property
    def troubles(self) -> list[str]:
        return [trouble_words(each, self.drills) for each in self.rotation.troubles]

    @property
    def groups(self) -> list[list[int]]:
        """Keys of the players, as a row keeps them."""
        return [[int(person.id) for person in group.people] for group in self.rotation.groups]

    @cached_property
    def mends(self) -> list[tuple[Mend, str]]:
        return [(mend, mend_words(mend, self.drills)) for mend in mends(self.rotation)]


def propose(evening: Evening, asked: Asked) -> Proposed:
    """Fixed content between two rounds is their change; where there is none, `asked.change` minutes come between."""
    people = evening.people
    means = means_of(evening, asked)
    waves = waves_of([card_of(drill, 0) for drill in asked.drills], means)
    most = max((len(wave) for wave in waves), default=1)
    sizes = {card.id: share(len(people), most, len(wave)) for wave in waves for card in wave}
    cards = [card_of(drill, sizes[str(drill.pk)]) for drill in asked.drills]
    rounds = sum(len(wave) for wave in waves)
    bare = len(bare_gaps(evening, rounds))
    rotation = rotate(
        cards,
        people,
        means,
        minutes=asked.minutes,
        change=asked.change * bare / (rounds - 1) if rounds > 1 else 0,
        fixed=evening.minutes - sum(slot.minutes for slot in evening.slots) - own_changes(evening),
    )
    return Proposed(evening, asked, rotation)


def share(people: int, groups: int, stations: int) -> int:
    """Players at one station of a wave: of so many groups, as many as stand together there."""
    together = -(-groups // stations)
    return min(people, -(-people // groups) * together)


def means_of(evening: Evening, asked: Asked) -> Means:
    night = evening.session
    return Means(night.coaches, night.stations, night.area, asked.in_all, night.kit or None)


def card_of(drill: Drill, players: int) -> Card:
    """One coach sees so many players and no more, whatever the card takes."""
    most = min(drill.players_most, PLAYERS_A_COACH * max(1, drill.coaches))
    return Card(
        str(drill.pk),
        (drill.players_least, most),
        (drill.minutes_least, drill.minutes_most),
        Contact(drill.kind),
        drill.contact_share / 100,
        drill.coaches,
        drill.area(players),
        drill.kit_for(players),
    )


def is_own_change(slot: Slot) -> bool:
    """A change that a swap put in, and the next one takes out again."""
    return slot.title == _("Change") and not slot.rpe and not slot.contact_share


def own_changes(evening: Evening) -> int:
    return sum(slot.minutes for slot in changes_between(evening))


def changes_between(evening: Evening) -> list[Slot]:
    if not evening.slots:
        return []
    first, last = evening.slots[0].order, evening.slots[-1].order
    return [slot for slot in evening.session.slots.all() if first < slot.order < last and is_own_change(slot)]


def bare_gaps(evening: Evening, rounds: int) -> list[int]:
    """After which rounds, counted from 0, no fixed content of the night comes by itself before the next."""
    kept = [slot for slot in evening.session.slots.all() if slot not in changes_between(evening)]
    place = {slot.pk: n for n, slot in enumerate(kept)}
    at = [place[slot.pk] for slot in evening.slots]
    return [n for n in range(rounds - 1) if n + 1 >= len(at) or at[n + 1] == at[n] + 1]


def trouble_words(trouble: Trouble, drills: Mapping[str, Drill]) -> str:
    told = {
        "drill": drills.get(trouble.card or ""),
        "needed": number(trouble.needed),
        "there": number(trouble.there),
        "item": words.pieces(trouble.item, int(trouble.needed)) if trouble.item else "",
    }
    return TROUBLES[trouble.what](trouble) % told


TROUBLES = {
    "no_adult": lambda t: _(
        "No station runs without an adult coach: %(needed)s are needed at once, %(there)s are here."
    ),
    "players": lambda t: (
        _("%(drill)s needs at least %(needed)s who take part, a group has %(there)s.")
        if t.there < t.needed
        else _("%(drill)s takes at most %(needed)s, a group has %(there)s.")
    ),
    "kit": lambda t: _("%(item)s are needed at once, there are %(there)s."),
    "area": lambda t: _("%(needed)s m² of grass are needed at once, there are %(there)s."),
    "stations": lambda t: _("%(needed)s stations at once are needed, there is room for %(there)s."),
    "minutes": lambda t: (
        _("%(drill)s runs for at least %(needed)s minutes, a round has %(there)s.")
        if t.there < t.needed
        else _("%(drill)s runs for at most %(needed)s minutes, a round has %(there)s.")
    ),
    "time": lambda t: _("The night would last %(needed)s minutes, it has %(there)s."),
}


def mend_words(mend: Mend, drills: Mapping[str, Drill]) -> str:
    if mend.card is not None:
        return _("Leave out %(drill)s tonight, and carry it over to another night.") % {"drill": drills[mend.card]}
    return ngettext("Rounds of %(n)d minute.", "Rounds of %(n)d minutes.", mend.minutes) % {"n": mend.minutes}


def round_of(slot: int | None, stands: Collection[Stand]) -> dict[str, Any]:
    """As a row keeps it."""
    return {
        "slot": slot,
        "stands": [
            {
                "drill": int(stand.card.id),
                "groups": list(stand.groups),
                "pairs": [[int(one.id), int(other.id)] for one, other in stand.pairs],
                "helpers": [[int(person.id), str(job)] for person, job in stand.helpers],
            }
            for stand in stands
        ],
    }
