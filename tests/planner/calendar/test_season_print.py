"""A season on one side of paper, read back from the PDF."""

from __future__ import annotations

import datetime as dt
import io
import re

import pdfua
import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from planner.pattern_models import WeekPattern
from tests import factories as f
from tests.planner.block_cast import night, season_with_days
from tests.planner.test_sheets import text_of

NOW = dt.datetime(2026, 10, 7, 12, tzinfo=f.LONDON)
A_POINT = 25.4 / 72  # mm
SIDES = {"a4": (297, 210), "a3": (420, 297)}  # mm
LEAST = 7  # pt, of the smallest line


@pytest.fixture(autouse=True)
def wednesday(monkeypatch):
    """It is noon on Wednesday 7 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def season(squad):
    return season_with_days(squad)


def ask(client, query: str = "?paper=a4", day: str = "2026-09-01"):
    return client.get(reverse("season_paper", args=["brackenford", "firsts", day]) + query)


def paper(client, query: str = "?paper=a4") -> bytes:
    answer = ask(client, query)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return answer.content


def type_sizes(pdf: bytes) -> set[float]:
    """Points of each piece of text, as it comes out on the page."""
    found = set()

    def see(text, matrix, text_matrix, _font, size):
        if text.strip():
            found.add(round(abs(size * text_matrix[3] * matrix[3]), 1))

    PdfReader(io.BytesIO(pdf)).pages[0].extract_text(visitor_text=see)
    return found


def test_the_paper_holds_weeks_phases_matches_nights_breaks_and_limits(season, squad, head, log_in):
    f.FixtureFactory(squad=squad, opponent="Hollin", home=False)
    night(squad, 6)
    told = text_of(paper(log_in(head)))
    assert "First fifteen, season 2026/27" in told
    assert "6 5 Oct – 11 Oct Sat 10 15:00 v Hollin, away Tue 6 19:00 15 40 30" in told
    assert "Half term" in told
    assert told.count("Early season") == 1
    assert "Club rules: Committee paper of the invented club, from 2026-07-01." in told
    assert "Your union's regulations decide. Printed on 7 October 2026" in told


def test_a_pattern_stands_on_its_week_with_the_limit_that_it_lowers(season, squad, head, log_in):
    monday = dt.date(2026, 10, 5)
    WeekPattern.objects.create(squad=squad, monday=monday, holds_from=monday, name="Short week", full_minutes=5)
    assert re.search(r"6 5 Oct – 11 Oct 5 40 30 Short week 7 12 Oct – 18 Oct 15 40 30", text_of(paper(log_in(head))))


def test_a_limit_that_does_not_bind_is_a_dash_and_what_is_off_says_so(squad, head, log_in):
    f.SeasonFactory(squad=squad)
    f.FixtureFactory(squad=squad, state="postponed")
    night(squad, 6, cancelled=True)
    told = text_of(paper(log_in(head)))
    assert "v Netherby Cross RFC, home postponed Tue 6 19:00 cancelled – – –" in told


def full_season(squad, rows: int, opponent: str) -> None:
    """A year of weeks with so many nights and matches in each."""
    season = f.SeasonFactory(squad=squad, first_day=dt.date(2026, 7, 6), last_day=dt.date(2027, 7, 4))
    for week in range(52):
        monday = season.first_day + dt.timedelta(weeks=week)
        for number in range(rows):
            starts = dt.datetime.combine(monday + dt.timedelta(days=2 * number + 1), dt.time(19), f.LONDON)
            f.SessionFactory(squad=squad, starts_at=starts)
            f.FixtureFactory(squad=squad, kick_off=starts + dt.timedelta(days=1), opponent=opponent)


@pytest.mark.parametrize("size", SIDES)
@pytest.mark.parametrize("rows", [1, 2])
def test_a_whole_year_stands_on_one_side_in_type_that_can_be_read(squad, head, log_in, size, rows):
    width, height = SIDES[size]
    full_season(squad, rows, "Netherby Cross RFC")
    pdf = paper(log_in(head), f"?paper={size}")
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) == 1
    assert [round(float(edge) * A_POINT) for edge in pages[0].mediabox[2:]] == [width, height]
    assert min(type_sizes(pdf)) >= LEAST
    assert text_of(pdf).count("Netherby Cross RFC, home") == 52 * rows


def test_on_a3_a_usual_season_is_set_in_type_for_arms_length(season, squad, head, log_in):
    """Twelve points are the house's measure for what is read at arm's length (common practice, no standard)."""
    for week in range(30):
        kick_off = dt.datetime(2026, 9, 5, 15, tzinfo=f.LONDON) + dt.timedelta(weeks=week)
        f.FixtureFactory(squad=squad, kick_off=kick_off, opponent="Great Corringham Harriers")
        f.SessionFactory(squad=squad, starts_at=kick_off - dt.timedelta(days=4))
        f.SessionFactory(squad=squad, starts_at=kick_off - dt.timedelta(days=2))
    rows = sorted(type_sizes(paper(log_in(head), "?paper=a3")))[1]  # the smallest is the foot
    assert rows >= 12


def test_a_season_that_does_not_fit_a4_is_refused_with_a_way_out(squad, head, log_in):
    full_season(squad, 3, "A club with a name so long that nobody has ever said it in one breath before a kick-off")
    answer = ask(log_in(head))
    assert answer.status_code == 422
    assert "does not fit on one side of A4 in type of 7 pt. Print it on A3." in answer.content.decode()


def test_without_a_season_there_is_nothing_to_print_and_the_page_says_what_to_do(squad, head, log_in):
    client = log_in(head)
    assert "has no season yet" in client.get(ask(client).headers["Location"]).content.decode()


def test_names_are_never_read_as_markup(season, squad, head, log_in):
    odd = '#panic("x") $x$ <b> *a* @b'
    f.FixtureFactory(squad=squad, opponent=odd)
    assert odd in text_of(paper(log_in(head)))


def test_the_paper_is_tagged(season, squad, head, log_in, tmp_path):
    """ISO 14289-1, as far as the pdfua package checks it: a part of the rules, no proof of the rest."""
    path = tmp_path / "season.pdf"
    path.write_bytes(paper(log_in(head)))
    assert [str(finding) for finding in pdfua.validate(str(path)).findings] == []


@pytest.mark.parametrize("query", ["?paper=a7", "?paper="])
def test_a_paper_that_there_is_not_gets_a_sentence_on_the_page_of_the_season(season, head, log_in, query):
    client = log_in(head)
    answer = ask(client, query)
    assert answer.headers["Location"] == reverse("calendar_season", args=["brackenford", "firsts", "2026-09-01"])
    assert "is no paper for a season: choose A4 or A3." in client.get(answer.headers["Location"]).content.decode()


def test_no_health_word_and_no_name_of_a_player_stands_on_the_paper(season, squad, head, log_in):
    player = f.PlayerFactory(squad=squad, family_name="Longname")
    told = text_of(paper(log_in(head)))
    assert player.family_name not in told
