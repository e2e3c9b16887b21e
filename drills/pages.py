"""What stands beside the texts of a card on its page, in words."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from drills import words
from drills.ladders import Neighbours
from drills.models import Drill
from drills.safety import SafetyBox, safety_box

Labelled = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class CardPage:
    """A drill on the screen, with the cards next to it on its ladder."""

    drill: Drill
    beside: Neighbours = field(default_factory=Neighbours)

    @property
    def contact(self) -> str:
        return words.contact(self.drill)

    @property
    def safety(self) -> SafetyBox:
        return safety_box(self.drill)

    @property
    def facts(self) -> Labelled:
        drill = self.drill
        return _said(
            (_("Players"), words.players(drill)),
            (_("Minutes"), words.minutes(drill)),
            (_("Sets"), drill.sets),
            (_("Work : rest"), drill.work_rest),
            (_("RPE"), str(drill.rpe)),
            (_("Contacts each"), words.contacts(drill)),
            (_("Grid"), words.grid(drill)),
            (_("Kit"), words.kit(drill)),
            (_("Coaches"), str(drill.coaches)),
            (_("For"), words.groups(drill)),
            (_("Needs"), words.needs(drill)),
            (_("Age"), words.age(drill)),
        )

    @property
    def set_up(self) -> Labelled:
        return _said((_("Set up"), self.drill.set_up), (_("Shape"), self.drill.group_shape))

    @property
    def remarks(self) -> Labelled:
        """What to aim for and where to go next; what to do about numbers, and the coach."""
        drill = self.drill
        return _said(
            (_("Good enough"), drill.success),
            (_("Easier"), drill.easier),
            (_("Harder"), drill.harder),
            (_("Before"), drill.training_age),
            (_("One more"), drill.one_more),
            (_("One fewer"), drill.one_fewer),
            (_("Coach"), drill.coach_place),
            (_("Ask"), " ".join(drill.questions)),
        )


@dataclass(frozen=True, slots=True)
class ListLine:
    """A drill in the list, in words made here, which is quicker than in a template."""

    drill: Drill

    @property
    def players(self) -> str:
        return f"{self.drill.players_least}–{self.drill.players_most}"

    @property
    def minutes(self) -> str:
        return f"{self.drill.minutes_least}–{self.drill.minutes_most}"

    @property
    def rung(self) -> str:
        return f"{self.drill.rung} {self.drill.rung_name}"

    @property
    def rpe(self) -> str:
        return str(self.drill.rpe)

    @property
    def teaches(self) -> str:
        return ", ".join(f"{taught.skill.name} {taught.share} %" for taught in self.drill.skill_shares.all())


def _said(*pairs: tuple[str, str]) -> Labelled:
    return [(label, value) for label, value in pairs if value]
