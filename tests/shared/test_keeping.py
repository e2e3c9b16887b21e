"""Files that may be made again: what their name holds, how much room they take, how long they stay."""

import os
import stat
import time

import pytest

from shared.keeping import folder, kept, name_of, tidy


@pytest.fixture(autouse=True)
def room(settings, tmp_path):
    settings.VAR_DIR = tmp_path


def files():
    return sorted(path.read_bytes() for path in folder().iterdir())


def test_a_file_is_made_once():
    made = []
    for _time in range(3):
        assert kept([b"a"], lambda: made.append(1) or b"content") == b"content"
    assert len(made) == 1


def test_any_other_ingredient_makes_another_file():
    names = {name_of(each) for each in ([b"a", b"b"], [b"ab"], [b"a"], [b"b", b"a"], [b"", b"ab"], [])}
    assert len(names) == 6


def test_what_was_used_longest_ago_goes_first_when_the_room_is_full():
    for age, name in ((30, b"old"), (20, b"mid"), (10, b"new")):
        kept([name], lambda name=name: name * 10)
        file = folder() / name_of([name])
        os.utime(file, (time.time() - age, time.time() - age))
    kept([b"old"], lambda: b"never made")
    tidy(room=60)
    assert files() == [b"new" * 10, b"old" * 10]


def test_what_nobody_used_for_a_month_goes():
    kept([b"a"], lambda: b"x")
    month_ago = time.time() - 31 * 24 * 3600
    os.utime(folder() / name_of([b"a"]), (month_ago, month_ago))
    kept([b"b"], lambda: b"y")
    assert files() == [b"y"]


def test_nothing_half_made_is_kept():
    def break_off():
        raise RuntimeError("no paper")

    with pytest.raises(RuntimeError, match="no paper"):
        kept([b"a"], break_off)
    assert files() == []
    assert kept([b"a"], lambda: b"whole") == b"whole"


def test_a_file_that_cannot_be_kept_is_given_out_all_the_same(monkeypatch):
    def full(*what):
        raise OSError("no space left on device")

    monkeypatch.setattr("shared.keeping.write", full)
    assert kept([b"a"], lambda: b"content") == b"content"


def test_only_its_owner_may_read_what_is_kept():
    """Cards for tonight name players."""
    kept([b"a"], lambda: b"content")
    assert stat.S_IMODE(folder().stat().st_mode) == 0o700
    assert stat.S_IMODE((folder() / name_of([b"a"])).stat().st_mode) == 0o600
