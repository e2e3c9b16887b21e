"""How a squad stands on a day: each player with what he may do and why, by position group."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shared.core.contact import Level
from shared.core.positions import GROUPS, Names
from squads.core.eligibility import Ceiling
from squads.models import Clearance, Player
from squads.returning import Returning, returning_of


@dataclass(frozen=True, slots=True)
class Standing:
    """A player on a day, apart from the distance to a match. `review_is_due` asks for a new look by who decided."""

    player: Player
    ceiling: Ceiling
    clearance: Clearance | None
    review_is_due: bool
    returning: Returning | None

    @property
    def is_non_contact(self) -> bool:
        return self.ceiling.level is Level.NONE

    @property
    def is_limited(self) -> bool:
        return self.ceiling.level is not Level.FULL


@dataclass(frozen=True, slots=True)
class GroupStanding:
    name: str
    standings: tuple[Standing, ...]

    @property
    def training(self) -> int:
        """How many can come at all."""
        return sum(each.ceiling.level is not Level.ABSENT for each in self.standings)


def standing_of(player: Player, day: dt.date) -> Standing:
    clearance = player.clearance_on(day)
    due = clearance is not None and clearance.review_is_due(day)
    return Standing(player, player.ceiling_on(day), clearance, due, returning_of(player, day))


def by_group(standings: Iterable[Standing], names: Names) -> list[GroupStanding]:
    standings = list(standings)
    groups = (
        GroupStanding(_(names.group(group)), tuple(each for each in standings if each.player.group == group))
        for group in GROUPS
    )
    return [group for group in groups if group.standings]


def counts(standings: Iterable[Standing]) -> list[tuple[str, int]]:
    """How many may do what, most first: "all work" 28, "controlled at most" 2, …"""
    words = {
        Level.FULL: _("all work"),
        Level.CONTROLLED: _("controlled at most"),
        Level.NONE: _("no contact"),
        Level.ABSENT: _("away or out"),
    }
    levels = [each.ceiling.level for each in standings]
    return [(word, levels.count(level)) for level, word in words.items()]
