"""Every diagram becomes one well-formed drawing, always the same, with nothing outside its frame."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given

from drills.core import draw
from drills.core.diagram import Kind, Way, read
from drills.core.glyphs import STROKES, width
from drills.core.legend import legend
from drills.core.strokes import length_of, trimmed
from tests.drills.diagrams import DIAGRAM, diagrams, drawn

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
COMMANDS = re.compile(r"^[MLCQZ0-9., -]*$")


def parts(element, across=0.0, down=0.0):
    """Every element of a drawing with the shift of the groups around it."""
    if shift := element.get("transform"):
        dx, dy = map(float, re.fullmatch(r"translate\((\S+) (\S+)\)", shift).groups())
        across, down = across + dx, down + dy
    yield element, across, down
    for child in element:
        yield from parts(child, across, down)


def furthest(start, control, end):
    """Where a quadratic curve turns back along one axis: its slope is 0 at (start - control) / bend."""
    bend = start - 2 * control + end
    t = min(1, max(0, (start - control) / bend)) if bend else 0
    return (1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end


def along(path):
    """The outermost places of a path: quadratic curves where they turn back, cubic ones by their control points."""
    here = None
    for command, words in re.findall(r"([MLCQ])([^MLCQZ]*)", path):
        numbers = [float(number) for number in NUMBER.findall(words)]
        places = list(zip(numbers[::2], numbers[1::2], strict=True))
        if command == "Q":
            for control, end in zip(places[::2], places[1::2], strict=True):
                yield tuple(furthest(*axis) for axis in zip(here, control, end, strict=True))
                yield end
                here = end
        else:
            yield from places
            here = places[-1]


def corners(element):
    """The outermost places of one shape; of a path by the places that it goes through."""
    if element.tag == f"{SVG}path":
        assert COMMANDS.match(element.get("d")), "only absolute commands in pairs"
        yield from along(element.get("d"))
    elif element.tag == f"{SVG}circle":
        x, y, r = (float(element.get(name)) for name in ("cx", "cy", "r"))
        yield from ((x - r, y - r), (x + r, y + r))
    elif element.tag == f"{SVG}rect":
        x, y, wide, high = (float(element.get(name)) for name in ("x", "y", "width", "height"))
        yield from ((x, y), (x + wide, y + high))
    elif element.tag == f"{SVG}text":
        x, y, size = (float(element.get(name)) for name in ("x", "y", "font-size"))
        half = len(element.text) * size * 0.3
        yield from ((x - half, y - size * 0.7), (x + half, y))


def outside(drawing):
    root = ElementTree.fromstring(drawing)
    _x, _y, wide, high = map(float, root.get("viewBox").split())
    return [
        (element.tag, element.attrib, x + across, y + down)
        for element, across, down in parts(root)
        for x, y in corners(element)
        if not (0 <= x + across <= wide and 0 <= y + down <= high)
    ]


@given(diagrams())
def test_every_frame_is_well_formed_and_nothing_of_it_lies_outside(data):
    diagram = read(data)
    for frame in range(len(diagram.frames)):
        assert outside(draw.svg(diagram, frame)) == []


@given(diagrams())
def test_all_frames_together_are_well_formed_and_nothing_lies_outside(data):
    assert outside(draw.strip(read(data))) == []


@given(diagrams())
def test_the_same_diagram_is_always_the_same_drawing(data):
    assert draw.strip(read(data)) == draw.strip(read(data))


@given(diagrams())
def test_a_drawing_fits_its_box_and_its_symbols_keep_their_least_size(data):
    """At 45 mm a player is 3.4 to 4.8 mm wide: ten units are a millimetre."""
    on = draw.sheet(read(data))
    assert on.width <= draw.WIDE + 0.1
    assert on.height <= draw.HIGH + 0.1
    assert 34 <= 2 * on.half <= 48


def test_a_drawing_has_a_title_and_says_in_words_who_does_what():
    root = ElementTree.fromstring(draw.svg(read(DIAGRAM), 0))
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "Frame 1 of 2: Ball lifts"
    assert root.find(f"{SVG}desc").text == (
        "An area of 20 by 15.5 m. 2 attackers: 9, 10. 2 defenders: 7, 14. 1 ball. 1 ruck. 1 coach. "
        "1: Attacker 9 passes 7 m to the right to attacker 10. "
        "2: Defender 7 goes in to tackle 6 m up the page and to the right. "
        "3: Attacker 10 kicks 13 m down the page and to the right, 3.8 s in the air. "
        "A line is marked 20 m to the right (offside)."
    )


def test_a_drawing_has_ids_only_if_it_is_given_one():
    diagram = read(DIAGRAM)
    assert " id=" not in draw.strip(diagram) + draw.svg(diagram, 1)
    root = ElementTree.fromstring(draw.svg(diagram, 1, ident="f2"))
    assert (root.get("aria-labelledby"), root.get("aria-describedby")) == ("f2-t", "f2-d")
    assert (root.find(f"{SVG}title").get("id"), root.find(f"{SVG}desc").get("id")) == ("f2-t", "f2-d")


def test_words_of_the_author_are_never_markup():
    hostile = '</text><script>"&'
    data = drawn()
    data["frames"][0]["note"] = f"{hostile}{hostile}"
    data["frames"][0]["paths"][3]["label"] = hostile[:16].strip()
    root = ElementTree.fromstring(draw.strip(read(data)))
    assert {element.tag.removeprefix(SVG) for element, _x, _y in parts(root)} <= {
        *("svg", "title", "desc", "g", "path", "circle", "rect", "text")
    }


def test_numbers_are_drawn_without_a_font():
    """Only words on a path are type; the figures of players, order, kicks and sizes are strokes."""
    root = ElementTree.fromstring(draw.strip(read(DIAGRAM)))
    assert {element.text for element in root.iter(f"{SVG}text")} == {"offside"}


def test_a_drawing_is_ink_and_paper_without_any_other_colour():
    everything = draw.strip(read(DIAGRAM)) + "".join(entry.drawing for entry in legend())
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', everything)) == {"none", "currentColor", "#fff"}
    assert set(re.findall(r"#[0-9a-f]+", everything)) == {"#fff"}


def test_a_defender_is_never_drawn_like_an_attacker():
    """Solid against outline, and another shape: told apart in black and white, wet, at arm's length."""
    drawings = {entry.name: entry.drawing for entry in legend()}
    outline = {name: re.search(r'd="([^"]+)"', drawing)[1] for name, drawing in drawings.items()}
    assert 'fill="#fff"' in drawings["attacker"]
    assert 'fill="#fff"' not in drawings["defender"]
    assert 'fill="currentColor"' in drawings["defender"]
    assert "C" in outline["attacker"]  # round
    assert set("CQ") & set(outline["defender"]) == set()  # all edges straight


