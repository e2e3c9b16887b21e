"""Answers on how hard it was: rows that are only added, the newest counts, and the load that follows from them."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, connection, transaction

from planner.changes import Refused
from planner.declared_actions import note_match_minutes
from planner.link_actions import MOST_AN_HOUR, NoSuchLink, give_links
from planner.link_models import PlayerLink
from planner.record_actions import confirm_night, correct_line
from planner.record_models import PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe, say_himself
from planner.rpe_days import loads_reckoned
from planner.rpe_models import Rpe, newest
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.loads.conftest import AFTER, NEXT_DAY
from tests.planner.record.conftest import DURING

DAY = dt.date(2026, 10, 6)
MATCH_OVER = dt.datetime(2026, 10, 10, 18, tzinfo=f.LONDON)


def load_of(evening, player: int = 0) -> float | None:
    row = PlayerDay.objects.filter(player=evening.players[player], day=DAY).first()
    return row and row.load


# Rows


def row_of(squad, **fields) -> Rpe:
    told = {"player": f.PlayerFactory(squad=squad), "number": 6, "said_by": "Ash", "by_name": "Ash"}
    if not fields.keys() & {"session", "fixture"}:
        told["session"] = f.SessionFactory(squad=squad)
    return Rpe.objects.create(**(told | fields))


def test_the_database_refuses_to_change_any_column_of_an_answer(squad):
    row = row_of(squad)
    for field in Rpe._meta.concrete_fields:
        name = connection.ops.quote_name(field.column)
        if field.name == "by":
            continue
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE {connection.ops.quote_name(Rpe._meta.db_table)} SET {name} = {name}")
    assert Rpe.objects.get() == row


def test_the_code_refuses_to_change_or_delete_an_answer(squad):
    row = row_of(squad)
    for change in (row.save, row.delete, Rpe.objects.all().delete, lambda: Rpe.objects.update(number=1)):
        with pytest.raises(TypeError, match="add a new one"):
            change()


@pytest.mark.parametrize("number", [0, 10, None])
def test_an_answer_is_a_number_of_the_scale_or_taken_back(squad, number):
    assert row_of(squad, number=number).number == number


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"number": 11}, "rpe_0_to_10"),
        ({"minutes": 0}, "rpe_minutes_of_one_go"),
        ({"minutes": 601}, "rpe_minutes_of_one_go"),
        ({"number": None, "minutes": 30}, "rpe_taken_back_has_no_minutes"),
        ({"said_by": ""}, "rpe_names_who_said_it"),
        ({"by_name": ""}, "rpe_names_who_entered_it"),
        ({"session": None}, "rpe_of_one_night_or_one_match"),
    ],
)
def test_the_database_refuses_an_answer_that_means_nothing(squad, fields, name):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        row_of(squad, **fields)


def test_the_database_refuses_an_answer_of_a_night_and_a_match_at_once(squad):
    both = {"session": f.SessionFactory(squad=squad), "fixture": f.FixtureFactory(squad=squad)}
    with pytest.raises(IntegrityError, match="rpe_of_one_night_or_one_match"), transaction.atomic():
        row_of(squad, **both)


# What is noted


def test_the_newest_answer_counts_in_whatever_order_the_rows_come(evening, tell):
    tell(0, 6)
    tell(0, 8, now=NEXT_DAY + dt.timedelta(hours=1))
    rows = list(Rpe.objects.all())
    assert [row.number for row in newest(rows).values()] == [row.number for row in newest(rows[::-1]).values()] == [8]


def test_what_he_says_himself_and_what_a_coach_enters_name_who_said_it(evening, tell, assistant):
    tell(0, 6)
    tell(1, 7, by=assistant)
    own, coach = Rpe.objects.order_by("pk")
    assert (own.himself, own.by, own.by_name) == (True, None, str(evening.players[0]))
    assert (coach.himself, coach.by, coach.said_by) == (False, assistant, "assistant")
    assert [event.actor for event in AuditEvent.objects.filter(did="noted RPE")] == [own.by_name, "assistant"]


def test_the_same_once_more_adds_no_row(evening, tell):
    assert [tell(0, 6).count, tell(0, 6).count, tell(0, 7).count] == [1, 0, 1]


def test_what_somebody_said_meanwhile_is_not_overwritten(evening, tell, assistant):
    tell(0, 6)
    noted = tell(0, 3, by=assistant, answers=0)
    assert (noted.count, [each.number for each in noted.unseen], Rpe.objects.count()) == (0, [3], 1)
    assert tell(0, 3, by=assistant, answers=Rpe.objects.get().pk).count == 1


def test_a_night_that_is_not_over_one_that_is_off_and_a_stranger_are_refused_with_the_reason(evening, tell, squad):
    with pytest.raises(Refused, match="is not over yet"):
        tell(0, 6, now=DURING - dt.timedelta(minutes=30))
    off = f.SessionFactory(squad=squad, starts_at=dt.datetime(2026, 10, 5, 19, tzinfo=f.LONDON), cancelled=True)
    with pytest.raises(Refused, match="does not take place"):
        tell(0, 6, occasion=Occasion(session=off))
    foreign = f.SessionFactory(starts_at=dt.datetime(2026, 10, 5, 19, tzinfo=f.LONDON))
    with pytest.raises(Refused, match="not in this squad"):
        tell(0, 6, occasion=Occasion(session=foreign))
    for number, minutes in ((11, None), (-1, None), (6, 0), (6, 601)):
        with pytest.raises(Refused):
            tell(0, number, minutes)
    assert not Rpe.objects.exists()


def test_one_wrong_answer_of_many_leaves_none_behind(evening, head):
    occasion = Occasion(session=evening.session)
    told = [Told(player, occasion, number) for player, number in zip(evening.players, (6, 7, 11), strict=False)]
    with pytest.raises(Refused):
        note_rpe(told=told, by=head, now=NEXT_DAY)
    assert not Rpe.objects.exists()


def test_an_address_that_was_ended_says_no_number_and_one_says_only_so_many_an_hour(evening, head):
    give_links(players=evening.players[:1], by=head)
    link = PlayerLink.objects.with_player().get()
    for n in range(MOST_AN_HOUR):
        Rpe.objects.create(
            player=link.player, session=evening.session, number=n % 10, himself=True, said_by="x", by_name="x"
        )
    told = Told(link.player, Occasion(session=evening.session), 5)
    with pytest.raises(Refused, match="very many answers"):
        say_himself(link=link, told=told, now=NEXT_DAY)
    PlayerLink.objects.all().delete()
    with pytest.raises(NoSuchLink):
        say_himself(link=link, told=told, now=NEXT_DAY)


# The load of the day


def test_a_load_is_the_number_times_the_minutes_of_the_record(evening, tell, confirmed):
    tell(0, 6)
    assert load_of(evening) == 6 * 34


def test_minutes_that_were_told_count_before_those_of_the_record(evening, tell, confirmed):
    tell(0, 6, 80)
    assert load_of(evening) == 480


def test_before_the_record_is_confirmed_there_is_no_load_unless_minutes_were_told(evening, tell, head):
    tell(0, 6)
    tell(1, 6, 30)
    assert (load_of(evening, 0), load_of(evening, 1)) == (None, 180)
    confirm_night(session=evening.session, by=head, version=evening.session.plan_version, now=NEXT_DAY)
    assert (load_of(evening, 0), load_of(evening, 1)) == (204, 180)


def test_a_night_without_a_number_has_no_load_and_never_zero(evening, confirmed):
    assert PlayerDay.objects.get(player=evening.players[0]).load is None


def test_a_session_of_rest_is_zero_since_somebody_said_so(evening, tell, confirmed):
    tell(0, 0)
    assert load_of(evening) == 0


def test_a_number_that_is_taken_back_takes_the_load_with_it(evening, tell, confirmed):
    tell(0, 6)
    tell(0, None)
    assert load_of(evening) is None


def test_a_correction_of_the_record_moves_the_load(evening, tell, head, confirmed):
    tell(0, 6)
    spot = evening.spot(evening.live)
    seen = evening.record(NEXT_DAY).standing[spot].pk
    how = {"by": head, "may_correct": True, "now": NEXT_DAY}
    correct_line(session=evening.session, spot=spot, parts=evening.parts(6), seen=seen, **how)
    assert load_of(evening) == 6 * 28


def test_a_match_of_the_same_day_without_a_number_leaves_the_day_unknown(evening, tell, head, confirmed):
    tell(0, 6)
    kick_off = dt.datetime(2026, 10, 6, 14, tzinfo=f.LONDON)
    match = f.FixtureFactory(squad=evening.cast.squad, kick_off=kick_off)
    player = evening.players[0]
    note_match_minutes(
        fixture=match, minutes={player: 40}, seen={player.pk: None}, declared_by="sheet", by=head, today=DAY
    )
    assert load_of(evening) is None
    tell(0, 9, occasion=Occasion(fixture=match))
    assert load_of(evening) == 6 * 34 + 9 * 40


def test_a_match_is_rated_from_two_hours_after_kick_off_on(evening, tell):
    match = f.FixtureFactory(squad=evening.cast.squad, kick_off=dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON))
    occasion = Occasion(fixture=match)
    with pytest.raises(Refused, match="is not over yet"):
        tell(0, 8, now=MATCH_OVER - dt.timedelta(hours=2), occasion=occasion)
    assert tell(0, 8, now=MATCH_OVER, occasion=occasion).count == 1


def test_kept_loads_are_those_of_the_record(evening, tell, confirmed):
    for player, number in enumerate((0, 3, 10)):
        tell(player, number)
    kept = {(row.player_id, row.day): row.load for row in PlayerDay.objects.filter(load__isnull=False)}
    assert kept == loads_reckoned(evening.cast.squad, DAY, DAY)
    assert len(kept) == 3


def test_a_number_before_half_an_hour_is_taken_too(evening, tell):
    assert tell(0, 6, now=AFTER - dt.timedelta(minutes=30)).count == 1
