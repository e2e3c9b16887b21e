"""The week page: what it shows, its edits with their answers, and who may do what there."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planner.choices import additions_for, swaps_for
from planner.models import PlanChange, Station
from planner.season_figures import KEPT
from planner.weeks import week_of
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.block_cast import BEFORE, names_at, small_block, stand, wish

MONDAY = dt.date(2026, 10, 5)
TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def cast(squad):
    """Two weeks of two nights; the first drill stands in the first planned slot with all eight players."""
    cast = small_block(squad)
    cast.station = stand(cast.slot(), cast.drills[0], cast.players, coach="Ash")
    return cast


@pytest.fixture
def early(monkeypatch):
    """The site is looked at before the first night of the block."""
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: BEFORE)


def week_address(squad, monday: dt.date = MONDAY, **query: object) -> str:
    address = reverse("week", kwargs={"club": squad.club.slug, "squad": squad.slug, "monday": monday})
    return address + "".join(f"{'&' if n else '?'}{key}={value}" for n, (key, value) in enumerate(query.items()))


def press(client, name: str, key: int, htmx: bool = False, **given: object):
    word = "slot" if name in {"move_player", "add_station"} else "station"
    address = reverse(name, kwargs={"club": "brackenford", word: key})
    return client.post(address, given, headers={"HX-Request": "true"} if htmx else None)


def shown(cast):
    return week_of(cast.squad, MONDAY, BEFORE)


def clear(player, level: str) -> None:
    Clearance.objects.create(
        player=player, level=level, from_day=MONDAY, decided_by="Robin Ash", decided_as="physio", decided_on=MONDAY
    )


# What a week holds


def test_slots_start_one_after_the_other(cast):
    starts = [timezone.localtime(line.starts, f.LONDON).strftime("%H:%M") for line in shown(cast).nights[0].slots]
    assert starts == ["19:00", "19:10", "19:22"]


def test_a_slot_starts_on_the_clock_of_the_night_that_the_clocks_go_forward(squad):
    """British summer time begins on 28 March 2027 at 01:00 UTC (the IANA zone database)."""
    starts = dt.datetime(2027, 3, 28, 0, 50, tzinfo=f.LONDON)
    f.SessionFactory(squad=squad, starts_at=starts, slots=[12, 12])
    night = week_of(squad, dt.date(2027, 3, 22), BEFORE).nights[0]
    assert [timezone.localtime(line.starts, f.LONDON).strftime("%H:%M") for line in night.slots] == ["00:50", "02:02"]


def test_who_is_expected_and_stands_nowhere_is_named(cast):
    idle = cast.station.places.first()
    idle.delete()
    night = shown(cast).nights[0]
    assert [name.player for name in night.slots[1].idle] == [idle.player]
    assert "Tue 6 Oct, slot 2: 1 player without a station." in night.misfits


def test_an_empty_slot_is_told_first(cast):
    assert shown(cast).nights[0].misfits[0] == "Tue 6 Oct, slot 3: nothing is planned."


def test_who_is_away_and_still_stands_in_the_plan_is_told_once(cast):
    Absence.objects.create(player=cast.players[0], first_day=TUESDAY, last_day=TUESDAY)
    stand(cast.slot(order=2), cast.drills[1], cast.players)
    misfits = shown(cast).nights[0].misfits
    assert misfits == [f"Tue 6 Oct: {cast.players[0]} is away and still stands in the plan."]


def test_a_station_that_absences_leave_below_its_least_is_told(cast):
    cast.drills[0].players_least = cast.drills[0].players_ideal = 8
    cast.drills[0].save()
    Absence.objects.create(player=cast.players[0], first_day=TUESDAY, last_day=TUESDAY)
    expected = f"Tue 6 Oct, slot 2: {cast.drills[0]} needs 8 players, 7 can come."
    assert expected in shown(cast).nights[0].misfits


def test_marks_stand_beside_those_who_may_do_less_than_the_others(cast):
    clear(cast.players[0], "none")
    clear(cast.players[1], "controlled")
    Absence.objects.create(player=cast.players[2], first_day=TUESDAY, last_day=TUESDAY)
    names = {name.player: name.mark for name in shown(cast).nights[0].slots[1].stations[0].names}
    assert [names[player] for player in cast.players[:4]] == ["NC", "controlled", "away", ""]


def test_what_holds_for_all_is_said_once_and_marks_nobody(cast):
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 8, 19, 0, tzinfo=f.LONDON))
    night = shown(cast).nights[0]
    assert night.for_all == "2 days before a match: controlled at most"
    assert {name.mark for name in night.slots[1].stations[0].names} == {""}


def test_the_contact_line_tells_the_most_of_any_player_tonight_and_in_the_week(cast):
    live = f.DrillFactory(club=cast.squad.club, rung="C4", contact_share=25, contacts_most=4)
    stand(cast.slot(order=2), live, cast.players[:4])
    stand(cast.slot(night=1, order=2), live, cast.players[:2])
    full = shown(cast).nights[0].contact[0]
    assert (full.night, full.week, full.limit.minutes) == (3.0, 6.0, 15)


def test_the_load_of_a_week_counts_fixed_content(cast):
    """House arithmetic: RPE 5 x 12 minutes at the station, RPE 3 x 10 of each night's warm-up."""
    need = next(need for need in shown(cast).needs if need.player == cast.players[0])
    assert (need.load.load, need.load.low, need.load.high) == (5 * 12 + 2 * 30, 300, 700)