def test_the_legend_shows_every_symbol_and_every_path_once_all_different():
    entries = legend()
    assert len(entries) == len(Kind) + len(Way) + 2
    assert len({entry.drawing for entry in entries}) == len(entries)
    assert all(entry.meaning.endswith(".") for entry in entries)
    assert any("defence always faces up the page" in entry.meaning for entry in entries)
    for entry in entries:
        assert outside(entry.drawing) == []


def test_every_sign_that_a_label_may_carry_has_its_strokes():
    assert set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789K .sm×") <= set(STROKES)
    assert width("10", 6) > width("1", 6)


def test_a_path_between_two_who_touch_still_shows():
    assert length_of(trimmed([(0.0, 0.0), (20.0, 0.0)], 40, 40)) == pytest.approx(14)
    assert length_of(trimmed([(0.0, 0.0), (200.0, 0.0)], 40, 40)) == pytest.approx(120)


def test_a_ball_in_hand_is_drawn_beside_the_number():
    data = drawn()
    frame = data["frames"][0]
    frame["paths"], frame["objects"] = [], [frame["objects"][2], frame["objects"][1] | {"x": 4, "y": 11}]
    held = draw.svg(read(data))
    frame["objects"][1] |= {"x": 12}
    alone = draw.svg(read(data))
    ball = re.compile(r'<path d="M([\d.]+),([\d.]+)Q')
    on = draw.sheet(read(data))
    assert float(ball.search(held)[1]) == pytest.approx(on.at((4, 11))[0] + on.half, abs=0.1)
    assert float(ball.search(alone)[1]) == pytest.approx(on.at((12, 11))[0], abs=0.1)


def test_the_number_of_a_short_path_stands_on_the_side_where_there_is_room():
    data = drawn(pitch=None)
    frame = data["frames"][0]
    runner = {"id": "d7", "kind": "defender", "x": 10, "y": 6, "label": "7"}
    short = frame["paths"][0] | {"kind": "run", "from": "d7", "points": [[10, 8.2]], "order": 5}
    middle = draw.sheet(read(data)).at((10, 6))[0]
    for beside, side in ((7.5, 1), (12.5, -1)):
        neighbour = {"id": "a9", "kind": "attacker", "x": beside, "y": 7.5, "label": "9"}
        frame["objects"], frame["paths"] = [runner, neighbour], [short]
        (centre,) = re.findall(r'<circle cx="([\d.]+)"', draw.svg(read(data)))
        assert (float(centre) - middle) * side > 0, beside
