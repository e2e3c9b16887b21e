"""`manage.py solve`: a plan from a problem file, or a clear word and an exit code."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError

from planner.core.check import breaches, cost
from planner.core.problem import Plan, Problem
from tests.planner.core import outside
from tests.planner.core.cases import drill, problem, session


@pytest.fixture
def block(tmp_path: Path) -> Path:
    targets = [{"player": p, "skill": "tackle", "minutes": 10, "weight": 1} for p in ("ann", "bea", "cat")]
    return written(tmp_path, problem(sessions=[session("s1", 0), session("s2", 2)], targets=targets, idle_weight=0.5))


def written(folder: Path, content: Any) -> Path:
    path = folder / "problem.json"
    path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    return path


def solved(path: Path, **options: Any) -> tuple[Problem, Plan, str]:
    out, said = path.with_name("plan.json"), StringIO()
    call_command("solve", path, **{"out": out, "stdout": said, "seconds": 0.3, **options})
    known = Problem.from_json(json.loads(path.read_text(encoding="utf-8")))
    return known, Plan.from_json(json.loads(out.read_text(encoding="utf-8")), known), said.getvalue()


def refused(path: Path, **options: Any) -> tuple[int, str]:
    with pytest.raises(CommandError) as caught:
        solved(path, **options)
    return caught.value.returncode, str(caught.value)


def test_the_plan_written_keeps_every_rule_and_states_its_cost(block: Path) -> None:
    known, plan, _ = solved(block)
    assert breaches(known, plan.stations) == []
    assert plan.cost == pytest.approx(cost(known, plan.stations).total)
    assert plan.bound is not None
    assert plan.bound <= plan.cost + 0.01


def test_cost_and_its_six_parts_bound_and_time_are_said(block: Path) -> None:
    _, plan, said = solved(block)
    lines = said.splitlines()
    assert lines[0] == "case: 3 players, 1 drills, 2 sessions with 4 slots"
    assert lines[1] == f"Cost {plan.cost:.2f}"
    assert [line.split()[0] for line in lines[2:8]] == ["shortfall", "touch", "band", "idle", "evenness", "wishes"]
    assert lines[8] == f"No plan costs less than {plan.bound:.2f}"
    assert lines[9].split()[1:2] == ["after"]


def test_targets_that_nothing_serves_are_said_before_the_run(tmp_path: Path) -> None:
    lone = {"player": "ann", "skill": "jackal", "minutes": 10, "weight": 1}
    _, _, said = solved(written(tmp_path, problem(targets=[lone])))
    assert said.splitlines()[1:3] == ["Targets that nothing can serve: 1", "  No drill trains jackal for ann."]


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "problem.json"
    path.write_text(json.dumps(problem()), encoding="utf-8-sig")
    call_command("solve", path, out=tmp_path / "plan.json", seconds=0.1, stdout=StringIO())
    assert (tmp_path / "plan.json").exists()


def test_locks_that_clash_end_with_three_and_the_clash_in_words(tmp_path: Path) -> None:
    lock = {"session": "s1", "slot": 0, "drill": "long", "players": None}
    path = written(tmp_path, problem(drills=[drill("long", minutes=[25, 30])], locks=[lock]))
    assert refused(path) == (
        3,
        "These wishes cannot all be met. long on s1 (Mon 05 Jan), slot 1 is locked, but long takes 25 to 30 minutes "
        "and s1 (Mon 05 Jan), slot 1 has 10.",
    )
    assert not (tmp_path / "plan.json").exists()


@pytest.mark.parametrize(
    ("content", "text"),
    [
        ("", "it is not JSON (Expecting value: line 1 column 1 (char 0)); choose a problem file"),
        ("[" * 100_000, "it is nested too deeply to be a problem file"),
        (problem(weeks=0), "problem, weeks: 0 will not do; write a whole number from 1 to 52"),
        ('{"format": NaN}', 'problem: that is another format; choose a file that says "format": "plumbline-problem/1"'),
    ],
)
def test_a_file_that_is_no_problem_ends_with_two_and_what_to_mend(tmp_path: Path, content: Any, text: str) -> None:
    path = written(tmp_path, content)
    assert refused(path) == (2, f"{path}: {text}")


def test_bytes_that_are_no_text_end_with_two(tmp_path: Path) -> None:
    path = tmp_path / "problem.json"
    path.write_bytes(b"\xff\xfe\x00\x01")
    code, text = refused(path)
    assert code == 2
    assert text.startswith(f"{path}: it is not JSON ('utf-8' codec can't decode byte 0xff")


def test_a_file_that_is_not_there_ends_with_two(tmp_path: Path) -> None:
    path = tmp_path / "missing.json"
    assert refused(path) == (2, f"{path}: it cannot be read (No such file or directory)")


@pytest.mark.parametrize(
    ("out", "text"),
    [
        ("problem.json", "that is the problem itself; name another file"),
        ("nowhere/plan.json", "its folder does not exist; make it first"),
        (".", "it is a folder; name a file in it"),
    ],
)
def test_a_place_that_cannot_take_the_plan_ends_with_two_before_the_run(block: Path, out: str, text: str) -> None:
    place = block.parent / out
    assert refused(block, out=place) == (2, f"{place}: {text}")


@pytest.mark.parametrize(("option", "value"), [("seconds", 0), ("seconds", float("nan")), ("workers", 0), ("seed", -1)])
def test_an_option_out_of_range_ends_with_two(block: Path, option: str, value: float) -> None:
    code, text = refused(block, **{option: value})
    assert code == 2
    assert text.startswith(f"--{option} is {value}; write ")


def test_a_refused_run_leaves_an_older_plan_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text("older", encoding="utf-8")
    refused(written(tmp_path, "{}"))
    assert (tmp_path / "plan.json").read_text(encoding="utf-8") == "older"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.json", "problem.json"]


def started(path: Path, *options: str) -> subprocess.Popen[str]:
    """The command as a person starts it."""
    command = [sys.executable, "manage.py", "solve", str(path), "--out", str(path.with_name("plan.json")), *options]
    return subprocess.Popen(command, cwd=settings.BASE_DIR, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_no_traceback_is_shown_for_a_bad_file(tmp_path: Path) -> None:
    said = started(written(tmp_path, "{}"))
    _, errors = said.communicate(timeout=120)
    assert said.returncode == 2
    assert errors.count("\n") == 1


def test_an_interrupt_ends_the_search_and_keeps_the_best_plan(block: Path) -> None:
    run = started(block, "--seconds", "3000")
    assert run.stdout is not None
    assert run.stdout.readline().startswith("case:")
    run.send_signal(signal.SIGINT)
    run.communicate(timeout=300)
    assert run.returncode == 0
    assert json.loads((block.parent / "plan.json").read_text(encoding="utf-8"))["problem"] == "case"


def test_the_reference_checker_accepts_the_plan_of_a_public_instance(tmp_path: Path) -> None:
    checker, built = outside.reference(), outside.instance("small")
    _, plan, _ = solved(written(tmp_path, built))
    broken, _, notes = checker.check(built, plan.to_json())
    assert (broken, notes) == ([], [])
