"""The drawings that come with Plumbline: each can be read, drawn and followed."""

import math
from itertools import combinations

import pytest

from drills.actions import starter_entries
from drills.core import draw
from drills.core.diagram import PEOPLE, Kind, Way, read
from tests.drills.test_draw import outside

DRAWN = [(drill["number"], drill) for drill in starter_entries() if drill["diagram"]]
each = pytest.mark.parametrize("drill", [drill for _number, drill in DRAWN], ids=[str(number) for number, _ in DRAWN])


def test_every_starter_drill_is_drawn():
    assert [number for number, _drill in DRAWN] == list(range(1, 61))


@each
def test_a_starter_drawing_shows_everything_inside_its_area_and_its_frame(drill):
    diagram = read(drill["diagram"])
    for place, frame in enumerate(diagram.frames):
        assert all(0 <= x <= diagram.width and 0 <= y <= diagram.length for x, y in positions(frame))
        assert outside(draw.svg(diagram, place)) == []


def positions(frame):
    yield from (thing.place for thing in frame.things)
    yield from (point for trail in frame.trails for point in trail.points)


@each
def test_nobody_on_a_starter_drawing_hides_another(drill):
    """Two symbols may touch in a tackle; the middle of one never lies under the other."""
    diagram = read(drill["diagram"])
    on = draw.sheet(diagram)
    hidden = [
        (place + 1, one.id, other.id)
        for place, frame in enumerate(diagram.frames)
        for one, other in combinations([thing for thing in frame.things if thing.kind in PEOPLE], 2)
        if math.dist(one.place, other.place) * on.scale < on.half
    ]
    assert hidden == []


@each
def test_a_starter_drawing_says_something_in_every_frame(drill):
    frames = drill["diagram"]["frames"]
    assert 1 <= len(frames) <= 4
    assert all(frame["note"] and frame["objects"] for frame in frames)


@each
def test_a_starter_drawing_has_the_kit_and_the_players_that_its_card_names(drill):
    diagram, kit = read(drill["diagram"]), {line["item"] for line in drill["kit"]}
    kinds = {thing.kind for frame in diagram.frames for thing in frame.things}
    for kind, holders in ((Kind.BAG, {"bags"}), (Kind.SHIELD, {"shields", "suits", "scrum_machine"})):
        assert kind not in kinds or kit & holders, f"a {kind} is drawn, but the kit has none"
    most = max(sum(thing.kind in PEOPLE - {Kind.COACH} for thing in frame.things) for frame in diagram.frames)
    assert 2 <= most <= drill["players"]["most"]


@each
def test_a_kick_on_a_starter_drawing_hangs_as_long_as_such_kicks_do(drill):
    """Chip to long kick 1.5 to 5 s: figures of the trade, from memory; there is no published table for clubs."""
    trails = [trail for frame in read(drill["diagram"]).frames for trail in frame.trails]
    assert [trail.hang for trail in trails if trail.kind is Way.KICK and not 1 <= (trail.hang or 0) <= 5] == []