def test_skills_still_short_are_the_three_largest_gaps(cast):
    for number, code in enumerate(["I04", "U01", "U02", "U03"]):
        wish(cast.squad, code, minutes=40 + 10 * number)
    need = shown(cast).needs[0]
    assert [(tally.skill, tally.short) for _name, tally in need.skills] == [("U03", 35), ("U02", 30), ("U01", 25)]


def test_a_week_without_a_block_shows_its_nights_and_no_load(squad):
    f.SessionFactory(squad=squad)
    f.PlayerFactory(squad=squad)
    week = week_of(squad, MONDAY, BEFORE)
    assert (week.block, len(week.nights), week.needs[0].load) == (None, 1, None)
    assert not week.nights[0].is_open


# The page


def test_the_page_holds_nights_names_and_totals(cast, head, log_in, early):
    text = log_in(head).get(week_address(cast.squad)).content.decode()
    for words in ("Tuesday 6 October", str(cast.drills[0]), str(cast.players[0]), "Each player", "Change slot 2"):
        assert words in text


def test_any_day_leads_to_its_monday(cast, head, log_in):
    answer = log_in(head).get(week_address(cast.squad, dt.date(2026, 10, 8)))
    assert (answer.status_code, answer.headers["Location"]) == (302, week_address(cast.squad))


@pytest.mark.parametrize("text", ["2026-13-45", "today", "20261005", "0001-01-01", "9999-12-31"])
def test_a_day_that_is_none_is_not_found(cast, head, log_in, text):
    assert log_in(head).get(f"/c/brackenford/week/{cast.squad.slug}/{text}/").status_code == 404


def test_an_assistant_reads_the_week_without_edits_and_without_totals(cast, assistant, log_in, early):
    text = log_in(assistant).get(week_address(cast.squad, slot=cast.slot().pk)).content.decode()
    assert str(cast.players[0]) in text
    for words in ("Change slot", "Each player", 'method="post" action="/c/brackenford/slots'):
        assert words not in text


def test_the_welfare_officer_reads_totals_and_edits_nothing(cast, welfare, log_in, early):
    text = log_in(welfare).get(week_address(cast.squad, slot=cast.slot().pk)).content.decode()
    assert "Each player" in text
    assert "Move player" not in text


def queries_of(client, address: str) -> int:
    """Of a look that draws the page; the next ones find it kept."""
    client.get(address)
    KEPT.forget()
    with CaptureQueriesContext(connection) as queries:
        client.get(address)
    return len(queries)


