"""How wide letters are set: advance widths read from our own TrueType files (OpenType 1.9: head, hhea, hmtx, cmap)."""

from __future__ import annotations

import struct
from bisect import bisect_left
from collections.abc import Iterator
from functools import cache
from pathlib import Path

FONTS = Path(__file__).parent / "fonts"
FILES = {False: "DejaVuSansCondensed.ttf", True: "DejaVuSansCondensed-Bold.ttf"}
UNKNOWN = 1.0  # in parts of the type size: a letter of another font, wide to be safe


def width(text: str, bold: bool = False) -> float:
    """The width of a text in parts of its type size, kerning left aside."""
    return sum(map(widths(bold).__getitem__, text))


@cache
def widths(bold: bool) -> Widths:
    return Widths((FONTS / FILES[bold]).read_bytes())


class Widths(dict[str, float]):
    """The width of each letter, looked up in the file of a font when it is first asked for."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        self._data = data
        tables = dict(directory(data))
        (self._em,) = struct.unpack_from(">H", data, tables["head"] + 18)
        (self._listed,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
        self._advances = tables["hmtx"]
        self._segments = segments(data, tables["cmap"])

    def __missing__(self, letter: str) -> float:
        glyph = self._glyph(ord(letter))
        if glyph:
            at = self._advances + 4 * min(glyph, self._listed - 1)  # later glyphs are as wide as the last one listed
            self[letter] = struct.unpack_from(">H", self._data, at)[0] / self._em
        else:
            self[letter] = UNKNOWN
        return self[letter]

    def _glyph(self, code: int) -> int:
        place = bisect_left(self._segments, (code, 0, 0, 0))
        if place == len(self._segments):
            return 0
        _end, first, delta, row = self._segments[place]
        if code < first:
            return 0
        if not row:
            return (code + delta) & 0xFFFF
        (glyph,) = struct.unpack_from(">H", self._data, row + 2 * (code - first))
        return (glyph + delta) & 0xFFFF if glyph else 0


def directory(data: bytes) -> Iterator[tuple[str, int]]:
    """The tables of a font file, and where each begins."""
    (count,) = struct.unpack_from(">H", data, 4)
    for place in range(count):
        tag, _sum, start, _length = struct.unpack_from(">4sIII", data, 12 + 16 * place)
        yield tag.decode(), start


def segments(data: bytes, cmap: int) -> list[tuple[int, int, int, int]]:
    """Runs of code points of the basic plane (subtable of format 4): last and first one, what is added to give the
    glyph, and where the row of glyphs stands, or 0 where there is none."""
    start = _format_4(data, cmap)
    (twice,) = struct.unpack_from(">H", data, start + 6)
    count = twice // 2
    columns = [struct.unpack_from(f">{count}H", data, start + 14 + place) for place in (0, twice + 2, 2 * twice + 2)]
    rows_at = start + 16 + 3 * twice
    offsets = struct.unpack_from(f">{count}H", data, rows_at)
    rows = [rows_at + 2 * place + offset if offset else 0 for place, offset in enumerate(offsets)]
    return list(zip(*columns, rows, strict=True))


def _format_4(data: bytes, cmap: int) -> int:
    (count,) = struct.unpack_from(">H", data, cmap + 2)
    starts = (cmap + struct.unpack_from(">I", data, cmap + 8 + 8 * place)[0] for place in range(count))
    return next(start for start in starts if struct.unpack_from(">H", data, start)[0] == 4)
