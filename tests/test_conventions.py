"""The laws of the house: which part may import what, what no file may hold, what no template may do."""

from __future__ import annotations

import ast
import re
import statistics
import subprocess
import sys
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

ROOT = Path(settings.BASE_DIR)
APPS = ("shared", "squads", "drills", "planner")
CODE = sorted(path for app in APPS for path in (ROOT / app).rglob("*.py") if "migrations" not in path.parts)
CORE = [path for path in CODE if "core" in path.relative_to(ROOT).parts]
TEMPLATES = sorted(path for room in ("", *APPS) for path in (ROOT / room).glob("templates/**/*.html"))
PAGES = [path for path in TEMPLATES if path.parent.name != "print"]  # no browser opens a printed sheet

# A core reads no file, no clock of the day and no chance of its own.
# dateutil: RFC 5545 recurrence; astral: where the sun stands on a day that it is given.
CORE_PACKAGES = {"numpy", "numba", "scipy", "ortools", "dateutil", "astral"}
NOT_IN_A_CORE = {"io", "os", "pathlib", "random", "secrets", "shutil", "socket", "sqlite3", "subprocess", "tempfile"}
CLOCKS = re.compile(r"\.(today|now|utcnow|localtime|gmtime)$|^time\.time(_ns)?$")


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(), filename=str(path))


