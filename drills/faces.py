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


class CardTooLong(ValueError):
    """A text that fits no card in legible type. Texts that pass the checks of a drill always fit."""


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
    """One card as the template sets it, with plain text of `size` pt. `id` marks its text on the page.

    A card for tonight leaves out what serves to choose a drill: who it is for, and what it teaches.
    """

    id: str
    drill: Drill
    night: CardNight | None
    beside: Neighbours
    safety: SafetyBox
    size: float = fit.LARGEST
    grown: bool = False

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
        facts = _said(
            (_("Players"), words.players(drill)),
            (_("Minutes"), words.minutes(drill)),
            (_("Sets"), drill.sets),
            (_("Work : rest"), drill.work_rest),
            (_("RPE"), str(drill.rpe)),
            (_("Contacts each"), words.contacts(drill)),
            (_("Grid"), words.grid(drill)),
            (_("Kit"), words.kit(drill)),
            (_("Coaches"), str(drill.coaches)),
        )
        return facts if self.night else facts + self._for_whom()

    def _for_whom(self) -> Labelled:
        drill = self.drill
        return _said(
            (_("For"), words.groups(drill)),
            (_("Needs"), words.needs(drill)),
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
            (_("Before"), "" if self.night else drill.training_age),
        )
        people = _said(
            (_("One more"), drill.one_more),
            (_("One fewer"), drill.one_fewer),
            (_("Coach"), drill.coach_place),
            (_("Ask"), " ".join(drill.questions)),
        )
        return [aims, people]

    @property
    def ladder(self) -> str:
        drill = self.drill
        return (
            _("Ladder %(code)s, step %(step)d") % {"code": drill.ladder.code, "step": drill.step}
            if drill.ladder
            else ""
        )

    @property
    def skills(self) -> str:
        return "" if self.night else ", ".join(map(words.skill, self.drill.skill_shares.all()))

    def guessed(self) -> Face:
        """The same card at the size at which it should fill its A5."""
        return replace(self, size=fit.first_guess(self._plain_texts(), self._key_texts()))

    def fitted(self, end: float) -> Face:
        """This card if its text, which ended at `end` mm, fills it well; otherwise the next size to try.

        Type grows once at most, and comes down until it fits. Raises CardTooLong.
        """
        if end > fit.TEXT_ENDS:
            if self.size <= fit.SMALLEST:
                raise CardTooLong(_("%(drill)s does not fit a card: shorten its texts.") % {"drill": self.drill})
            return replace(self, size=fit.next_try(self.size, end), grown=True)
        if fit.leaves_room(self.size, end) and not self.grown:
            return replace(self, size=fit.next_try(self.size, end), grown=True)
        return self

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
