"""Reads values out of parsed JSON, and says in one line what is wrong, where, and how to mend it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

MOST = 1_000_000  # no count, minute or weight of a real block comes near; sums stay far inside 64 bits
MOST_REAL = 1e12
LONGEST_TEXT = 200
YEARS = range(1950, 2151)

Choice = TypeVar("Choice", bound=StrEnum)


class Malformed(ValueError):
    """A problem or plan that cannot be read; the text is one line: where, what, and how to mend it."""


def shown(value: object) -> str:
    """A value quoted for a message, never longer than a line and never with control characters."""
    if isinstance(value, int) and value.bit_length() > 128:  # Python refuses to write out the longest
        return f"a whole number of {value.bit_length()} bits"
    text = ascii(value)
    return text if len(text) <= 60 else text[:57] + "..."


@dataclass(frozen=True, slots=True)
class Node:
    """One value of a JSON document together with the words that say where it stands."""

    value: object
    where: str

    def refuse(self, what: str, mend: str) -> Malformed:
        return Malformed(f"{self.where}: {what}; {mend}")

    @property
    def given(self) -> bool:
        """A key that is missing and a key that is null mean the same."""
        return self.value is not None

    def get(self, key: str) -> Node:
        return Node(self._object().get(key), f"{self.where}, {key}")

    def entries(self) -> Iterator[tuple[str, Node]]:
        """The keys of an optional object with their values; null values are left out."""
        for key, value in (self._object() if self.given else {}).items():
            if value is not None:
                yield Node(key, f"{self.where}, a key").text(), Node(value, f"{self.where}, {shown(key)}")

    def items(self) -> list[Node]:
        """The entries of an optional list."""
        if not self.given:
            return []
        if not isinstance(self.value, list):
            raise self.refuse(f"{shown(self.value)} is not a list", "write [ ... ]")
        return [Node(item, f"{self.where}[{i}]") for i, item in enumerate(self.value)]

    def needed(self) -> Node:
        if not self.given:
            raise self.refuse("is missing", "add it")
        return self

    def text(self) -> str:
        if not isinstance(self.needed().value, str) or not self.value:
            raise self.refuse(f"{shown(self.value)} is not a text", 'write it in quotes, as "..."')
        text = str(self.value)
        if len(text) > LONGEST_TEXT or any(unicodedata.category(c) in ("Cc", "Cs") for c in text):
            raise self.refuse(
                f"{shown(text)} is too long or holds control characters",
                f"use at most {LONGEST_TEXT} ordinary characters",
            )
        return text

    def texts(self) -> tuple[str, ...]:
        return tuple(item.text() for item in self.items())

    def whole(self, low: int = 0, high: int = MOST) -> int:
        number = self._number()
        if (isinstance(number, float) and not number.is_integer()) or not low <= number <= high:
            raise self.refuse(f"{shown(self.value)} will not do", f"write a whole number from {low} to {high}")
        return int(number)

    def amount(self, low: float = 0, high: float = MOST) -> float:
        """A number with at most two decimals, so that a hundred times it is whole."""
        number = self._number()
        if not low <= number <= high or abs(100 * number - round(100 * number)) > 1e-6:
            raise self.refuse(
                f"{shown(self.value)} will not do",
                f"write a number from {low:g} to {high:g} with at most two decimals",
            )
        return number

    def real(self) -> float | None:
        """Any finite number within reach, such as a cost; it may be missing."""
        return self._number() if self.given else None

    def day(self) -> date:
        text = self.text()
        try:
            day = date.fromisoformat(text)
        except ValueError:
            raise self.refuse(f"{shown(text)} is not a date", "write it as 2026-01-31") from None
        if day.year not in YEARS:
            raise self.refuse(f"the year {day.year} is out of range", f"use {YEARS[0]} to {YEARS[-1]}")
        return day

    def flag(self) -> bool:
        if self.given and not isinstance(self.value, bool):
            raise self.refuse(f"{shown(self.value)} is neither true nor false", "write true or false")
        return bool(self.value)

    def choice(self, kind: type[Choice]) -> Choice:
        text = self.text()
        try:
            return kind(text)
        except ValueError:
            raise self.refuse(f"{shown(text)} is unknown", "write one of " + ", ".join(kind)) from None

    def one_of(self, known: object, what: str) -> str:
        """The id of something that the problem lists; `known` is any container of ids."""
        text = self.text()
        if text not in known:  # type: ignore[operator]
            raise self.refuse(f"there is no {what} {shown(text)}", f"name a {what} of the problem")
        return text

    def span(self, high: int) -> tuple[int, int]:
        """A pair [least, most] of whole numbers."""
        pair = self.needed().items()
        if len(pair) != 2:
            raise self.refuse(f"{shown(self.value)} is not a pair", "write [least, most]")
        least, most = (entry.whole(0, high) for entry in pair)
        if least > most:
            raise self.refuse(f"least {least} is above most {most}", "write the smaller number first")
        return least, most

    def ids(self, known: object, what: str) -> tuple[str, ...]:
        """An optional list of ids of things that the problem lists."""
        return tuple(item.one_of(known, what) for item in self.items())

    def whole_or(self, default: int, low: int = 0) -> int:
        """A whole number that may be left out."""
        return self.whole(low) if self.given else default

    def counts(self) -> dict[str, int]:
        return {key: value.whole() for key, value in self.entries()}

    def _object(self) -> dict[str, object]:
        if not isinstance(self.needed().value, dict):
            raise self.refuse(f"{shown(self.value)} is not an object", "write { ... }")
        return self.value  # type: ignore[return-value]

    def _number(self) -> float:
        number = self.needed().value
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise self.refuse(f"{shown(number)} is not a number", "write a number without quotes")
        if not abs(number) <= MOST_REAL:  # not a number compares false, so it is refused too
            raise self.refuse(f"{shown(number)} is out of range", f"write a number up to {MOST_REAL:g}")
        return number
