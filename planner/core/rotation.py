"""Groups that swap stations: who is where in which round, whether the night has the time, coaches, kit and room.

The stations are taken in waves of as many as can run at once. Within a wave every group goes from station to
station until all have been at all of them. Nothing here is a search: what does not fit is said with its reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from planner.core.groups import Group, Job, Person, deal, jobs, joined, pairs
from planner.core.parts import Contact
from planner.core.sheet import TOLERANCE


@dataclass(frozen=True, slots=True)
class Card:
    """A drill as one group would run it. `kit` and `area` (m²) are those for the largest group that is dealt.

    `share` of the minutes is contact of the kind; with kind `none` it is touch, which no limit counts. `coaches` are
    adults: nothing runs without one. `in_pairs`: two and two against each other.
    """

    id: str
    players: tuple[int, int]
    minutes: tuple[int, int]
    kind: Contact = Contact.NONE
    share: float = 0
    coaches: int = 1
    area: float = 0
    kit: Mapping[str, int] | None = None

    @property
    def adults(self) -> int:
        return max(1, self.coaches)

    @property
    def in_pairs(self) -> bool:
        return self.kind is not Contact.NONE

    def takes_part(self, person: Person) -> bool:
        """Whoever may do no contact stands aside from touch as well."""
        return person.ceiling.allows(self.kind) and not (self.share and person.is_non_contact)


@dataclass(frozen=True, slots=True)
class Means:
    """What the night has: adult coaches, stations at once, m², kit (None: not counted), minutes in all."""

    adults: int
    stations: int
    area: float
    minutes: float
    kit: Mapping[str, int] | None = None


@dataclass(frozen=True, slots=True)
class Stand:
    """A group at a station in one round: who works, who helps with what, who is against whom."""

    card: Card
    groups: tuple[int, ...]
    workers: tuple[Person, ...]
    helpers: tuple[tuple[Person, Job], ...]
    pairs: tuple[tuple[Person, Person], ...] = ()


Round = tuple[Stand, ...]


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why it does not work. `what` names the kind: no_adult, players, kit, area, stations, minutes, time, nobody."""

    what: str
    card: str | None = None
    needed: float = 0
    there: float = 0
    item: str = ""


