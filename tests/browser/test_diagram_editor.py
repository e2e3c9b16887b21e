"""A drill is drawn in a real browser: by mouse, by keys, on a phone, without JavaScript, without a connection."""

from __future__ import annotations

import json
import random
import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from drills.actions import add_drill, set_diagram
from drills.core import diagram, draw
from drills.core.inkbox import inkbox
from drills.core.moving import following
from drills.models import Drill
from tests import factories as f
from tests.drills.diagrams import DIAGRAM
from tests.drills.packs import entry, teach

ADDRESS = "/c/brackenford/drills/{}/diagram/"
AREA = {"width": 20, "length": 15}


@pytest.fixture
def card(club):
    """`card(8)` is a drill of that number on a grid of 20 by 15 m; nobody has drawn it unless `diagram` says so."""
    teach(club)

    def made(number: int, diagram: dict[str, Any] | None = None) -> Drill:
        grid = {"width": 20, "length": 15, "per": None}
        said = entry(number=number, name="Three against two", grid=grid, diagram=diagram)
        return add_drill(club, said, by="Head", today=f.TUESDAY)

    return made


@pytest.fixture
def drill(card) -> Drill:
    return card(7)


@pytest.fixture
def editor(head, sign_in):
    """`editor(page, drill)` opens the page on which that drill is drawn."""

    def opened(page: Page, drill: Drill) -> Page:
        if not page.context.cookies():
            sign_in(page, head)
        page.goto(ADDRESS.format(drill.number))
        expect(page.locator("[data-draw]")).to_be_visible()
        return page

    return opened


def spot(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a place in metres lies on the screen, by the server's own measures."""
    empty = {
        "format": diagram.FORMAT,
        "area": AREA,
        "pitch": None,
        "frames": [{"note": "", "objects": [], "paths": []}],
    }
    sheet = draw.sheet(diagram.read(empty))
    grass = page.locator("svg.grass")
    grass.scroll_into_view_if_needed()
    unit, left, top = grass.evaluate("(svg) => { const to = svg.getScreenCTM(); return [to.a, to.e, to.f]; }")
    across, down = sheet.at((x, y))
    return left + across * unit, top + down * unit


def press(page: Page, x: float, y: float) -> None:
    page.mouse.click(*spot(page, x, y))


def pull(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*spot(page, *start))
    page.mouse.down()
    page.mouse.move(*spot(page, *end), steps=4)
    page.mouse.up()


def take(page: Page, tool: str) -> None:
    page.get_by_role("group", name="Place" if tool not in WAYS else "Draw").get_by_role(
        "button", name=tool, exact=True
    ).click()


WAYS = ("run", "carry", "pass", "kick", "tackle", "line")
told = "[data-part=told]"


def save(page: Page, version: int) -> None:
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(told)).to_have_text(f"Saved as version {version}.")


def pictures(drill: Drill) -> list[str]:
    drill.refresh_from_db()
    read = diagram.read(drill.diagram)
    return [draw.svg(read, place) for place in range(len(read.frames))]


def draw_by_mouse(page: Page) -> None:
    """Three attackers, one with the ball, against two defenders: pass, carry, tackle; then a second frame."""
    take(page, "attacker")
    for x in (5, 10, 15):
        press(page, x, 12)
    take(page, "defender")
    for x in (8, 12):
        press(page, x, 4)
    take(page, "ball")
    press(page, 5, 12)
    take(page, "pass")
    pull(page, (5, 12), (10, 12))
    take(page, "carry")
    press(page, 10, 12)
    press(page, 10, 9)
    press(page, 11, 7)
    take(page, "tackle")
    pull(page, (12, 4), (11, 6))
    page.get_by_label("Order").first.fill("2")
    page.get_by_label("Order").first.press("Enter")
    page.get_by_role("button", name="Add a frame").click()
    page.get_by_role("button", name="Choose and move").click()
    pull(page, (8, 4), (8, 6))


