"""The library in a real browser: its pages hold on a phone and a desktop, and its filter works from the keyboard."""

import datetime as dt

import pytest

from drills.actions import add_starter_library, edit_drill
from drills.entries import entry_of
from drills.models import Drill
from shared.clock import today_at


@pytest.fixture
def drill(club, head):
    """Number 7 of the starter library, in its third version."""
    today = today_at(club)
    add_starter_library(club, by="Plumbline", today=today - dt.timedelta(days=60))
    drill = Drill.objects.for_card().get(club=club, number=7)
    for version in (1, 2):
        entry = entry_of(drill) | {"rpe": version, "success": f"{version} of 10 held"}
        drill = edit_drill(drill, entry, version=version, by=head, today=today)
        drill = Drill.objects.for_card().get(pk=drill.pk)
    return drill


@pytest.mark.parametrize(
    "address",
    [
        "drills/?players=12&store=on",
        "drills/7/versions/?before=1&after=3",
        "drills/7/versions/1/",
        "drills/7/copy/",
        "drills/ladders/A/",
        "drills/words/",
        "drills/words/skills/I04/",
        "drills/words/positions/",
        "drills/store/",
    ],
)
def test_a_page_of_the_library_is_usable(drill, head, desktop, sign_in, usable, address):
    sign_in(desktop, head)
    assert desktop.goto(f"/c/{drill.club.slug}/{address}").status == 200
    usable(desktop)


def test_a_coach_finds_a_drill_from_the_keyboard_and_sends_the_address_to_another(drill, head, page, sign_in):
    sign_in(page, head).goto(f"/c/{drill.club.slug}/drills/")
    page.get_by_label("Words or number").fill("TACKLER lands")
    page.keyboard.press("Enter")
    page.wait_for_url("**/drills/?*")
    assert "q=TACKLER+lands" in page.url
    page.get_by_role("link", name="#7 ").click()
    page.get_by_role("link", name="All versions").click()
    page.get_by_role("link", name="Version 1 of").click()
    page.get_by_role("button", name="Bring back version 1").click()
    page.get_by_text("says what version 1 said, as version 4").wait_for()
