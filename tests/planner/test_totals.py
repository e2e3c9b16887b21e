"""Contact totals from the rows of a squad: what is counted for whom, the table for other programs, the pages."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.core.totals import Room
from planner.models import Slot
from planner.season_figures import KEPT
from planner.totals import COLUMNS, totals_csv_text, totals_of
from shared.core.contact import Kind
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import night, small_block, stand

MONDAY = dt.date(2026, 10, 5)
TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def cast(squad):
    """Eight players and no match; on Tuesday a live drill of 25 per cent in a slot of 12 minutes: 3.0 minutes."""
    cast = small_block(squad)
    cast.live = f.DrillFactory(club=squad.club, name="Live", rung="C4", contact_share=25, contacts_most=4)
    cast.bags = f.DrillFactory(club=squad.club, name="Bags", rung="C2", contact_share=50, contacts_most=4)
    stand(cast.slot(), cast.live, cast.players[:4])
    return cast


def week(cast, monday: dt.date = MONDAY):
    return totals_of(cast.squad, monday, 1, today=MONDAY).weeks[0]


def minutes(cast, player: int, kind: Kind = Kind.FULL, monday: dt.date = MONDAY) -> float:
    return week(cast, monday).of(cast.players[player].pk).figure(kind).minutes


def clear(player, level: str, from_day: dt.date = MONDAY) -> Clearance:
    return Clearance.objects.create(
        player=player, level=level, from_day=from_day, decided_by="Robin Ash", decided_as="physio", decided_on=from_day
    )


def test_who_stands_at_a_live_station_has_its_share_of_the_slot_and_others_nothing(cast):
    assert (minutes(cast, 0), minutes(cast, 5)) == (3.0, 0)


def test_kinds_are_booked_apart(cast):
    stand(cast.slot(order=2), cast.bags, cast.players[:4])
    assert (minutes(cast, 0), minutes(cast, 0, Kind.CONTROLLED)) == (3.0, 6.0)


def test_fixed_content_counts_for_everyone_who_may_take_part(cast):
    Slot.objects.create(
        session=cast.nights[0], order=9, minutes=10, title="Scrum", rpe=7, kind=Kind.SET_PIECE, contact_share=45
    )
    clear(cast.players[1], "controlled")
    Absence.objects.create(player=cast.players[2], first_day=TUESDAY, last_day=TUESDAY)
    assert [minutes(cast, n, Kind.SET_PIECE) for n in (0, 1, 2, 5)] == [4.5, 0, 0, 4.5]
    assert week(cast).of(cast.players[1].pk).figure(Kind.SET_PIECE).room is Room.FINE


def test_a_player_put_above_his_clearance_counts_nothing_and_is_told_first(cast):
    clear(cast.players[3], "none")
    first = week(cast).lines[0]
    assert (first.player, first.room) == (cast.players[3], Room.NOT_ALLOWED)
    assert [stretch.what for stretch in first.week.figure(Kind.FULL).not_allowed] == [str(cast.live)]
    assert minutes(cast, 3) == 0


def test_who_is_away_counts_nothing_and_is_not_reported(cast):
    Absence.objects.create(player=cast.players[0], first_day=TUESDAY, last_day=TUESDAY)
    his = week(cast).of(cast.players[0].pk)
    assert (his.figure(Kind.FULL).minutes, his.room) == (0, Room.FINE)


def test_a_called_off_night_counts_nothing(cast):
    cast.nights[0].cancelled = True
    cast.nights[0].save()
    assert minutes(cast, 0) == 0


def test_a_night_after_the_clocks_go_back_stays_in_its_week(cast):
    """British summer time ends on 25 October 2026, a Sunday (the IANA zone database)."""
    late = night(cast.squad, 25, slots=[12])
    stand(late.slots.get(), cast.live, cast.players[:1])
    assert minutes(cast, 0, monday=dt.date(2026, 10, 19)) == 3.0
    assert minutes(cast, 0, monday=dt.date(2026, 10, 26)) == 0


def test_the_strictest_figure_holds_when_the_rules_change_in_the_week(cast):
    f.ContactRulesFactory(club=cast.squad.club, name="Autumn rules", valid_from=TUESDAY, full_minutes=10)
    limit = week(cast).limits.by_kind[Kind.FULL]
    assert limit.minutes == 10
    assert limit.source == "Autumn rules: Committee paper of the invented club, from 2026-10-06"


def test_rules_that_begin_later_do_not_bind_a_week_before_them(cast):
    f.ContactRulesFactory(club=cast.squad.club, valid_from=MONDAY + dt.timedelta(days=7), full_minutes=1)
    assert week(cast).limits.minutes(Kind.FULL) == 15


def test_without_rules_nothing_binds(squad):
    player = f.PlayerFactory(squad=squad)
    figures = totals_of(squad, MONDAY, 1, today=MONDAY).weeks[0].of(player.pk).figures
    assert [figure.limit for figure in figures] == [None, None, None]


def test_a_player_who_has_left_is_gone_from_the_next_week(cast):
    cast.players[7].left = dt.date(2026, 10, 11)
    cast.players[7].save()
    weeks = totals_of(cast.squad, MONDAY, 2, today=MONDAY).weeks
    assert [week.of(cast.players[7].pk) is None for week in weeks] == [False, True]


def test_totals_take_as_many_queries_for_three_stations_and_players_as_for_one(cast, django_assert_max_num_queries):
    with django_assert_max_num_queries(13):
        week(cast)
    for drill, players in ((cast.bags, cast.players[4:6]), (cast.drills[0], cast.players[6:])):
        stand(cast.slot(), drill, players)
    with django_assert_max_num_queries(13):
        week(cast)


# The table for other programs


def test_the_table_has_a_row_for_each_week_player_and_kind(cast, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 5, 12, tzinfo=dt.UTC))
    rows = list(csv.DictReader(io.StringIO(totals_csv_text(totals_of(cast.squad, MONDAY, 2, today=MONDAY)))))
    assert len(rows) == 2 * 8 * 3
    assert rows[0] == {
        "player": str(cast.players[0]),
        "group": "FR",
        "week": "2026-10-05",
        "kind": "full",
        "minutes": "3.00",
        "limit": "15",
        "standing": "fine",
        "limit_source": "Club rules: Committee paper of the invented club, from 2026-07-01",
        "counted_as": "planned",
    }
    assert tuple(rows[0]) == COLUMNS


def test_a_name_never_becomes_a_formula(squad):
    f.PlayerFactory(squad=squad, given_name="=1+1", family_name="x")
    rows = list(csv.reader(io.StringIO(totals_csv_text(totals_of(squad, MONDAY, 1, today=MONDAY)))))
    assert rows[1][0] == "'=1+1 x"


def test_a_placing_above_a_ceiling_stands_in_the_table_too(cast):
    clear(cast.players[3], "none")
    rows = csv.DictReader(io.StringIO(totals_csv_text(totals_of(cast.squad, MONDAY, 1, today=MONDAY))))
    first = next(rows)
    assert (first["player"], first["kind"], first["minutes"]) == (str(cast.players[3]), "full", "0.00")
    assert first["standing"] == "not allowed"


# The pages


@pytest.fixture
def in_that_week(monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: MONDAY)


def page(client, name: str, query: str = "", **words: object):
    return client.get(reverse(name, kwargs={"club": "brackenford"} | words) + query)


def test_the_page_shows_this_week_of_the_first_squad_as_planned(cast, welfare, log_in, in_that_week):
    text = page(log_in(welfare), "totals").content.decode()
    for words in (
        "5 Oct – 11 Oct 2026",
        "Confirmed nights count as recorded, all others as planned",
        str(cast.players[0]),
        "3 of 15 min",
        "8 fine",
    ):
        assert words in text


def test_who_is_past_stands_first_with_the_excess_in_words(cast, welfare, log_in, in_that_week):
    hard = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=100, contacts_most=9)
    stand(cast.slot(order=2), hard, [cast.players[6]])
    stand(cast.slot(night=1), hard, [cast.players[6]])
    text = page(log_in(welfare), "totals").content.decode()
    assert text.index(str(cast.players[6])) < text.index(str(cast.players[0]))
    for words in ("24 of 15 min", "past by 9", "1 past a limit"):
        assert words in text


def test_the_weeks_of_a_block_come_one_after_the_other(cast, welfare, log_in, in_that_week):
    text = page(log_in(welfare), "totals", f"?block={cast.block.pk}").content.decode()
    assert text.index("5 Oct – 11 Oct 2026") < text.index("12 Oct – 18 Oct 2026")


def offered(answer) -> list[str]:
    """The blocks to choose from, as the page names them."""
    inside = answer.content.decode().partition('<select name="block"')[2].partition("</select>")[0]
    return [name.strip() for name in re.findall(r"<option[^>]*>([^<]*)</option>", inside)]


@pytest.fixture
def blocks_of_three_kinds(cast):
    """A season around the week, with a block of an earlier season and one of another squad beside its own."""
    f.SeasonFactory(squad=cast.squad)
    f.BlockFactory(squad=cast.squad, name="Last year", first_day=dt.date(2025, 10, 6))
    f.BlockFactory(squad=cast.squad, name="Over the summer", first_day=dt.date(2026, 7, 6), weeks=9)
    f.BlockFactory(squad=f.SquadFactory(club=cast.squad.club, slug="seconds"), name="Of the seconds")


def test_the_blocks_to_choose_from_are_of_the_squad_and_season_shown(
    cast, blocks_of_three_kinds, welfare, log_in, in_that_week
):
    client = log_in(welfare)
    assert offered(page(client, "totals")) == ["this week only", str(cast.block), "Over the summer"]
    assert offered(page(client, "totals", "?week=2025-11-03")) == ["this week only", "Last year"]
    assert offered(page(client, "totals", "?squad=seconds")) == ["this week only", "Of the seconds"]


def test_a_block_of_another_season_can_be_asked_for_by_its_address(
    cast, blocks_of_three_kinds, welfare, log_in, in_that_week
):
    old = cast.squad.blocks.get(name="Last year")
    answer = page(log_in(welfare), "totals", f"?block={old.pk}")
    assert "6 Oct – 12 Oct 2025" in answer.content.decode()
    assert f'<option value="{old.pk}" selected>' in answer.content.decode()


def test_a_week_that_is_no_day_is_told_at_its_field(cast, welfare, log_in, in_that_week):
    assert "Enter a valid date." in page(log_in(welfare), "totals", "?week=soon").content.decode()


def test_an_empty_club_is_told_what_comes_first(club, welfare, log_in):
    assert "The club has no squad yet." in page(log_in(welfare), "totals").content.decode()


def test_the_table_comes_as_a_file_that_spreadsheets_read(cast, welfare, log_in, in_that_week):
    answer = page(log_in(welfare), "totals_csv", f"?squad={cast.squad.slug}&week=2026-10-08")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="contact-firsts-2026-10-05.csv"'
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row["week"] for row in rows] == ["2026-10-05"] * 24


@pytest.mark.parametrize("name", ["totals", "totals_csv"])
def test_another_clubs_squad_is_never_shown(cast, welfare, log_in, in_that_week, name):
    other = f.PlayerFactory(squad__slug="theirs")
    answer = page(log_in(welfare), name, "?squad=theirs")
    assert str(other) not in answer.content.decode()


def test_another_clubs_block_is_never_shown(cast, welfare, log_in, in_that_week):
    foreign = f.BlockFactory(squad=f.PlayerFactory().squad)
    assert page(log_in(welfare), "totals_csv", f"?block={foreign.pk}").status_code == 404


def test_a_players_ledger_names_the_slots_and_the_decisions(cast, welfare, log_in, in_that_week):
    clear(cast.players[0], "none")
    text = page(log_in(welfare), "player_totals", "?week=2026-10-05", player=cast.players[0].pk).content.decode()
    for words in (str(cast.live), "12 × 25 %", "not allowed that day", "decided by Robin Ash, physio"):
        assert words in text


def test_another_clubs_player_has_no_ledger_here(cast, welfare, log_in):
    assert page(log_in(welfare), "player_totals", player=f.PlayerFactory().pk).status_code == 404


def test_minors_are_named_by_first_name_and_initial(club, welfare, log_in, in_that_week):
    minors = f.SquadFactory(club=club, slug="minors", age_from=16)
    f.PlayerFactory(squad=minors, given_name="Wren", family_name="Longname")
    text = page(log_in(welfare), "totals", "?squad=minors").content.decode()
    assert "Wren L." in text
    assert "Longname" not in text


def test_the_page_takes_as_many_queries_for_three_players_as_for_one(cast, welfare, log_in, in_that_week):
    client, counts = log_in(welfare), []
    for _round in range(2):
        page(client, "totals")
        KEPT.forget()
        with CaptureQueriesContext(connection) as queries:
            page(client, "totals")
        counts.append(len(queries))
        f.PlayerFactory.create_batch(2, squad=cast.squad)
    assert counts[0] == counts[1]