def draw_by_keys(page: Page) -> None:
    """The same drill without touching the grass."""
    mark = page.get_by_role("button", name="Mark, ")

    def steps(**count: int) -> None:
        for arrow, times in count.items():
            for _ in range(times):
                page.keyboard.press(f"Arrow{arrow}")

    def tool(name: str) -> None:
        group = "Place" if name not in WAYS else "Draw"
        page.get_by_role("group", name=group).get_by_role("button", name=name, exact=True).press("Enter")
        expect(mark).to_be_focused()

    tool("attacker")
    expect(mark).to_have_accessible_name("Mark, 10 m from the left, 8 m up")
    steps(Left=5, Up=4)
    page.keyboard.press("Enter")
    for _ in range(2):
        steps(Right=5)
        page.keyboard.press("Enter")
    expect(page.locator(told)).to_contain_text("Attacker 3, 15 m from the left, 12 m up")
    tool("defender")
    steps(Left=7, Down=8)
    page.keyboard.press("Enter")
    steps(Right=4)
    page.keyboard.press("Enter")
    tool("ball")
    steps(Left=7, Up=8)
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")

    thing(page, "Attacker 1").press("p")
    expect(mark).to_be_focused()
    steps(Right=5)
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    thing(page, "Attacker 2").press("c")
    steps(Down=3)
    page.keyboard.press("Enter")
    steps(Down=2, Right=1)
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    thing(page, "Defender 2").press("t")
    steps(Up=2, Left=1)
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    order = page.locator("[data-chosen-panel]").get_by_label("Order")
    order.press("2")
    order.press("Enter")
    page.get_by_role("button", name="Add a frame").press("Enter")
    thing(page, "Defender 1").focus()
    steps(Up=2)
    expect(page.locator(told)).to_have_text("Defender 1, 8 m from the left, 6 m up")


def thing(page: Page, name: str):
    return page.locator("svg.grass").get_by_role("button", name=re.compile(f"^{name}, "))


def test_the_browser_draws_every_sign_as_the_server_does(desktop, editor, drill):
    """Sign by sign: what is seen while drawing is what will be printed. The next frame is the same one, too."""
    page = editor(desktop, drill)
    cases = [*(made_up(random.Random(seed)) for seed in range(40)), DIAGRAM]
    made = page.evaluate(
        """async ([inkbox, cases]) => {
            const { Drawing } = await import("/static/drills/diagram/draw.js");
            const { addFrame } = await import("/static/drills/diagram/model.js");
            return cases.map((each) => ({
                frames: each.frames.map((_frame, place) => new Drawing(inkbox, each).frame(place)),
                next: addFrame(each).frames.at(-1),
            }));
        }""",
        [json.loads(json.dumps(inkbox())), cases],
    )
    for case, browser in zip(cases, made, strict=True):
        read = diagram.read(case)
        for place, body in enumerate(browser["frames"]):
            assert draw.svg(read, place).endswith(f"</desc>{body}</svg>")
        assert browser["next"] == following(case["frames"][-1], case["area"])


def made_up(dice: random.Random) -> dict[str, Any]:
    """A diagram with every kind of object and path somewhere."""
    width, length = dice.choice([(20, 15), (10, 10), (70, 100), (35.5, 22), (5, 30), (60, 40)])
    corner = {"x": dice.choice([-5, 0, 5]), "y": dice.choice([-12, 0, 12])} if dice.random() < 0.6 else None

    def place() -> list[float]:
        return [round(dice.uniform(0, width), 1), round(dice.uniform(0, length), 1)]

    things = []
    for number, kind in enumerate([*diagram.Kind] * 2):
        x, y = place()
        label = dice.choice(["9", "10", "ABC"]) if kind in diagram.PLAYERS else ""
        things.append({"id": f"o{number}", "kind": str(kind), "x": x, "y": y, "label": label})
    paths = []
    for way in [*diagram.Way] * 2:
        starter = dice.choice([thing for thing in things if thing["kind"] in diagram.STARTS[way]])
        path = {"kind": str(way), "from": None if way == "line" else starter["id"], "hang": None}
        path["points"] = [place() for _ in range(dice.randint(2, 4))]
        path["order"], path["label"] = dice.choice([None, 1, 12]), dice.choice(["", "a <b> & c"])
        paths.append(path | ({"hang": 3.8} if way == "kick" else {}))
    frame = {"note": "", "objects": things, "paths": paths}
    area = {"width": width, "length": length}
    return {"format": diagram.FORMAT, "area": area, "pitch": corner, "frames": [frame] * dice.choice([1, 2])}


