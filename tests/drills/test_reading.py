"""JSON by strangers: what is refused, and on which line things stand."""

import json
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.core.reading import NotJson, read

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=20,
)


def paths(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from paths(inner, (*path, key))


@given(VALUES, st.sampled_from([None, 1]))
def test_every_value_of_a_file_has_its_line(value, indent):
    document = read(json.dumps(value, indent=indent).encode())
    assert document.value == value
    assert list(document.lines) == list(paths(value))


def test_lines_count_from_one_and_point_at_the_value():
    document = read(b'{\n "a": 1,\n "b": [\n  true,\n  {"c": "x\\"{,"}\n ]\n}')
    assert document.lines == {(): 1, ("a",): 2, ("b",): 3, ("b", 0): 4, ("b", 1): 5, ("b", 1, "c"): 5}


def test_something_missing_stands_on_the_line_of_what_should_hold_it():
    assert read(b'{\n"a": {}}').line(("a", "b", 3)) == 2


def test_whole_numbers_may_be_written_with_a_point():
    assert read(b"[5.0, 1e2, 2.5]").value == [5, 100, 2.5]
    assert [type(number) for number in read(b"[5.0, 1e2]").value] == [int, int]


def test_a_mark_at_the_start_of_the_file_does_no_harm():
    assert read(b"\xef\xbb\xbf[]").value == []


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'{"a": 1,\n "b": {"c": 1,\n "c": 2}}', 'line 3: "c" is written twice within the same braces'),
        (b"[\n1,\n", "line 3, column 1: this is not JSON (Expecting value)"),
        (b"[\n'a']", "line 2, column 1: this is not JSON (Expecting value)"),
        (b'["a",\n"\xe9"]', "line 2: not written in UTF-8. Save the file again with UTF-8 as its encoding"),
        ('["é"]'.encode("utf-16"), "the file is written in UTF-16. Save it again with UTF-8 as its encoding"),
        ('["é"]'.encode("utf-16-le"), "line 1: not written in UTF-8. Save the file again with UTF-8 as its encoding"),
        (b"[1,\nNaN]", "line 2: no drill can have this number (NaN)"),
        (b'["NaN",\n\n-Infinity]', "line 3: no drill can have this number (-Infinity)"),
        (b"[1e3,\n1e999]", "line 2: no drill can have this number (1e999)"),
        (b"[\n" + b"9" * 5000 + b"]", f"line 2: no drill can have this number ({'9' * 20})"),
        (b"[\n" * 100_000, "line 101: the brackets are nested too deep for a drill pack"),
        (b'{"a":\n' * 50_000, "line 101: the brackets are nested too deep for a drill pack"),
        (b"[\n" * 101 + b"]" * 101, "line 101: the brackets are nested too deep for a drill pack"),
        (b"PK\x03\x04drills.json", "the file is a ZIP archive. Unpack it and choose the JSON file inside"),
        (b"\x1f\x8b\x08", "the file is compressed. Unpack it first"),
        (b"", "line 1, column 1: this is not JSON (Expecting value)"),
        (b"\x00" * 40, "line 1, column 1: this is not JSON (Expecting value)"),
    ],
)
def test_a_file_that_others_would_read_differently_is_refused_with_its_line(content, told):
    with pytest.raises(NotJson) as refused:
        read(content)
    assert str(refused.value) == told


@given(st.binary(max_size=200))
def test_no_file_at_all_does_more_than_be_refused(content):
    with suppress(NotJson):
        json.dumps(read(content).value)
