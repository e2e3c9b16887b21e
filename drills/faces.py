"""What stands on a drill card, and at which size."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from drills import words
from drills.core import fit
from drills.ladders import Neighbours
from drills.models import Drill
from drills.safety import SafetyBox

Labelled = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Name:
    """A player on tonight's card. `nc`: takes no part in contact; never why."""

    name: str
    nc: bool = False


@dataclass(frozen=True, slots=True)
class CardNight:
    """What a card says besides when it is printed for one station of one night."""

    time: str = ""
    place: str = ""
    coach: str = ""
    names: tuple[Name, ...] = ()


@dataclass(frozen=True, slots=True)
class Face:
    """One card as the template sets it, with plain text of `size` pt. `id` marks its text on the page."""

    id: str
    drill: Drill
    night: CardNight | None
    beside: Neighbours
    safety: SafetyBox
    size: float = fit.LARGEST

    @property
    def plain_size(self) -> str:
        return f"{self.size:.1f}pt"

    @property
    def key_size(self) -> str:
        return f"{fit.key_size(self.size):.1f}pt"

    @property
    def contact(self) -> str:
        return words.contact(self.drill)

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
            (_("For"), words.groups(drill)),
            (_("Needs"), words.needs(drill)),
            (_("Coaches"), str(drill.coaches)),
            (_("Age"), words.age(drill)),
        )

    @property
    def set_up(self) -> Labelled:
        return _said((_("Set up"), self.drill.set_up), (_("Shape"), self.drill.group_shape))

    @property
    def go(self) -> Labelled:
        return _said((_("Go"), self.drill.trigger), (_("End"), self.drill.ends))

    @property
    def remarks(self) -> list[Labelled]:
        """Two columns: what to aim for and where to go next; what to do about numbers, and the coach."""
        drill = self.drill
        aims = _said(
            (_("Good enough"), drill.success),
            (_("Easier"), drill.easier),
            (_("Harder"), drill.harder),
            (_("Before"), drill.training_age),
        )
        people = _said(
            (_("One more"), drill.one_more),
            (_("One fewer"), drill.one_fewer),
            (_("Coach"), drill.coach_place),
            (_("Ask"), " ".join(drill.questions)),
        )
        return [aims, people]

    @property
    def skills(self) -> str:
        return ", ".join(map(words.skill, self.drill.skill_shares.all()))

    def guessed(self) -> Face:
        """The same card at the size at which it should fill its A5."""
        return replace(self, size=fit.first_guess(self._plain_texts(), self._key_texts()))

    def smaller(self, end: float) -> Face:
        return replace(self, size=fit.smaller(self.size, end))

    def _plain_texts(self) -> Iterable[str]:
        yield from (self.drill.purpose, self.skills, _joined(self.facts), _joined(self.set_up))
        yield from (f"{pair['fault']} {pair['fix']}" for pair in self.drill.faults)
        yield from (f"{label} {value}" for column in self.remarks for label, value in column)

    def _key_texts(self) -> Iterable[str]:
        box = self.safety
        yield from (_joined(self.go), *self.drill.runs, *self.drill.cues)
        yield from (box.stop, box.barred, *box.notes, " ".join(box.rules), box.check, box.defers)
        if self.night:
            yield from (self.night.place + self.night.coach, ", ".join(each.name for each in self.night.names))


def _said(*pairs: tuple[str, str]) -> Labelled:
    return [(label, value) for label, value in pairs if value]


def _joined(pairs: Labelled) -> str:
    return " · ".join(f"{label} {value}" for label, value in pairs)
