"""Scenes that a club keeps, puts on a card, and prints."""

from __future__ import annotations

import io

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from pypdf import PdfReader

from drills.actions import DrillRefused
from drills.board_actions import NameTaken, put_on_card, save_scene, set_figures
from drills.board_models import BoardScene
from drills.board_page import note_of, rules_of
from drills.board_presets import PRESETS
from drills.cards import cards_pdf
from drills.core import diagram
from drills.core.board.answer import judgement
from drills.core.board.book import OURS
from drills.core.board.reading import Unfit, scene_from
from drills.models import Drill
from shared.models import AuditEvent
from tests import factories as f
from tests.drills.board.scenes import BALL_LEFT
from tests.drills.board.test_board_page import fields_of

SWING = PRESETS["swing"].scene(OURS)


def at(name: str, **words) -> str:
    return reverse(name, kwargs={"club": "brackenford", **words})


@pytest.fixture
def coach(club, head, log_in):
    return log_in(head)


@pytest.fixture
def kept(club, head):
    return save_scene(club, "Ruck left", BALL_LEFT, under=0, replace=False, by=head, today=f.TUESDAY)


def said(response) -> list[str]:
    return [str(message) for message in response.context["messages"]]


def test_a_scene_is_kept_under_a_name_and_opened_again(coach, club):
    page = coach.post(at("board_save"), fields_of(BALL_LEFT) | {"name": "Ruck left"}, follow=True)
    assert said(page) == ["“Ruck left” is kept, version 1."]
    kept = BoardScene.objects.get()
    assert judgement(scene_from(kept.scene)) == judgement(BALL_LEFT)
    assert page.request["PATH_INFO"] == at("board_scene", scene=kept.pk)
    assert (
        coach.get(at("board") + f"?preset=kept-{kept.pk}", follow=True).request["PATH_INFO"]
        == page.request["PATH_INFO"]
    )


def test_a_taken_name_is_told_and_only_replaced_when_that_is_ticked(coach, kept):
    fields = fields_of(SWING) | {"name": "Ruck left"}
    page = coach.post(at("board_save"), fields).content.decode()
    assert "is the name of another scene" in page
    assert 'name="next_x" value="50' in page
    assert said(coach.post(at("board_save"), fields | {"replace": "on"}, follow=True)) == [
        "“Ruck left” is kept, version 2."
    ]
    kept.refresh_from_db()
    assert scene_from(kept.scene).next is not None
    event = AuditEvent.objects.filter(did="saved a scene of the board").last()
    assert scene_from(event.detail["before"]).defenders == BALL_LEFT.defenders


def test_a_scene_that_is_none_is_not_kept(coach, club):
    page = coach.post(at("board_save"), fields_of(BALL_LEFT) | {"name": "X", "m15-x": "far"}).content.decode()
    assert "Enter a number." in page
    assert not BoardScene.objects.exists()


def test_a_scene_that_could_not_be_read_again_is_not_kept(coach, club, head):
    """A man far behind the goal line has a depth that the form takes, and a place that no scene may have."""
    page = coach.post(at("board_save"), fields_of(BALL_LEFT) | {"name": "X", "m14-depth": "100"})
    assert "This place lies more than 22 m beyond the pitch: give one nearer to it." in page.content.decode()
    far = BALL_LEFT.with_places([(14, (46, -60))])
    with pytest.raises(Unfit, match="should be -22 to 122"):
        save_scene(club, "X", far, under=0, replace=False, by=head, today=f.TUESDAY)
    assert not BoardScene.objects.exists()


@pytest.mark.parametrize("name", ["board_scene", "board_scene_card", "board_scene_paper"])
def test_a_kept_scene_that_cannot_be_read_is_told_and_can_be_removed(coach, kept, name):
    BoardScene.objects.update(scene=kept.scene | {"line": 900})
    page = coach.get(at(name, scene=kept.pk), follow=True)
    told = page.content.decode()
    assert page.status_code == 200
    assert "“Ruck left” cannot be read" in told
    assert "line: is 900; it should be 0 to 100" in told
    assert at("board_scene_remove", scene=kept.pk) in told
    assert at("board_scene_paper", scene=kept.pk) not in told
    coach.post(at("board_scene_remove", scene=kept.pk))
    assert not BoardScene.objects.exists()


def test_a_kept_scene_can_be_judged_by_every_grade_that_the_club_has(coach, club, head, kept):
    BoardScene.objects.update(under=14)
    set_figures(club, 16, {"speeds.15": 7.0}, by=head)
    page = coach.get(at("board_scene", scene=kept.pk))
    assert [under for under, _words in page.context["shown"].fields["under"].choices] == [0, 14, 16]
    assert page.context["shown"].grade == 14


def test_a_grade_without_own_figures_stays_chosen_when_its_scene_is_judged(coach):
    """Its figures were given back since, so that those of adults hold; kick and view stay chosen too."""
    page = coach.post(at("board"), fields_of(BALL_LEFT) | {"under": "14", "kind": "cross"})
    assert page.context["shown"].grade == 14
    assert page.context["page"].picture.under.count("hatch-open")


def test_a_removed_scene_stays_in_the_audit(coach, kept):
    assert said(coach.post(at("board_scene_remove", scene=kept.pk), follow=True)) == [
        "“Ruck left” is taken off the list."
    ]
    assert not BoardScene.objects.exists()
    event = AuditEvent.objects.get(did="removed a scene of the board")
    assert scene_from(event.detail["scene"]).defenders == BALL_LEFT.defenders


