"""`import_squad`: the preview of the page in a terminal, with exit codes for scripts."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from squads.models import Player
from tests import factories as f

pytestmark = pytest.mark.django_db
GOOD = "Name;Position\nAnn Ferris;12/13\nBo Marr;9\n"
MIXED = GOOD + "Cy Dunn;99\n"


@pytest.fixture
def run(tmp_path, squad):
    """Write the list to a file, run the command on it; gives the exit code and what it printed."""

    def runner(text, *more, squad="firsts"):
        path = tmp_path / "squad.csv"
        path.write_text(text, encoding="utf-8")
        out = StringIO()
        try:
            call_command("import_squad", str(path), "--squad", squad, *more, stdout=out)
        except CommandError as error:
            return error.returncode, str(error)
        except SystemExit as end:
            return end.code, out.getvalue()
        return 0, out.getvalue()

    return runner


def test_without_confirm_it_shows_what_would_be_written(run):
    code, printed = run(GOOD)
    assert code == 0
    assert printed.splitlines() == [
        "squad.csv (CSV, UTF-8, semicolons)",
        "+ row 2: Ann Ferris, new: main position: 12 Inside centre; other positions: 13",
        "+ row 3: Bo Marr, new: main position: 9 Half-back",
        "2 new, 0 changed, 0 same, 0 refused",
        "Nothing was written: add --confirm to write it.",
    ]
    assert not Player.objects.exists()


def test_with_confirm_it_writes(run):
    assert run(GOOD, "--confirm")[0] == 0
    assert Player.objects.count() == 2
    assert run(GOOD, "--confirm") == (0, "squad.csv (CSV, UTF-8, semicolons)\n0 new, 0 changed, 2 same, 0 refused\n")


def test_refused_rows_give_code_1_and_do_not_keep_the_others_out(run):
    code, printed = run(MIXED, "--confirm")
    assert code == 1
    assert "✗ row 4: Cy Dunn, refused [Position]: there is no position 99. Positions go from 1 to 15." in printed
    assert Player.objects.count() == 2


def test_an_unreadable_file_gives_code_2(run):
    assert run("") == (2, "“squad.csv” is empty. Choose the file that holds your table.")


def test_a_missing_file_gives_code_2(squad, tmp_path):
    with pytest.raises(CommandError, match="No such file") as caught:
        call_command("import_squad", str(tmp_path / "none.csv"), "--squad", "firsts")
    assert caught.value.returncode == 2


def test_an_unknown_squad_gives_code_2_and_names_the_known_ones(run):
    assert run(GOOD, squad="thirds") == (2, "There is no squad “thirds”. Squads here: firsts (brackenford)")


def test_squads_of_one_name_in_two_clubs_need_the_club(run):
    f.SquadFactory(club__slug="other", slug="firsts")
    assert run(GOOD)[0] == 2
    assert run(GOOD, "--club", "brackenford", "--confirm")[0] == 0
    assert {player.squad.club.slug for player in Player.objects.all()} == {"brackenford"}
