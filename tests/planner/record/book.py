"""A second way of keeping the record, minute by minute in plain lists, to hold the first one to.

Of each spot of a night a list of its minutes; of each minute the rung, the share of contact, and who was in it, with
whether he stood aside. Nothing here asks the code under test.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

KINDS = {"C4": "full", "SP4": "set_piece", "C3": "controlled", "C2": "controlled"}
SUMS = ("minutes", "full", "controlled", "set_piece", "match_minutes")
DECLARED = ("declared_full", "declared_controlled", "declared_set_piece")


@dataclass(frozen=True)
class Minute:
    rung: str
    share: int
    here: tuple[tuple[int, bool], ...]  # player, and whether he stood aside

    @property
    def players(self) -> set[int]:
        return {player for player, _aside in self.here}


Spot = list[Minute]


def stretch(minutes: int, rung: str, share: int, here: dict[int, tuple[int, int, bool]]) -> Spot:
    """`here`: of each player from which minute on, for how many, and whether he stood aside."""
    return [
        Minute(
            rung,
            share,
            tuple((who, aside) for who, (after, much, aside) in here.items() if after <= n < after + much),
        )
        for n in range(minutes)
    ]


@dataclass
class Night:
    day: dt.date
    planned: dict[str, Spot]
    spots: dict[str, Spot] = field(default_factory=dict)
    told: set[str] = field(default_factory=set)
    is_confirmed: bool = False
    is_off: bool = False

    def came(self) -> set[int]:
        return {player for spot in self.spots.values() for minute in spot for player in minute.players}

    def as_planned(self, spot: str) -> Spot:
        """Whoever was nowhere on a confirmed night was not there at all."""
        there = self.came() if self.is_confirmed else None
        return [
            Minute(m.rung, m.share, tuple(each for each in m.here if there is None or each[0] in there))
            for m in self.planned[spot]
        ]

    def confirm(self) -> None:
        for spot, minutes in self.planned.items():
            self.spots.setdefault(spot, minutes)
        self.is_confirmed = True

    def drop(self, spot: str, rung: str, minute: int) -> None:
        ran = self.spots.get(spot, self.planned.get(spot, []))
        lower = [Minute(rung, 0 if rung == "C0" else m.share, tuple((p, False) for p, _ in m.here)) for m in ran]
        self.spots[spot] = [*ran[:minute], *lower[minute:]]

    def minutes_of(self, player: int) -> int:
        return sum(player in minute.players for spot in self.spots.values() for minute in spot)


@dataclass
class Book:
    """`rpe`: by player and name of the occasion the number and the minutes told with it; `sheet`: by player the day
    and minutes in the match; `declared` and `elsewhere` by key of a row what counts."""

    nights: dict[int, Night]
    match_day: dt.date
    declared: dict[int, tuple[int, dt.date, str, int]] = field(default_factory=dict)
    elsewhere: dict[int, tuple[int, dt.date, int]] = field(default_factory=dict)
    sheet: dict[int, tuple[dt.date, int]] = field(default_factory=dict)
    rpe: dict[tuple[int, str], tuple[int, int | None]] = field(default_factory=dict)

    def sums(self) -> dict[tuple[int, dt.date], dict[str, int]]:
        found: dict[tuple[int, dt.date], dict[str, int]] = defaultdict(lambda: dict.fromkeys((*SUMS, *DECLARED), 0))
        for night in self.ran():
            for minute in (minute for spot in night.spots.values() for minute in spot):
                for player, aside in minute.here:
                    day = found[player, night.day]
                    day["minutes"] += 1
                    if minute.rung in KINDS and not aside:
                        day[KINDS[minute.rung]] += minute.share
        for player, day, kind, minutes in self.declared.values():
            if minutes:
                found[player, day][f"declared_{kind}"] += 100 * minutes
        for player, day, minutes in self.matches():
            found[player, day]["match_minutes"] += minutes
        return {key: sums for key, sums in found.items() if any(sums.values())}

    def ran(self) -> list[Night]:
        return [night for night in self.nights.values() if night.is_confirmed and not night.is_off]

    def matches(self) -> list[tuple[int, dt.date, int]]:
        return [*((player, day, minutes) for player, (day, minutes) in self.sheet.items()), *self.elsewhere.values()]

    def loads(self) -> dict[tuple[int, dt.date], float]:
        """AU of each day of which everything is known: how hard each thing was, and for how long."""
        did: dict[tuple[int, dt.date], dict[str, tuple[int | None, int | None]]] = defaultdict(dict)
        for (player, name), (number, minutes) in self.rpe.items():
            night = self.nights.get(int(name[1:])) if name[0] == "s" else None
            if night is None or not night.is_off:
                did[player, night.day if night else self.match_day][name] = number, minutes
        for key, night in self.nights.items():
            for player in night.came() if night in self.ran() else ():
                self.lasted(did[player, night.day], f"s{key}", night.minutes_of(player))
        for player, (day, minutes) in self.sheet.items():
            if minutes:
                self.lasted(did[player, day], "f", minutes)
        for key, (player, day, minutes) in self.elsewhere.items():
            if minutes:
                did[player, day][f"elsewhere{key}"] = None, minutes
        for key, (player, day, _kind, minutes) in self.declared.items():
            if minutes:
                did[player, day][f"declared{key}"] = None, None
        return {
            key: sum(number * minutes for number, minutes in things.values())
            for key, things in did.items()
            if things and all(number is not None and minutes is not None for number, minutes in things.values())
        }

    @staticmethod
    def lasted(day: dict[str, tuple[int | None, int | None]], name: str, minutes: int) -> None:
        """What was told with the number stands before what the record says."""
        number, told = day.get(name, (None, None))
        day[name] = number, told or minutes
