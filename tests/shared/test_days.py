"""Days written as text: years of two digits, and columns that put the month first."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.cells import lost_letter
from shared.days import day_in, refuse_month_first
from shared.tables import Unreadable, read_table


def column(*days):
    return read_table("\n".join(["name,born", *(f"Ann,{day}" for day in days)]).encode(), "days.csv")


@given(st.dates(dt.date(1927, 1, 1), dt.date(2026, 12, 31)), st.sampled_from("/.-"))
def test_a_year_of_two_digits_is_the_last_one_that_ends_so(day, mark):
    assert day_in(day.strftime(f"%d{mark}%m{mark}%y"), 2026) == day


@given(st.dates(dt.date(1000, 1, 1)), st.sampled_from(["%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y"]))
def test_a_whole_year_is_taken_as_it_stands(day, form):
    assert day_in(day.strftime(form), 2026) == day


@pytest.mark.parametrize("text", ["", "May 2004", "25/03", "25/03.2004", "25/03/004", "2004/03/25"])
def test_other_text_names_no_day(text):
    assert day_in(text, 2026) is None


@pytest.mark.parametrize("text", ["31/04/2004", "29/02/2003", "2004-13-01", "00/01/04"])
def test_a_day_that_no_calendar_has_is_an_error(text):
    with pytest.raises(ValueError, match=r"must be in|out of range"):
        day_in(text, 2026)


def test_a_column_with_days_above_12_only_in_the_second_place_is_refused():
    with pytest.raises(Unreadable, match="“03/25/04” in row 3"):
        refuse_month_first(column("01/02/04", "03/25/04", "04/05/04"), "born")


@pytest.mark.parametrize(
    "days", [["01/02/04", "04/05/04"], ["25/03/04", "03/25/04"], ["2004-03-25"], ["", "soon"], ["03/45/04"]]
)
def test_a_column_that_does_not_give_itself_away_is_read(days):
    assert refuse_month_first(column(*days), "born") is None


@pytest.mark.parametrize(
    ("text", "lost"),
    [("?ukas", True), ("Jos?", True), ("Gr\ufffdn", True), ("O'Hara", False), ("?", False), ("2 ?", False)],
)
def test_a_question_mark_beside_a_letter_stands_for_a_lost_one(text, lost):
    assert lost_letter(text) is lost
