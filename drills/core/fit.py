"""How large the text of a card may be set. Sizes are in pt, heights in mm from the top edge of an A5 card.

A card has one size, that of its plain text; what is read at arm's length (steps, safety, cues) follows it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

LARGEST, SMALLEST, STEP = 10.0, 4.0, 0.1
TEXT_ENDS = 196.0  # mm; below stands the foot

# Height = HEAD + MM * volume: a straight line through the 60 starter cards at four sizes, which is off by
# 4 % (standard deviation), moved down by half of that because a card set twice costs more than a tenth of a
# point. It is a first guess only: what is printed has been measured.
HEAD, MM, LAST_LINE = 31.0, 0.00052, 30
# Height grows by this power of the size on the same cards; below the square, as heads and rules do not grow.
GROWTH = 1.4
ROOM_WORTH_FILLING = 0.94


def key_size(size: float) -> float:
    """Steps and safety notes give way last: 12.6 pt beside plain text of 10 pt, 10 pt beside 7."""
    return 10 + (size - 7) * 13 / 15 if size > 7 else size * 10 / 7


def first_guess(plain: Iterable[str], key: Iterable[str]) -> float:
    """The size at which so many paragraphs, plain and at arm's length, fill a card."""
    plain_volume, key_volume = _volume(plain), _volume(key)
    size = LARGEST
    while size > SMALLEST and HEAD + MM * (plain_volume * size**2 + key_volume * key_size(size) ** 2) > TEXT_ENDS:
        size = stepped_down(size - STEP)
    return size


def next_try(size: float, end: float) -> float:
    """The size to try after one whose text ended at `end`: larger if that left room, else smaller by a step or more."""
    guess = stepped_down(size * (TEXT_ENDS / end) ** (1 / GROWTH))
    if end > TEXT_ENDS:
        guess = min(guess, stepped_down(size - STEP))
    return min(LARGEST, max(SMALLEST, guess))


def leaves_room(size: float, end: float) -> bool:
    """Whether so much of the card stayed empty that larger type is worth another try."""
    return end < ROOM_WORTH_FILLING * TEXT_ENDS and size < LARGEST


def stepped_down(size: float) -> float:
    return round(math.floor(size / STEP + 1e-6) * STEP, 1)


def _volume(texts: Iterable[str]) -> int:
    """Characters, and for each paragraph the part of its last line that stays empty."""
    return sum(len(text) + LAST_LINE for text in texts if text)
