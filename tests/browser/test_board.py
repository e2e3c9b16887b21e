"""The board in a real browser: the full back is dragged, and moved by keys, and the page says what changed."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from drills.board_actions import save_scene
from drills.board_models import BoardScene
from drills.board_presets import PRESETS
from drills.core import draw
from drills.core.board.as_diagram import as_diagram, window
from drills.core.board.book import OURS
from drills.core.board.picture import HALVES
from tests import factories as f

ADDRESS = "/c/brackenford/board/?preset=swing"
SCENE = PRESETS["swing"].scene(OURS)


@pytest.fixture
def board(assistant, sign_in):
    def opened(page: Page, address: str = ADDRESS) -> Page:
        sign_in(page, assistant)
        page.goto(address)
        expect(page.locator("[data-board]")).to_have_attribute("data-ready", "")
        return page

    return opened


def spot(page: Page, x: float, depth: float) -> tuple[float, float]:
    """Where a place lies on the screen, by the server's own measures."""
    shown = window(SCENE)
    sheet = draw.sheet(as_diagram((SCENE,), shown), HALVES)
    grass = page.locator("svg.grass")
    grass.scroll_into_view_if_needed()
    unit, left, top = grass.evaluate("(svg) => { const to = svg.getScreenCTM(); return [to.a, to.e, to.f]; }")
    across, down = sheet.at((x - shown.left, SCENE.line - depth - shown.foot))
    return left + across * unit, top + down * unit


def rule(page: Page, code: str):
    return page.locator(f"[data-part=verdicts] [data-rule={code}]")


def test_the_full_back_is_dragged_and_the_changed_verdict_is_read(page, board):
    board(page)
    expect(rule(page, "P2")).to_have_attribute("data-state", "holds")
    deep = SCENE.man(15)
    page.mouse.move(*spot(page, deep.x, SCENE.depth(deep)))
    page.mouse.down()
    page.mouse.move(*spot(page, deep.x, 8), steps=6)
    expect(rule(page, "P2")).to_have_attribute("data-state", "broken")  # while he is still held
    page.mouse.up()
    expect(rule(page, "P2")).to_contain_text("15: depth 8.0 m, wanted 18.0 to 25.0 m")
    expect(page.locator("[data-part=told]")).to_contain_text(
        re.compile("defender 15, 17 m from the left, 8 m deep.*P2 near wing up, full back behind him: broken")
    )
    expect(page.locator("[name=m15-depth]")).to_have_value("8")
    expect(page.get_by_role("button", name="defender 15, 17 m from the left, 8 m deep")).to_be_focused()


def test_the_full_back_is_moved_by_keys_and_the_changed_verdict_is_read(desktop, board):
    page = board(desktop)
    page.get_by_role("button", name="defender 15,").focus()
    for _ in range(6):
        page.keyboard.press("ArrowUp")
    told = page.locator("[data-part=told]")
    expect(page.locator("[name=m15-depth]")).to_have_value("15.5")
    expect(told).to_contain_text("defender 15, 17 m from the left, 15.5 m deep")
    expect(rule(page, "P2")).to_have_attribute("data-state", "broken")
    page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("[name=m15-depth]")).to_have_value("15.6")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(rule(page, "P2")).to_have_attribute("data-state", re.compile("near|holds"))
    expect(page.get_by_role("button", name="defender 15,")).to_be_focused()


def test_advice_is_asked_for_and_taken(desktop, board):
    page = board(desktop)
    page.locator("[name=m15-depth]").fill("9")
    page.locator("[name=m15-depth]").press("Tab")
    expect(rule(page, "P2")).to_have_attribute("data-state", "broken")
    page.get_by_role("button", name="Where should the back field stand?").click()
    page.get_by_role("button", name="Take these places").last.click()
    expect(rule(page, "P2")).to_have_attribute("data-state", "holds")


def test_a_field_that_makes_no_scene_is_told_and_the_verdicts_stay(desktop, board):
    page = board(desktop)
    page.locator("[name=m15-depth]").fill("")
    page.locator("[name=m15-depth]").press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("Fill in both figures of the place")
    expect(rule(page, "P2")).to_have_attribute("data-state", "holds")


def test_the_swing_is_stepped_through(desktop, board):
    page = board(desktop)
    page.get_by_role("button", name="Next moment").click()
    expect(page.locator("[data-player-of-swing] [role=status]")).to_contain_text("Moment 1 of")
    page.get_by_role("button", name="Next moment").click()
    expect(page.locator("[data-player-of-swing] [role=status]")).to_contain_text("After 2.50 s")
    page.get_by_role("button", name="All moments").click()
    expect(page.locator("[data-frames-of-swing] li figure").first).to_be_visible()


