"""Who may take part in what on which night, with the reason in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from django.utils.translation import gettext as _

from planner.attendance import Words
from planner.building.nights import Nights
from planner.building.rows import Rows
from planner.models import Session
from shared.core.contact import Level
from squads.core.eligibility import Away, Ceiling, Decision, MatchRules, ceiling
from squads.models import Absence, Clearance, ContactRules, Player

Rulings = Mapping[tuple[int, int], Ceiling]  # by the keys of player and session


@dataclass(frozen=True)
class Attendance:
    rows: Rows
    nights: Nights

    @cached_property
    def rulings(self) -> Rulings:
        sessions = (*self.rows.earlier, *self.nights.all)
        return {(p.pk, s.pk): ruling(self.rows, p, s) for p in self.rows.players for s in sessions}

    def level(self, player: int, night: Session) -> Level:
        """Someone who is not of the squad at all is absent."""
        found = self.rulings.get((player, night.pk))
        return found.level if found else Level.ABSENT

    def is_there(self, player: int, night: Session) -> bool:
        return self.level(player, night) is not Level.ABSENT

    def there(self, players: Iterable[int], night: Session) -> list[int]:
        return [player for player in players if self.is_there(player, night)]

    @cached_property
    def players(self) -> list[Player]:
        """Who can come at least once, and who stands on an open night although he cannot."""
        placed = {
            place.player_id
            for night in self.nights.open
            for slot in night.slots.all()
            for station in slot.stations.all()
            for place in station.places.all()
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
    matches: list[dt.date]
    words: Words

    def rules_on(self, day: dt.date) -> ContactRules | None: ...


def ruling(rows: Circumstances, player: Player, session: Session) -> Ceiling:
    rules = rows.rules_on(session.day)
    return ceiling(
        session.day,
        joined=player.joined,
        left=player.left,
        absences=[Away(each.first_day, each.last_day) for each in rows.absences[player.pk]],
        word=rows.words.get((player.pk, session.pk)),
        decisions=[decision(each) for each in rows.clearances[player.pk]],
        matches=rows.matches,
        rules=rules and match_rules(rules),
    )


def decision(clearance: Clearance) -> Decision:
    return Decision(clearance.from_day, Level(clearance.level), clearance.decided_on, clearance.decided_by)


def match_rules(rules: ContactRules) -> MatchRules:
    return MatchRules(
        full_after=rules.full_after_match,
        full_before=rules.full_before_match,
        controlled_after=rules.controlled_after_match,
        controlled_before=rules.controlled_before_match,
    )


FullDays = Mapping[tuple[int, int], set[dt.date]]  # by player and week of the block


def within_full_days(base: Rulings, nights: Nights, spent: FullDays, most: int | None) -> Rulings:
    """The rulings after what the past and fixed content have used of the days a week with full contact.

    The problem counts planned days only. So a player who has used some keeps, besides those very days, the
    first nights of the week until the limit; later ones go down to controlled contact.
    """
    if most is None:
        return base
    lowered = dict(base)
    for (player, week), days in spent.items():
        for night in _beyond(base, nights, player, week, days, most):
            reason = _("full contact on %(days)s of this week's days already") % {"days": len(days)}
            lowered[player, night.pk] = Ceiling(Level.CONTROLLED, reason)
    return lowered


def _beyond(base: Rulings, nights: Nights, player: int, week: int, days: set[dt.date], most: int) -> Iterator[Session]:
    full = [night for night in nights.open if nights.week(night) == week and base[player, night.pk].level is Level.FULL]
    others = sorted({night.day for night in full} - days)
    kept = [*sorted(days), *others][:most]
    return (night for night in full if night.day not in kept)