def imported(path: Path) -> Iterator[str]:
    """Every module that a file imports, wherever the import stands."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def calls(path: Path) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree(path)) if isinstance(node, ast.Call))


def called(call: ast.Call) -> str:
    """`open`, `date.today`, `np.random.rand`; what is computed on the spot is left out."""
    return ast.unparse(call.func)


def tracked() -> list[Path]:
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if listing.returncode:
        pytest.skip("needs a git checkout")
    return [path for line in listing.stdout.split("\0") if line and (path := ROOT / line).is_file()]


def test_there_is_code_to_check():
    assert len(CODE) > 30
    assert len(CORE) > 10
    assert len(TEMPLATES) > 10


def test_imports_go_one_way():
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([tool, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("path", CORE, ids=name)
def test_a_core_imports_only_arithmetic(path):
    for module in imported(path):
        top, *below = module.split(".")
        known = top in sys.stdlib_module_names - NOT_IN_A_CORE or top in CORE_PACKAGES
        assert known or (top in APPS and below[:1] == ["core"]), f"{name(path)} imports {module}"


@pytest.mark.parametrize("path", CORE, ids=name)
def test_a_core_opens_nothing_and_asks_no_clock_for_the_day(path):
    for call in calls(path):
        where, what = f"{name(path)}:{call.lineno}", called(call)
        assert what.rpartition(".")[2] != "open", f"{where} opens a file"
        assert not CLOCKS.search(what), f"{where} asks a clock: let the caller pass the day in"


@pytest.mark.parametrize("path", CORE, ids=name)
def test_a_core_throws_dice_only_from_a_number_it_was_given(path):
    for call in calls(path):
        if ".random." in called(call):
            given = called(call).endswith(("default_rng", "Generator", "PCG64", "SeedSequence")) and call.args
            assert given, f"{name(path)}:{call.lineno} draws at random without a number to start from"


@pytest.mark.parametrize("engine", ["typst", "weasyprint"])
def test_only_printing_imports_a_library_that_sets_type(engine):
    users = [name(path) for path in CODE if any(module.split(".")[0] == engine for module in imported(path))]
    assert users == ["shared/printing.py"]


def test_no_print_template_asks_for_a_package():
    """A Typst package would be fetched from the network."""
    prints = sorted((ROOT / "templates" / "print").glob("*.typ"))
    assert prints
    assert [name(path) for path in prints if re.search(r"[\"']@", path.read_text())] == []


def test_only_one_file_configures_the_task_queue():
    makers = [name(path) for path in CODE if any(called(call) == "Celery" for call in calls(path))]
    assert makers == ["shared/celery.py"]
    setting = re.compile(r"\bCELERY_[A-Z]+\b|\.conf\.(update|broker|task|worker)|broker_url")
    assert [name(path) for path in CODE if setting.search(path.read_text())] == ["shared/celery.py"]


def test_work_is_handed_to_the_queue_by_one_function():
    """`jobs.ask` writes the row and sends after commit; a message sent past it could arrive before its row."""
    sent = re.compile(r"\.(delay|delay_on_commit|apply_async|send_task)\(")
    assert [name(path) for path in CODE if sent.search(path.read_text())] == ["shared/jobs.py"]


def test_rows_become_a_problem_in_one_place_and_a_plan_becomes_rows_in_one_place():
    beside = [path for path in CODE if path not in CORE]
    makers = {name(path) for path in beside for call in calls(path) if called(call).split(".")[-1] == "Problem"}
    assert makers == {"planner/build.py"}
    written = re.compile(r"\b(Station|Place)\.objects\.(create|bulk_create|get_or_create|update_or_create)\(")
    assert [name(path) for path in CODE if written.search(path.read_text())] == ["planner/programme.py"]


def test_only_one_file_names_the_addresses_of_the_apps():
    users = [name(path) for path in CODE if re.search(r"include\([\"'](squads|drills|planner)", path.read_text())]
    assert users == ["shared/urls.py"]


def test_no_rule_hides_in_a_signal_of_a_model():
    hidden = re.compile(r"\b(pre|post)_(save|delete|init)\b|\bm2m_changed\b")
    assert [name(path) for path in CODE if hidden.search(path.read_text())] == []


@pytest.mark.parametrize("path", PAGES, ids=name)
def test_a_template_has_no_style_and_no_handler_inside_a_tag(path):
    """The content security policy of the site refuses both."""
    inline = re.compile(r"<[^>]*\s(style|on[a-z]+)\s*=", re.IGNORECASE)
    found = inline.search(path.read_text())
    assert not found, f"{name(path)}: {found.group(0)[-60:]}"


@pytest.mark.parametrize("path", TEMPLATES, ids=name)
def test_a_script_or_style_block_carries_the_nonce_of_the_page(path):
    """Printed pages have no script; their style is a file."""
    for tag in re.findall(r"<(?:script|style)\b[^>]*>", path.read_text()):
        assert "nonce=" in tag or "src=" in tag, f"{name(path)}: {tag}"


def test_every_form_that_posts_carries_its_token():
    posting = re.compile(r"<form\b[^>]*method=[\"']post[\"'][^>]*>(.*?)</form>", re.IGNORECASE | re.DOTALL)
    bare = [name(path) for path in TEMPLATES for body in posting.findall(path.read_text()) if "csrf_token" not in body]
    assert bare == []


@pytest.mark.django_db
def test_the_models_have_no_change_without_a_migration():
    call_command("makemigrations", check=True, dry_run=True, stdout=StringIO(), stderr=StringIO())


# Written in pieces, so that this file does not hold what it forbids.
HOSTS = ["py" + "pi.org", "python" + "hosted", "npm" + "js", "crates" + ".io", "rubygems" + ".org", "debian" + ".org"]
PLACES = ["/wo" + "rk/", "/tmp/" + "brief", "/root" + "/"]
MAKERS = ["cla" + "ude", "anthro" + "pic", "chat" + "gpt", "language " + "model", "sub" + "agent", "tran" + "script"]
TRACKER = [r"issue #?[0-9]", "issue " + "tracker"]
TEXT = re.compile("|".join([*map(re.escape, HOSTS + PLACES + MAKERS), *TRACKER]), re.IGNORECASE)


def test_no_file_names_a_registry_a_machine_or_how_it_was_made():
    found = {
        f"{name(path)}: {match.group(0)}"
        for path in tracked()
        if (match := TEXT.search(path.read_bytes().decode("utf-8", "ignore")))
    }
    assert found == set()


def test_a_lock_file_names_no_address():
    for lock in ("requirements.lock", "requirements-dev.lock"):
        text = (ROOT / lock).read_text()
        assert "--hash=sha256:" in text
        assert "://" not in text


def test_only_tests_look_beside_the_checkout():
    beside = "../" + "shared"
    users = [path.relative_to(ROOT) for path in tracked() if beside in path.read_bytes().decode("utf-8", "ignore")]
    assert [str(path) for path in users if path.parts[0] not in {"tests", ".ci"}] == []


def lengths() -> list[int]:
    return [
        node.end_lineno - node.lineno + 1
        for path in CODE
        for node in ast.walk(tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def test_functions_are_short():
    """Our own measure (common practice, no standard): half under 9 lines, nine in ten under 30."""
    ordered = sorted(lengths())
    assert statistics.median(ordered) <= 9
    assert ordered[len(ordered) * 9 // 10] <= 30
    assert sum(length > 40 for length in ordered) <= 0.03 * len(ordered)


def test_files_stay_small_enough_to_read_in_one_go():
    long = {name(path): lines for path in CODE if (lines := len(path.read_text().splitlines())) > 450}
    assert long == {}
