"""Who may take part in what on which night, with the reason in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Protocol

from planner.attendance import Words, slots_missed
from planner.building.nights import Nights
from planner.core.calendar import monday_of
from planner.core.pattern import Pattern, lower_of
from planner.models import Session, Slot
from shared.core.contact import Level
from squads.core.eligibility import Away, Ceiling, Decision, ceiling
from squads.models import Absence, Clearance, ContactRules, Player
from squads.return_models import ReturnEntry, courses_of

if TYPE_CHECKING:
    from planner.building.rows import Rows

Rulings = Mapping[tuple[int, int], Ceiling]  # by the keys of player and session


@dataclass(frozen=True)
class Attendance:
    rows: Rows
    nights: Nights

    @cached_property
    def rulings(self) -> Rulings:
        players = {player.pk: player for player in self.rows.players}
        return {
            (player, session.pk): found
            for session in (*self.rows.earlier, *self.nights.all)
            for player, found in rulings_on(self.rows, players, session).items()
        }

    def level(self, player: int, night: Session) -> Level:
        """Someone who is not of the squad at all is absent."""
        found = self.rulings.get((player, night.pk))
        return found.level if found else Level.ABSENT

    def is_there(self, player: int, night: Session) -> bool:
        return self.level(player, night) is not Level.ABSENT

    def missed(self, player: int, night: Session) -> list[Slot]:
        """Slots of which somebody who comes does not see all."""
        word = self.rows.words.get((player, night.pk))
        return slots_missed(night, word) if word and self.is_there(player, night) else []

    def there(self, players: Iterable[int], night: Session) -> list[int]:
        return [player for player in players if self.is_there(player, night)]

    @cached_property
    def players(self) -> list[Player]:
        """Who can come at least once, and who stands on an open night although he cannot."""
        placed = {
            player
            for night in self.nights.open
            for slot in night.slots.all()
            for station in slot.stations.all()
            for player in station.standing
        }
        return [
            player
            for player in self.rows.players
            if player.pk in placed or any(self.is_there(player.pk, night) for night in self.nights.used)
        ]

    @property
    def coming(self) -> list[Player]:
        return [p for p in self.players if any(self.is_there(p.pk, night) for night in self.nights.used)]


class Circumstances(Protocol):
    """What a ceiling depends on, by the keys of the players; `matches` are days, `words` by player and session."""

    absences: Mapping[int, list[Absence]]
    clearances: Mapping[int, list[Clearance]]
    returns: Mapping[int, list[ReturnEntry]]
    matches: list[dt.date]
    words: Words
    patterns: Mapping[dt.date, Pattern]

    def rules_on(self, day: dt.date) -> ContactRules | None: ...


def rulings_on(rows: Circumstances, players: Mapping[int, Player], session: Session) -> dict[int, Ceiling]:
    """Of all players on a night, by their keys. Whoever has nothing of his own shares what the night itself sets."""
    usual, night = None, session.pk
    found = {}
    for key, player in players.items():
        if has_his_own(rows, key, player, night, session.day):
            found[key] = ruling(rows, player, session)
        else:
            found[key] = usual = usual or ceiling_of(rows, session)
    return found


def has_his_own(rows: Circumstances, key: int, player: Player, night: int, day: dt.date) -> bool:
    """Whether anything but the night itself, its matches, rules and pattern, could set his ceiling."""
    absences = rows.absences[key]
    return bool(
        (key, night) in rows.words
        or rows.clearances[key]
        or rows.returns[key]
        or (player.joined is not None and day < player.joined)
        or (player.left is not None and day > player.left)
        or (absences and any(each.first_day <= day <= each.last_day for each in absences))
    )


def ruling(rows: Circumstances, player: Player, session: Session) -> Ceiling:
    return ceiling_of(
        rows,
        session,
        joined=player.joined,
        left=player.left,
        absences=[Away(each.first_day, each.last_day) for each in rows.absences[player.pk]],
        word=rows.words.get((player.pk, session.pk)),
        decisions=[decision(each) for each in rows.clearances[player.pk]],
        courses=courses_of(rows.returns[player.pk]),
    )


def ceiling_of(rows: Circumstances, session: Session, **own: Any) -> Ceiling:
    """What the night sets, with what a player has of his `own`."""
    rules, pattern = rows.rules_on(session.day), rows.patterns.get(monday_of(session.day))
    found = ceiling(session.day, **own, matches=rows.matches, rules=rules and rules.match_rules)
    return lower_of(found, pattern.ceiling(session.day, rows.matches)) if pattern else found


def decision(clearance: Clearance) -> Decision:
    return Decision(clearance.from_day, Level(clearance.level), clearance.decided_on, clearance.decided_by)
