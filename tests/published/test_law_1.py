"""The pitch against Law 1 (The Ground) of the Laws of the Game, World Rugby.

Distances of the lines and of the posts, and that dashes 5 m and 15 m from touch begin at the 5 m line, were read
in a public authority's guide to sports dimensions that repeats the law. The spans of length, width and in-goal
(94 to 100 m, 68 to 70 m, 6 to 22 m) are from memory.
"""

import pytest

from drills.core.pitch import IN_GOAL, LENGTH, WIDTH, Style, lines, lines_within


def test_the_pitch_has_a_size_that_the_law_allows():
    assert 94 <= LENGTH <= 100
    assert 68 <= WIDTH <= 70
    assert 6 <= IN_GOAL <= 22


def across(name):
    return sorted(line.start[1] for line in lines() if line.across and line.name.endswith(name))


@pytest.mark.parametrize(
    ("name", "from_goal_line"),
    [("goal line", [0, 100]), ("5 m line", [5, 95]), ("22 m line", [22, 78]), ("10 m line", [40, 60])],
)
def test_lines_across_lie_where_the_law_puts_them(name, from_goal_line):
    assert across(name) == from_goal_line


def test_half_way_is_half_way():
    assert across("half-way line") == [50]


def test_lines_along_touch_lie_five_and_fifteen_metres_in_and_run_between_the_five_metre_lines():
    along = [line for line in lines() if line.name.endswith("m from touch")]
    assert sorted({line.start[0] for line in along}) == [5, 15, 55, 65]
    assert sorted({y for line in along for y in (line.start[1], line.end[1])}) == [5, 50, 95]


def test_the_posts_stand_five_metres_sixty_apart_on_the_goal_lines_about_the_middle():
    posts = sorted(line.start for line in lines() if line.style is Style.POST)
    assert posts == [(32.2, 0), (32.2, 100), (37.8, 0), (37.8, 100)]


def test_the_lines_that_the_law_wants_solid_are_solid_and_the_others_broken():
    solid = {line.name.split(" ", 1)[1] for line in lines() if line.style is Style.SOLID}
    assert solid == {"dead-ball line", "goal line", "22 m line", "touchline", "line"}  # the last: half-way line
    assert {line.name for line in lines() if line.style is Style.BROKEN} == {
        *("own 5 m line", "far 5 m line", "own 10 m line", "far 10 m line", "5 m from touch", "15 m from touch")
    }


def test_a_drawing_shows_only_the_part_of_a_line_inside_it():
    found = {(line.name, line.start, line.end) for line in lines_within(-2, 20, 20, 6)}
    assert found == {
        ("own 22 m line", (2, 2), (20, 2)),
        ("left touchline", (2, 0), (2, 6)),
        ("5 m from touch", (7, 0), (7, 6)),
        ("15 m from touch", (17, 0), (17, 6)),
    }