def test_three_against_two_drawn_by_mouse_or_by_keys_are_the_same_drawing(desktop, editor, drill, card):
    draw_by_mouse(editor(desktop, drill))
    save(desktop, 2)
    desktop.reload()
    expect(thing(desktop, "Attacker 3")).to_be_visible()
    by_keys = card(8)
    draw_by_keys(editor(desktop, by_keys))
    save(desktop, 2)
    assert pictures(drill) == pictures(by_keys)
    first, second = diagram.read(drill.diagram).frames
    assert [(trail.kind, trail.start, trail.points, trail.order) for trail in first.trails] == [
        ("pass", "a1", ((10, 12),), None),
        ("carry", "a2", ((10, 9), (11, 7)), None),
        ("tackle", "d2", ((11, 6),), 2),
    ]
    places = {thing.id: thing.place for thing in second.things}
    assert places == {"a1": (5, 12), "a2": (11, 7), "a3": (15, 12), "d1": (8, 6), "d2": (11, 6), "b1": (11, 7)}


def grass(page: Page) -> str:
    return page.locator("svg.grass").inner_html()


def test_every_step_can_be_undone_and_done_again(desktop, editor, drill):
    page = editor(desktop, drill)
    empty = grass(page)
    draw_by_mouse(page)
    page.get_by_role("group", name="Frames").get_by_role("button", name="Frame 1").click()
    drawn = grass(page)
    undo, redo = (page.get_by_role("button", name=name, exact=True) for name in ("Undo", "Redo"))
    steps = 0
    while undo.get_attribute("aria-disabled") == "false":
        undo.click()
        steps += 1
    assert (steps, grass(page)) == (13, empty)
    expect(page.locator("[data-part=state]")).to_have_text("Saved: version 1")
    while redo.get_attribute("aria-disabled") == "false":
        redo.click()
    assert grass(page) == drawn


def test_mirrored_twice_is_what_it_was(desktop, editor, card):
    drill = card(9, DIAGRAM)
    page = editor(desktop, drill)
    before = grass(page)
    mirror = page.get_by_role("button", name="Mirror left and right")
    mirror.click()
    expect(thing(page, "Defender 11")).to_have_accessible_name("Defender 11, 2 m from the left, 6 m up")
    save(page, 2)
    drill.refresh_from_db()
    assert diagram.read(drill.diagram) == diagram.read(DIAGRAM).mirrored()
    mirror.click()
    assert grass(page) == before
    save(page, 3)
    drill.refresh_from_db()
    assert drill.diagram == DIAGRAM


def save_in_vain(page: Page) -> None:
    """Two cones, the first one sent to a server that does not answer."""
    take(page, "cone")
    press(page, 4, 4)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text(
        "Not saved: the server does not answer. Your strokes are kept on this device."
    )
    press(page, 8, 8)
    expect(page.locator("[data-part=state]")).to_have_text("Not saved yet, kept on this device")


def cones(drill: Drill) -> list[tuple[float, float]]:
    drill.refresh_from_db()
    return [(thing["x"], thing["y"]) for thing in drill.diagram["frames"][0]["objects"]]


