"""The drawing of a drill on a phone and on a desk: it fits, is told in words, and its signs are explained."""

import re

import pytest
from django.urls import reverse

from drills.actions import add_starter_library
from shared.clock import today_at


@pytest.fixture
def library(club):
    add_starter_library(club, by="somebody", today=today_at(club))
    return club


def test_a_drawing_fits_the_screen_and_is_read_in_words(library, page, sign_in, usable, assistant):
    sign_in(page, assistant)
    page.goto(reverse("drill", kwargs={"club": library.slug, "number": 10}))
    drawings = page.locator(".frames-shown svg.diagram")
    assert drawings.count() == 3
    for box in (drawings.nth(place).bounding_box() for place in range(3)):
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= page.viewport_size["width"]
        assert box["width"] >= 200
    page.get_by_text("The drawing in words").click()
    assert page.get_by_text(re.compile("^Defender 1 goes in to tackle")).is_visible()
    usable(page)


def test_the_signs_are_explained_one_press_from_the_drawing(library, page, sign_in, usable, assistant):
    sign_in(page, assistant)
    page.goto(reverse("drill", kwargs={"club": library.slug, "number": 3}))
    page.get_by_role("link", name="What the signs mean").click()
    assert page.get_by_role("heading", level=1).inner_text() == "Signs of the drawings"
    assert page.locator(".signs svg").count() == 16
    usable(page)


def test_in_the_dark_the_ink_is_light(library, open_page, sign_in, assistant):
    page = open_page("phone", color_scheme="dark")
    sign_in(page, assistant)
    page.goto(reverse("drill", kwargs={"club": library.slug, "number": 3}))
    colours = page.evaluate(
        """() => [getComputedStyle(document.querySelector(".frames-shown svg.diagram")).color,
                  getComputedStyle(document.querySelector(".frames-shown svg.diagram .paper")).fill]"""
    )
    ink, paper = (sum(map(int, colour.removeprefix("rgb(").removesuffix(")").split(","))) for colour in colours)
    assert ink > 3 * 200
    assert paper < 3 * 60
