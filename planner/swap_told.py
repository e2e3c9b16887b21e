"""Groups that swap in words: who is in which group, and in each round where each is, against whom or helping."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from drills.models import Drill
from planner.building.nights import moment_of
from planner.models import Session
from planner.swap_models import Swap
from planner.swapping import Proposed, round_of
from squads.models import Player

Naming = Callable[[Player], str]


@dataclass(frozen=True)
class GroupLine:
    letter: str
    names: tuple[str, ...]


@dataclass(frozen=True)
class StandLine:
    """`pairs` are against each other; `helpers` a name and what he does, the odd one and who may do no contact, and
    whose partner has left."""

    drill: Drill | None
    groups: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]
    helpers: tuple[tuple[str, str], ...]

    @property
    def told_groups(self) -> str:
        return " + ".join(self.groups)


@dataclass(frozen=True)
class RoundLine:
    number: int
    starts: dt.datetime | None
    stands: tuple[StandLine, ...]


def letter(group: int) -> str:
    return "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[group % 26]


def sheet_name(player: Player) -> str:
    return player.sheet_name


@dataclass(frozen=True)
class Told:
    """A proposal or what is settled, as a row keeps it."""

    groups: list[list[int]]
    rounds: list[dict[str, Any]]
    players: Mapping[int, Player]
    drills: Mapping[int, Drill]
    starts: Mapping[int, dt.datetime]
    name: Naming = sheet_name

    @property
    def group_lines(self) -> list[GroupLine]:
        return [GroupLine(letter(n), self._names(group)) for n, group in enumerate(self.groups)]

    @property
    def round_lines(self) -> list[RoundLine]:
        return [
            RoundLine(n, self.starts.get(each["slot"]), tuple(self.stand(stand) for stand in each["stands"]))
            for n, each in enumerate(self.rounds, 1)
        ]

    def stand_at(self, slot: int, drill: int) -> StandLine | None:
        stands = (stand for each in self.rounds if each["slot"] == slot for stand in each["stands"])
        return next((self.stand(stand) for stand in stands if stand["drill"] == drill), None)

    def stand(self, stand: Mapping[str, Any]) -> StandLine:
        pairs = [self._names(pair) for pair in stand["pairs"]]
        helpers = [(name, job_words(job)) for key, job in stand["helpers"] for name in self._names([key])]
        alone = [(pair[0], _("needs a partner")) for pair in pairs if len(pair) == 1]
        return StandLine(
            self.drills.get(stand["drill"]),
            tuple(map(letter, stand["groups"])),
            tuple(pair for pair in pairs if len(pair) == 2),
            (*helpers, *alone),
        )

    def _names(self, keys: Iterable[int]) -> tuple[str, ...]:
        """Whoever has left the squad since is left out."""
        return tuple(self.name(self.players[key]) for key in keys if key in self.players)


def told_of_proposal(proposed: Proposed) -> Told:
    rounds = [round_of(None, stands) for stands in proposed.rotation.rounds]
    drills = {drill.pk: drill for drill in proposed.asked.drills}
    return Told(proposed.groups, rounds, proposed.evening.players, drills, {})


def told_of(swap: Swap, session: Session, players: Mapping[int, Player], name: Naming = sheet_name) -> Told:
    """Slots, stations and drills should be fetched with the session."""
    slots = list(session.slots.all())
    drills = {station.drill_id: station.drill for slot in slots for station in slot.stations.all()}
    starts = {slot.pk: session.on_the_wall(moment_of(session, n)) for n, slot in enumerate(slots)}
    rounds = [each for each in swap.rounds if each["slot"] in starts]
    return Told(swap.groups, rounds, players, drills, starts, name)


def job_words(job: str) -> str:
    words = {"feeder": _("feeds the ball"), "talker": _("calls the line"), "timekeeper": _("keeps time")}
    return words[job]
