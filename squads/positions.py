"""Positions as clubs write them in a list: "12/13", "loose-head prop", "No 8", "back row"."""

from __future__ import annotations

import re

from django.utils.translation import gettext as _

from shared.core.positions import BACKS, FORWARDS, GROUPS

WORDS: dict[str, tuple[int, ...]] = {
    "loosehead": (1,),
    "loosehead prop": (1,),
    "lhp": (1,),
    "hooker": (2,),
    "tighthead": (3,),
    "tighthead prop": (3,),
    "thp": (3,),
    "prop": (1, 3),
    "lock": (4, 5),
    "second row": (4, 5),
    "sr": (4, 5),
    "blindside": (6,),
    "blindside flanker": (6,),
    "openside": (7,),
    "openside flanker": (7,),
    "flanker": (6, 7),
    "number 8": (8,),
    "number eight": (8,),
    "no 8": (8,),
    "eight": (8,),
    "halfback": (9,),
    "scrumhalf": (9,),
    "sh": (9,),
    "flyhalf": (10,),
    "outside half": (10,),
    "standoff": (10,),
    "first five": (10,),
    "first five eighth": (10,),
    "fh": (10,),
    "left wing": (11,),
    "inside centre": (12,),
    "second five": (12,),
    "second five eighth": (12,),
    "outside centre": (13,),
    "centre": (12, 13),
    "ce": (12, 13),
    "right wing": (14,),
    "wing": (11, 14),
    "winger": (11, 14),
    "fullback": (15,),
    "fb": (15,),
}
# A group says less than a position: its first shirt stands for it, and nobody is made a hooker by it.
GROUP_WORDS: dict[str, str] = {
    "front row": "FR",
    "fr": "FR",
    "back row": "BR",
    "loose forward": "BR",
    "br": "BR",
    "half backs": "HB",
    "halfbacks": "HB",
    "halves": "HB",
    "hb": "HB",
    "back three": "B3",
    "back 3": "B3",
    "outside back": "B3",
    "b3": "B3",
}
TOO_BROAD = {FORWARDS, "forward", BACKS, "back", "utility", "utility back", "utility forward", "any", "all"}
JOINED = [("head", "loose|tight"), ("side", "blind|open"), ("half", "scrum|fly"), ("off", "stand"), ("back", "full")]


def read_positions(text: str) -> list[int]:
    """Shirt numbers in the order written, each once; the first is the main position. ValueError says what is wrong."""
    numbers = [number for part in parts(text) for number in numbers_of(part)]
    return list(dict.fromkeys(numbers))


def parts(text: str) -> list[str]:
    """The single positions of a cell: parted by / , ; + & "and", line breaks, or numbers side by side."""
    text = re.sub(r"(?<=\d)\s*[-–.]\s*(?=\d)|(?<=\d)\s+(?=\d)", "/", text.casefold())
    return [part for part in re.split(r"\s*(?:[/,;+&\n]|\band\b|\bor\b)\s*", text.strip()) if part]


def numbers_of(part: str) -> tuple[int, ...]:
    """The shirt numbers that one position covers."""
    shirt = re.fullmatch(r"(?:#|no\.? ?|number )?(\d{1,3})\b.*", part)
    if shirt:
        return (shirt_number(int(shirt[1])),)
    word = tidied(part)
    singular = word.removesuffix("s")
    for name in (word, singular):
        if name in WORDS:
            return WORDS[name]
        if name in GROUP_WORDS:
            return GROUPS[GROUP_WORDS[name]][:1]
    if word in TOO_BROAD:
        raise ValueError(_("“%(word)s” is too broad. Write the shirt number, such as 7.") % {"word": part})
    raise ValueError(
        _("“%(word)s” is no position known here. Write the shirt number, such as 7, or 12/13 for two.") % {"word": part}
    )


def shirt_number(number: int) -> int:
    if not 1 <= number <= 15:
        raise ValueError(_("there is no position %(number)d. Positions go from 1 to 15.") % {"number": number})
    return number


def tidied(word: str) -> str:
    """Without hyphens and dots, American spelling made British, and pairs such as "fly half" in one word."""
    word = re.sub(r"[-–_.]+", " ", word).replace("center", "centre")
    for second, firsts in JOINED:
        word = re.sub(rf"\b({firsts}) {second}\b", rf"\1{second}", word)
    word = re.sub(r"\bhalf back$", "halfback", word)
    return " ".join(word.split())
