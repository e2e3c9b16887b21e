"""The ledger as page, file and paper, the squad's list, and who may open them."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from planner.ledger import Weeks, ledger_of, with_terms
from planner.record_actions import confirm_night
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from planner.squad_ledger import WEEKS_SHOWN, squad_ledger_of
from squads.models import Player
from tests import factories as f
from tests.planner.block_cast import wish
from tests.planner.ledger.cast import MONDAY, ONE_DAY, TODAY, address, figures_of, table_of, trained
from tests.planner.record.conftest import NEXT_DAY
from tests.planner.test_sheets import text_of

WEEK_OF_TODAY = TODAY - TODAY.weekday() * ONE_DAY
LIST = "/c/brackenford/squads/firsts/ledgers/"


@pytest.fixture
def told(evening, head, on):
    """The evening confirmed, and half of them asked."""
    wish(evening.cast.squad, "I04", 30)
    wish(evening.cast.squad, "U01", 10)
    session = evening.session
    confirm_night(session=session, by=head, version=session.plan_version, now=NEXT_DAY)
    says = [Told(player, Occasion(session=session), 5) for player in evening.players[::2]]
    note_rpe(told=says, by=head, now=NEXT_DAY)
    return evening


def test_the_file_has_a_row_for_each_figure_in_stable_columns(told, welfare, log_in):
    rows = table_of(log_in(welfare), told.players[0], WEEK_OF_TODAY)
    assert list(rows[0]) == ["part", "what", "from", "to", "figure", "value", "unit", "note"]
    assert {row["part"] for row in rows} == {"skill", "day", "week"}
    minutes = [(row["what"], row["value"]) for row in rows if row["figure"] == "minutes"]
    assert minutes == [("U01 Front-on tackle", "0.00"), ("I04 Front-on tackle", "24.00")]
    assert figures_of(rows, "load", "day")["2026-10-06"] == "170.0"  # 5 x 34 min
    assert figures_of(rows, "load known") == {"2026-10-05": "170"}
    notes = [row["note"] for row in rows if row["figure"] == "monotony"]
    assert notes == ["too early; population deviation"]


def test_no_cell_of_the_file_is_a_formula(told, welfare, log_in):
    skill = f.SkillFactory(club=told.cast.squad.club, code="I04")
    skill.code = "=I04"
    skill.save()
    rows = table_of(log_in(welfare), told.players[0], WEEK_OF_TODAY)
    assert not [row for row in rows for cell in row.values() if cell.startswith(("=", "+", "-", "@"))]


def test_the_paper_says_the_same_as_the_page(told, welfare, log_in):
    answer = log_in(welfare).get(address(told.players[0], ".pdf"))
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    text = text_of(answer.content)
    for words in ("24 of 30 min", "0 of 10 min", "170 AU known", "gives no advice by it", "Given"):
        assert words in text
    assert len(PdfReader(io.BytesIO(answer.content)).pages) == 1


@pytest.mark.parametrize("weeks", ["0", "5", "many", "-4"])
def test_other_numbers_of_weeks_are_not_found(player, welfare, log_in, weeks):
    assert log_in(welfare).get(address(player), {"weeks": weeks}).status_code == 404


def test_a_week_that_is_no_day_is_that_of_today(player, welfare, log_in):
    text = log_in(welfare).get(address(player), {"week": "soon"}).content.decode()
    assert "14 Sep to 9 Oct 2026" in text


@pytest.mark.parametrize("more", ["/", ".csv", ".pdf"])
def test_a_player_of_another_club_is_not_found_at_ours(squad, stranger, welfare, log_in, more):
    other = f.PlayerFactory(squad=f.SquadFactory(club=stranger.clubs.get(), slug="others"))
    here = f"/c/brackenford/players/{other.pk}/ledger{more}"
    assert log_in(welfare).get(here).status_code == 404
    assert log_in(welfare).get(address(other, more)).status_code == 404


def test_a_squad_of_another_club_is_not_found_at_ours(squad, stranger, welfare, log_in):
    f.SquadFactory(club=stranger.clubs.get(), slug="others")
    assert log_in(welfare).get("/c/brackenford/squads/others/ledgers/").status_code == 404


def test_a_name_with_signs_of_html_is_text(player, welfare, log_in):
    player.family_name = "<b>Bold</b>"
    player.save()
    trained(player, MONDAY, 5, 60)
    text = log_in(welfare).get(address(player)).content.decode() + log_in(welfare).get(LIST).content.decode()
    assert "<b>Bold" not in text
    assert "&lt;b&gt;Bold" in text


def test_minors_stand_there_by_first_name_and_initial(player, welfare, log_in):
    player.squad.age_from = 16
    player.squad.save()
    for text in (log_in(welfare).get(address(player)), log_in(welfare).get(LIST)):
        assert "Oswin H." in text.content.decode()
        assert "Hartle" not in text.content.decode()


# The squad side by side


def test_the_list_says_of_each_player_what_his_own_ledger_says(told, on):
    found = squad_ledger_of(told.cast.squad, WEEK_OF_TODAY, TODAY)
    assert [line.player for line in found.lines] == list(told.cast.squad.players.all())
    for line in found.lines:
        span = Weeks(WEEK_OF_TODAY, WEEKS_SHOWN)
        own = ledger_of(with_terms(Player.objects.all(), span.last_day).get(pk=line.player.pk), span, TODAY)
        wanted = [each for each in own.skills if each.figure.target]
        assert line.covered == sum(each.figure.covered for each in wanted)
        assert line.target == sum(each.figure.target for each in wanted) == 40
        assert line.left_alone.name == own.skills[0].name == "U01 Front-on tackle"
        week = own.loads.weeks[-1].figures
        assert (line.load.known, line.load.open_days) == (week.so_far, week.days_not_known)
        assert line.numbers_missing == (0 if line.player in told.players[::2] else 1)


def test_the_list_links_to_each_ledger_and_names_the_days_nobody_has_told(told, welfare, log_in):
    text = log_in(welfare).get(LIST).content.decode()
    for player in told.players:
        assert f'href="{address(player)}?week=2026-10-05"' in text
    assert "24 of 40 min" in text
    assert "not all answered: 170 AU known, 1 day is not" in text
    assert "Thu 8 Oct" in text  # the other night of that week, which is over
    assert "U01 Front-on tackle, not in 12 weeks" in text


def test_the_list_takes_as_many_queries_for_more_players(told, welfare, log_in, django_assert_num_queries):
    client = log_in(welfare)
    with django_assert_num_queries(12):
        client.get(LIST)
    f.PlayerFactory.create_batch(3, squad=told.cast.squad)
    with django_assert_num_queries(12):
        client.get(LIST, {"week": "2026-09-28"})


def test_an_empty_squad_says_so(squad, on, welfare, log_in):
    assert "Nobody is in this squad in these weeks." in log_in(welfare).get(LIST).content.decode()


def test_player_and_squad_pages_lead_to_the_ledger_for_those_who_may(player, welfare, assistant, log_in):
    own, squad = f"/c/brackenford/players/{player.pk}/", "/c/brackenford/squads/firsts/"
    for page, target in ((own, address(player)), (squad, LIST)):
        assert f'href="{target}"' in log_in(welfare).get(page).content.decode()
        assert f'href="{target}"' not in log_in(assistant).get(page).content.decode()
