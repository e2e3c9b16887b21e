"""The versions of a drill: what one of them said, and what is different between two, in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drills import words
from drills.core.pack import Entry
from drills.entries import SPANS, columns_of, told, whole
from drills.models import Drill, DrillSkill, DrillVersion, Ladder, Skill
from drills.schema import fields
from shared.core.contact import RUNGS
from shared.models import Club

# Fields of an entry that are no single column of a drill, as its page calls them.
LABELS = {
    "players": gettext_lazy("players"),
    "minutes": gettext_lazy("minutes"),
    "contacts": gettext_lazy("contacts per player"),
    "grid": gettext_lazy("grid"),
    "skills": gettext_lazy("skills"),
    "ladder": gettext_lazy("ladder"),
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in words. A text has a before and an after; a list tells what left it and what came into it."""

    label: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    moved: bool = False  # the same parts in another order

    @property
    def short(self) -> str:
        """ "5 → 6", where both fit a line of a phone; "" otherwise."""
        told = " → ".join((*self.before, *self.after))
        return told if len(self.before) == len(self.after) == 1 and len(told) <= 60 else ""


@dataclass(frozen=True, slots=True)
class Kept:
    """A version in the list of a drill, and what it made different from the one before."""

    version: DrillVersion
    differences: tuple[Difference, ...]
    is_first: bool


@dataclass(frozen=True)
class Words:
    """What the club calls the codes of an entry, retired ones too. Two queries."""

    club: Club
    skills: Mapping[str, Skill]
    ladders: Mapping[str, Ladder]

    @classmethod
    def of(cls, club: Club) -> Words:
        return cls(
            club,
            {skill.code: skill for skill in Skill.objects.of(club)},
            {ladder.code: ladder for ladder in Ladder.objects.of(club)},
        )

    def skill(self, code: str) -> Skill:
        """A skill that was removed since has its code for a name."""
        return self.skills.get(code) or Skill(club=self.club, code=code, name=code)

    def ladder(self, code: str | None) -> Ladder | None:
        return code and (self.ladders.get(code) or Ladder(club=self.club, code=code, name=code))


def kept_versions(drill: Drill, known: Words) -> list[Kept]:
    """Newest first."""
    versions = list(drill.versions.order_by("version"))
    befores = [None, *versions]
    kept = [
        Kept(version, tuple(differences(before.entry, version.entry, known)) if before else (), before is None)
        for before, version in zip(befores, versions, strict=False)
    ]
    return kept[::-1]


def version_on(drill: Drill, day: dt.date) -> DrillVersion | None:
    """The version that stood on that day, the last one made by then; None if the card is younger."""
    return drill.versions.filter(made_on__lte=day).order_by("-version").first()


def as_it_was(drill: Drill, kept: DrillVersion, known: Words) -> Drill:
    """The drill as that version said it: to show and to print, not to save. It has the present number and history."""
    entry = whole(kept.entry)
    was = Drill(pk=drill.pk, club=known.club, author=kept.author, version=kept.version, revised_on=kept.made_on)
    for column, value in columns_of(entry).items():
        setattr(was, column, value)
    was.ladder = known.ladder(entry["ladder"]) or None
    # Where `for_card` puts the skills of a row.
    was._prefetched_objects_cache = {"skill_shares": [_taught(share, known) for share in entry["skills"]]}
    return was


def _taught(share: Mapping[str, Any], known: Words) -> DrillSkill:
    return DrillSkill(skill=known.skill(share["skill"]), share=share["share"], roles=share["roles"])


def differences(before: Entry, after: Entry, known: Words) -> Iterator[Difference]:
    """Field by field, in the order in which a drill shows them."""
    for field in fields():
        if before.get(field) != after.get(field):
            yield _difference(field, before.get(field), after.get(field), known)


def _difference(field: str, before: Any, after: Any, known: Words) -> Difference:
    was, now = _parts(field, before, known), _parts(field, after, known)
    if isinstance(before, list) and isinstance(after, list):
        gone, new = _without(was, now), _without(now, was)
        return Difference(label(field), gone, new, moved=not gone and not new)
    return Difference(label(field), was, now, moved=was == now)


def _without(some: Iterable[str], others: Iterable[str]) -> tuple[str, ...]:
    others = set(others)
    return tuple(each for each in some if each not in others)


def label(field: str) -> str:
    return capfirst(str(LABELS[field] if field in LABELS else Drill._meta.get_field(field).verbose_name))


def _parts(field: str, value: Any, known: Words) -> tuple[str, ...]:
    """A value as people say it: one part for each line of a list."""
    if value in (None, "", [], {}):
        return ()
    if field in SPANS:
        value = {part: value[part] for part in SPANS[field]}
    if field in IN_WORDS:
        return tuple(IN_WORDS[field](value, known))
    return tuple(map(told, value)) if isinstance(value, list) else (told(value),)


def _skills(shares: list[dict[str, Any]], known: Words) -> Iterator[str]:
    return (words.skill(_taught(share, known)) for share in shares)


def _kit(lines: list[dict[str, Any]], known: Words) -> Iterator[str]:
    for line in lines:
        heads = words.per(line["per"]) if line["per"] else _("in all")
        yield f"{words.pieces(line['item'], line['count'])} {heads}"


def _drawing(diagram: dict[str, Any], known: Words) -> Iterator[str]:
    yield _("a drawing of %(frames)d frames") % {"frames": len(diagram.get("frames", ()))}


IN_WORDS = {
    "skills": _skills,
    "kit": _kit,
    "diagram": _drawing,
    "rung": lambda rung, known: [f"{rung} {RUNGS[rung].name}"],
    "ladder": lambda code, known: [str(known.ladder(code))],
    "groups": lambda groups, known: [
        _("everyone") if code == "all" else known.club.names.group(code) for code in groups
    ],
    "needs": lambda needs, known: [f"{count} {known.club.names.group(code).lower()}" for code, count in needs.items()],
    "faults": lambda pairs, known: [f"{pair['fault']} → {pair['fix']}" for pair in pairs],
}