def test_the_database_refuses_a_name_twice_and_none(club, kept):
    for wrong in ({"name": "Ruck left"}, {"name": ""}, {"under": 40}, {"version": 0}):
        row = {
            "club": club,
            "name": "Other",
            "saved_on": f.TUESDAY,
            "scene": kept.scene,
            "under": 0,
            "version": 1,
        } | wrong
        with pytest.raises(IntegrityError), transaction.atomic():
            BoardScene.objects.create(**row)
    BoardScene.objects.create(club=f.ClubFactory(slug="elsewhere"), name="Ruck left", saved_on=f.TUESDAY, scene={})


def test_the_verb_says_whose_name_is_taken(club, head, kept):
    with pytest.raises(NameTaken, match="Ruck left"):
        save_scene(club, "Ruck left", SWING, under=0, replace=False, by=head, today=f.TUESDAY)


def test_a_scene_becomes_a_frame_of_a_card_with_its_verdict_in_words(coach, kept, drill):
    page = coach.post(
        at("board_scene_card", scene=kept.pk), {"drill": drill.pk, "how": "instead", "who": "back"}, follow=True
    )
    drill.refresh_from_db()
    assert said(page) == [f"The scene is drawn on {drill}."]
    (frame,) = diagram.read(drill.diagram).frames
    assert frame.note == "Broken: every kick covered."
    assert {t.label for t in frame.things if t.kind is diagram.Kind.DEFENDER} == {"9", "11", "14", "15"}
    assert [trail.hang for trail in frame.trails] == [kick.hang for kick in BALL_LEFT.kicks]


def test_a_small_drawing_may_leave_the_line_out(head, drill):
    everybody = PRESETS["left-in"].scene(OURS)
    told = {"how": "instead", "by": head, "today": f.TUESDAY}
    saved = put_on_card(drill, [everybody], [""], who="back", version=drill.version, **told)
    labels = {thing["label"] for thing in saved.diagram["frames"][0]["objects"] if thing["kind"] == "defender"}
    assert labels == {"11", "14", "15"}  # the half-back stands in the line
    whole = put_on_card(saved, [everybody], [""], who="all", version=saved.version, **told)
    assert len([t for t in whole.diagram["frames"][0]["objects"] if t["kind"] == "defender"]) == 15


def test_a_swing_becomes_a_frame_for_each_moment(club, head, drill):
    kept = save_scene(club, "Swing", SWING, under=0, replace=False, by=head, today=f.TUESDAY)
    from drills.views.board import page_of

    scenes, notes = page_of(kept).frames
    saved = put_on_card(drill, scenes, notes, how="copy", version=drill.version, by=head, today=f.TUESDAY)
    frames = diagram.read(saved.diagram).frames
    assert saved.pk != drill.pk
    assert len(frames) == len(scenes) >= 3
    assert frames[0].note.startswith("Now")
    assert all(len(frame.note) <= diagram.NOTE_LENGTH for frame in frames)


def test_frames_go_behind_those_that_show_the_same_part_of_the_pitch_only(head, drill):
    once = put_on_card(drill, [BALL_LEFT], ["One"], how="instead", version=drill.version, by=head, today=f.TUESDAY)
    twice = put_on_card(once, [BALL_LEFT], ["Two"], how="after", version=once.version, by=head, today=f.TUESDAY)
    assert [frame["note"] for frame in twice.diagram["frames"]] == ["One", "Two"]
    far = PRESETS["their-half"].scene(OURS)
    with pytest.raises(DrillRefused, match="another part of the pitch"):
        put_on_card(twice, [far], ["Three"], how="after", version=twice.version, by=head, today=f.TUESDAY)
    assert Drill.objects.get(pk=drill.pk).version == twice.version


def test_a_note_is_as_long_as_a_note_may_be():
    everybody_wrong = BALL_LEFT.with_places([(11, (30, 20)), (15, (60, 1)), (14, (20, 1)), (9, (60, 20))])
    note = note_of(rules_of(judgement(everybody_wrong)), "After 2.50 s")
    assert len(note) <= diagram.NOTE_LENGTH
    assert note.startswith("After 2.50 s. Broken: ")


def test_a_drill_card_prints_a_board_scene_with_its_verdict(head, drill):
    saved = put_on_card(
        drill, [BALL_LEFT], ["Broken: every kick covered."], how="instead", version=1, by=head, today=f.TUESDAY
    )
    printed = PdfReader(io.BytesIO(cards_pdf([Drill.objects.for_card().get(pk=saved.pk)])))
    text = " ".join(printed.pages[0].extract_text().split())
    assert "Broken: every kick covered." in text


def test_the_paper_of_a_scene_says_every_verdict_in_words(coach, kept):
    answer = coach.get(at("board_scene_paper", scene=kept.pk))
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.getvalue())).pages).split())
    for words in (
        "Ruck left",
        "P8 every kick covered: broken",
        "−0.36 s, too late",
        "P2 near wing up",
        "not published law",
    ):
        assert words in text


def test_another_clubs_scene_does_not_exist(kept, drill, stranger, log_in):
    other = log_in(stranger)
    for name in ("board_scene", "board_scene_card", "board_scene_paper"):
        own = reverse(name, kwargs={"club": stranger.memberships.get().club.slug, "scene": kept.pk})
        assert other.get(own).status_code == 404
