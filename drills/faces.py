"""What stands on a drill card: plain data for the template, in the order in which it is worth the room."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import segno
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from drills import words
from drills.core import draw, telling
from drills.core.diagram import read
from drills.ladders import Neighbours
from drills.models import Drill
from drills.safety import SafetyBox

Labelled = list[tuple[str, str]]
QUIET = 4  # modules around a code
# A description of nothing but ASCII takes up a quarter of the room in a PDF.
PLAIN = str.maketrans({"“": '"', "”": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "×": "x"})


class CardRefused(ValueError):
    """A card that cannot be printed; the message says which, why, and how to mend it."""


class CardTooLong(CardRefused):
    """Texts that fit no card in legible type. Texts that pass the checks of a drill always fit."""


class CardUnprintable(CardRefused):
    """Letters that no font on this machine can draw."""


@dataclass(frozen=True, slots=True)
class Name:
    """A player on tonight's card. `nc`: takes no part in contact; never why."""

    name: str
    nc: bool = False


@dataclass(frozen=True, slots=True)
class CardRound:
    """Who comes to a station at one time: `head` says when, and which group that is."""

    head: str
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class CardNight:
    """What a card says besides when it is printed for one station of one night. `rounds`, where groups come in turn,
    stand in place of `names`, in the order in which they come."""

    time: str = ""
    place: str = ""
    coach: str = ""
    names: tuple[Name, ...] = ()
    rounds: tuple[CardRound, ...] = ()

    def said(self) -> dict[str, Any]:
        coach = _("Coach %s") % self.coach if self.coach else ""
        return {
            "where": [part for part in (self.time, self.place, coach) if part],
            "who": [{"head": each.head, "names": names_said(each.names)} for each in self._groups()],
        }

    def _groups(self) -> tuple[CardRound, ...]:
        return (*((CardRound("", self.names),) if self.names else ()), *self.rounds)


def names_said(names: Iterable[Name]) -> list[tuple[str, bool]]:
    return [(each.name, each.nc) for each in names]


@dataclass(frozen=True, slots=True)
class Extra:
    """A line that a card may go without: `called` names it where it is left off, `place` says where it stands."""

    place: str
    called: str
    text: str
    label: str = ""
    fix: str = ""


