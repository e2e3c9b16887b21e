"""Contact elsewhere and minutes in matches: told by somebody, corrected by a new row, added up by day."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.changes import Refused
from planner.declared_actions import declare_contact, note_match_elsewhere, note_match_minutes
from planner.record_models import Declared, Elsewhere, MatchMinutes, PlayerDay
from planner.rpe import Occasion
from planner.rpe_actions import Told, note_rpe
from shared.core.contact import Kind
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.venues.cast import venue_of

SUNDAY = dt.date(2026, 10, 11)
SATURDAY = dt.date(2026, 10, 10)


@pytest.fixture
def player(squad):
    return f.PlayerFactory(squad=squad)


@pytest.fixture
def fixture(squad):
    return f.FixtureFactory(squad=squad)


def declare(player, by, minutes=10, **how):
    told = {"day": SATURDAY, "place": Elsewhere.SCHOOL, "kind": Kind.FULL, "declared_by": "PE teacher"} | how
    return declare_contact(player=player, minutes=minutes, by=by, today=SUNDAY, **told)


def note(fixture, by, minutes, seen=None, **how):
    seen = {player.pk: None for player in minutes} | (seen or {})
    told = {"declared_by": "team sheet", "today": SUNDAY} | how
    return note_match_minutes(fixture=fixture, minutes=minutes, seen=seen, by=by, **told)


def test_declared_minutes_count_in_full_on_their_day(player, assistant):
    row = declare(player, assistant)
    day = PlayerDay.objects.get()
    assert (day.player, day.day, day.declared_full, day.state, day.load) == (player, SATURDAY, 1000, "declared", None)
    assert (row.declared_by, row.by_name) == ("PE teacher", "assistant")


def test_a_correction_of_declared_minutes_keeps_the_old_row(player, assistant):
    first = declare(player, assistant)
    declare(player, assistant, minutes=4, replaces=first)
    assert PlayerDay.objects.get().declared_full == 400
    assert Declared.objects.count() == 2


def test_a_correction_to_another_day_empties_the_old_one(player, assistant):
    first = declare(player, assistant)
    declare(player, assistant, minutes=4, day=SUNDAY, replaces=first)
    assert [(row.day, row.declared_full) for row in PlayerDay.objects.all()] == [(SUNDAY, 400)]


def test_a_day_on_which_he_trained_elsewhere_has_no_load_before_that_is_taken_from_it(player, assistant):
    night = f.SessionFactory(squad=player.squad, starts_at=dt.datetime(2026, 10, 10, 11, tzinfo=f.LONDON))
    first = declare(player, assistant)
    told = Told(player, Occasion(session=night), 6, minutes=40)
    note_rpe(told=[told], by=assistant, now=dt.datetime(2026, 10, 11, 12, tzinfo=f.LONDON))
    assert PlayerDay.objects.get().load is None
    declare(player, assistant, minutes=4, day=SUNDAY, replaces=first)
    old = PlayerDay.objects.get(day=SATURDAY)
    assert (old.declared_full, old.load, old.state) == (0, 240, "open")


def test_none_at_all_is_a_declaration_too(player, assistant):
    assert declare(player, assistant, minutes=0).minutes == 0


def test_the_second_of_two_corrections_is_shown_both_values(player, assistant, head):
    first = declare(player, assistant)
    declare(player, assistant, minutes=4, replaces=first)
    with pytest.raises(Refused, match="assistant has corrected this meanwhile to 4 min, you to 7 min"):
        declare(player, head, minutes=7, replaces=first)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"day": SUNDAY + dt.timedelta(days=1)}, "still to come"),
        ({"declared_by": " "}, "Say who told it"),
        ({"minutes": 601}, "from 0 to 600"),
        ({"minutes": -1}, "from 0 to 600"),
    ],
)
def test_a_declaration_that_cannot_be_is_refused_in_words(how, said, player, assistant):
    with pytest.raises(Refused, match=said):
        declare(player, assistant, **how)
    assert not Declared.objects.exists()


@pytest.mark.parametrize("fields", [{"joined": SUNDAY}, {"left": SATURDAY - dt.timedelta(days=1)}])
def test_contact_of_a_day_on_which_he_was_not_in_the_squad_is_refused(fields, squad, assistant):
    player = f.PlayerFactory(squad=squad, **fields)
    with pytest.raises(Refused, match="was not in the squad on Sat 10 Oct 2026"):
        declare(player, assistant)


def test_a_row_of_another_player_is_not_replaced(player, squad, assistant):
    first = declare(player, assistant)
    with pytest.raises(Refused, match="of another player"):
        declare(f.PlayerFactory(squad=squad), assistant, replaces=first)


def test_match_minutes_of_a_team_sheet_are_entered_together(player, squad, fixture, assistant):
    other = f.PlayerFactory(squad=squad)
    assert note(fixture, assistant, {player: 80, other: 23}) == 2
    # As a set: ordered by player they come by family name, and "Family100" stands before "Family99".
    assert {(row.player, row.match_minutes) for row in PlayerDay.objects.all()} == {(player, 80), (other, 23)}
    assert {row.kick_off for row in MatchMinutes.objects.all()} == {fixture.kick_off}


def test_the_same_minutes_again_add_no_row(player, fixture, assistant):
    note(fixture, assistant, {player: 80})
    row = MatchMinutes.objects.get()
    assert note(fixture, assistant, {player: 80}) == 0
    assert note(fixture, assistant, {player: 70}, {player.pk: row.pk}) == 1
    assert PlayerDay.objects.get().match_minutes == 70


def test_minutes_that_another_has_entered_meanwhile_are_shown_and_nothing_is_written(player, fixture, assistant, head):
    other = f.PlayerFactory(squad=player.squad)
    note(fixture, assistant, {player: 80})
    with pytest.raises(Refused, match="assistant has noted 80 min meanwhile, you 60"):
        note(fixture, head, {player: 60, other: 20})
    assert MatchMinutes.objects.count() == 1


def test_minutes_of_a_match_abroad_count_on_its_day_there(player, squad, assistant):
    there = venue_of(squad.club, zone="Pacific/Auckland")
    moment = dt.datetime(2026, 10, 9, 20, tzinfo=dt.UTC)  # still Friday at the club
    fixture = f.FixtureFactory(squad=squad, venue=there, kick_off=moment)
    note(fixture, assistant, {player: 60})
    assert (fixture.day, MatchMinutes.objects.get().day) == (SATURDAY, SATURDAY)
    assert [(row.day, row.match_minutes) for row in PlayerDay.objects.all()] == [(SATURDAY, 60)]


def test_a_match_to_come_has_no_minutes(player, fixture, assistant):
    with pytest.raises(Refused, match="still to come"):
        note(fixture, assistant, {player: 80}, today=dt.date(2026, 10, 9))


def test_a_match_elsewhere_counts_on_the_day_of_its_kick_off_at_the_club(player, assistant):
    late = dt.datetime(2026, 10, 10, 23, 30, tzinfo=dt.UTC)  # half past midnight in London
    row = note_match_elsewhere(
        player=player, opponent="School cup", kick_off=late, minutes=35, declared_by="PE teacher", by=assistant,
        today=SUNDAY,
    )  # fmt: skip
    assert row.day == SUNDAY
    assert PlayerDay.objects.get(day=SUNDAY).match_minutes == 35


def test_who_told_what_is_in_the_audit(player, fixture, assistant):
    declare(player, assistant)
    note(fixture, assistant, {player: 80})
    assert list(AuditEvent.objects.order_by("number").values_list("did", flat=True)) == [
        "noted contact elsewhere",
        "noted match minutes",
    ]
    assert AuditEvent.objects.last().detail["minutes"] == {str(player): 80}
