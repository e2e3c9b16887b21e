"""Rows of the record: never changed, never deleted, and whole."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, connection, transaction

from planner.record_models import Account, Confirmation, Declared, Line, MatchMinutes, PlayerDay, Presence
from shared.core.contact import RUNGS, below_or_at
from tests import factories as f

AT = dt.datetime(2026, 10, 10, 15, tzinfo=f.LONDON)


def account(squad, **fields) -> Account:
    session = fields.pop("session", None) or f.SessionFactory(squad=squad)
    told = {"session": session, "spot": "1.1", "order": 1, "title": "Live", "by_name": "Ash"} | fields
    return Account.objects.create(**told)


def line(squad, **fields) -> Line:
    told = {"account": fields.pop("account", None) or account(squad), "minutes": 12, "rung": "C2", "card_rung": "C2"}
    return Line.objects.create(**(told | fields))


def rows(squad) -> dict[type, object]:
    """One row of each table of the record."""
    player, session = f.PlayerFactory(squad=squad), f.SessionFactory(squad=squad)
    told = account(squad, session=session)
    part = line(squad, account=told)
    return {
        Account: told,
        Line: part,
        Presence: Presence.objects.create(line=part, player=player, minutes=12),
        Confirmation: Confirmation.objects.create(session=session, number=1, plan_version=0, by_name="Ash"),
        Declared: Declared.objects.create(
            player=player, day=f.TUESDAY, place="school", kind="full", minutes=5, declared_by="PE", by_name="Ash"
        ),
        MatchMinutes: MatchMinutes.objects.create(
            player=player, opponent="School", kick_off=AT, minutes=60, declared_by="PE", by_name="Ash"
        ),
    }


TABLES = (Account, Line, Presence, Confirmation, Declared, MatchMinutes)


def columns(model) -> list[str]:
    return [field.column for field in model._meta.concrete_fields if field.name != "by"]


@pytest.mark.parametrize("model", TABLES)
def test_the_database_refuses_to_change_any_column_of_a_row(model, squad):
    row = rows(squad)[model]
    for column in columns(model):
        name = connection.ops.quote_name(column)
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE {connection.ops.quote_name(model._meta.db_table)} SET {name} = {name}")
    assert model.objects.get() == row


@pytest.mark.parametrize("model", TABLES)
def test_the_code_refuses_to_change_or_delete_a_row(model, squad):
    row = rows(squad)[model]
    for change in (row.save, row.delete, model.objects.all().delete, lambda: model.objects.update(pk=1)):
        with pytest.raises(TypeError, match="add a new one"):
            change()


def test_a_login_that_goes_leaves_its_rows_behind(squad, head):
    account(squad, by=head, by_name="head")
    head.delete()
    assert Account.objects.values_list("by", "by_name").get() == (None, "head")


def test_rows_go_with_the_squad(squad):
    rows(squad)
    squad.delete()
    assert [model.objects.count() for model in TABLES] == [0] * len(TABLES)


def test_a_spot_of_a_night_is_begun_once(squad):
    first = account(squad)
    account(squad, session=first.session, replaces=first)
    with pytest.raises(IntegrityError), transaction.atomic():
        account(squad, session=first.session)


def test_an_account_is_replaced_once(squad):
    first = account(squad)
    account(squad, session=first.session, replaces=first)
    with pytest.raises(IntegrityError), transaction.atomic():
        account(squad, session=first.session, replaces=first)


@pytest.mark.parametrize("card", RUNGS)
@pytest.mark.parametrize("rung", RUNGS)
def test_the_database_holds_a_rung_above_the_card_only_with_initials_and_a_reason(card, rung, squad):
    if rung in below_or_at(card):
        assert line(squad, rung=rung, card_rung=card).pk
        return
    for initials, reason in (("", ""), ("MA", ""), ("", "They were clean")):
        with pytest.raises(IntegrityError), transaction.atomic():
            line(squad, rung=rung, card_rung=card, initials=initials, reason=reason)
    assert line(squad, rung=rung, card_rung=card, initials="MA", reason="They were clean").pk


@pytest.mark.parametrize(
    "fields", [{"rung": "C9"}, {"share": 101}, {"rung": "C0", "card_rung": "C0", "share": 10}, {"minutes": 601}]
)
def test_a_line_is_whole(fields, squad):
    with pytest.raises(IntegrityError), transaction.atomic():
        line(squad, **fields)


@pytest.mark.parametrize("fields", [{"by_name": ""}, {"title": ""}, {"spot": ""}, {"rpe": 11}])
def test_an_account_is_whole(fields, squad):
    with pytest.raises(IntegrityError), transaction.atomic():
        account(squad, **fields)


def test_a_player_is_in_a_line_once_and_for_a_minute_at_least(squad):
    part, player = line(squad), f.PlayerFactory(squad=squad)
    Presence.objects.create(line=part, player=player, minutes=1)
    for fields in ({"player": player, "minutes": 3}, {"player": f.PlayerFactory(squad=squad), "minutes": 0}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Presence.objects.create(line=part, **fields)


def test_a_number_of_a_record_stands_once(squad):
    session = f.SessionFactory(squad=squad)
    Confirmation.objects.create(session=session, number=1, plan_version=0, by_name="Ash")
    for number in (0, 1):
        with pytest.raises(IntegrityError), transaction.atomic():
            Confirmation.objects.create(session=session, number=number, plan_version=0, by_name="Ash")


@pytest.mark.parametrize(
    "fields", [{"declared_by": ""}, {"place": "moon"}, {"kind": "soft"}, {"minutes": 601}, {"by_name": ""}]
)
def test_declared_contact_is_whole(fields, squad):
    told = {"place": "school", "kind": "full", "minutes": 5, "declared_by": "PE", "by_name": "Ash"} | fields
    with pytest.raises(IntegrityError), transaction.atomic():
        Declared.objects.create(player=f.PlayerFactory(squad=squad), day=f.TUESDAY, **told)


@pytest.mark.parametrize("fields", [{"opponent": ""}, {"minutes": 601}, {"declared_by": ""}, {"source": "rumour"}])
def test_match_minutes_are_whole(fields, squad):
    told = {"opponent": "School", "kick_off": AT, "minutes": 60, "declared_by": "PE", "by_name": "Ash"} | fields
    with pytest.raises(IntegrityError), transaction.atomic():
        MatchMinutes.objects.create(player=f.PlayerFactory(squad=squad), **told)


def test_minutes_of_a_fixture_begin_once(squad):
    player, fixture = f.PlayerFactory(squad=squad), f.FixtureFactory(squad=squad)
    told = {"player": player, "fixture": fixture, "kick_off": AT, "declared_by": "sheet", "by_name": "Ash"}
    first = MatchMinutes.objects.create(minutes=60, **told)
    MatchMinutes.objects.create(minutes=50, replaces=first, **told)
    with pytest.raises(IntegrityError), transaction.atomic():
        MatchMinutes.objects.create(minutes=40, **told)


@pytest.mark.parametrize("fields", [{"state": "guess"}, {"load": -1}])
def test_a_day_is_whole(fields, squad):
    with pytest.raises(IntegrityError), transaction.atomic():
        PlayerDay.objects.create(player=f.PlayerFactory(squad=squad), day=f.TUESDAY, **fields)


def test_a_player_has_one_row_a_day(squad):
    player = f.PlayerFactory(squad=squad)
    PlayerDay.objects.create(player=player, day=f.TUESDAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        PlayerDay.objects.create(player=player, day=f.TUESDAY)
