"""Groups of a night by name: even in size and mixed by position, with pairs for contact and a job for whoever is spare.

How coaches deal on the field: common practice, without a published source. No player is ever given work above
what he may do: whoever may do no contact helps wherever there is any, touch included.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

from planner.core.parts import Ceiling

SIZE_STEP = 100  # a step of size weighs more than any number of seasons played
EXPERIENCED = 20  # seasons: beyond that nobody counts


class Job(StrEnum):
    """What somebody does who has no place in the work itself."""

    FEEDER = "feeder"  # puts the ball in
    TALKER = "talker"  # calls the line
    TIMEKEEPER = "timekeeper"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who is there. `position` is his group (FR, SR, ..); `size` 0 light, 1 middle, 2 heavy."""

    id: str
    position: str
    size: int = 1
    seasons: int = 0
    ceiling: Ceiling = Ceiling.FULL

    @property
    def is_non_contact(self) -> bool:
        return self.ceiling in (Ceiling.NONE, Ceiling.ABSENT)


@dataclass(frozen=True, slots=True)
class Group:
    """`workers` take part in contact as far as each may, `others` are non-contact players."""

    workers: tuple[Person, ...]
    others: tuple[Person, ...] = ()

    @property
    def people(self) -> tuple[Person, ...]:
        return self.workers + self.others

    def __len__(self) -> int:
        return len(self.workers) + len(self.others)


def deal(people: Iterable[Person], count: int) -> tuple[Group, ...]:
    """So many groups, the largest first: no two differ by more than one player, nor by more than one of a position.

    Non-contact players come last, to the groups that have fewest. Raises ValueError without a group to deal to.
    """
    if count < 1:
        raise ValueError("at least one group is needed")
    people = sorted(people, key=_by_position)
    workers = [person for person in people if not person.is_non_contact]
    others = [person for person in people if person.is_non_contact]
    return tuple(
        Group(tuple(workers[start::count]), tuple(others[(start - len(workers)) % count :: count]))
        for start in range(count)
    )


def _by_position(person: Person) -> tuple[str, int, int, str]:
    """Neighbours in this order are alike, so that dealing them out one by one spreads them."""
    return person.position, -person.size, -person.seasons, person.id


def joined(groups: Sequence[Group], count: int) -> tuple[Group, ...]:
    """Fewer and larger groups: whole groups stand together."""
    return tuple(
        Group(
            tuple(chain.from_iterable(group.workers for group in groups[start::count])),
            tuple(chain.from_iterable(group.others for group in groups[start::count])),
        )
        for start in range(count)
    )


def pairs(people: Sequence[Person]) -> tuple[tuple[tuple[Person, Person], ...], Person | None]:
    """Everybody with somebody of his size and experience, and the one who is spare where their number is odd.

    Of all pairings of neighbours by size, then seasons, the one with the least difference in sum; spare is whoever
    leaves the best pairs behind.
    """
    row = sorted(people, key=lambda person: (person.size, person.seasons, person.id))
    if len(row) % 2 == 0:
        return _neighbours(row), None
    spare = min(range(0, len(row), 2), key=lambda n: _difference(_neighbours(row[:n] + row[n + 1 :])))
    return _neighbours(row[:spare] + row[spare + 1 :]), row[spare]


def _neighbours(row: Sequence[Person]) -> tuple[tuple[Person, Person], ...]:
    return tuple(zip(row[::2], row[1::2], strict=True))


def _difference(found: Iterable[tuple[Person, Person]]) -> int:
    return sum(unlike(one, other) for one, other in found)


def unlike(one: Person, other: Person) -> int:
    """How ill two fit against each other: size first, then seasons played."""
    seasons = abs(min(one.seasons, EXPERIENCED) - min(other.seasons, EXPERIENCED))
    return SIZE_STEP * abs(one.size - other.size) + seasons


def jobs(helpers: Iterable[Person]) -> tuple[tuple[Person, Job], ...]:
    """A named job for each, in turn: feeder, talker, timekeeper, and again from the start."""
    order = tuple(Job)
    return tuple((person, order[n % len(order)]) for n, person in enumerate(helpers))