def test_the_page_takes_as_many_queries_for_three_stations_as_for_one(cast, head, log_in, early):
    client = log_in(head)
    before = queries_of(client, week_address(cast.squad))
    for order, drill in enumerate(cast.drills[1:], 1):
        stand(cast.slot(night=1), drill, cast.players[4 * order - 4 : 4 * order], order=order)
    f.PlayerFactory.create_batch(2, squad=cast.squad)
    assert queries_of(client, week_address(cast.squad)) == before
    assert before <= 28


# Edits


def test_an_opened_slot_offers_its_edits(cast, head, log_in, early):
    text = log_in(head).get(week_address(cast.squad, slot=cast.slot().pk)).content.decode()
    for words in ("Move player", "Other drill", "Lock", "Remove", "Set coach"):
        assert words in text


def test_for_htmx_only_the_night_comes_back(cast, head, log_in, early):
    address = week_address(cast.squad, slot=cast.slot().pk)
    text = log_in(head).get(address, headers={"HX-Request": "true"}).content.decode()
    assert text.startswith(f'<section id="night-{cast.nights[0].pk}"')
    assert "Thursday" not in text


def test_a_player_moves_and_the_answer_tells_what_it_did(cast, head, log_in, early):
    slot = cast.slot()
    answer = press(log_in(head), "move_player", slot.pk, True, player=cast.players[0].pk, to="", version=0)
    text = answer.content.decode()
    assert "Done." in text.partition('data-said="')[2].partition('"')[0]
    assert f"{cast.players[0]}: 96 min without a station (was 84)" in text
    assert 'id="needs"' in text
    assert 'hx-swap-oob="true"' in text
    assert cast.players[0].pk not in names_at(cast.station)


def test_without_javascript_the_person_comes_back_to_the_slot_with_the_answer(cast, head, log_in, early):
    client, slot = log_in(head), cast.slot()
    answer = press(client, "move_player", slot.pk, player=cast.players[0].pk, to="", version=0)
    assert answer.headers["Location"] == f"{week_address(cast.squad, slot=slot.pk)}#night-{cast.nights[0].pk}"
    assert "Done." in client.get(answer.headers["Location"]).content.decode()


def test_a_broken_rule_is_told_in_words_and_nothing_is_written(cast, head, log_in, early):
    clear(cast.players[0], "none")
    live = f.DrillFactory(
        club=cast.squad.club, name="Live", rung="C4", contact_share=25, contacts_most=4, players_least=2
    )
    answer = press(log_in(head), "swap_drill", cast.station.pk, True, drill=live.pk, version=0)
    text = answer.content.decode()
    assert "Nothing was changed." in text
    assert f"{cast.players[0]} may do no contact that day" in text
    assert Station.objects.get(pk=cast.station.pk).drill == cast.drills[0]


def test_a_swap_leaves_out_who_is_away(cast, head, log_in, early):
    Absence.objects.create(player=cast.players[0], first_day=TUESDAY, last_day=TUESDAY)
    press(log_in(head), "swap_drill", cast.station.pk, True, drill=cast.drills[1].pk, version=0)
    station = Station.objects.get(slot=cast.slot())
    assert station.drill == cast.drills[1]
    assert names_at(station) == {player.pk for player in cast.players[1:]}


def test_a_station_is_locked_named_and_removed(cast, head, log_in, early):
    client = log_in(head)
    press(client, "lock_station", cast.station.pk, True, locked="1", version=0)
    press(client, "set_coach", cast.station.pk, True, coach="Bo", version=1)
    cast.station.refresh_from_db()
    assert (cast.station.locked, cast.station.coach) == (True, "Bo")
    press(client, "lock_station", cast.station.pk, True, locked="0", version=2)
    press(client, "remove_station", cast.station.pk, True, version=3)
    assert not Station.objects.exists()


