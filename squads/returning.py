"""Who is on the way back to training: status, allowed work, the next review, the earliest days. No reason is here.

What is in these lines is for every coach's eyes, on a page as on paper. Which table the days come from and what was
entered of symptoms stay with the case (`return_models`), which other pages show to those who may see it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from shared.core.contact import Level
from squads.core.eligibility import by_clearance, by_return, lowest
from squads.core.graduated import Course
from squads.core.union_tables import Step
from squads.models import Clearance, ClearanceLevel, Player, Squad
from squads.return_models import courses_of
from squads.wording import usual_words

MARKS = {Level.ABSENT: "OUT", Level.NONE: "NC", Level.CONTROLLED: "controlled", Level.FULL: ""}


@dataclass(frozen=True, slots=True)
class Returning:
    """A player whom a decision or a return limits on `day`. `courses` are the returns that run on it.

    `contact` and `match` are the days before which nobody may allow them; None: no day is known. A day that has
    passed allows nothing by itself.
    """

    player: Player
    day: dt.date
    level: Level
    clearance: Clearance | None
    courses: tuple[Course, ...]

    @property
    def status(self) -> str:
        return str(ClearanceLevel(self.level.value).label)

    @property
    def mark(self) -> str:
        return MARKS[self.level]

    @property
    def name_on_paper(self) -> str:
        return self.player.name_on_paper(self.day)

    @property
    def since(self) -> dt.date | None:
        """The first day of the oldest return that runs, or of the decision that holds."""
        begun = [course.injured for course in self.courses]
        return min(begun) if begun else self.clearance and self.clearance.from_day

    @property
    def words(self) -> tuple[str, str]:
        """Allowed and not allowed: as the decision says, or as usual where the days lower it."""
        if self.clearance and self.clearance.level == self.level.value:
            return self.clearance.allowed_work, self.clearance.not_allowed_work
        return usual_words(self.level.value)

    @property
    def is_overdue(self) -> bool:
        """Its review should have been: today, or before."""
        return self.clearance is not None and self.clearance.review_is_due(self.day)

    @property
    def is_on_the_way(self) -> bool:
        return bool(self.courses)

    @property
    def contact(self) -> dt.date | None:
        return self.soonest(Step.CONTACT)

    @property
    def match(self) -> dt.date | None:
        return self.soonest(Step.MATCH)

    def soonest(self, step: Step) -> dt.date | None:
        """Of several returns the last of their days."""
        last = max((course.dates_on(self.day)[step].order for course in self.courses), default=dt.date.max)
        return None if last == dt.date.max else last


def returning_of(player: Player, day: dt.date) -> Returning | None:
    """None for a player whom neither a decision nor a return limits. Ask players fetched `with_availability`."""
    courses = tuple(course for course in courses_of(player.return_entries.all()) if course.runs_on(day))
    decisions = [clearance.as_decision() for clearance in player.clearances.all()]
    level = lowest([*by_clearance(day, decisions), *by_return(day, courses)]).level
    if level is Level.FULL and not courses:
        return None
    return Returning(player, day, level, player.clearance_on(day), courses)


def returning(squads: Iterable[Squad], day: dt.date) -> list[Returning]:
    """Of the members of the squads on that day, who is overdue for review first."""
    players = Player.objects.filter(squad__in=list(squads)).in_squad_on(day).with_availability()
    lines = [line for player in players if (line := returning_of(player, day))]
    return sorted(lines, key=lambda line: (not line.is_overdue, line.player.family_name, line.player.given_name))
