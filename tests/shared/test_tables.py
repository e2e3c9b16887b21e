"""Tables as other programs write them, and what is said of those that cannot be read."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.tables import Limits, Unreadable, read_table
from tests.shared import files


def message(content, filename="squad.csv", **options):
    with pytest.raises(Unreadable) as caught:
        read_table(content, filename, **options)
    return str(caught.value)


def outcome(content, filename):
    """The table, or the words of its refusal: nothing else may come of a file."""
    try:
        return read_table(content, filename)
    except Unreadable as refusal:
        return str(refusal)


def texts(table):
    return [list(table.headers), *([row.cells[header] for header in table.headers] for row in table.rows)]


# CSV


@pytest.mark.parametrize(
    ("encoding", "bom", "told"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", b"\xef\xbb\xbf", "UTF-8"),
        ("cp1252", b"", "Windows-1252"),
        ("utf-16-le", b"\xff\xfe", "UTF-16"),
        ("utf-16-be", b"\xfe\xff", "UTF-16"),
        ("utf-16-le", b"", "UTF-16"),
        ("utf-16-be", b"", "UTF-16"),
    ],
)
@pytest.mark.parametrize(("delimiter", "name"), [(",", "commas"), (";", "semicolons"), ("\t", "tabs")])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_usual_export_gives_the_same_table(encoding, bom, told, delimiter, name, end):
    table = read_table(files.csv_bytes(encoding=encoding, delimiter=delimiter, end=end, bom=bom), "squad.csv")
    assert texts(table) == files.ROWS
    assert table.origin == f"CSV, {told}, {name}"


def test_rows_keep_the_number_that_a_spreadsheet_shows():
    table = read_table(b'\nName,Note\n"Ann","two\nlines"\n,\nBo,x\n', "squad.csv")
    assert [(row.number, row.cells["Name"]) for row in table.rows] == [(3, "Ann"), (5, "Bo")]


def test_a_first_line_that_names_the_delimiter_is_obeyed_and_not_counted():
    table = read_table(b"sep=;\r\nName,first;Position\r\nAnn;12,5\r\n", "squad.csv")
    assert table.headers == ("Name,first", "Position")
    assert [(row.number, row.cells["Position"]) for row in table.rows] == [(2, "12,5")]


def test_commas_inside_cells_do_not_win_over_the_delimiter():
    table = read_table(b"Name;Positions\nFerris, Ann;12, 13\nMarr, Bo;9, 10\n", "squad.csv")
    assert texts(table)[1:] == [["Ferris, Ann", "12, 13"], ["Marr, Bo", "9, 10"]]


def test_a_single_column_is_a_table():
    assert texts(read_table(b"Name\nAnn Ferris\n", "squad.csv")) == [["Name"], ["Ann Ferris"]]


def test_empty_columns_at_the_right_edge_are_left_out():
    assert texts(read_table(b"Name,Pos,,\nAnn,12,,\n", "squad.csv")) == [["Name", "Pos"], ["Ann", "12"]]


def test_a_row_of_another_width_has_a_problem_and_does_not_spoil_the_others():
    table = read_table(b"Name,Pos,Note\nAnn,12,x\nBo,9\nCy,1,x,y\nDi,2,x\n", "squad.csv")
    assert [row.number for row in table.rows if not row.problem] == [2, 5]
    assert [(row.number, row.problem) for row in table.rows if row.problem] == [
        (3, "it has 2 cells and the header row 3. Look for a missing or extra delimiter."),
        (4, "it has 4 cells and the header row 3. Look for a missing or extra delimiter."),
    ]


def test_text_of_a_cell_is_trimmed_and_has_single_spaces():
    (row,) = read_table("Name\n  Ann \u00a0 Ferris  \n".encode(), "squad.csv").rows
    assert row.text("Name") == "Ann Ferris"
    assert row.text("No such header") == ""


# XLSX


def test_a_workbook_keeps_dates_numbers_and_empty_cells():
    content = files.openpyxl_bytes(
        ["Name", "Born", "Seasons", "Size"],
        ["Ann", dt.date(2004, 2, 29), 6.0, None],
        ["Bo", dt.datetime(2004, 2, 29, 18, 30), 6.5, "heavy"],
    )
    table = read_table(content, "squad.xlsx")
    assert texts(table)[1:] == [
        ["Ann", dt.date(2004, 2, 29), 6, ""],
        ["Bo", dt.datetime(2004, 2, 29, 18, 30), 6.5, "heavy"],
    ]
    assert type(table.rows[0].cells["Seasons"]) is int
    assert table.rows[0].text("Born") == "2004-02-29"


def test_a_workbook_with_the_parts_that_calc_writes_is_read():
    table = read_table(files.calc_bytes(), "squad.xlsx")
    assert texts(table) == [["Name", "Born", "Seasons", "Double"], ["Siân O’Hagan", dt.date(2004, 2, 29), 6, 12]]
    assert table.origin == "XLSX, sheet “Sheet1”"


def test_rows_of_a_workbook_keep_their_number_over_empty_ones():
    table = read_table(files.openpyxl_bytes([], ["Name"], [], ["Ann"]), "squad.xlsx")
    assert [(row.number, row.cells["Name"]) for row in table.rows] == [(4, "Ann")]


def test_the_first_visible_sheet_with_anything_in_it_is_read():
    more = [("Hidden", [["Secret"]], "hidden"), ("Squad", [["Name"], ["Ann"]], "visible")]
    content = files.openpyxl_bytes(title="Empty", more=more)
    assert read_table(content, "squad.xlsx").origin == "XLSX, sheet “Squad”"


def test_a_sheet_can_be_named():
    content = files.openpyxl_bytes(["Name"], title="One", more=[("Two", [["Other"]], "visible")])
    assert read_table(content, "squad.xlsx", sheet="Two").headers == ("Other",)
    assert message(content, sheet="Three") == "There is no sheet “Three”. The workbook has: One, Two."


def test_an_error_value_is_a_problem_of_its_row():
    table = read_table(files.openpyxl_bytes(["Name", "Pos"], ["Ann", "#REF!"], ["Bo", 9]), "squad.xlsx")
    assert [(row.problem, row.column) for row in table.rows] == [("cell B2 holds the error #REF!", "Pos"), ("", "")]


def test_a_cell_beyond_the_headers_is_a_problem_of_its_row():
    table = read_table(files.openpyxl_bytes(["Name"], ["Ann", None, "x"]), "squad.xlsx")
    assert table.rows[0].problem == "cell C2 stands in a column without a header."


# Files that cannot be read


def test_a_file_without_content_says_so():
    assert message(b" \r\n\t ") == "“squad.csv” is empty. Choose the file that holds your table."
    assert message(b"\xef\xbb\xbf,,\n,,\n") == "“squad.csv” holds no rows. Choose the file that holds your table."
    assert message(files.openpyxl_bytes()) == "“squad.csv” holds no filled sheet. Choose the file with your table."


def test_a_header_over_two_columns_is_refused():
    assert message(b"Name,Pos, name\nAnn,1,x\n") == (
        "The header “Name” stands over more than one column in row 1. Give each its own."
    )


def test_an_open_quotation_mark_is_refused_with_its_row():
    assert message(b'Name;Note\nAnn;x\nBo;"open\nCy;y\n') == (
        "“squad.csv”: the quotation marks in or after row 3 do not close. Mend them, or save the table as XLSX."
    )


def test_a_nul_byte_is_refused_with_its_line():
    assert message(b"Name,Pos\nAnn,1\nB\x00o,2\n") == (
        "“squad.csv” is not a table: line 3 holds the control character U+0000. Save it as CSV or XLSX."
    )


def test_bytes_of_no_known_encoding_are_refused_with_their_row():
    # 0x81 is a letter in neither UTF-8 nor Windows-1252; code page 850 has ü there.
    assert message("Name,Pos\nMüller,1\n".encode("cp850")) == (
        "“squad.csv” has letters in an unknown encoding near row 2. Save it again as “CSV UTF-8”."
    )


def test_limits_are_told():
    limits = Limits(bytes=60, rows=2, columns=3)
    assert message(b"Name\n" + b"x" * 60, limits=limits).startswith("“squad.csv” is larger than 0.0 MB.")
    assert message(b"Name\na\nb\nc\n", limits=limits) == (
        "“squad.csv” has more than 2 rows. Split it into smaller files."
    )
    assert message(b"a,b,c,d\n", limits=limits) == (
        "The header row (row 1) has more than 3 columns. Remove those that are not needed."
    )


def test_as_many_rows_as_allowed_are_read():
    assert len(read_table(b"Name\na\nb\n", "squad.csv", limits=Limits(rows=2)).rows) == 2
    workbook = files.openpyxl_bytes(["Name"], ["a"], ["b"])
    assert len(read_table(workbook, "squad.xlsx", limits=Limits(rows=2)).rows) == 2
    assert message(workbook, limits=Limits(rows=1)) == "“squad.csv” has more than 1 rows. Split it into smaller files."


def test_old_and_locked_workbooks_are_told_apart():
    assert message(files.ole_bytes("Workbook")) == (
        "“squad.csv” is in an old workbook format. Save it as XLSX or CSV and try again."
    )
    assert message(files.ole_bytes("EncryptionInfo", "EncryptedPackage")) == (
        "“squad.csv” is locked with a password. Save it without one and try again."
    )


def test_another_kind_of_archive_is_refused():
    text = files.zipped({"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<a/>"})
    assert message(text) == "“squad.csv” is no XLSX workbook. Save the table as XLSX or CSV and try again."


def test_an_archive_that_unpacks_to_far_more_than_a_table_is_refused():
    bomb = files.zipped({"xl/workbook.xml": "<a/>", "xl/worksheets/sheet1.xml": "0" * 41_000_000})
    assert len(bomb) < 100_000
    assert message(bomb) == ("“squad.csv” unpacks to far more than a table. Copy the table alone into a new workbook.")


def test_entities_in_a_workbook_are_not_unfolded():
    evil = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><workbook>&b;</workbook>'
    assert message(files.zipped({"xl/workbook.xml": evil, "[Content_Types].xml": evil})) == (
        "“squad.csv” is a damaged workbook. Open it in your spreadsheet program and save it again as XLSX."
    )


def test_a_workbook_cut_off_in_transfer_is_refused():
    whole = files.openpyxl_bytes(["Name"], ["Ann"])
    assert message(whole[: len(whole) // 2]) == (
        "“squad.csv” is cut off or damaged. Fetch it again, or save it again as XLSX."
    )


@given(st.binary(max_size=300))
def test_whatever_the_bytes_are_they_give_a_table_or_a_message(content):
    found = outcome(content, "squad.csv")
    assert isinstance(found, str) or all(tuple(row.cells) == found.headers for row in found.rows)
    assert found != ""


@given(st.integers(0, 2000), st.binary(min_size=1, max_size=4))
def test_a_workbook_with_any_bytes_overwritten_gives_a_table_or_a_message(place, other):
    content = bytearray(files.calc_bytes())
    place %= len(content)
    content[place : place + len(other)] = other
    assert outcome(bytes(content), "squad.xlsx") != ""


plain = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zs", "Zl", "Zp", "Cf"]), min_size=1)


@given(
    st.lists(st.tuples(plain, plain), min_size=1, max_size=8),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-16"]),
)
def test_what_is_quoted_by_the_rules_comes_back_as_it_was(rows, delimiter, encoding):
    content = files.csv_bytes([["One", "Two"], *map(list, rows)], encoding=encoding, delimiter=delimiter)
    assert texts(read_table(content, "squad.csv"))[1:] == [list(row) for row in rows]