def test_without_a_script_the_form_does_it_all(open_page, assistant, sign_in):
    page = sign_in(open_page("phone", java_script_enabled=False), assistant)
    page.goto(ADDRESS)
    page.locator("[name=m15-depth]").fill("8")
    page.get_by_role("button", name="Judge").first.click()
    expect(rule(page, "P2")).to_contain_text("15: depth 8.0 m, wanted 18.0 to 25.0 m")
    expect(page.locator("[data-part=verdicts]")).to_contain_text("broken")


@pytest.mark.parametrize("preset", ["swing", "left-in"])
def test_the_board_is_usable(desktop, board, usable, preset):
    usable(board(desktop, f"/c/brackenford/board/?preset={preset}"))


def test_the_figures_and_the_way_to_a_card_are_usable(desktop, club, head, sign_in, usable):
    kept = save_scene(club, "Swing", SCENE, under=0, replace=False, by=head, today=f.TUESDAY)
    page = sign_in(desktop, head)
    for address in ("figures/", f"scenes/{kept.pk}/card/", f"scenes/{kept.pk}/"):
        page.goto(f"/c/brackenford/board/{address}")
        usable(page)
    BoardScene.objects.update(scene={})  # cannot be read
    page.goto(f"/c/brackenford/board/scenes/{kept.pk}/")
    expect(page.get_by_role("alert")).to_contain_text("cannot be read any more")
    usable(page)


def test_a_finger_moves_the_full_back(open_page, board):
    page = board(open_page("phone", has_touch=True))
    touch = page.context.new_cdp_session(page)
    deep = SCENE.man(15)
    (x, y), (end_x, end_y) = spot(page, deep.x, SCENE.depth(deep)), spot(page, deep.x, 8)
    for kind, points in (
        ("touchStart", [{"x": x, "y": y}]),
        ("touchMove", [{"x": (x + end_x) / 2, "y": (y + end_y) / 2}]),
        ("touchMove", [{"x": end_x, "y": end_y}]),
        ("touchEnd", []),
    ):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        page.wait_for_timeout(100)  # a finger is no program: each move is seen before the next
    expect(page.locator("[name=m15-depth]")).to_have_value("8")
    expect(rule(page, "P2")).to_have_attribute("data-state", "broken")


def nudge(page: Page, name: str, key: str) -> None:
    page.get_by_role("button", name=name).focus()
    page.keyboard.press(key)


def test_advice_is_taken_away_when_somebody_is_moved(desktop, board):
    page = board(desktop)
    page.get_by_role("button", name="Where should the back field stand?").click()
    expect(page.get_by_role("button", name="Take these places").first).to_be_visible()
    page.locator("[name=kind]").select_option("cross")
    expect(page.get_by_role("button", name="Take these places").first).to_be_visible()
    nudge(page, "defender 15,", "ArrowUp")
    expect(page.get_by_role("button", name="Take these places")).to_have_count(0)


def test_a_lost_connection_is_told_when_advice_is_asked_for(desktop, board):
    page = board(desktop)
    page.route("**/board/verdicts/", lambda route: route.abort())
    page.get_by_role("button", name="Where should the back field stand?").click()
    expect(page.locator("[data-part=told]")).to_contain_text("The server does not answer")


def test_a_kick_whose_row_is_emptied_while_the_answer_is_under_way_is_passed_over(desktop, board):
    page = board(desktop)
    held = []
    page.route("**/board/verdicts/", lambda route: held.append(route) if not held else route.continue_())
    nudge(page, "flat cross-kick comes down", "ArrowDown")
    page.locator("summary", has_text="Kicks: where they come down").click()
    page.locator("[name=k5-name]").fill("")
    page.locator("[name=k5-name]").press("Tab")
    held[0].continue_()
    expect(page.get_by_role("button", name="flat cross-kick comes down")).to_have_count(0)
    expect(page.locator("[data-part=told]")).not_to_contain_text("The server does not answer")
    expect(page.locator("[data-part=told]")).to_contain_text("P8 every kick covered")


def test_the_swing_is_asked_for_when_a_man_is_let_go_not_before(page, board):
    board(page)
    asked = []
    page.on("request", lambda request: asked.append(request.post_data or "") if "verdicts" in request.url else None)
    deep = SCENE.man(15)
    page.mouse.move(*spot(page, deep.x, SCENE.depth(deep)))
    page.mouse.down()
    page.mouse.move(*spot(page, deep.x, 8), steps=6)
    expect(rule(page, "P2")).to_have_attribute("data-state", "broken")
    assert asked
    assert all('name="held"' in sent for sent in asked)
    page.mouse.up()
    expect(page.locator("[data-part=swing] figcaption").first).to_contain_text("Now")
    expect(page.locator("[data-part=told]")).to_contain_text("P2 near wing up, full back behind him: broken")
    assert 'name="held"' not in asked[-1]
