"""Minutes of each skill against their target, and how long ago a player last worked on each.

Minutes are those that a player took part in x the share of the card that goes to the skill. Targets are minutes in
four weeks for a position group; a player is held against those of his main position. The tolerances and the weeks are
house rules (no published source).
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

TARGET_WEEKS = 4


class Met(StrEnum):
    """How far minutes meet their target, the least first."""

    FAR_SHORT = "far short"
    SHORT = "short"
    MET = "met"
    MUCH = "more than enough"


# From this per cent of the target on; below the first it is far short.
SHORT_FROM, MET_FROM, MUCH_ABOVE = 50, 80, 130


def met(minutes: float, target: float) -> Met | None:
    """80 to 130 per cent of the target is met, below 50 far short. None without a target."""
    if target <= 0:
        return None
    percent = round(100 * minutes / target, 6)
    if percent < SHORT_FROM:
        return Met.FAR_SHORT
    if percent < MET_FROM:
        return Met.SHORT
    return Met.MET if percent <= MUCH_ABOVE else Met.MUCH


def target_over(minutes: float, weeks: int, percent: int = 100) -> float:
    """Target of a stretch of weeks from the target of four, at so many per cent of it (a block's share)."""
    return minutes * weeks / TARGET_WEEKS * percent / 100


@dataclass(frozen=True, slots=True)
class Spell:
    """One player's minutes of one skill on one day; those of a night that is not confirmed are those of its plan."""

    player: int
    day: dt.date
    skill: str
    minutes: float
    is_confirmed: bool = True


@dataclass(frozen=True, slots=True)
class SkillFigure:
    """Minutes of a skill in a stretch of days against the target of that stretch; `last`: when it was last worked on.

    Either figure of a family is that of its skills together; `covered` is then the part of the target that is met
    skill by skill, so that much of one does not hide that another is missing. `unconfirmed`: how many of the minutes
    are of nights that are not confirmed; `is_last_unconfirmed`: so is each night of that last day.
    """

    name: str
    minutes: float
    target: float
    covered: float
    last: dt.date | None
    unconfirmed: float = 0.0
    is_last_unconfirmed: bool = False

    @property
    def covered_unconfirmed(self) -> float:
        """Of one skill, how much of what is covered would not be without the nights that are not confirmed."""
        return self.covered - min(self.minutes - self.unconfirmed, self.target)

    @property
    def met(self) -> Met | None:
        return met(self.minutes, self.target)

    @property
    def is_short(self) -> bool:
        """Less than 80 per cent of the target has been covered."""
        return met(self.covered, self.target) in (Met.FAR_SHORT, Met.SHORT)

    def weeks_since(self, day: dt.date) -> int | None:
        """Whole weeks from the last day to this one; None if it was never worked on, as far as was looked back."""
        return None if self.last is None else (day - self.last).days // 7


def figures(spells: Iterable[Spell], targets: Mapping[str, float], first: dt.date) -> dict[str, SkillFigure]:
    """Of one player by skill, in the order of the targets, then whatever else was trained.

    Minutes count from `first` on; `spells` that reach back further say how long ago a skill was last worked on.
    """
    minutes: dict[str, float] = defaultdict(float)
    open_minutes: dict[str, float] = defaultdict(float)
    last: dict[str, tuple[dt.date, bool]] = {}
    for spell in spells:
        if spell.day >= first:
            minutes[spell.skill] += spell.minutes
            open_minutes[spell.skill] += 0 if spell.is_confirmed else spell.minutes
        told = spell.day, spell.is_confirmed
        last[spell.skill] = max(last.get(spell.skill, told), told)
    found = {}
    for skill in dict.fromkeys([*targets, *sorted(last)]):
        much, wanted = minutes.get(skill, 0.0), targets.get(skill, 0.0)
        day, is_confirmed = last.get(skill, (None, True))
        found[skill] = SkillFigure(
            skill, much, wanted, min(much, wanted), day, open_minutes.get(skill, 0.0), not is_confirmed
        )
    return found


def family(name: str, skills: Sequence[SkillFigure]) -> SkillFigure:
    """Of all skills of one family together."""
    return SkillFigure(
        name,
        sum(skill.minutes for skill in skills),
        sum(skill.target for skill in skills),
        sum(skill.covered for skill in skills),
        max((skill.last for skill in skills if skill.last), default=None),
    )
