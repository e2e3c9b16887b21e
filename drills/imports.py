"""What a drill pack would do to a club's library, drill by drill. Nothing is written here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from drills.core import pack as rules
from drills.core.fault import Fault, Path
from drills.core.pack import FORMAT, Entry, Vocabulary
from drills.core.reading import Document, NotJson, read
from drills.entries import as_before, codes_of, entry_of, told_field
from drills.models import Drill, Ladder, Skill
from drills.schema import entry_faults, fields, pack_faults, shown
from shared.cells import MOST_BYTES, Unreadable
from shared.models import Club
from shared.preview import Change, Line, Preview, State

MOST_TOLD = 8


@dataclass(frozen=True, slots=True)
class Incoming:
    """One drill of a pack: what would become of it, and the row that has its number so far."""

    entry: Entry
    line: Line
    drill: Drill | None


def preview_pack(club: Club, content: bytes) -> Preview:
    """New, changed, same and refused drills of a pack. Raises Unreadable for a file that is no pack."""
    return Preview(tuple(drill.line for drill in incoming(club, content)), origin=FORMAT)


def incoming(club: Club, content: bytes) -> Iterator[Incoming]:
    """The drills of a pack in its order. Raises Unreadable before the first."""
    document = document_of(content)
    rows = {drill.number: drill for drill in Drill.objects.of(club).for_card()}
    vocabulary, lines_by_number = vocabulary_of(club), {}
    for place, entry in enumerate(document.value["drills"]):
        found = check(entry, vocabulary, rows) or list(_number_taken(entry["number"], rows, lines_by_number))
        if found:
            yield Incoming(entry, _refused(document, place, found), None)
        else:
            line, row = document.line(("drills", place)), rows.get(entry["number"])
            lines_by_number[entry["number"]] = line
            entry = as_before(entry, row)
            yield Incoming(entry, _accepted(entry, line, row), row)


def document_of(content: bytes) -> Document:
    """The parsed pack, right as a whole; raises Unreadable in words otherwise."""
    if len(content) > MOST_BYTES:
        most = MOST_BYTES / 1_000_000
        raise Unreadable(_("The file is larger than %(most).1f MB. Split it into several packs.") % {"most": most})
    try:
        document = read(content)
    except NotJson as error:
        raise Unreadable(_("This is no drill pack: %(why)s.") % {"why": error}) from error
    if found := pack_faults(document.value):
        raise Unreadable(_("This is no drill pack: %(why)s.") % {"why": "; ".join(_each(document, (), found))})
    return document


def vocabulary_of(club: Club, allowed: Vocabulary | None = None) -> Vocabulary:
    """What the club offers, and of `allowed` what it knows although it has retired it."""
    known = allowed or Vocabulary(frozenset(), frozenset())
    return Vocabulary(_codes(Skill, club, known.skills), _codes(Ladder, club, known.ladders))


def _codes(model: type[Skill | Ladder], club: Club, allowed: frozenset[str]) -> frozenset[str]:
    offered = Q(retired_on=None) | Q(code__in=allowed)
    return frozenset(model.objects.of(club).filter(offered).values_list("code", flat=True))


def check(entry: Any, vocabulary: Vocabulary, rows: Mapping[int, Drill] | None = None) -> list[Fault]:
    """Faults of shape; only an entry of the right shape is asked about the rules.

    `rows`: the club's drills by number. What the row of an entry's number teaches already may stay, even retired.
    """
    if found := entry_faults(entry):
        return found
    if row := (rows or {}).get(entry["number"]):
        known = codes_of(entry_of(row))
        vocabulary = Vocabulary(vocabulary.skills | known.skills, vocabulary.ladders | known.ladders)
    return rules.faults(entry, vocabulary)


def changes(before: Entry, after: Entry) -> tuple[Change, ...]:
    return tuple(
        Change(field.replace("_", " "), *told_field(field, before.get(field), after.get(field)))
        for field in fields()
        if before.get(field) != after.get(field)
    )


def _number_taken(number: int, rows: dict[int, Drill], lines_by_number: dict[int, int]) -> Iterator[Fault]:
    if number in lines_by_number:
        told = {"number": number, "line": lines_by_number[number]}
        yield Fault(("number",), _("%(number)d stands twice in this file, first on line %(line)d") % told)
    elif number in rows and rows[number].retired_on:
        why = _("%(drill)s is retired in this club; bring it back first, or take another number")
        yield Fault(("number",), why % {"drill": rows[number]})


def _accepted(entry: Entry, line: int, row: Drill | None) -> Line:
    where, label = _("line %d") % line, f"#{entry['number']} {entry['name']}"
    if row is None:
        return Line(where, label, State.NEW)
    found = changes(entry_of(row), entry)
    return Line(where, label, State.CHANGED if found else State.SAME, found)


def _refused(document: Document, place: int, found: list[Fault]) -> Line:
    """One line a drill, with the first fault in front and the others behind it, so that all can be mended at once."""
    path = ("drills", place)
    first, *others = found
    reasons = [first.why, *_each(document, path, others[:MOST_TOLD])]
    if len(others) > MOST_TOLD:
        reasons.append(_("and %d more") % (len(others) - MOST_TOLD))
    where = _("line %d") % document.line((*path, *first.path))
    return Line(
        where, _label(document.value["drills"][place], place), State.REFUSED, (), first.field, "; ".join(reasons)
    )


def _each(document: Document, path: Path, found: list[Fault]) -> Iterator[str]:
    for fault in found:
        yield _("line %(line)d: %(what)s") % {
            "line": document.line((*path, *fault.path)),
            "what": f"{fault.field} {fault.why}".strip(),
        }


def _label(entry: Any, place: int) -> str:
    """What a refused entry calls itself, if it does."""
    name = entry.get("name") if isinstance(entry, dict) else None
    return shown(name) if isinstance(name, str) else _("drill no. %d of the file") % (place + 1)
