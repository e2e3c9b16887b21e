"""manage.py print_cards: which cards, which size, exit codes."""

import io

import pypdf
import pytest
from django.core.management import CommandError, call_command

from tests import factories as f


@pytest.fixture(autouse=True)
def nothing_kept_from_before(settings, tmp_path):
    settings.VAR_DIR = tmp_path


@pytest.fixture
def run(club, tmp_path):
    """`run("--all")` prints cards of a library of four, and gives the text of the print and its number of pages."""
    ladder = f.LadderFactory(club=club, code="Z")
    for number, step in ((1, 3), (2, 0), (3, None), (4, None)):
        f.DrillFactory(
            club=club, number=number, name=f"Drill no {number}", ladder=ladder if step is not None else None, step=step
        )
    f.DrillFactory(club=club, number=5, retired_on="2026-10-01")

    def print_cards(*words):
        path = tmp_path / "cards.pdf"
        call_command("print_cards", *words, "--out", path, verbosity=0)
        pages = pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages
        return "".join(page.extract_text() for page in pages), len(pages)

    return print_cards


def numbers(text):
    return [number for number in range(1, 6) if f"Drill no {number}" in text]


@pytest.mark.parametrize(
    ("words", "found"),
    [(["--all"], [1, 2, 3, 4]), (["--ladder", "Z"], [1, 2]), (["--drills", "4", "3"], [3, 4])],
)
def test_all_a_ladder_or_some_are_printed(run, words, found):
    text, _pages = run(*words)
    assert numbers(text.replace("↓ #2 Drill no 2", "").replace("↑ #1 Drill no 1", "")) == found


@pytest.mark.parametrize(("size", "pages"), [("a4", 4), ("a5", 2), ("a6", 1)])
def test_cards_share_a_sheet_by_their_size(run, size, pages):
    assert run("--all", "--size", size)[1] == pages


def test_the_codes_lead_where_site_says(run, settings):
    settings.SITE_ADDRESS = "https://settings.example"
    assert "https://settings.example/c/brackenford/drills/3/" in run("--drills", "3")[0]
    assert "https://other.example/c/brackenford/drills/3/" in run("--drills", "3", "--site", "https://other.example")[0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--drills", "3", "5", "99"], "There is no card #5, #99."),
        (["--ladder", "Q"], "There is no such card."),
        (["--all", "--club", "nowhere"], "Name the club by --club. Clubs here: brackenford"),
    ],
)
def test_what_is_not_there_is_named(run, words, told):
    with pytest.raises(CommandError, match=told) as refusal:
        run(*words)
    assert refusal.value.returncode == 2


def test_a_card_that_does_not_fit_is_named_and_no_file_is_written(run, club, tmp_path):
    f.DrillFactory(club=club, number=6, name="Endless", set_up="word " * 9000)
    with pytest.raises(CommandError, match="#6 Endless does not fit a card") as refusal:
        run("--all")
    assert refusal.value.returncode == 1
    assert not (tmp_path / "cards.pdf").exists()
