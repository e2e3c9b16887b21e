"""What an import would do, counted and in words."""

from django.template.loader import render_to_string

from shared.preview import Change, Line, Preview, State, in_plain_text

LINES = (
    Line("row 2", "Ann Ferris", State.NEW, (Change("main position", "", "12"),)),
    Line("row 3", "Bo Marr", State.CHANGED, (Change("joined", "", "1 Aug 2024"), Change("size", "light", "heavy"))),
    Line("row 4", "Cy Dunn", State.SAME),
    Line("row 5", "<b>Di</b>", State.REFUSED, column="Position", reason="there is no position 99."),
)


def test_lines_are_counted_by_state():
    assert Preview(LINES).counts == [(State.NEW, 1), (State.CHANGED, 1), (State.SAME, 1), (State.REFUSED, 1)]


def test_refused_and_same_lines_leave_nothing_to_do():
    assert Preview(LINES[2:]).nothing_to_do
    assert not Preview(LINES[1:]).nothing_to_do
    assert Preview(LINES[2:]).has_refused
    assert not Preview(LINES[:3]).has_refused


def test_the_fingerprint_follows_the_lines():
    assert Preview(LINES).fingerprint == Preview(LINES, left_alone=("Ed",)).fingerprint
    assert Preview(LINES).fingerprint != Preview(LINES[:3]).fingerprint


def test_in_plain_text_each_row_that_does_something_has_a_line():
    assert in_plain_text(Preview(LINES, left_alone=("Ed Carr", "Flo Hay"))).splitlines() == [
        "+ row 2: Ann Ferris, new: main position: 12",
        "~ row 3: Bo Marr, changed: joined: – → 1 Aug 2024; size: light → heavy",
        "✗ row 5: <b>Di</b>, refused [Position]: there is no position 99.",
        "not in the file, left alone: Ed Carr, Flo Hay",
        "1 new, 1 changed, 1 same, 1 refused",
    ]


def test_on_the_page_what_a_file_holds_is_text():
    page = render_to_string("partials/preview.html", {"preview": Preview(LINES)})
    assert "&lt;b&gt;Di&lt;/b&gt;" in page
    assert "<b>" not in page
