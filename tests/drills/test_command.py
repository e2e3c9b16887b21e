"""manage.py import_drills: preview, confirmation, exit codes."""

import pytest
from django.core.management import CommandError, call_command

from drills.models import Drill
from tests.drills.packs import entry, pack, teach


@pytest.fixture
def run(club, tmp_path, capsys):
    """`run(content, "--confirm")` gives exit code and output for one file of that content."""
    teach(club)

    def import_drills(content, *flags):
        path = tmp_path / "pack.json"
        path.write_bytes(content)
        try:
            call_command("import_drills", path, "--club", "brackenford", *flags)
        except SystemExit as stop:
            return stop.code, capsys.readouterr().out
        return 0, capsys.readouterr().out

    return import_drills


def test_without_confirm_the_preview_is_shown_and_nothing_is_written(run):
    code, said = run(pack(entry()))
    assert code == 0
    assert "+ line 4: #7 Rope and Cone, new" in said
    assert "1 new, 0 changed, 0 same, 0 refused" in said
    assert "Nothing was written: add --confirm to write it." in said
    assert Drill.objects.count() == 0


def test_with_confirm_it_is_written(run):
    code, said = run(pack(entry()), "--confirm")
    assert (code, "Nothing was written" in said) == (0, False)
    assert list(Drill.objects.values_list("number", "author")) == [(7, "import_drills")]


def test_refused_drills_give_exit_code_1_and_the_others_are_written(run):
    code, said = run(pack(entry(), entry(number=8, rpe=0)), "--confirm")
    assert code == 1
    assert '"Rope and Cone", refused [rpe]: is 0; it should be 1 to 10' in said
    assert list(Drill.objects.values_list("number", flat=True)) == [7]


@pytest.mark.parametrize("content", [b"{", b"\xff", b"[]", b"9" * 2_000_001])
def test_a_file_that_is_no_pack_gives_exit_code_2_with_its_name(run, content):
    with pytest.raises(CommandError, match=r"pack\.json: ") as error:
        run(content, "--confirm")
    assert error.value.returncode == 2


def test_a_file_that_is_not_there_gives_exit_code_2(club, tmp_path):
    with pytest.raises(CommandError, match="No such file") as error:
        call_command("import_drills", tmp_path / "no.json", "--club", "brackenford")
    assert error.value.returncode == 2


def test_an_unknown_club_gives_exit_code_2_and_names_the_known(club, tmp_path):
    with pytest.raises(CommandError, match=r"There is no club “x”\. Clubs here: brackenford") as error:
        call_command("import_drills", tmp_path / "no.json", "--club", "x")
    assert error.value.returncode == 2


def test_no_file_and_no_starter_gives_exit_code_2(club):
    with pytest.raises(CommandError, match="Name at least one file, or --starter") as error:
        call_command("import_drills", "--club", "brackenford")
    assert error.value.returncode == 2


def test_the_starter_library_is_added_on_confirmation_only(club, capsys):
    call_command("import_drills", "--club", "brackenford", "--starter")
    assert (Drill.objects.count(), "would be added" in capsys.readouterr().out) == (0, True)
    call_command("import_drills", "--club", "brackenford", "--starter", "--confirm")
    assert (Drill.objects.count(), "60 drills added" in capsys.readouterr().out) == (60, True)
