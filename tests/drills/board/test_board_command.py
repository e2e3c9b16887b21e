"""manage.py board SCENE.json."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import jsonschema
import pytest
from django.core.management import CommandError, call_command

from drills.board_words import MEASURES, RULES, WHY_NOT
from tests.drills.board.test_reading import SCENE, changed

DATA = Path(__file__).parents[3] / "drills" / "data"
CORE = Path(__file__).parents[3] / "drills" / "core" / "board"


def run(tmp_path, scene, *flags) -> tuple[int, str]:
    file, out = tmp_path / "scene.json", io.StringIO()
    file.write_text(scene if isinstance(scene, str) else json.dumps(scene), encoding="utf-8")
    try:
        call_command("board", str(file), *flags, stdout=out)
    except SystemExit as end:
        return end.code, out.getvalue()
    return 0, out.getvalue()


def test_it_prints_json_that_its_schema_describes_and_then_words(tmp_path):
    code, text = run(tmp_path, SCENE)
    found, end = json.JSONDecoder().raw_decode(text)
    jsonschema.validate(found, json.loads((DATA / "board.schema.json").read_text()))
    assert "✓ P6 never flat: holds" in text[end:]
    assert "chip: 9, +0.26 s" in text[end:]
    assert code == 1  # the guard of the right side is missing


def test_a_scene_fits_its_schema(tmp_path):
    jsonschema.validate(SCENE, json.loads((DATA / "scene.schema.json").read_text()))


def test_json_alone_and_words_alone(tmp_path):
    assert json.loads(run(tmp_path, SCENE, "--json")[1])["zone"] == "B"
    assert run(tmp_path, SCENE, "--text")[1].startswith("Ball left, zone B (own 22 to halfway).")


def test_nothing_broken_ends_with_0(tmp_path):
    still = {"format": "plumbline-scene/1", "ball": {"x": 35, "y": 40}, "defenders": []}
    assert run(tmp_path, still)[0] == 0


@pytest.mark.parametrize(
    ("scene", "told"),
    [
        ("{", "is no JSON"),
        ("[]", "the scene: is a list; it should be a set of fields in braces"),
        (changed(("line",), "far"), "line: is “far”; it should be a number"),
        ("[" * 100_000, "is no JSON"),
    ],
)
def test_a_file_that_is_no_scene_is_told_and_ends_with_2(tmp_path, scene, told):
    with pytest.raises(CommandError, match=re.escape(told)) as refused:
        run(tmp_path, scene)
    assert refused.value.returncode == 2


def test_a_missing_file_is_told():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("board", "/nowhere/scene.json")


def test_every_measure_and_every_reason_of_the_core_has_words():
    source = "".join(file.read_text() for file in CORE.glob("*.py"))
    measures = set(re.findall(r'(?:Finding|Measure)\(\s*"[PHRL]\d", "([^"]+)"', source))
    assert measures - set(MEASURES) == set()
    assert len(measures) > 20
    assert set(re.findall(r'verdict\("([PHRL]\d)"', source)) <= set(RULES)
    assert set(WHY_NOT) >= {"no kicks", "no ruck", "nobody moves"}