@dataclass(frozen=True)
class Rotation:
    """`waves` are stations side by side, as indices into `cards`; `minutes` of a round, `change` between two rounds.

    `fixed` are the minutes of everything else: brief, warm-up, water, team block, close.
    """

    cards: tuple[Card, ...]
    groups: tuple[Group, ...]
    waves: tuple[tuple[Card, ...], ...]
    minutes: int
    change: float
    fixed: float
    means: Means

    @cached_property
    def rounds(self) -> tuple[Round, ...]:
        return tuple(_round(wave, self.groups, turn) for wave in self.waves for turn in range(len(wave)))

    @property
    def length(self) -> float:
        """Minutes of the whole night."""
        rounds = len(self.rounds)
        return self.fixed + rounds * self.minutes + max(0, rounds - 1) * self.change

    @property
    def works(self) -> bool:
        return not self.troubles

    @cached_property
    def troubles(self) -> tuple[Trouble, ...]:
        found = (*_of_time(self), *(each for one in self.rounds for each in _of_round(one, self.means)))
        return tuple(dict.fromkeys(found))

    @property
    def longest_that_fits(self) -> int:
        """Minutes of a round that the night has time for; 0 if none."""
        rounds = len(self.rounds)
        left = self.means.minutes - self.fixed - max(0, rounds - 1) * self.change
        return max(0, int((left + TOLERANCE) // rounds)) if rounds else 0

    def contact(self, person: str) -> dict[Contact, float]:
        """Minutes by kind in the rounds; under `none` those of touch."""
        spent: dict[Contact, float] = dict.fromkeys(Contact, 0.0)
        for stand in (stand for one in self.rounds for stand in one):
            if any(worker.id == person for worker in stand.workers):
                spent[stand.card.kind] += self.minutes * stand.card.share
        return spent


def rotate(
    cards: Sequence[Card],
    people: Iterable[Person],
    means: Means,
    *,
    minutes: int,
    change: float,
    fixed: float,
    at_once: int | None = None,
) -> Rotation:
    """The stations in their order, as many at once as there are adults for (or `at_once`, if given), and the groups.

    There are as many groups as stations at once.
    """
    waves = waves_of(cards, means, at_once)
    count = max((len(wave) for wave in waves), default=1)
    return Rotation(tuple(cards), deal(people, count), waves, minutes, change, fixed, means)


def waves_of(cards: Sequence[Card], means: Means, at_once: int | None = None) -> tuple[tuple[Card, ...], ...]:
    """Each takes the next stations as long as there are adults and places for them; at least one."""
    waves: list[list[Card]] = []
    for card in cards:
        most = min(at_once or len(cards), max(1, means.stations))
        if waves and len(waves[-1]) < most and sum(c.adults for c in (*waves[-1], card)) <= means.adults:
            waves[-1].append(card)
        else:
            waves.append([card])
    return tuple(map(tuple, waves))


def _round(wave: tuple[Card, ...], groups: tuple[Group, ...], turn: int) -> Round:
    """Each group one station further than in the turn before; in a short wave whole groups stand together."""
    together = joined(groups, len(wave)) if len(wave) < len(groups) else groups
    members = [tuple(range(n, len(groups), len(wave))) for n in range(len(wave))]
    return tuple(
        stand(card, members[(n - turn) % len(wave)], together[(n - turn) % len(wave)]) for n, card in enumerate(wave)
    )


def stand(card: Card, numbers: tuple[int, ...], group: Group) -> Stand:
    """The odd one has a job where the work is two and two and somebody can stand aside."""
    workers = tuple(person for person in group.people if card.takes_part(person))
    helpers = [person for person in group.people if person not in workers]
    against: tuple[tuple[Person, Person], ...] = ()
    if card.in_pairs:
        against, spare = pairs(workers)
        if spare is not None:
            helpers.append(spare)
    return Stand(card, numbers, workers, jobs(helpers), against)


def _of_time(night: Rotation) -> Iterator[Trouble]:
    if night.length > night.means.minutes + TOLERANCE:
        yield Trouble("time", needed=night.length, there=night.means.minutes)
    for card in night.cards:
        if not card.minutes[0] <= night.minutes <= card.minutes[1]:
            edge = card.minutes[0] if night.minutes < card.minutes[0] else card.minutes[1]
            yield Trouble("minutes", card.id, edge, night.minutes)


def _of_round(one: Round, means: Means) -> Iterator[Trouble]:
    adults = sum(stand.card.adults for stand in one)
    if adults > means.adults:
        yield Trouble("no_adult", one[0].card.id if len(one) == 1 else None, adults, means.adults)
    if len(one) > means.stations:
        yield Trouble("stations", None, len(one), means.stations)
    for stand in one:
        yield from _of_number(stand)
    if (area := sum(stand.card.area for stand in one)) > means.area + TOLERANCE:
        yield Trouble("area", None, area, means.area)
    yield from _of_kit(one, means)


def _of_number(stand: Stand) -> Iterator[Trouble]:
    least, most = stand.card.players
    if len(stand.workers) < least:
        yield Trouble("players", stand.card.id, least, len(stand.workers))
    elif len(stand.workers) > most:
        yield Trouble("players", stand.card.id, most, len(stand.workers))


def _of_kit(one: Round, means: Means) -> Iterator[Trouble]:
    if means.kit is None:
        return
    items = dict.fromkeys(item for stand in one for item in stand.card.kit or ())
    for item in items:
        needed = sum((stand.card.kit or {}).get(item, 0) for stand in one)
        if needed > means.kit.get(item, 0):
            yield Trouble("kit", None, needed, means.kit.get(item, 0), item)


@dataclass(frozen=True, slots=True)
class Mend:
    """What would make it work: rounds of so many `minutes`, or one station (`card`) carried over to another night."""

    minutes: int | None = None
    card: str | None = None


def mends(night: Rotation) -> tuple[Mend, ...]:
    """Shorter rounds first, as long as every card still runs in them; then each station that could be left out."""
    if night.works:
        return ()
    shorter = night.longest_that_fits
    found = [Mend(minutes=shorter)] if shorter < night.minutes and again(night, minutes=shorter).works else []
    for card in night.cards if len(night.cards) > 1 else ():
        rest = [other for other in night.cards if other is not card]
        if again(night, cards=rest).works:
            found.append(Mend(card=card.id))
    return tuple(found)


def again(night: Rotation, *, cards: Sequence[Card] | None = None, minutes: int | None = None) -> Rotation:
    """The same night with other stations or other rounds."""
    return rotate(
        night.cards if cards is None else cards,
        [person for group in night.groups for person in group.people],
        night.means,
        minutes=night.minutes if minutes is None else minutes,
        change=night.change,
        fixed=night.fixed,
        at_once=len(night.groups),
    )


def change_overs(rounds: int, change: float) -> tuple[int, ...]:
    """Whole minutes between the rounds whose sum is never more than half a minute from the exact one."""
    marks = [int(n * change + 0.5) for n in range(max(0, rounds - 1) + 1)]
    return tuple(later - earlier for earlier, later in pairwise(marks))
