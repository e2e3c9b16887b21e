"""The board as a drawing."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from drills.board_presets import PRESETS
from drills.core import diagram
from drills.core.board.as_diagram import View, as_diagram, window
from drills.core.board.book import OURS
from drills.core.board.kicks import KINDS, reach_map
from drills.core.board.picture import picture
from drills.core.board.relief import bands, blocks, line_at, runs
from drills.core.board.scene import Carrier, Next
from tests.drills.board.scenes import BALL_LEFT

masks = hnp.arrays(bool, st.tuples(st.integers(1, 12), st.integers(1, 12)))


@given(masks)
def test_blocks_cover_every_square_of_a_mask_once(mask):
    count = np.zeros(mask.shape, int)
    for block in blocks(mask):
        count[block.foot : block.head, block.left : block.right] += 1
    assert (count == mask).all()


def test_equal_runs_become_one_block():
    assert len(blocks(np.ones((100, 70), bool))) == 1
    assert runs(np.array([[0, 1, 1, 0, 1]], bool)) == [(0, 1, 3), (0, 4, 5)]


@given(hnp.arrays(float, (6, 7), elements=st.floats(-3, 3)))
def test_the_bands_share_out_every_square_where_a_kick_comes_down(margins):
    margins[0, 0] = np.nan
    found = bands(margins, 0.3)
    assert (sum(found.values()) == ~np.isnan(margins)).all()


def test_a_line_of_equal_time_is_the_border_of_what_is_above_it():
    margins = np.array([[0.0, 0.0, 2.0], [0.0, 0.0, 2.0]])
    assert list(line_at(margins, 1.0)) == [((2, 0), (2, 2))]


def test_a_kick_that_nobody_reaches_is_hatched_and_one_that_all_reach_is_not():
    late = {kind.name: np.nanmin(reach_map(BALL_LEFT).margins[kind.name]) for kind in KINDS}
    assert late["cross"] < -0.3
    assert 'fill="url(#hatch-open)"' in picture(BALL_LEFT, kind="cross").under
    assert "url(#hatch-open)" not in picture(BALL_LEFT, kind="").under


@pytest.mark.parametrize("view", View)
@pytest.mark.parametrize("key", PRESETS)
def test_every_scene_to_begin_with_is_a_drawing_in_each_view(key, view):
    found = picture(PRESETS[key].scene(OURS), view, "long")
    ET.fromstring(found.svg(ident="board"))
    assert diagram.read(diagram.written(found.diagram)) == found.diagram


def test_each_man_is_drawn_where_he_stands():
    shown = window(BALL_LEFT)
    drawn = as_diagram((BALL_LEFT,), shown)
    there = {thing.label: thing.place for thing in drawn.frames[0].things if thing.kind is diagram.Kind.DEFENDER}
    assert drawn.corner == (0.0, shown.foot)
    assert there["15"] == (17, 40 - 22 - shown.foot)


def test_the_part_that_is_shown_holds_every_end_of_a_way():
    """A way that was cut off at the edge would lead somewhere else."""
    runner = Carrier("wing", 3, 45, 20, 0, 8.0)
    deep = replace(
        BALL_LEFT, kicks=(), carriers=(runner,), next=Next((50, 40), 5.0, ((15, (50, 8.0)), (14, (60, 70.0))))
    )
    shown = window(deep)
    assert all(shown.holds(place) for place in [(20, 0), (50, 8.0), (60, 70.0), (3, 45)])
    (frame,) = as_diagram((deep,), shown).frames
    ends = {trail.start: (trail.points[-1][0], trail.points[-1][1] + shown.foot) for trail in frame.trails}
    assert ends == {"c0": (20, 0), "d15": (50, 8.0), "d14": (60, 70.0)}


def test_a_runner_or_attacker_behind_the_line_is_where_he_is_drawn():
    behind = replace(BALL_LEFT, kicks=(), attackers=((30, 2),), carriers=(Carrier("wing", 3, 5, 3, 0, 8.0),))
    assert all(window(behind).holds(place) for place in [(30, 2), (3, 5)])


def test_with_flights_each_kick_starts_at_a_kicker_and_says_how_long_it_hangs():
    drawn = as_diagram((BALL_LEFT,), window(BALL_LEFT), flights=True)
    assert [trail.hang for trail in drawn.frames[0].trails] == [kick.hang for kick in BALL_LEFT.kicks]
    assert diagram.faults(diagram.written(drawn)) == []