def test_what_could_not_be_saved_is_saved_once_the_connection_is_back(desktop, editor, drill):
    page = editor(desktop, drill)
    page.context.set_offline(True)
    save_in_vain(page)
    page.context.set_offline(False)
    expect(page.locator(told)).to_have_text("Saved as version 2.")
    expect(page.get_by_role("alert")).to_be_hidden()
    assert cones(drill) == [(4, 4), (8, 8)]


def test_strokes_outlive_a_lost_connection_and_a_reload(desktop, editor, drill):
    page = editor(desktop, drill)
    page.route("**/diagram/save/", lambda route: route.abort())
    save_in_vain(page)
    page.unroute("**/diagram/save/")
    page.reload()
    expect(page.get_by_role("alert")).to_contain_text("were never saved")
    save(page, 2)
    assert cones(drill) == [(4, 4), (8, 8)]
    page.reload()
    expect(thing(page, "Cone")).to_have_count(2)
    expect(page.get_by_role("alert")).to_be_hidden()


@pytest.fixture
def overtaken(desktop, editor, drill):
    """Somebody saved a drawing while another was made on the page."""
    page = editor(desktop, drill)
    take(page, "cone")
    press(page, 4, 4)
    set_diagram(drill, DIAGRAM, version=1, by="Assistant", today=f.TUESDAY)
    page.get_by_role("button", name="Save", exact=True).click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Version 2 was saved while you drew. Nothing was overwritten.")
    expect(dialog.locator("figure svg")).to_have_count(2)
    drill.refresh_from_db()
    assert drill.diagram == DIAGRAM
    return page


def test_a_drawing_that_was_overtaken_is_saved_when_its_author_says_so(overtaken, drill, axe):
    axe(overtaken)
    overtaken.get_by_role("button", name="Save yours as the next version").click()
    expect(overtaken.locator(told)).to_have_text("Saved as version 3.")
    drill.refresh_from_db()
    assert (drill.version, len(drill.diagram["frames"][0]["objects"])) == (3, 1)


def test_a_drawing_that_was_overtaken_may_become_a_copy(overtaken, drill, club):
    overtaken.get_by_role("button", name="Save yours as a copy of the drill").click()
    overtaken.wait_for_url("**/drills/8/diagram/")
    copy = Drill.objects.of(club).get(number=8)
    assert (copy.name, copy.diagram["frames"][0]["objects"][0]["x"]) == ("Three against two (copy)", 4)
    drill.refresh_from_db()
    assert drill.diagram == DIAGRAM


def test_the_other_drawing_can_be_taken_and_ones_own_is_an_undo_away(overtaken):
    overtaken.get_by_role("dialog").get_by_text("Take the other one").click()
    expect(thing(overtaken, "Defender 7")).to_be_visible()
    overtaken.get_by_role("button", name="Undo", exact=True).click()
    expect(thing(overtaken, "Cone")).to_have_count(1)


def test_what_the_server_refuses_is_shown_with_its_place(desktop, editor, drill):
    page = editor(desktop, drill)
    take(page, "defender")
    press(page, 4, 4)
    take(page, "run")
    pull(page, (4, 4), (4, 8))
    points = page.locator("[data-chosen-panel]").get_by_label("Points, m")
    points.fill("4,4")
    points.press("Enter")
    page.get_by_role("button", name="Save", exact=True).click()
    notice = page.get_by_role("alert")
    expect(notice).to_contain_text("Not saved. Mend this and save again:")
    expect(notice).to_contain_text("Frame 1, path 1 (d1), point 1: is where the path already stands")


