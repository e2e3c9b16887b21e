"""Scenes to begin with, and the swing of the back field from one place of the ball to the next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.board_presets import PRESETS
from drills.core.board.advice import advise
from drills.core.board.back_field import back_field
from drills.core.board.book import OURS
from drills.core.board.judge import judged
from drills.core.board.reach import seconds_to
from drills.core.board.reading import scene_from, written
from drills.core.board.swing import at, instants, next_by_the_book
from drills.core.board.usual import laid_out, usual_kicks, wanted
from drills.core.board.verdict import State
from tests.drills.board.scenes import BALL_LEFT, BALL_MIDDLE, scene, verdicts

balls = st.sampled_from([5, 8, 10, 12, 15, 22, 30, 35, 40, 48, 55, 60, 62, 65])
lines = st.sampled_from([12, 15, 22, 23, 30, 40, 50, 60, 78, 85])


@given(balls, lines, st.booleans())
def test_whoever_is_laid_out_by_the_book_breaks_no_rule_of_place(ball, line, half_back_in):
    scene = laid_out(OURS, ball, line, half_back_in=half_back_in)
    wrong = [each.rule for each in judged(scene) if each.state is State.BROKEN and each.rule != "P8"]
    assert wrong == []


def test_fifteen_men_are_laid_out():
    for preset in PRESETS.values():
        numbers = [man.number for man in preset.scene(OURS).defenders]
        assert numbers == (list(range(1, 16)) if preset.whole else [9, 11, 14, 15]), preset.key


def test_the_mirror_image_is_laid_out_alike():
    """11 stays left and 14 right; whoever is on the open side changes sides with it."""
    left, right = wanted(laid_out(OURS, 15, 40)), wanted(laid_out(OURS, 55, 40))
    swap = {11: 14, 14: 11, 15: 15, 9: 9}
    assert right == {swap[n]: (pytest.approx(70 - x), y) for n, (x, y) in left.items()}


@pytest.mark.parametrize("key", PRESETS)
def test_a_scene_is_read_back_as_it_was_written(key):
    scene = PRESETS[key].scene(OURS)
    assert scene_from(written(scene)) == scene


def test_no_usual_kick_comes_down_behind_the_goal_line():
    assert min(kick.y for kick in usual_kicks(laid_out(OURS, 15, 15))) >= 0
    assert [kick.name for kick in usual_kicks(laid_out(OURS, 12, 40))] == [kick.name for kick in BALL_LEFT.kicks]


def test_the_swing_shows_each_where_he_really_is():
    scene = replace(BALL_LEFT, next=next_by_the_book(BALL_LEFT, 35, 3.0))
    now, half, played, *rest = instants(scene)
    assert [each.seconds for each in (now, half, played)] == [0.0, 1.5, 3.0]
    assert now.scene.with_places(()).defenders == BALL_LEFT.defenders
    start, end = BALL_LEFT.man(14), dict(scene.next.places)[14]
    way = np.hypot(end[0] - start.x, end[1] - start.y)
    there = half.scene.man(14)
    gone = np.hypot(there.x - start.x, there.y - start.y)
    assert float(seconds_to(gone, BALL_LEFT.runner(start))) == pytest.approx(1.5)
    assert half.scene.ball[0] == pytest.approx(23.5)
    late = {n for n, p in scene.next.places if float(seconds_to(_way(BALL_LEFT, n, p), _runner(BALL_LEFT, n))) > 3.0}
    assert set(played.late) == late
    if rest:
        assert rest[0].late == ()
        assert rest[0].seconds >= float(seconds_to(way, BALL_LEFT.runner(start))) - 1e-9


def _way(scene, number, place):
    man = scene.man(number)
    return np.hypot(place[0] - man.x, place[1] - man.y)


def _runner(scene, number):
    return scene.runner(scene.man(number))


def test_a_sweeper_who_is_named_sweeps_wherever_the_half_back_is():
    """10 deputises while the half-back stands in the line: H1 holds of him, and he goes with the ball."""
    men = {11: (7, 3), 15: (17, 22), 14: (46, 17), 10: (30, 12), 9: (20, 1)}
    named = scene(12, men, sweeper=10)
    places = wanted(named)
    assert 9 not in places
    assert 5 <= named.line - places[10][1] <= 8
    stands = named.with_places(places.items())
    assert verdicts(back_field(stands))["H1"] == "holds"
    assert [number for number, _place in next_by_the_book(named, 50, 5.0).places] == [10, 11, 14, 15]
    assert 10 in {move.who for move in advise(named, rules_first=True).moves}


def test_a_wing_who_is_named_sweeper_keeps_his_own_place():
    named = replace(BALL_LEFT, sweeper=14)
    assert wanted(named) == {n: place for n, place in wanted(BALL_LEFT).items() if n != 9}


def test_with_time_enough_everybody_stands_by_the_book_where_the_ball_is_played_on():
    scene = replace(BALL_LEFT, next=next_by_the_book(BALL_LEFT, 35, 20.0))
    end = instants(scene)[-1].scene
    wrong = [each.rule for each in back_field(end) if each.state is State.BROKEN]
    assert wrong == []


@given(st.floats(0, 12), st.floats(0, 12))
def test_nobody_goes_back_on_his_way(early, late):
    scene = replace(BALL_MIDDLE, next=next_by_the_book(BALL_MIDDLE, 60, 4.0))
    early, late = sorted((early, late))
    for number, place in scene.next.places:
        assert _way(at(scene, late), number, place) <= _way(at(scene, early), number, place) + 1e-9
