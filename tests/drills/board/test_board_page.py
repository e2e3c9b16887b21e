"""The page of the board without a script, and what its script asks for."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from drills import board_page
from drills.board_fields import ShownForm
from drills.board_form import BoardForm
from drills.board_page import BoardPage
from drills.board_presets import PRESETS
from drills.board_rows import setting_of
from drills.core.board.answer import judgement
from drills.core.board.book import OURS
from drills.core.board.scene import Scene
from drills.core.board.swing import instants
from tests.drills.board.scenes import BALL_LEFT, BALL_MIDDLE


def at(name: str, **words) -> str:
    return reverse(name, kwargs={"club": "brackenford", **words})


def fields_of(scene: Scene) -> dict[str, str]:
    """What a browser sends for a scene."""
    form = BoardForm(OURS, shown=scene)
    sent = {name: value for name, value in setting_of(scene).items() if value not in (None, "", False, [])}
    for row in form.rows:
        sent |= {f"{row.prefix}-{name}": value for name, value in row.initial.items() if value is not None}
    return {name: value if isinstance(value, list) else str(value) for name, value in sent.items()}


@pytest.fixture
def coach(club, assistant, log_in):
    """An assistant: whoever sees the drills may think about the defence."""
    return log_in(assistant)


def verdicts(coach, fields) -> dict[str, str]:
    answer = coach.post(at("board_verdicts"), fields)
    assert answer.status_code == 200, answer.content.decode()
    return {rule: state for rule, (state, _said) in answer.json()["said"].items()}


@pytest.mark.parametrize("scene", [BALL_LEFT, BALL_MIDDLE, *(each.scene(OURS) for each in PRESETS.values())])
def test_a_scene_goes_through_the_form_and_comes_out_with_the_same_verdicts(scene, db):
    form = BoardForm(OURS, fields_of(scene))
    assert form.scene is not None, list(form.faults)
    mine, theirs = judgement(form.scene), judgement(scene)
    assert [rule["state"] for rule in mine["rules"]] == [rule["state"] for rule in theirs["rules"]]
    assert mine["margins"] == theirs["margins"]
    assert mine["carriers"] == theirs["carriers"]


def test_the_page_begins_with_a_scene_and_its_verdicts(coach):
    page = coach.get(at("board")).content.decode()
    assert "P2 near wing up, full back behind him: holds" in page
    assert "ours to change, not published law" in page


def test_a_preset_is_laid_out(coach):
    page = coach.get(at("board") + "?preset=left-in").content.decode()
    assert "full back lifts while the half-back is in the line: holds" in page
    assert '<option value="left-in" selected>' in page


def test_without_a_script_the_form_is_judged(coach):
    """Each measure with its unit, what is wanted beside it, and a mark and a word for the verdict."""
    page = coach.post(at("board"), fields_of(BALL_LEFT) | {"m15-depth": "9"}).content.decode()
    assert "15: depth 9.0 m, wanted 18.0 to 25.0 m" in page
    assert '<span class="sign broken" aria-hidden="true">✗</span> <b>P2' in page
    assert "near wing up, full back behind him: broken" in page
    assert 'value="9"' in page


def test_the_margins_of_the_worked_scene_stand_on_the_page(coach):
    """The same figures as in test_kicks, worked by hand."""
    page = coach.post(at("board"), fields_of(BALL_LEFT)).content.decode()
    for margin in ("+0.26 s, in time", "+1.81 s, in time", "+0.99 s, in time", "−0.36 s, too late"):
        assert margin in page
    assert "needs 3.76 s of 3.40 s" in page


def test_a_moved_man_changes_the_verdicts(coach):
    fields = fields_of(BALL_LEFT)
    assert verdicts(coach, fields)["P2"] == "holds"
    assert verdicts(coach, fields | {"m15-depth": "9"})["P2"] == "broken"
    assert verdicts(coach, fields | {"m11-depth": "7.5"})["P2"] == "near"


def test_the_script_gets_the_drawing_and_the_map(coach):
    answer = coach.post(at("board_verdicts"), fields_of(BALL_LEFT) | {"kind": "cross"}).json()
    assert answer["diagram"]["format"] == "plumbline-diagram/1"
    assert "hatch-open" in answer["under"]
    assert answer["swing"] is None
    assert answer["said"]["P8"][1].startswith(
        "P8 every kick covered: broken. 14, flat cross-kick: time in hand −0.36 s"
    )


def test_a_runner_is_met_and_the_page_says_where(coach):
    page = coach.get(at("board") + "?preset=wing-away").content.decode()
    assert "Runner: wing" in page
    assert "from the goal line" in page


def test_the_swing_is_shown_moment_by_moment(coach):
    page = coach.get(at("board") + "?preset=swing").content.decode()
    assert "<b>1</b> Now. " in page
    assert "<b>3</b> After 5.00 s" in page
    assert coach.get(at("board_verdicts") + "?preset=swing").json()["swing"]["frames"][0]["note"].startswith("Now")


def test_advice_says_who_goes_where_and_what_it_costs_and_its_places_can_be_taken(coach):
    fields = fields_of(BALL_LEFT)
    page = coach.post(at("board"), fields | {"advise": "1"})
    advice = page.context["advised"][0]
    assert advice.moves
    assert any("near corner" in cost for cost in advice.costs)
    taken = coach.post(at("board"), fields | {"take": "advice"})
    now = taken.context["page"].scene
    wanted = {number: (x, depth) for number, x, depth in json.loads(advice.places)}
    assert {n: (now.man(n).x, now.depth(now.man(n))) for n in wanted} == {
        n: pytest.approx(p) for n, p in wanted.items()
    }
    assert "Where should the back field stand?" in page.content.decode()
    assert "Take these places" in coach.post(at("board_verdicts"), fields | {"advise": "1"}).json()["html"]


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("m15-x", "far", "Enter a number."),
        ("m15-x", "", "Fill in both figures of the place, or neither."),
        ("m15-depth", "900", "less than or equal to 122"),
        ("k0-hang", "", "Fill this in, or take the name out."),
        ("ball_x", "-3", "greater than or equal to 0"),
        ("inside", "six", "Write jersey numbers from 1 to 23"),
        ("line", "nan", "Enter a number."),
    ],
)
def test_a_field_that_makes_no_scene_is_told_and_what_was_typed_stays(coach, field, value, told):
    fields = fields_of(BALL_LEFT) | {field: value}
    page = coach.post(at("board"), fields)
    assert page.status_code == 200
    assert told in page.content.decode()
    assert 'value="46"' in page.content.decode()  # where 14 stands
    answer = coach.post(at("board_verdicts"), fields)
    assert answer.status_code == 422
    assert told in answer.json()["html"]


FAR_OFF = "This place lies more than 22 m beyond the pitch: give one nearer to it."


def rows_on(page, letter: str) -> dict[str, str]:
    """What a browser without a script sends of a list of rows: every field that is there, empty ones too."""
    form = page.context["form"]
    rows = {"a": form.attackers, "k": form.kicks, "c": form.runners}[letter]
    return {field.html_name: "" if field.value() is None else str(field.value()) for row in rows for field in row}


def test_without_a_script_there_is_always_room_for_two_more_attackers(coach):
    """Each judging takes what was filled in and shows two empty rows behind it, up to fifteen."""
    page = coach.get(at("board") + "?preset=swing")
    for n in range(15):
        sent = fields_of(PRESETS["swing"].scene(OURS)) | rows_on(page, "a")
        page = coach.post(at("board"), sent | {f"a{n}-x": str(3 * n), f"a{n}-beyond": "5"})
        assert len(page.context["page"].scene.attackers) == n + 1
        assert len(page.context["form"].attackers) == min(n + 3, 15)


def test_a_row_that_was_emptied_is_taken_away_but_not_one_before_it(coach):
    rows = {"a0-x": "", "a0-beyond": "", "a1-x": "", "a1-beyond": "", "a2-x": "4", "a2-beyond": "5"}
    rows |= {f"a{n}-{name}": "" for n in range(3, 9) for name in ("x", "beyond")}
    form = BoardForm(OURS, fields_of(BALL_LEFT) | rows)
    assert form.scene.attackers == ((4.0, 45.0),)
    assert len(form.attackers) == 5


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (
            {"m14-depth": "100"},
            "14, metres behind the line: " + FAR_OFF,
        ),
        (
            {"k1-depth": "-99"},
            "kick 2, metres behind the line: " + FAR_OFF,
        ),
        (
            {"a0-x": "", "a1-x": "4", "a1-beyond": "110"},
            "attacker 2, metres beyond the line: " + FAR_OFF,
        ),
        (
            {"next_x": "50", "m15-to_x": "50", "m15-to_depth": "100"},
            "15, goes to: metres behind the line: " + FAR_OFF,
        ),
        (
            {"c0-name": "wing", "c0-x": "4", "c0-beyond": "-40"},
            "runner 1, crosses the goal line at: metres from the left touch line: is where he stands already",
        ),
    ],
)
def test_a_place_that_no_kept_scene_may_hold_is_told_beside_its_field(coach, sent, told):
    form = BoardForm(OURS, fields_of(BALL_LEFT) | sent)
    assert form.scene is None
    assert told in list(form.faults)
    assert told in coach.post(at("board"), fields_of(BALL_LEFT) | sent).content.decode()


def test_while_a_man_is_held_the_swing_is_left_out(coach):
    """It is not shown before he is let go, and takes most of the time of an answer."""
    fields = fields_of(PRESETS["swing"].scene(OURS))
    whole = coach.post(at("board_verdicts"), fields).json()
    held = coach.post(at("board_verdicts"), fields | {"held": "1"}).json()
    assert whole["swing"]["frames"]
    assert set(whole) - set(held) == {"swing", "swing_html"}
    assert {name: held[name] for name in held} == {name: whole[name] for name in held}


def test_the_moments_of_a_swing_are_reckoned_once(coach, monkeypatch):
    reckoned = []
    monkeypatch.setattr(board_page, "instants", lambda scene: reckoned.append(scene) or instants(scene))
    coach.post(at("board_verdicts"), fields_of(PRESETS["swing"].scene(OURS)))
    assert len(reckoned) == 1


def test_judging_forgets_neither_the_name_nor_the_tick(coach):
    page = coach.post(at("board"), fields_of(BALL_LEFT) | {"name": "Ruck left", "replace": "on"})
    save = page.context["save"]
    assert (save["name"].value(), bool(save["replace"].value())) == ("Ruck left", True)


def test_a_named_sweeper_has_a_row_for_where_he_goes(coach):
    """10 sweeps: the page has fields for his place, and what stands there is where he goes."""
    sent = fields_of(BALL_LEFT) | {"m10-x": "20", "m10-depth": "6", "m9-x": "", "m9-depth": "", "sweeper": "10"}
    sent |= {"next_x": "50", "m10-to_x": "44", "m10-to_depth": "7"}
    page = coach.post(at("board"), sent)
    assert dict(page.context["page"].scene.next.places)[10] == (44.0, 33.0)
    assert 'name="m10-to_x" value="44' in page.content.decode()


def test_an_unknown_preset_is_the_usual_one(coach):
    assert coach.get(at("board") + "?preset=nothing").status_code == 200


SENT = [
    "ball_x", "line", "inside", "m15-x", "m9-speed", "k0-name", "k1-hang", "c0-name", "next_x", "seconds", "calls",
    "m14-to_x", "sweeper", "offside", "moment",
]  # fmt: skip


@settings(max_examples=150)
@given(st.sampled_from(SENT), st.one_of(st.text(max_size=8), st.floats().map(str), st.integers().map(str)))
def test_whatever_is_sent_is_judged_or_told(field, value):
    form = BoardForm(OURS, fields_of(BALL_LEFT) | {field: value})
    if form.scene is None:
        assert list(form.faults) or form.setting.non_field_errors()
    else:
        page = BoardPage(form, ShownForm({"kind": "long"}), form.scene)
        assert page.groups
        assert page.drawn["diagram"]["frames"]


def test_the_page_asks_the_database_no_more_than_any_other(coach, django_assert_max_num_queries):
    with django_assert_max_num_queries(6):
        coach.get(at("board"))
