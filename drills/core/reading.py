"""Reads a JSON file that a stranger wrote, and remembers on which line each value stands."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

Path = tuple[str | int, ...]
TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},:]|[^\s\[\]{},:"]+')


class NotJson(ValueError):
    """The file is no usable JSON; the message says where and how to mend it."""


class _KeyTwice(ValueError):
    pass


@dataclass(frozen=True)
class Document:
    value: Any
    text: str

    @cached_property
    def lines(self) -> dict[Path, int]:
        """The line, from 1, on which the value at each path begins."""
        return dict(_places(self.text))

    def line(self, path: Path) -> int:
        """The line of a value, or of what it would have stood in if it is missing."""
        while path not in self.lines:
            path = path[:-1]
        return self.lines[path]


def read(content: bytes) -> Document:
    """Parse UTF-8 JSON without anything that other readers would understand differently.

    Refuses other encodings, keys written twice, NaN and infinity, and nesting without end. A number such
    as 5.0 counts as the whole number that it is.
    """
    text = _decoded(content)
    try:
        value = json.loads(text, object_pairs_hook=_object, parse_constant=_no_number, parse_float=_whole_if_possible)
    except json.JSONDecodeError as error:
        raise NotJson(f"line {error.lineno}, column {error.colno}: this is not JSON ({error.msg})") from None
    except _KeyTwice as error:
        raise NotJson(f"line {_second_line(text)}: {error} is written twice within the same braces") from None
    except RecursionError:
        raise NotJson("the brackets in this file are nested too deep for a drill pack") from None
    except ValueError as error:
        raise NotJson(f"this file holds a number that no drill can have ({str(error)[:40]})") from None
    return Document(value, text)


def _decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise NotJson(f"line {line}: not written in UTF-8. Save the file again with UTF-8 as its encoding") from None


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _KeyTwice(json.dumps(key)[:40])
        found[key] = value
    return found


def _no_number(word: str) -> float:
    raise ValueError(word)


def _whole_if_possible(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise ValueError(digits[:20])
    return int(number) if number.is_integer() else number


def _second_line(text: str) -> int:
    seen: set[Path] = set()
    for path, line in _places(text):
        if path in seen:
            return line
        seen.add(path)
    return 1


def _places(text: str) -> Iterator[tuple[Path, int]]:
    """Path and line of every value, in the order of the file. The text has been read as JSON already."""
    path: list[str | int] = []
    line, counted, at_key = 1, 0, False
    for token in TOKEN.finditer(text):
        mark = token[0]
        if mark in "}]":
            path.pop()
        elif mark == ",":
            at_key = _next_item(path)
        elif at_key and mark != ":":
            path[-1], at_key = json.loads(mark), False
        elif mark != ":":
            line, counted = line + text.count("\n", counted, token.start()), token.start()
            yield tuple(path), line
            if mark in "{[":
                at_key = mark == "{"
                path.append("" if at_key else 0)


def _next_item(path: list[str | int]) -> bool:
    """Step on behind a comma; true if a key comes next."""
    last = path[-1]
    if isinstance(last, int):
        path[-1] = last + 1
    return isinstance(last, str)
