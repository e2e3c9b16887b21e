"""Reads a JSON file that a stranger wrote, and remembers on which line each value stands."""

from __future__ import annotations

import codecs
import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

Path = tuple[str | int, ...]
TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},:]|[^\s\[\]{},:"]+')


WORDS_FOR_NUMBERS = {"NaN", "Infinity", "-Infinity"}
DEEP = 100  # brackets within brackets; a drill pack has about ten
NOT_TEXT = {
    codecs.BOM_UTF16_LE: "the file is written in UTF-16. Save it again with UTF-8 as its encoding",
    codecs.BOM_UTF16_BE: "the file is written in UTF-16. Save it again with UTF-8 as its encoding",
    b"PK\x03\x04": "the file is a ZIP archive. Unpack it and choose the JSON file inside",
    b"\x1f\x8b": "the file is compressed. Unpack it first",
}


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
        raise _nested(text) from None
    except ValueError:
        line, number = _strange_number(text)
        raise NotJson(f"line {line}: no drill can have this number ({number[:20]})") from None
    if _too_deep(value):
        raise _nested(text)
    return Document(value, text)


def _decoded(content: bytes) -> str:
    for start, what in NOT_TEXT.items():
        if content.startswith(start):
            raise NotJson(what)
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


def _too_deep(value: Any) -> bool:
    waiting = [(value, 0)]
    while waiting:
        part, depth = waiting.pop()
        if isinstance(part, list | dict):
            if depth == DEEP:
                return True
            waiting.extend((inner, depth + 1) for inner in (part.values() if isinstance(part, dict) else part))
    return False


def _nested(text: str) -> NotJson:
    return NotJson(f"line {_line_of_depth(text)}: the brackets are nested too deep for a drill pack")


def _line_of_depth(text: str) -> int:
    """Where brackets first stand deeper than any drill needs."""
    depth = 0
    for token in TOKEN.finditer(text):
        depth += (token[0] in "[{") - (token[0] in "]}")
        if depth > DEEP:
            return _line_at(text, token)
    return 1


def _strange_number(text: str) -> tuple[int, str]:
    """The first number that is none, is infinite, or has more digits than a number is read with."""
    for token in TOKEN.finditer(text):
        if token[0] in WORDS_FOR_NUMBERS or (token[0][0] in "-0123456789" and _is_strange(token[0])):
            return _line_at(text, token), token[0]
    return 1, ""


def _is_strange(digits: str) -> bool:
    return len(digits) > 300 or not math.isfinite(float(digits))


def _line_at(text: str, token: re.Match[str]) -> int:
    return text.count("\n", 0, token.start()) + 1


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
