"""A drill as a row and a drill as an entry of a pack: the one translator between the two."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drills.core.pack import Entry, Vocabulary
from drills.models import Drill
from drills.schema import fields

SPANS = {
    "players": ("least", "ideal", "most"),
    "minutes": ("least", "ideal", "most"),
    "contacts": ("least", "most"),
    "grid": ("width", "length", "per"),
}
BY_CODE = ("skills", "ladder")


def plain_fields() -> list[str]:
    """Fields that a row keeps under the same name and in the same form."""
    return [field for field in fields() if field not in SPANS and field not in BY_CODE]


def entry_of(drill: Drill) -> dict[str, Any]:
    """The entry that a pack would hold for this row. Looks at its skills and its ladder: fetch `for_card`."""
    found = {field: getattr(drill, field) for field in plain_fields()}
    for field, parts in SPANS.items():
        found[field] = {part: getattr(drill, f"{field}_{part}") for part in parts}
    found["skills"] = [
        {"skill": taught.skill.code, "share": taught.share, "roles": taught.roles}
        for taught in drill.skill_shares.all()
    ]
    found["ladder"] = drill.ladder.code if drill.ladder else None
    return {field: found[field] for field in fields()}


def columns_of(entry: Entry) -> dict[str, Any]:
    """The columns of a row that an entry fills; skills and ladder are rows themselves and left to the caller."""
    columns = {field: entry.get(field) for field in plain_fields()}
    for field, parts in SPANS.items():
        columns |= {f"{field}_{part}": entry[field][part] for part in parts}
    return columns


def whole(entry: Entry) -> dict[str, Any]:
    """An entry with every field that the format has by now; one kept long ago may lack the newer ones."""
    return {field: entry.get(field) for field in fields()}


def as_before(entry: Entry, drill: Drill | None) -> dict[str, Any]:
    """A whole entry in which whatever a pack from before did not mention stays as the row has it."""
    return whole((entry_of(drill) if drill else {}) | entry)


def codes_of(entry: Entry) -> Vocabulary:
    """The skills and the ladder that an entry names."""
    ladder = entry.get("ladder")
    return Vocabulary(frozenset(taught["skill"] for taught in entry["skills"]), frozenset([ladder] if ladder else []))


def told_field(field: str, before: Any, after: Any) -> tuple[str, str]:
    """What a field was and what it becomes. A drawing is told by its size: nobody reads its coordinates."""
    if field != "diagram":
        return told(before), told(after)
    was, now = _told_drawing(before), _told_drawing(after)
    return was, now if now != was else _("%(drawing)s, redrawn") % {"drawing": now}


def _told_drawing(diagram: Mapping[str, Any] | None) -> str:
    if diagram is None:
        return ""
    count = len(diagram["frames"])
    things = sum(len(frame["objects"]) for frame in diagram["frames"])
    return ", ".join(
        [
            ngettext("%d frame", "%d frames", count) % count,
            ngettext("%d object", "%d objects", things) % things,
        ]
    )


def told(value: Any) -> str:
    """A value of an entry as a page or a terminal shows it."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key.replace('_', ' ')} {told(part)}" for key, part in value.items() if part is not None)
    if isinstance(value, list):
        return "; ".join(told(part) for part in value)
    return "" if value is None else str(value)
