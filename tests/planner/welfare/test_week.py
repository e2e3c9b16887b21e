"""The welfare officer's page: what stands on it, in which order, who signed it, and what it costs."""

from __future__ import annotations

import datetime as dt
import io
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from planner.core.record import Here, Part
from planner.core.windows import Measure
from planner.record_actions import confirm_night, correct_line
from planner.record_models import Account, Declared
from planner.season_figures import KEPT
from planner.totals import WEEK
from planner.welfare import welfare_week
from planner.welfare_actions import Beyond, ask_excess, decide_excess, note_action
from planner.welfare_models import WeekChecked
from planner.windows import totals_with_told
from squads.clearance_actions import record_clearance
from tests import factories as f
from tests.planner.test_sheets import text_of
from tests.planner.welfare.cast import FRIDAY, MONDAY, NEXT_MONDAY, welfare_cast

PAGE = "/c/brackenford/squads/firsts/welfare/2026-10-05/"
NOW = "/c/brackenford/now/"


def read(client, address: str = NOW) -> str:
    """The page without tags, in single spaces."""
    answer = client.get(address)
    assert answer.status_code == 200
    main = answer.content.decode().partition("<main")[2].partition("</main>")[0]
    bare = re.sub(r"<[^>]+>", " ", re.sub(r"<title>.*?</title>", " ", main))
    return " ".join(bare.replace("&#x27;", "'").split())


def week(cast):
    KEPT.forget()  # the cast writes past the verbs
    return welfare_week(cast.squad, MONDAY, FRIDAY)


def beyond(cast, player, measure: Measure = Measure.FULL) -> Beyond:
    line = next(line for line in week(cast).looked.lines if line.player == player)
    return Beyond(player, line.windows.of(measure))


def names(people) -> list:
    return [named.player for named in people]


# Scenario: a Friday check of 34 players


