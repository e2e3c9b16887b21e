"""How many lines a text fills: words by their widths, broken as the printer breaks them.

Widths of words are in parts of the type size, everything else in pt.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from drills.core.paper import DROP, ITEM_GAP, LEADING, RISE

Width = Callable[[str, bool], float]  # of a text in parts of the type size, in bold type or not
NEARLY = 0.996  # of a line is filled: kerning, which is not reckoned with, may add a little
LONG_WORD = 25  # letters: from here on a word may break anywhere


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words by their widths; before each either a blank or nothing, where it may break all the same."""

    words: tuple[tuple[float, float], ...]

    def lines(self, width: float) -> int:
        """How many lines it fills in a column so many type sizes wide."""
        if not self.words:
            return 0
        lines, at = 1, -self.words[0][0]
        for blank, word in self.words:
            at += blank + word
            if at > width * NEARLY:
                lines, at = lines + 1, word
        return lines

    @property
    def length(self) -> float:
        return sum(blank + word for blank, word in self.words)


def paragraph(runs: Iterable[tuple[str, bool]], width: Width) -> Paragraph:
    """Stretches of text, bold or not, with a blank between each two."""
    return Paragraph(tuple(chain.from_iterable(words(text, bold, width) for text, bold in runs)))


def words(text: str, bold: bool, width: Width) -> Iterator[tuple[float, float]]:
    """Each word in one piece, a long one letter by letter. A line may also end after a hyphen, which is not reckoned
    with: it could only make the text shorter."""
    blank = width(" ", bold)
    for word in text.split():
        if len(word) < LONG_WORD:
            yield blank, width(word, bold)
        else:
            yield blank, width(word[0], bold)
            yield from ((0.0, width(letter, bold)) for letter in word[1:])


def height(lines: int, size: float) -> float:
    return (lines * (RISE + DROP) + (lines - 1) * LEADING) * size if lines else 0.0


def block(text: Paragraph, size: float, width: float) -> float:
    """The height of a paragraph."""
    return height(text.lines(width / size), size)


def listed(items: Sequence[Paragraph], size: float, width: float, indent: float = 0.0) -> float:
    """The height of a list; `indent` in parts of the type size is the mark before an item and the room after it."""
    room = width / size - indent
    return sum(height(item.lines(room), size) for item in items) + max(len(items) - 1, 0) * ITEM_GAP * size


def run_on(texts: Iterable[Paragraph], size: float, width: float) -> float:
    """The height of texts that begin on new lines of one paragraph."""
    return height(sum(text.lines(width / size) for text in texts), size)


def piled(parts: Iterable[float], gap: float) -> float:
    """The height of parts one below the other; a part without height is not there."""
    there = [part for part in parts if part]
    return sum(there) + max(len(there) - 1, 0) * gap
