"""Widths of letters, against fontTools, which reads the same files in another way."""

import pytest
from fontTools.ttLib import TTFont

from shared.typefaces import FILES, FONTS, UNKNOWN, width, widths


@pytest.mark.parametrize("bold", [False, True])
def test_every_letter_is_as_wide_as_the_file_says(bold):
    font = TTFont(FONTS / FILES[bold])
    em, advances = font["head"].unitsPerEm, font["hmtx"]
    letters = {code: glyph for code, glyph in font.getBestCmap().items() if code <= 0xFFFF}
    assert len(letters) > 5000
    assert [code for code, glyph in letters.items() if width(chr(code), bold) != advances[glyph][0] / em] == []


def test_a_text_is_as_wide_as_its_letters():
    assert width("Abc") == pytest.approx(width("A") + width("b") + width("c"))
    assert width("") == 0


def test_a_letter_of_another_font_counts_as_wide():
    assert widths(False)["漢"] == UNKNOWN
