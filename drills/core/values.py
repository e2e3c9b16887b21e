"""What is wrong with single values of parsed JSON: each check yields the faults of one value, at its path."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Any

from drills.core.fault import Fault, Path

UNPRINTABLE = re.compile("[\u0000-\u001f\u007f-\u009f\u2028\u2029\ud800-\udfff\ufffe\uffff]")


def fields(value: Any, path: Path, *names: str) -> Iterator[Fault]:
    if not isinstance(value, Mapping):
        yield Fault(path, f"is {shown(value)}; it should be a set of fields in braces: {', '.join(names)}")
        return
    for name in names:
        if name not in value:
            yield Fault((*path, name), "is missing")
    for name in sorted(str(name) for name in value if name not in names):
        yield Fault(path, f"{shown(name)} is no field of the format")


def a_list(value: Any, path: Path, what: str, least: int, most: int) -> Iterator[Fault]:
    if not isinstance(value, list | tuple):
        yield Fault(path, f"is {shown(value)}; it should be a list in square brackets")
    elif not least <= len(value) <= most:
        yield Fault(path, f"holds {len(value)} {what}; it should hold {least} to {most}")


def number(value: Any, path: Path, least: float, most: float, *, step: float) -> Iterator[Fault]:
    if not _is_number(value):
        yield Fault(path, f"is {shown(value)}; it should be a number")
    elif not least <= value <= most:
        yield Fault(path, f"is {shown(value)}; it should be {least:g} to {most:g}")
    elif value != (nearest := round(round(value / step) * step, 1)):
        yield Fault(path, f"is {shown(value)}; steps are {step:g}, write {nearest:g}")


def _is_number(value: Any) -> bool:
    """Neither true nor false, nor infinite. A whole number of any length is one: only its size is wrong."""
    return (isinstance(value, float) and math.isfinite(value)) or (
        isinstance(value, int) and not isinstance(value, bool)
    )


def one_of(value: Any, path: Path, words: type[StrEnum]) -> Iterator[Fault]:
    known = [str(word) for word in words]
    if not isinstance(value, str) or value not in known:
        yield Fault(path, f"{shown(value)} is not one of {', '.join(known)}")


def text(value: Any, path: Path, most: int) -> Iterator[Fault]:
    if not isinstance(value, str):
        yield Fault(path, f"is {shown(value)}; it should be text in quotation marks")
    elif len(value) > most:
        yield Fault(path, f"is {len(value)} characters long; there is room for {most}")
    elif UNPRINTABLE.search(value) or value != value.strip():
        yield Fault(path, "should be one line, without blank space at either end")


def shown(value: Any) -> str:
    """A value as a message repeats it; nobody needs a megabyte read back."""
    if isinstance(value, Mapping | list | tuple):
        return "a set of fields" if isinstance(value, Mapping) else "a list"
    said = f"“{value[:41]}”" if isinstance(value, str) else "null" if value is None else str(value)[:41]
    return said if len(said) <= 42 else f"{said[:40]}…"