def test_a_thumb_draws_on_a_phone_and_every_target_is_large_enough(open_page, editor, drill, usable):
    page = editor(open_page("phone", has_touch=True), drill)
    page.get_by_role("button", name="attacker", exact=True).tap()
    page.touchscreen.tap(*spot(page, 5, 12))
    page.get_by_role("button", name="run", exact=True).tap()
    page.touchscreen.tap(*spot(page, 5, 12))
    page.touchscreen.tap(*spot(page, 9, 6))
    expect(page.locator(told)).to_contain_text("Run of attacker 1, 7.2 m, ends 9 m from the left, 6 m up")
    small = page.evaluate(
        """[...document.querySelectorAll("[data-draw] :is(button, input:not([type=checkbox]), select)")]
            .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
            .filter(([_html, box]) => box.width && (box.height < 43.5 || box.width < 43.5)).map(([html]) => html)"""
    )
    assert small == []
    usable(page)


def test_one_who_wants_no_motion_steps_from_frame_to_frame(open_page, editor, card):
    drill = card(9, DIAGRAM)
    page = editor(open_page(reduced_motion="reduce"), drill)
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.locator(told)).to_have_text("Frame 2 of 2.")
    expect(page.get_by_role("button", name="Play")).to_be_visible()


def test_a_drill_is_drawn_in_rows_without_javascript(open_page, head, sign_in, drill, axe):
    page = sign_in(open_page(java_script_enabled=False), head)
    page.goto(ADDRESS.format(7))
    for row, (kind, x, y, label) in enumerate([("attacker", "5", "12", "9"), ("defender", "5", "4", "7")]):
        page.locator(f"[name=f0-things-{row}-kind]").select_option(kind)
        page.locator(f"[name=f0-things-{row}-id]").fill(kind[0] + "1")
        page.locator(f"[name=f0-things-{row}-label]").fill(label)
        page.locator(f"[name=f0-things-{row}-x]").fill(x)
        page.locator(f"[name=f0-things-{row}-y]").fill(y)
    page.get_by_label("Paths", exact=True).fill("run d1 > 5,8 > 6,9 | order 1\njump d1 > 3")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("main")).to_contain_text("Line 2: “3” is no place")
    page.get_by_label("Paths", exact=True).fill("run d1 > 5,8 > 6,9 | order 1")
    page.get_by_role("button", name="One more frame").click()
    expect(page.locator("[name=f1-things-1-x]")).to_have_value("6")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/drills/7/")
    drill.refresh_from_db()
    first, second = drill.diagram["frames"]
    assert first["paths"][0]["points"] == [[5, 8], [6, 9]]
    assert [(thing["id"], thing["x"], thing["y"]) for thing in second["objects"]] == [("a1", 5, 12), ("d1", 6, 9)]


def test_a_reader_plays_the_drawing_on_the_page_of_the_drill(open_page, assistant, sign_in, card, axe):
    card(9, DIAGRAM)
    page = sign_in(open_page(reduced_motion="reduce"), assistant)
    page.goto("/c/brackenford/drills/9/")
    frames, stage = page.locator("[data-frames] svg"), page.locator("[data-stage] svg")
    expect(frames.first).to_be_visible()
    page.get_by_role("button", name="Next frame").click()
    expect(page.get_by_role("status").filter(has_text="Frame 1 of 2. Ball lifts")).to_be_visible()
    expect(frames.first).to_be_hidden()
    page.get_by_role("button", name="Next frame").click()
    expect(page.get_by_text("Frame 2 of 2.")).to_be_visible()
    axe(page)
    page.get_by_role("button", name="All frames").click()
    expect(stage).to_be_hidden()
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.get_by_text("Frame 2 of 2.")).to_be_visible()
    expect(page.get_by_role("button", name="Play")).to_be_visible()


def test_every_frame_is_shown_to_a_reader_without_javascript(open_page, assistant, sign_in, card):
    card(9, DIAGRAM)
    page = sign_in(open_page(java_script_enabled=False), assistant)
    page.goto("/c/brackenford/drills/9/")
    expect(page.locator("[data-frames] svg")).to_have_count(2)
    expect(page.locator("[data-player]")).to_be_hidden()
    expect(page.get_by_role("link", name="Change the drawing")).to_have_count(0)
