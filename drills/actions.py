"""What people do to a club's library. Every verb is one transaction with its entry in the audit chain."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from drills.core import diagram as diagrams
from drills.core.pack import FORMAT, Entry, Fault, Vocabulary
from drills.entries import codes_of, columns_of, entry_of, whole
from drills.imports import changes, check, incoming, vocabulary_of
from drills.models import Drill, DrillQuerySet, DrillSkill, DrillVersion, Ladder, Skill
from drills.schema import longest
from shared import audit
from shared.models import Club, User
from shared.preview import Outdated, Preview, State

DATA = Path(__file__).parent / "data"
STARTER_AUTHOR = "Plumbline"


class DrillRefused(ValueError):
    """An entry that breaks the rules of a drill; `faults` says where and why."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{fault.field} {fault.why}" for fault in self.faults))


class EditedMeanwhile(Exception):
    """The drill is no longer the version that the editor began with."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        super().__init__()

    def __str__(self) -> str:
        told = {"drill": self.drill, "n": self.drill.version}
        return (
            _("%(drill)s is version %(n)d by now. Nothing was saved: open its card beside this, then edit again.")
            % told
        )


@transaction.atomic
def import_pack(
    club: Club, content: bytes, *, name: str, by: User | str, today: dt.date, seen: str | None = None
) -> Preview:
    """Write every acceptable drill of a pack, or none; refused ones are left out. Returns what was done.

    `seen` is the fingerprint of the preview that was confirmed. Raises Unreadable for a file that is no pack,
    and Outdated if its drills would now do something else.
    """
    _line_up(club)
    drills = list(incoming(club, content))
    preview = Preview(tuple(drill.line for drill in drills), origin=FORMAT)
    if seen is not None and seen != preview.fingerprint:
        raise Outdated(preview)
    written = [drill for drill in drills if drill.line.state in (State.NEW, State.CHANGED)]
    library = _Library(club)
    for drill in written:
        library.write(drill.entry, drill.drill, today=today, author=str(by))
    if written:
        labels = {
            state: [d.line.label for d in written if d.line.state is state] for state in (State.NEW, State.CHANGED)
        }
        audit.record(club, "imported drills", name, by=by, new=labels[State.NEW], changed=labels[State.CHANGED])
    return preview


@transaction.atomic
def add_starter_library(club: Club, *, by: User | str, today: dt.date) -> int:
    """Give a club the skills, ladders and drills that come with Plumbline; what it has already stays as it is.

    Returns how many drills were added. A number that the club uses itself is left to the club, and what teaches a
    skill or stands on a ladder that the club has retired is left out.
    """
    _line_up(club)
    _add_vocabulary(club)
    taken = set(Drill.objects.of(club).values_list("number", flat=True))
    words = vocabulary_of(club)
    wanted = (entry for entry in starter_entries() if entry["number"] not in taken)
    entries = [entry for entry in wanted if not check(entry, words)]
    library = _Library(club)
    for entry in entries:
        library.write(entry, None, today=today, author=STARTER_AUTHOR)
    if entries:
        audit.record(club, "added the starter library", club, by=by, drills=len(entries))
    return len(entries)


@transaction.atomic
def add_drill(club: Club, entry: Entry, *, by: User | str, today: dt.date, like: Drill | None = None) -> Drill:
    """A new card, `like` being the one that it was adapted from. Raises DrillRefused."""
    _line_up(club)
    _must_pass(club, entry, codes_of(entry_of(like)) if like else None)
    if Drill.objects.of(club).filter(number=entry["number"]).exists():
        raise DrillRefused([Fault(("number",), _("%d is the number of another drill") % entry["number"])])
    drill = _Library(club).write(entry, None, today=today, author=str(by), like=like)
    told = {"adapted from": f"{like}, version {like.version}"} if like else {}
    audit.record(club, "added a drill", drill, by=by, **told)
    return drill


@transaction.atomic
def edit_drill(drill: Drill, entry: Entry, *, version: int, by: User | str, today: dt.date) -> Drill:
    """Make a drill say what the entry says, as its next version; nothing happens if it does already.

    `version` is the one that the editor saw. Raises EditedMeanwhile and DrillRefused.
    """
    drill = _held(drill, version)
    return _next_version(drill, entry, codes_of(entry_of(drill)), by=by, today=today)


@transaction.atomic
def set_diagram(drill: Drill, diagram: Any, *, version: int, by: User | str, today: dt.date) -> Drill:
    """Make a drill carry this drawing, None for none, as its next version. Raises DrillRefused and EditedMeanwhile."""
    now = Drill.objects.for_card().get(pk=drill.pk)
    return edit_drill(now, entry_of(now) | {"diagram": _judged(diagram)}, version=version, by=by, today=today)


@transaction.atomic
def copy_with_diagram(drill: Drill, diagram: Any, *, by: User | str, today: dt.date) -> Drill:
    """A new drill, adapted from this one, that says the same and carries this drawing. Raises DrillRefused."""
    _line_up(drill.club)
    last = Drill.objects.of(drill.club).aggregate(last=Max("number"))["last"] or 0
    suffix = _(" (copy)")
    name = drill.name[: longest("name") - len(suffix)] + suffix
    entry = entry_of(drill) | {"number": last + 1, "name": name, "diagram": _judged(diagram)}
    return add_drill(drill.club, entry, by=by, today=today, like=drill)


@transaction.atomic
def bring_back_version(drill: Drill, kept: DrillVersion, *, version: int, by: User | str, today: dt.date) -> Drill:
    """Make a drill say again what one of its versions said, as its next version.

    Skills and ladders that the club has retired since come back on the card. Raises EditedMeanwhile and DrillRefused.
    """
    drill, entry = _held(drill, version), whole(kept.entry)
    why = _("version %d brought back") % kept.version
    return _next_version(drill, entry, codes_of(entry), by=by, today=today, why=why)


@transaction.atomic
def retire_drill(drill: Drill, *, by: User | str, today: dt.date) -> None:
    """Take a drill out of the library and of new plans; whatever was planned or done with it stays."""
    if Drill.objects.current().filter(pk=drill.pk).update(retired_on=today):
        audit.record(drill.club, "retired a drill", drill, by=by)


@transaction.atomic
def bring_back_drill(drill: Drill, *, by: User | str) -> None:
    if Drill.objects.filter(pk=drill.pk, retired_on__isnull=False).update(retired_on=None):
        audit.record(drill.club, "brought back a drill", drill, by=by)


def export_pack(drills: DrillQuerySet) -> dict[str, Any]:
    """Drills as a pack. Importing it again changes nothing; another club gets the same drills.

    A pack does not say who retired what: a retired drill in it is a drill like any other.
    """
    return {"format": FORMAT, "drills": [entry_of(drill) for drill in drills.for_card()]}


def starter_entries() -> list[dict[str, Any]]:
    packs = (json.loads(path.read_text(encoding="utf-8")) for path in sorted((DATA / "starter").glob("*.json")))
    return sorted((whole(entry) for pack in packs for entry in pack["drills"]), key=lambda entry: entry["number"])


class _Library:
    """Writes entries as rows of one club, with its skills and ladders at hand."""

    def __init__(self, club: Club) -> None:
        self.club = club
        self.skills = {skill.code: skill for skill in Skill.objects.of(club)}
        self.ladders = {ladder.code: ladder for ladder in Ladder.objects.of(club)}

    def write(
        self,
        entry: Entry,
        drill: Drill | None,
        *,
        today: dt.date,
        author: str,
        why: str = "",
        like: Drill | None = None,
    ) -> Drill:
        """Make `drill`, or a new row, say what the entry says, and keep that version. The entry has been checked."""
        if drill is None:
            drill = Drill(club=self.club, author=author[:80], adapted_from=like)
            drill.adapted_version = like.version if like else None
        else:
            drill.version += 1
        for column, value in columns_of(entry).items():
            setattr(drill, column, value)
        drill.ladder = self.ladders.get(entry["ladder"])
        drill.revised_on = today
        drill.save()
        self._teach(drill, entry)
        drill.versions.create(
            version=drill.version, made_on=today, author=author[:80], why=why[:80], entry=whole(entry)
        )
        return drill

    def _teach(self, drill: Drill, entry: Entry) -> None:
        drill.skill_shares.all().delete()
        DrillSkill.objects.bulk_create(
            DrillSkill(drill=drill, skill=self.skills[taught["skill"]], share=taught["share"], roles=taught["roles"])
            for taught in entry["skills"]
        )


def _line_up(club: Club) -> None:
    """Two people who write to one library take turns, so that numbers and versions hold."""
    Club.objects.select_for_update().get(pk=club.pk)


def _held(drill: Drill, version: int) -> Drill:
    """The drill as it stands now, and nobody else writing; raises EditedMeanwhile unless it is that version."""
    _line_up(drill.club)
    drill = Drill.objects.of(drill.club).for_card().get(pk=drill.pk)
    if drill.version != version:
        raise EditedMeanwhile(drill)
    return drill


def _next_version(
    drill: Drill, entry: Entry, allowed: Vocabulary, *, by: User | str, today: dt.date, why: str = ""
) -> Drill:
    """`allowed`: codes that may stand there although they are not offered any more."""
    _must_pass(drill.club, entry, allowed)
    if entry["number"] != drill.number:
        raise DrillRefused([Fault(("number",), _("stays %d: prints carry it") % drill.number)])
    if changed := changes(entry_of(drill), entry):
        _Library(drill.club).write(entry, drill, today=today, author=str(by), why=why)
        told = {"version": drill.version, "changes": list(map(str, changed))} | ({"why": why} if why else {})
        audit.record(drill.club, "changed a drill", drill, by=by, **told)
    return drill


def _judged(diagram: Any) -> dict[str, Any] | None:
    """A drawing in the one way to write it, so that the same drawing is never a change. Raises DrillRefused."""
    try:
        return None if diagram is None else diagrams.written(diagrams.read(diagram))
    except diagrams.NotADiagram as refused:
        raise DrillRefused(refused.faults) from None


def _must_pass(club: Club, entry: Entry, allowed: Vocabulary | None = None) -> None:
    if found := check(entry, vocabulary_of(club, allowed)):
        raise DrillRefused(found)


def _add_vocabulary(club: Club) -> None:
    words = json.loads((DATA / "vocabulary.json").read_text(encoding="utf-8"))
    for model, key in ((Skill, "skills"), (Ladder, "ladders")):
        known = set(model.objects.of(club).values_list("code", flat=True))
        model.objects.bulk_create(model(club=club, **word) for word in words[key] if word["code"] not in known)
