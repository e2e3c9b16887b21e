"""Two plans of a block side by side: the parts of what is left open, what is different, and for whom."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from planner.build import BuiltProblem
from planner.core.sheet import TOLERANCE
from planner.core.tally import PlayerTally
from planner.core.words import number
from planner.models import PlanRun
from planner.overview import FigureLine, Overview, figure_lines
from planner.programme import Names, SlotChange, what_changed
from planner.settling import proposal


@dataclass(frozen=True)
class Side:
    """One of the two: a run's plan as accepting it would leave the block, or with no run what stands now."""

    name: str
    overview: Overview
    misfits: tuple[str, ...] = ()


def side_of(built: BuiltProblem, run: PlanRun | None, name: str) -> Side:
    if run is None:
        return Side(name, Overview(built, built.programme))
    found = proposal(run, built)
    return Side(name, Overview(built, found.programme), tuple(found.misfits))


@dataclass(frozen=True, slots=True)
class ShortPair:
    """Skill minutes that one player stays short of, left and right."""

    player: str
    left: float
    right: float

    @property
    def left_words(self) -> str:
        return _("%s min") % number(round(self.left, 1))

    @property
    def right_words(self) -> str:
        return _("%s min") % number(round(self.right, 1))

    @property
    def standing(self) -> str:
        if abs(self.left - self.right) < TOLERANCE:
            return _("the same")
        return _("better") if self.right < self.left else _("worse")


@dataclass(frozen=True)
class Comparison:
    """Both sides are of one block as it is now."""

    left: Side
    right: Side
    names: Names

    @cached_property
    def figures(self) -> list[FigureLine]:
        return figure_lines(*(side.overview.figures.to_json() for side in (self.left, self.right)))

    @cached_property
    def changes(self) -> list[SlotChange]:
        return what_changed(self.left.overview.programme, self.right.overview.programme, self.names)

    @cached_property
    def players(self) -> list[ShortPair]:
        """Whom the choice concerns most first."""
        words = self.left.overview.built.words
        both = zip(self.left.overview.standing.tallies, self.right.overview.standing.tallies, strict=True)
        pairs = [ShortPair(words.player(one.player), short_of(one), short_of(other)) for one, other in both]
        return sorted(pairs, key=lambda pair: (-abs(pair.left - pair.right), pair.player))


def short_of(tally: PlayerTally) -> float:
    """Minutes short over all skills."""
    return sum(skill.short for skill in tally.skills)