@pytest.fixture
def thirty_four(squad, on):
    """17.2, 16.0 and 15.4 minutes of full contact; five from 12.0 to 15.0; the others under 12.0."""
    cast = welfare_cast(squad, players=34)
    wanted = [1120, 1720, 1499, 1600, 1540, 1200, 1310, 1290, 1500, *(40 * n for n in range(25))]
    for player, hundredths in zip(cast.players, wanted, strict=True):
        if hundredths:
            cast.contact(cast.tuesday, hundredths // 2, [player])
            cast.contact(cast.thursday, hundredths - hundredths // 2, [player])
    return cast


def test_three_are_past_by_2_2_and_1_0_and_0_4_in_that_order_five_are_near_and_twenty_six_fine(thirty_four):
    found = week(thirty_four)
    assert [float(named.past[0].finding.excess) for named in found.past] == [2.2, 1.0, 0.4]
    assert sorted(float(named.near[0].amount) for named in found.near) == [12.0, 12.9, 13.1, 14.99, 15.0]
    assert found.counts == {"past": 3, "near": 5, "fine": 26}


def test_the_first_page_after_login_is_that_week_with_figure_limit_and_excess(thirty_four, welfare, log_in):
    text = read(log_in(welfare))
    for words in ("3 past a limit · 5 near a limit · 26 fine", "17.2 of 15 min", "past by 2.2 min", "15 of 15 min"):
        assert words in text
    assert text.index("17.2 of 15") < text.index("16 of 15") < text.index("15.4 of 15") < text.index("Near a limit")


def test_a_non_contact_player_who_stood_in_contact_is_on_top_of_all(thirty_four, welfare, log_in):
    thirty_four.restrict(thirty_four.players[33])
    found = week(thirty_four)
    assert names(found.in_spite) == [thirty_four.players[33]]
    assert names(found.named)[0] == thirty_four.players[33]
    text = read(log_in(welfare))
    assert text.index("no contact by clearance of 5 Oct, decided by Robin Ash") < text.index("Past a limit")


def test_it_fits_one_a4_side(thirty_four, welfare, log_in):
    thirty_four.restrict(thirty_four.players[33])
    answer = log_in(welfare).get(PAGE + "week.pdf")
    pages = PdfReader(io.BytesIO(answer.content)).pages
    assert (len(pages), round(pages[0].mediabox.width), round(pages[0].mediabox.height)) == (1, 595, 842)
    told = text_of(answer.content)
    for words in ("17.2 of 15 min", "past by 2.2 min", "3 past", "25 fine", "Checked by", "no contact by clearance"):
        assert words in told


# Scenario: a Thursday plan on top of a heavy Tuesday


@pytest.fixture
def heavy(cast):
    """Tuesday 3.0 + 2.8 + 2.5 + 2.4 = 10.7 min; Thursday's plan 2.4 + 5.0: 18.1 of 15."""
    for hundredths in (300, 280, 250, 240):
        cast.contact(cast.tuesday, hundredths, cast.players[:1])
    for hundredths in (240, 500):
        cast.contact(cast.thursday, hundredths, cast.players[:1])
    return cast


def test_a_plan_of_18_1_minutes_is_past_by_3_1_before_the_night_with_the_drills_that_make_it(heavy):
    figure = week(heavy).past[0].past[0].finding
    assert (figure.shown, figure.excess_shown) == (18.1, 3.1)
    tuesday = [float(part.amount) for part in figure.parts if part.session == heavy.tuesday.pk]
    assert sum(tuesday) == pytest.approx(10.7)
    assert {part.session for part in figure.parts} == {heavy.tuesday.pk, heavy.thursday.pk}


def test_the_head_coach_asks_before_the_night_and_the_answer_stands_with_the_figure(heavy, head, welfare, log_in, on):
    on(MONDAY)
    asks = f"/c/brackenford/sessions/{heavy.thursday.pk}/excess/"
    client = log_in(head)
    assert "full contact, 18.1 of 15 min, past by 3.1 min" in read(client, asks)
    client.post(asks, {"chosen": f"{heavy.players[0].pk}:full", "why": "Goal-line stand before the cup"})
    text = read(log_in(welfare))
    assert "Waiting for an answer" in text
    assert "asked before by head" in text
    excess = heavy.players[0].excesses.get()
    log_in(welfare).post(f"/c/brackenford/excess/{excess.pk}/decide/", {"approved": "no", "why": "Use the pads card"})
    for who, address in ((welfare, NOW), (head, asks), (head, PAGE)):
        text = read(log_in(who), address)
        assert "refused by welfare" in text
        assert "Use the pads card" in text


def test_a_yes_covers_as_much_as_was_asked_in_that_night_and_no_more(heavy, head, welfare):
    asked = ask_excess(session=heavy.thursday, beyond=[beyond(heavy, heavy.players[0])], why="x", by=head, today=MONDAY)
    assert not week(heavy).past[0].past[0].is_covered
    decide_excess(excess=asked[0], approved=True, why="once", by=welfare)
    assert week(heavy).past[0].past[0].is_covered
    heavy.contact(heavy.thursday, 10, heavy.players[:1])
    assert not week(heavy).past[0].past[0].is_covered


def test_a_yes_covers_no_other_night(heavy, head, welfare):
    other = f.SessionFactory(
        squad=heavy.squad, starts_at=dt.datetime(2026, 10, 7, 19, tzinfo=f.LONDON), slots=[(10, "Warm-up")]
    )
    asked = ask_excess(session=other, beyond=[beyond(heavy, heavy.players[0])], why="x", by=head, today=MONDAY)
    decide_excess(excess=asked[0], approved=True, why="once", by=welfare)
    assert not week(heavy).past[0].past[0].is_covered


def test_seven_minutes_of_live_sets_leave_14_85_which_is_near(cast):
    cast.contact(cast.tuesday, 1070, cast.players[:1])
    cast.contact(cast.thursday, 240, cast.players[:1])
    cast.contact(cast.thursday, 175, cast.players[:1])
    near = week(cast).near[0].near[0]
    assert (float(near.amount), near.shown) == (14.85, 14.9)


def test_a_controlled_card_in_its_place_leaves_13_1_full_and_5_0_controlled(cast):
    cast.contact(cast.tuesday, 1070, cast.players[:1])
    cast.contact(cast.thursday, 240, cast.players[:1])
    cast.contact(cast.thursday, 500, cast.players[:1], "C3")
    line = next(line for line in week(cast).looked.lines if line.player == cast.players[0])
    assert [float(line.windows.of(m).amount) for m in (Measure.FULL, Measure.CONTROLLED)] == [13.1, 5.0]


# Rules by date


def test_rules_that_change_within_a_season_apply_from_their_week_on(cast):
    cast.contact(cast.tuesday, 1400, cast.players[:1])
    f.ContactRulesFactory(club=cast.squad.club, name="Stricter", valid_from=NEXT_MONDAY, full_minutes=10)
    assert week(cast).counts == {"near": 1, "fine": 5}
    f.ContactRulesFactory(club=cast.squad.club, name="Stricter at once", valid_from=FRIDAY, full_minutes=10)
    assert week(cast).past[0].past[0].finding.bound.source.startswith("Stricter at once")


# Signing


def test_a_signed_week_is_to_be_checked_again_when_a_figure_changes_and_says_whose(cast, welfare, log_in):
    client = log_in(welfare)
    cast.contact(cast.tuesday, 1400, cast.players[:1])
    KEPT.forget()
    client.post(PAGE + "sign/", {"digest": week(cast).looked.digest})
    assert "Checked by welfare" in read(client)
    assert not week(cast).is_to_check_again
    cast.contact(cast.tuesday, 50, cast.players[1:2])
    found = week(cast)
    assert (found.is_to_check_again, found.changed) == (True, [cast.players[1]])
    assert "check again" in read(client)
    KEPT.forget()
    client.post(PAGE + "sign/", {"digest": week(cast).looked.digest})
    assert not week(cast).is_to_check_again


def test_a_decision_that_is_entered_later_turns_a_signed_week_to_check_again(cast, welfare, log_in):
    cast.contact(cast.tuesday, 400, cast.players[:1])
    log_in(welfare).post(PAGE + "sign/", {"digest": week(cast).looked.digest})
    record_clearance(
        player=cast.players[0], by=welfare, level="none", from_day=MONDAY, decided_by="Robin Ash", decided_as="physio",
        decided_on=MONDAY,
    )  # fmt: skip
    assert welfare_week(cast.squad, MONDAY, FRIDAY).is_to_check_again


def test_figures_that_changed_while_somebody_looked_are_not_signed(cast, welfare, log_in):
    answer = log_in(welfare).post(PAGE + "sign/", {"digest": "of another page"}, follow=True)
    assert "The figures changed while you looked at them." in answer.content.decode()
    assert not WeekChecked.objects.exists()


# Actions


def test_what_was_done_stands_with_the_player_and_is_to_be_looked_at_again_on_its_day(cast, welfare, log_in, on):
    cast.contact(cast.tuesday, 1600, cast.players[:1])
    client = log_in(welfare)
    address = f"/c/brackenford/players/{cast.players[0].pk}/actions/?week=2026-10-05"
    client.post(address, {"did": "rest", "words": "no live work on Thursday", "follow_up": "2026-10-14"})
    assert "rest : no live work on Thursday" in read(client)
    on(dt.date(2026, 10, 14))
    assert "to be looked at again since 14 Oct" in read(client)
    note_action(player=cast.players[0], monday=NEXT_MONDAY, did="talk", by=welfare)
    assert "to be looked at again" not in read(client)


def test_something_else_is_said_in_words(cast, welfare, log_in):
    address = f"/c/brackenford/players/{cast.players[0].pk}/actions/"
    assert "Say in a few words what was done." in log_in(welfare).post(address, {"did": "other"}).content.decode()


# Squads, and what a look costs


def test_a_club_without_a_squad_is_told_what_to_do_first(club, welfare, log_in, on):
    assert "The club has no squad yet." in read(log_in(welfare))


def test_another_squad_is_one_step_away_and_says_whether_it_is_signed(cast, club, welfare, log_in):
    seconds = f.SquadFactory(club=club, slug="seconds", name="Seconds")
    WeekChecked.objects.create(squad=seconds, monday=MONDAY, by_name="Ann", digest="x")
    assert "Seconds signed" in read(log_in(welfare))


def test_a_squad_of_another_club_is_not_found(cast, stranger, welfare, log_in):
    f.SquadFactory(club=stranger.clubs.get(), slug="theirs")
    for address in ("", "week.pdf"):
        assert log_in(welfare).get(f"/c/brackenford/squads/theirs/welfare/2026-10-05/{address}").status_code == 404


def queries(client, address: str = NOW) -> int:
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return len(asked)


@pytest.mark.parametrize("players", [1, 40])
def test_a_look_takes_at_most_twelve_queries_and_as_many_for_forty_players(players, squad, head, welfare, log_in, on):
    cast = welfare_cast(squad, players=players)
    for session in (cast.tuesday, cast.thursday):
        cast.contact(session, 800, cast.players)
    for each in cast.players[:20]:
        ask_excess(session=cast.thursday, beyond=[beyond(cast, each)], why="x", by=head, today=MONDAY)
        note_action(player=each, monday=MONDAY, did="rest", by=welfare)
    client = log_in(welfare)
    client.get(NOW)
    assert queries(client) == 5  # session, user, membership, squads; end of the chain


# What is kept of earlier weeks


def figures_of(totals):
    """Every figure of each week, and the most of seven days."""
    return {
        (line.player, week.monday, figure.kind): (figure.hundredths, figure.rolling, figure.limit)
        for week in totals.weeks
        for line in week.lines
        for figure in line.week.figures
    }


def both(cast):
    """The four weeks up to the next one, from what is kept of earlier days and from every row."""
    asks = (cast.squad, NEXT_MONDAY - 3 * WEEK, 4, NEXT_MONDAY, dt.date(2026, 8, 1))
    return [figures_of(totals_with_told(*asks, **how)[0]) for how in ({"whole_from": NEXT_MONDAY}, {})]


def test_earlier_weeks_are_read_from_the_sums_of_their_days_and_are_the_same(cast, head):
    cast.contact(cast.tuesday, 850, cast.players[:2])
    cast.contact(cast.tuesday, 300, cast.players[1:4], "C3")
    cast.contact(cast.thursday, 500, cast.players[:3])
    cast.restrict(cast.players[1])
    Declared.objects.create(
        player=cast.players[0], day=MONDAY, place="school", kind="full", minutes=7, declared_by="teacher", by_name="x"
    )
    night, later = cast.tuesday, dt.datetime(2026, 10, 10, 9, tzinfo=f.LONDON)
    kept, whole = both(cast)
    assert kept == whole
    confirm_night(session=night, by=head, version=night.plan_version, now=later)
    kept, whole = both(cast)
    assert kept == whole
    assert sorted(much for (_who, _week, kind), (much, *_rest) in kept.items() if much and kind == "full") == [
        500,
        2050,
    ]
    account = Account.objects.filter(session=night).first()
    parts = [Part(2, "C4", 100, "C4", {cast.players[0].pk: Here(2)})]
    how = {"by": head, "may_correct": True, "why": "shorter", "now": later}
    correct_line(session=night, spot=account.spot, parts=parts, seen=account.pk, **how)
    kept, whole = both(cast)
    assert kept == whole


def test_the_first_look_and_the_report_take_as_many_queries_for_forty_players_as_for_one(squad, welfare, log_in, on):
    cast = welfare_cast(squad, players=1)
    client, counts = log_in(welfare), []
    report = f"/c/brackenford/players/{cast.players[0].pk}/report/?week=2026-10-05"
    for more in (0, 39):
        cast.players.extend(f.PlayerFactory(squad=squad) for _ in range(more))
        cast.contact(cast.tuesday, 800, cast.players)
        KEPT.forget()
        counts.append([queries(client), queries(client, report), queries(client, report)])
    assert counts[0] == counts[1]
    assert counts[1] == [25, 25, 5]  # of the last: session, user, membership, player; end of the chain