def test_a_drill_is_added_for_those_without_a_station(cast, head, log_in, early):
    slot = cast.slot(order=2)
    press(log_in(head), "add_station", slot.pk, True, drill=cast.drills[1].pk, version=0)
    assert names_at(slot.stations.get()) == {player.pk for player in cast.players}


def test_an_edit_of_an_older_view_of_the_night_is_refused(cast, head, log_in, early):
    client = log_in(head)
    press(client, "lock_station", cast.station.pk, True, locked="1", version=0)
    answer = press(client, "remove_station", cast.station.pk, True, version=0)
    assert "Somebody has changed this night since you opened it" in answer.content.decode()
    assert Station.objects.exists()


@pytest.mark.parametrize(
    ("name", "given", "told"),
    [
        ("move_player", {"version": 0}, "Choose a player first."),
        ("move_player", {"version": 0, "player": 10**9}, "No such player in this squad."),
        ("add_station", {"version": 0, "drill": "x"}, "No such drill in your library."),
        ("add_station", {"drill": 1}, "This form is too old. Open the week again."),
    ],
)
def test_a_form_that_lacks_something_says_what(cast, head, log_in, early, name, given, told):
    assert told in press(log_in(head), name, cast.slot().pk, True, **given).content.decode()


def test_another_clubs_drill_cannot_be_put_in(cast, head, log_in, early):
    foreign = f.DrillFactory()
    answer = press(log_in(head), "swap_drill", cast.station.pk, True, drill=foreign.pk, version=0)
    assert "No such drill in your library." in answer.content.decode()


def test_another_clubs_head_coach_finds_no_station(cast, stranger, log_in):
    assert press(log_in(stranger), "remove_station", cast.station.pk, version=0).status_code == 404


def test_undo_puts_back_what_stood_and_returns_to_the_week(cast, head, log_in, early):
    client = log_in(head)
    press(client, "remove_station", cast.station.pk, version=0)
    words = {"club": "brackenford", "squad": cast.squad.slug, "monday": MONDAY, "block": cast.block.pk}
    answer = client.post(reverse("undo_in_week", kwargs=words), {"change": PlanChange.objects.get().pk})
    assert answer.headers["Location"] == week_address(cast.squad)
    assert names_at(Station.objects.get()) == {player.pk for player in cast.players}


# Choices


def test_drills_that_fit_come_with_their_effect_the_best_first(cast):
    wish(cast.squad, "U01", minutes=80)
    better = f.DrillFactory(club=cast.squad.club, name="Better", players_least=2, skills={"U01": 100})
    swaps = swaps_for(shown(cast).overviews[0].built, cast.station)
    assert swaps.fitting[0].drill == better
    assert swaps.fitting[0].effect == "96 min fewer short"
    assert swaps.fitting[0].word == "better"


def test_a_drill_that_would_break_a_rule_says_which(cast):
    stand(cast.slot(order=2), cast.drills[1], cast.players)
    swaps = swaps_for(shown(cast).overviews[0].built, cast.station)
    assert [choice.drill for choice in swaps.fitting] == [cast.drills[2]]
    assert [(choice.drill, choice.why_not) for choice in swaps.others] == [
        (cast.drills[1], f"{cast.drills[1]} runs 2 times on Tue 6 Oct; once is the limit.")
    ]


def test_only_drills_that_enough_idle_players_could_run_are_offered_to_add(cast):
    built = shown(cast).overviews[0].built
    assert additions_for(built, cast.slot()) == []
    assert additions_for(built, cast.slot(order=2)) == cast.drills


def test_a_retired_drill_that_stands_on_another_night_is_neither_a_swap_nor_an_addition(cast):
    retired = cast.drills[1]
    stand(cast.slot(night=1), retired, cast.players)
    retired.retired_on = BEFORE
    retired.save()
    built = shown(cast).overviews[0].built
    swaps = swaps_for(built, cast.station)
    assert retired not in {choice.drill for choice in (*swaps.fitting, *swaps.others)}
    assert additions_for(built, cast.slot(order=2)) == [cast.drills[0], cast.drills[2]]
