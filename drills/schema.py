"""The published shape of a drill pack, and whatever departs from it, in words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from jsonschema import Draft202012Validator, validators
from jsonschema.exceptions import ValidationError

from drills.core.pack import Fault

SCHEMA = Path(__file__).parent / "data" / "pack.schema.json"
SHOWN = 40
MOST_FAULTS = 200
TYPES = {
    "object": gettext_lazy("a set of fields in braces"),
    "array": gettext_lazy("a list in square brackets"),
    "string": gettext_lazy("text in quotation marks"),
    "integer": gettext_lazy("a whole number"),
    "number": gettext_lazy("a number"),
    "null": "null",
}
WHY = {
    "type": gettext_lazy("is %(shown)s; it should be %(wanted)s"),
    "minimum": gettext_lazy("is %(shown)s; it should be %(bounds)s"),
    "maximum": gettext_lazy("is %(shown)s; it should be %(bounds)s"),
    "minItems": gettext_lazy("holds %(size)s entries; it should hold %(bounds)s"),
    "maxItems": gettext_lazy("holds %(size)s entries; it should hold %(bounds)s"),
    "minLength": gettext_lazy("is empty"),
    "maxLength": gettext_lazy("is %(size)s characters long; a card has room for %(limit)s"),
    "uniqueItems": gettext_lazy("says the same thing twice"),
    "enum": gettext_lazy("%(shown)s is not one of %(wanted)s"),
    "const": gettext_lazy("is %(shown)s; it should be “%(limit)s”"),
    "pattern": gettext_lazy("%(shown)s is not %(wanted)s"),
}


@cache
def schema() -> dict[str, Any]:
    return json.loads(SCHEMA.read_text(encoding="utf-8"))


def pack_faults(pack: Any) -> list[Fault]:
    """What keeps a file from being a pack, its drills apart; of very many faults the first ones."""
    return _first(_faults(_pack_validator(), pack))


def entry_faults(entry: Any) -> list[Fault]:
    """Where one drill of a pack departs from the schema; of very many places the first ones."""
    return _first(_faults(_entry_validator(), entry))


def _first(faults: Iterator[Fault]) -> list[Fault]:
    """Each once, as many as anybody will read."""
    seen: dict[Fault, None] = {}
    for fault in faults:
        seen[fault] = None
        if len(seen) == MOST_FAULTS:
            break
    return list(seen)


def fields() -> dict[str, dict[str, Any]]:
    """The fields of a drill in the order in which packs and pages show them, as the schema describes them."""
    return schema()["$defs"]["drill"]["properties"]


def longest(field: str) -> int:
    """The most characters of a text field, or of one line of a list."""
    return fields()[field].get("items", fields()[field])["maxLength"]


def described(field: str) -> str:
    return fields()[field].get("description", "")


def _all_different(validator: Any, wanted: bool, parts: Any, about: Any) -> Iterator[ValidationError]:
    """Like the library's own check, but in one pass: that one compares each with each, hours for a hostile list."""
    if wanted and validator.is_type(parts, "array"):
        written = [json.dumps(part, sort_keys=True) for part in parts]
        if len(set(written)) < len(written):
            yield ValidationError("says the same thing twice")


PackValidator = validators.extend(Draft202012Validator, {"uniqueItems": _all_different})


@cache
def _pack_validator() -> Draft202012Validator:
    drills = {key: value for key, value in schema()["properties"]["drills"].items() if key != "items"}
    return PackValidator(schema() | {"properties": schema()["properties"] | {"drills": drills}})


@cache
def _entry_validator() -> Draft202012Validator:
    return PackValidator({"$defs": schema()["$defs"], "$ref": "#/$defs/drill"})


def _faults(validator: Draft202012Validator, value: Any) -> Iterator[Fault]:
    told_missing: set[tuple[Any, ...]] = set()
    for error in validator.iter_errors(value):
        path = tuple(error.absolute_path)
        if error.validator == "required":
            if path in told_missing:  # the library says it once for each field, we for all of them at once
                continue
            told_missing.add(path)
            missing = [name for name in error.validator_value if name not in error.instance]
            yield from (Fault((*path, name), _("is missing")) for name in missing)
        elif error.validator == "additionalProperties":
            strange = sorted(set(error.instance) - set(error.schema["properties"]))
            yield from (Fault(path, _("%s is no field of the format") % shown(name)) for name in strange)
        else:
            yield Fault(path, _why(error))


def _why(error: ValidationError) -> str:
    instance = error.instance
    words = WHY.get(error.validator, WHY["pattern"])
    return str(words) % {
        "shown": shown(instance),
        "size": len(instance) if isinstance(instance, str | list | dict) else "",
        "limit": error.validator_value,
        "bounds": _bounds(error.schema),
        "wanted": _wanted(error),
    }


def _bounds(limits: dict[str, Any]) -> str:
    least = limits.get("minimum", limits.get("minItems", 0))
    most = limits.get("maximum", limits.get("maxItems"))
    if most is None:
        return _("at least %d") % least
    return str(most) if least == most else _("%(least)d to %(most)d") % {"least": least, "most": most}


def _wanted(error: ValidationError) -> str:
    if error.validator == "type":
        types = error.validator_value
        return _(" or ").join(str(TYPES[name]) for name in ([types] if isinstance(types, str) else types))
    if error.validator == "enum":
        return ", ".join(error.validator_value)
    return error.schema.get("description", "")


def shown(value: Any) -> str:
    """A value as the file writes it, shortened; nobody needs a megabyte read back."""
    if isinstance(value, dict | list):
        return str(TYPES["object" if isinstance(value, dict) else "array"])
    text = json.dumps(value)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
