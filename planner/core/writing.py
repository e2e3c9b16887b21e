"""Turns the values of a problem or plan into plain JSON values, the inverse of planner.core.reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date
from enum import StrEnum
from typing import Any

# Metadata of a field whose key is written only where it says something else than the default.
WHEN_GIVEN = {"when given": True}


def plain(value: object) -> Any:
    """Dictionaries, lists, texts and numbers; a value that writes itself otherwise has its own `to_json`."""
    if hasattr(value, "to_json"):
        return value.to_json()
    if is_dataclass(value) and not isinstance(value, type):
        return as_object(value)
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple):
        return [plain(entry) for entry in value]
    return str(value) if isinstance(value, date | StrEnum) else value


def as_object(value: Any) -> dict[str, Any]:
    """Each public field of a dataclass under its own name, but for defaults of those marked WHEN_GIVEN."""
    return {
        f.name: plain(there)
        for f in fields(value)
        for there in [getattr(value, f.name)]
        if not f.name.startswith("_") and not (f.metadata == WHEN_GIVEN and there == _default(f))
    }


def _default(field: Field[Any]) -> Any:
    return field.default if field.default_factory is MISSING else field.default_factory()
