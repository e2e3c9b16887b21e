"""A club's own figures in place of ours."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from drills.board_actions import FiguresRefused, book_of, set_figures
from drills.board_models import BoardFigure
from drills.core.board.book import OURS, faults_of
from drills.core.board.figures import figures, nested, value_of, with_figures
from drills.figure_words import label
from shared.models import AuditEvent
from tests import factories as f

ALL = figures()


def test_every_figure_has_a_name_a_unit_and_lies_within_its_bounds():
    labels = [label(figure) for figure in ALL]
    assert len(set(labels)) == len(labels)
    for figure in ALL:
        assert figure.low <= figure.ours <= figure.high, figure
        assert value_of(OURS, figure.key) == figure.ours


def test_our_own_figures_change_nothing():
    same, ours = with_figures({figure.key: figure.ours for figure in ALL}), with_figures({})
    assert replace(same, speeds={}) == replace(ours, speeds={})
    assert [same.runner(n) for n in range(1, 24)] == [ours.runner(n) for n in range(1, 24)]


@given(st.sampled_from(ALL), st.data())
def test_a_figure_within_its_bounds_is_the_one_that_changes(figure, data):
    whole = st.integers(int(figure.low), int(figure.high))
    value = data.draw(whole if figure.whole else st.floats(max(figure.low, 0.001), figure.high))
    own = nested({figure.key: value})
    if list(faults_of(own)):
        return  # the least of a range above its most: told, not taken
    changed = with_figures({figure.key: value})
    assert value_of(changed, figure.key) == value
    others = [each for each in ALL if each.key != figure.key]
    same = [each for each in others if value_of(changed, each.key) == each.ours]
    usual = [each for each in others if each.name == "speeds" and figure.key == "usual_speed"]
    assert len(same) >= len(others) - len(usual)


def test_a_club_changes_figures_and_gives_them_back(club, head):
    assert set_figures(club, 0, {"place_slack": 1.5, "speeds.15": 7.9}, by=head) == 2
    assert (book_of(club).place_slack, book_of(club).speeds[15]) == (1.5, 7.9)
    assert set_figures(club, 0, {"place_slack": 1.5}, by=head) == 0
    assert set_figures(club, 0, {"place_slack": None}, by=head) == 1
    assert (book_of(club).place_slack, book_of(club).speeds[15]) == (OURS.place_slack, 7.9)
    changes = AuditEvent.objects.filter(did="changed figures of the board").order_by("number")
    assert [event.detail["figures"] for event in changes] == [
        {"place_slack": [None, 1.5], "speeds.15": [None, 7.9]}, {"place_slack": [1.5, None]},
    ]  # fmt: skip


def test_an_age_grade_lies_over_the_club_and_the_club_over_us(club, head):
    set_figures(club, 0, {"place_slack": 1.5, "speeds.15": 7.9}, by=head)
    set_figures(club, 16, {"speeds.15": 7.0}, by=head)
    assert (book_of(club, 16).speeds[15], book_of(club, 16).place_slack) == (7.0, 1.5)
    assert (book_of(club).speeds[15], book_of(club, 14).speeds[15]) == (7.9, 7.9)


def test_another_club_keeps_its_own(club, head):
    set_figures(club, 0, {"place_slack": 1.5}, by=head)
    assert book_of(f.ClubFactory(slug="elsewhere")) == OURS


def test_a_least_above_its_most_is_refused_and_nothing_changes(club, head):
    with pytest.raises(FiguresRefused, match="rise"):
        set_figures(club, 0, {"depths.B.full_back.least": 30, "place_slack": 1}, by=head)
    assert book_of(club) == OURS


def test_figures_for_adults_turn_no_range_of_an_age_grade_around(club, head, log_in):
    """Under-16s have a least of their own and inherit the most: 25 m is ours, 23 m would be below their 24 m."""
    set_figures(club, 16, {"depths.B.full_back.least": 24.0}, by=head)
    with pytest.raises(FiguresRefused, match="under 16: should rise"):
        set_figures(club, 0, {"depths.B.full_back.most": 23.0}, by=head)
    assert book_of(club, 16).depths["B"].full_back == (24.0, 25.0)
    page = log_in(head).post(at("board_figures_save"), {"under": "0", "depths.B.full_back.most": "23"})
    assert "under 16: should rise: the least first" in page.content.decode()
    assert set_figures(club, 0, {"depths.B.full_back.most": 24.5}, by=head) == 1
    set_figures(club, 16, {"depths.B.full_back.least": None}, by=head)
    assert set_figures(club, 0, {"depths.B.full_back.most": 23.0}, by=head) == 1


def test_giving_an_adult_figure_back_turns_no_range_of_an_age_grade_around_either(club, head):
    set_figures(club, 0, {"depths.B.full_back.most": 30.0}, by=head)
    set_figures(club, 16, {"depths.B.full_back.least": 28.0}, by=head)
    with pytest.raises(FiguresRefused, match="under 16"):
        set_figures(club, 0, {"depths.B.full_back.most": None}, by=head)
    assert book_of(club).depths["B"].full_back == (18, 30.0)


def test_the_database_refuses_a_figure_twice_an_unknown_grade_and_a_value_beyond_all_bounds(club):
    BoardFigure.objects.create(club=club, figure="place_slack", value=1)
    for wrong in ({"under": 3}, {"value": 5000.0}, {"figure": ""}, {}):
        with pytest.raises(IntegrityError), transaction.atomic():
            BoardFigure.objects.create(**{"club": club, "figure": "place_slack", "value": 1, "under": 0} | wrong)


def at(name: str) -> str:
    return reverse(name, kwargs={"club": "brackenford"})


def test_the_page_shows_each_figure_with_its_unit_and_ours_beside_it(club, assistant, log_in):
    page = log_in(assistant).get(at("board_figures")).content.decode()
    assert "depth of the full back, zone B, least (m): <b>18</b>" in page
    assert "none of them is published law" in page
    assert '<input type="number"' not in page


def test_a_head_coach_saves_figures_and_the_board_judges_by_them(club, head, log_in):
    coach = log_in(head)
    saved = coach.post(at("board_figures_save"), {"under": "0", "depths.B.full_back.least": "23"}, follow=True)
    assert [str(m) for m in saved.context["messages"]] == ["1 figure changed."]
    board = coach.get(at("board")).content.decode()
    assert "wanted 23.0 to 25.0 m" in board


def test_what_is_out_of_bounds_or_does_not_rise_is_told_beside_the_field(club, head, log_in):
    coach = log_in(head)
    page = coach.post(at("board_figures_save"), {"speeds.15": "40", "place_slack": "1"}).content.decode()
    assert "less than or equal to 13" in page
    page = coach.post(at("board_figures_save"), {"depths.B.full_back.least": "60"}).content.decode()
    assert "should rise: the least first" in page
    assert not BoardFigure.objects.exists()


def test_the_command_judges_by_a_clubs_figures(club, head, tmp_path, capsys):
    set_figures(club, 0, {"depths.B.full_back.least": 23.0}, by=head)
    scene = {
        "format": "plumbline-scene/1", "ball": {"x": 12}, "line": 40,
        "defenders": [{"number": n, "x": x, "depth": d} for n, x, d in [(11, 7, 3), (15, 17, 22), (14, 46, 17)]],
    }  # fmt: skip
    file = tmp_path / "scene.json"
    file.write_text(json.dumps(scene))
    with pytest.raises(SystemExit, match="1"):  # nobody sweeps
        call_command("board", str(file), "--text", "--club", "brackenford")
    assert "15: depth 22.0 m, wanted 23.0 to 25.0 m" in capsys.readouterr().out
    with pytest.raises(CommandError, match="There is no club"):
        call_command("board", str(file), "--club", "nowhere")
