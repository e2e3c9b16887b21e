"""The command import_fixtures: the same preview as the page, exit codes 0, 1 and 2."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from planner.models import Fixture
from tests import factories as f
from tests.planner.calendar.ics_files import KICK_OFF, calendar, event


@pytest.fixture(autouse=True)
def season(squad):
    return f.SeasonFactory(squad=squad)


@pytest.fixture
def league(tmp_path):
    path = tmp_path / "league.ics"
    path.write_bytes(calendar(event(KICK_OFF)))
    return path


def run(*words) -> tuple[str, int]:
    """What the command prints, and its exit code."""
    told = StringIO()
    try:
        call_command("import_fixtures", *map(str, words), stdout=told)
    except SystemExit as ended:
        return told.getvalue(), ended.code
    except CommandError as problem:
        return str(problem), problem.returncode
    return told.getvalue(), 0


def test_without_confirm_it_only_shows(league):
    told, code = run(league, "--squad", "firsts")
    assert code == 0
    assert told == (
        f"{league} (iCalendar, UTF-8)\n"
        "+ line 3: Sat 10 Oct 2026 15:00 Netherby Cross (home), new\n"
        "1 new, 0 changed, 0 same, 0 refused\n"
        "Nothing was written: add --confirm to write it.\n"
    )
    assert Fixture.objects.count() == 0


def test_with_confirm_it_writes_and_the_second_time_nothing_changes(league):
    assert run(league, "--squad", "firsts", "--confirm")[1] == 0
    told, code = run(league, "--squad", "firsts", "--confirm")
    assert (told.splitlines()[-1], code, Fixture.objects.count()) == ("0 new, 0 changed, 1 same, 0 refused", 0, 1)


def test_a_refused_match_gives_exit_code_1_and_the_others_are_written(tmp_path):
    path = tmp_path / "league.ics"
    path.write_bytes(calendar(event(KICK_OFF), event("DTSTART:soon", uid="b", summary="v Hollin")))
    told, code = run(path, "--squad", "firsts", "--confirm")
    assert (code, Fixture.objects.count()) == (1, 1)
    assert "✗ line 8: v Hollin, refused: DTSTART cannot be read" in told


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["nowhere.ics", "--squad", "firsts"], "No such file"),
        (["nowhere.ics", "--squad", "colts"],
         "There is no squad “colts”. Squads here, with their clubs: firsts (brackenford)"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_gives_exit_code_2_and_words(words, message):
    told, code = run(*words)
    assert code == 2
    assert message in told


def test_two_clubs_with_a_squad_of_one_name_are_told_apart_by_club(league):
    f.SquadFactory(slug="firsts", club__slug="hollin")
    told, code = run(league, "--squad", "firsts")
    assert (code, "add --club" in told) == (2, True)
    assert run(league, "--squad", "firsts", "--club", "brackenford")[1] == 0