@dataclass(frozen=True, slots=True)
class Face:
    """One card. A card for tonight leaves out what serves to choose a drill: who it is for, and what it teaches."""

    drill: Drill
    night: CardNight | None
    beside: Neighbours
    safety: SafetyBox
    address: str

    def said(self) -> dict[str, Any]:
        """Every word on the card, and the diagram and address that its drawings are made of."""
        drill = self.drill
        return {
            "number": drill.number,
            "name": drill.name,
            "kind": drill.kind,
            "rung": f"{drill.rung} {drill.rung_name}",
            "contact": words.contact(drill),
            "night": self.night.said() if self.night else None,
            "facts": self._facts(),
            "set_up": said((_("Set up"), drill.set_up)),
            "go": said((_("Go"), drill.trigger), (_("End"), drill.ends)),
            "runs": drill.runs,
            "cues": drill.cues,
            "safety": asdict(self.safety) if self.safety.notes or self.safety.stop else None,
            "extras": [asdict(extra) for extra in self._extras() if extra.text],
            "ladder": self._ladder(),
            "version": self._version(),
            "address": self.address,
            "diagram": drill.diagram,
        }

    def _facts(self) -> Labelled:
        drill = self.drill
        return said(
            (_("Players"), words.players(drill)),
            (_("Minutes"), words.minutes(drill)),
            (_("Grid"), words.grid(drill)),
            (_("Kit"), words.kit(drill)),
        )

    def _extras(self) -> Iterator[Extra]:
        """The most useful on the grass first; what serves to choose a drill last."""
        drill = self.drill
        faults = [Extra("faults", _("faults"), pair["fault"], fix=pair["fix"]) for pair in drill.faults]
        yield Extra("facts", _("work and rest"), drill.work_rest, _("Work : rest"))
        yield Extra("facts", _("RPE"), str(drill.rpe), _("RPE"))
        yield Extra("facts", _("contacts"), words.contacts(drill), _("Contacts each"))
        yield Extra("facts", _("coaches"), str(drill.coaches), _("Coaches"))
        yield Extra("top", _("purpose"), drill.purpose)
        yield Extra("remarks", _("good enough"), drill.success, _("Good enough"))
        yield from faults[:2]
        yield Extra("remarks", _("coach's place"), drill.coach_place, _("Coach"))
        yield Extra("facts", _("sets"), drill.sets, _("Sets"))
        yield Extra("remarks", _("easier"), drill.easier, _("Easier"))
        yield Extra("remarks", _("harder"), drill.harder, _("Harder"))
        yield Extra("remarks", _("one more or fewer"), drill.one_more, _("One more"))
        yield Extra("remarks", _("one more or fewer"), drill.one_fewer, _("One fewer"))
        yield from faults[2:]
        yield Extra("set up", _("shape"), drill.group_shape, _("Shape"))
        yield Extra("remarks", _("questions"), " ".join(drill.questions), _("Ask"))
        if not self.night:
            yield from self._to_choose_by()

    def _to_choose_by(self) -> Iterator[Extra]:
        drill = self.drill
        yield Extra("foot", _("for whom"), words.age(drill), _("Age"))
        yield Extra("foot", _("for whom"), words.groups(drill), _("For"))
        yield Extra("foot", _("for whom"), words.needs(drill), _("Needs"))
        yield Extra("foot", _("for whom"), drill.training_age, _("Before"))
        yield Extra("foot", _("skills"), ", ".join(map(words.skill, drill.skill_shares.all())), _("Skills"))

    def _ladder(self) -> list[str]:
        """Where it stands, and the cards of the next lower and higher step."""
        drill = self.drill
        if not drill.ladder:
            return []
        here = _("Ladder %(code)s, step %(step)d") % {"code": drill.ladder.code, "step": drill.step}
        lower = [f"↓ #{below.number} {below.name}" for below in self.beside.lower]
        return [here, *lower, *(f"↑ #{above.number} {above.name}" for above in self.beside.higher)]

    def _version(self) -> str:
        drill = self.drill
        told = {"version": drill.version, "date": date_format(drill.revised_on, "j M Y")}
        return f"#{drill.number} · {_('version %(version)d of %(date)s') % told} · {drill.club}"


def said(*pairs: tuple[str, str]) -> Labelled:
    return [(label, value) for label, value in pairs if value]


def frames(diagram: dict[str, Any] | None) -> list[dict[str, Any]]:
    """Each frame of a diagram with what it says in words; none where no diagram is drawn."""
    if not diagram:
        return []
    drawn = read(diagram)
    on = draw.sheet(drawn)
    return [
        {
            "svg": draw.svg(drawn, place),
            "alt": f"{telling.title(drawn, place)}. {telling.frame_in_words(drawn, place)}".translate(PLAIN),
            "note": frame.note,
            "ratio": on.width / on.height,
        }
        for place, frame in enumerate(drawn.frames)
    ]


def qr_codes(addresses: Sequence[str]) -> list[str]:
    """Addresses to point a phone at, with the quiet zone of four modules that ISO/IEC 18004 asks for.

    The best mask is sought for the first one only: the others differ from it by a number, and seeking takes
    longer than everything else. Readers take any mask. Error correction is L, or higher where that costs no module:
    on a card for the hand few large modules are read more surely than many small ones.
    """
    if not addresses:
        return []
    mask = _code(addresses[0]).mask
    return [_svg(_code(address, mask)) for address in addresses]


def _code(address: str, mask: int | None = None) -> segno.QRCode:
    return segno.make(address, error="l", micro=False, mask=mask)


def _svg(code: segno.QRCode) -> str:
    out = io.BytesIO()
    code.save(out, kind="svg", border=QUIET, omitsize=True, xmldecl=False)
    return out.getvalue().decode()
