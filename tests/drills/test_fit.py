"""Reckoning how large a card may be set. That the reckoning is right is seen in print: tests/drills/test_cards.py."""

import textwrap
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.fit import TooLong, fitted
from drills.core.lines import NEARLY, height, paragraph, piled
from drills.core.paper import PAPERS
from drills.core.reckoning import Fit, Reckoning

TOLD = {"safety": "Safety", "really": "Really run", "elsewhere": "More:", "lines": "lines", "frames": "other frames"}


def width(text, bold):
    """Every letter is half as wide as its type is high."""
    return len(text) / 2


def extra(place, text, label=""):
    return {"place": place, "called": "something", "text": text, "label": label, "fix": "do this"}


def card(**changes):
    return {
        "number": 7,
        "name": "Rope and Cone",
        "rung": "C3 Controlled",
        "contact": "controlled, 30 % of the time",
        "night": None,
        "facts": [("Players", "4–12")],
        "set_up": [("Set up", "Four cones and a rope.")],
        "go": [("Go", "Whistle")],
        "runs": ["Walk", "Run", "Rest"],
        "cues": ["Feet level", "Up together", "Ring tight"],
        "safety": {"stop": "Freeze", "barred": "NC", "notes": ["Soft ground."], "rules": [], "check": "", "defers": ""},
        "extras": [extra("top", "So that nobody is alone."), extra("remarks", "8 of 10", "Good enough")],
        "frames": [],
        "ladder": ["Ladder A, step 3"],
        "version": "version 1",
        "address": "https://plumbline.example",
    } | changes


def reckoned(size="a5", **changes):
    return Reckoning(card(**changes), TOLD, PAPERS[size], width)


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=20), min_size=1, max_size=60), st.integers(20, 80))
def test_lines_break_where_a_second_reckoning_breaks_them(words, letters):
    """textwrap of the standard library fills lines greedily as well."""
    lines = textwrap.wrap(" ".join(words), letters, break_long_words=False)
    assert paragraph([(" ".join(words), False)], width).lines((letters + 0.01) / 2 / NEARLY) == len(lines)


def test_a_long_word_is_broken_anywhere():
    text = paragraph([("x" * 100, False)], width)
    assert [text.lines(ems) for ems in (51, 26, 11)] == [1, 2, 5]


def test_no_text_has_no_line_and_takes_no_room():
    nothing = paragraph([("", False)], width)
    assert nothing.lines(10) == 0
    assert height(0, 10) == 0
    assert piled([5, 0, 7], gap=2) == 14


def test_lines_have_no_room_after_the_last_one():
    """0.98 of the size for a line, 0.16 between two."""
    assert height(1, 10) == pytest.approx(9.8)
    assert height(3, 10) == pytest.approx(3 * 9.8 + 2 * 1.6)


@pytest.mark.parametrize("size", list(PAPERS))
@given(st.integers(1, 200))
def test_more_words_are_never_set_larger_nor_with_more_beside_them(size, words):
    few, many = (reckoned(size, set_up=[("Set up", "word " * count)]) for count in (words, words + 60))
    assert fitted(many).size <= fitted(few).size or fitted(many).count < fitted(few).count
    assert fitted(many).count <= fitted(few).count


@pytest.mark.parametrize("size", list(PAPERS))
def test_what_is_found_fits_and_the_next_size_does_not(size):
    found = reckoned(size, set_up=[("Set up", "some words " * (400 if size == "a4" else 130))])
    fit = fitted(found)
    assert found.runs_over(fit) <= 0
    assert fit.size < PAPERS[size].largest
    assert found.runs_over(replace(fit, size=fit.size + 0.1)) > 0


def test_a_card_with_less_room_is_set_smaller():
    full = reckoned(set_up=[("Set up", "some words " * 130)])
    assert fitted(full, less=30).size < fitted(full).size
    assert full.runs_over(fitted(full, less=30)) <= -30


def test_extras_are_left_off_before_type_becomes_uncomfortable():
    extras = [extra("remarks", "many words " * 20, "More") for _ in range(20)]
    fit = fitted(reckoned(extras=extras))
    assert 0 < fit.count < 20
    assert fit.size >= PAPERS["a5"].comfort


def test_the_largest_card_leaves_nothing_off():
    extras = [extra("remarks", "many words " * 20, "More") for _ in range(20)]
    assert fitted(reckoned("a4", extras=extras)).count == 20


def test_what_fits_in_no_legible_type_is_too_long():
    with pytest.raises(TooLong):
        fitted(reckoned(set_up=[("Set up", "some words " * 3000)]))


def test_a_drawing_gives_way_before_comfortable_type_does():
    frame = {"ratio": 1.0, "note": "", "svg": "", "alt": ""}
    roomy, tight = (
        fitted(reckoned("a6", frames=[frame], safety=None, set_up=[("Set up", "some words " * count)]))
        for count in (10, 150)
    )
    assert roomy.scale == 1
    assert tight.scale < 1


def test_no_drawing_is_higher_than_a_third_of_the_card():
    tall = reckoned(frames=[{"ratio": 0.2, "note": "", "svg": "", "alt": ""}])
    layout = tall.layout(Fit(8, 0))
    assert layout["frame-width"] / 0.2 == pytest.approx(PAPERS["a5"].inner_height * 0.33)


def test_cues_stand_in_two_columns_as_long_as_they_fit():
    short, long = (reckoned(cues=["word " * count] * 4).layout(Fit(8, 0)) for count in (2, 8))
    assert short["cues-left"] > 0
    assert long["cues-left"] == 0
