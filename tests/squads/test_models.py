"""What the database itself keeps, and what rows say of themselves."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from shared.core.contact import Level
from squads.models import Absence, Clearance, ContactRules, Player, Squad
from tests import factories as f

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 10, 6)
BEFORE = DAY - dt.timedelta(1)


def refused(make):
    with pytest.raises(IntegrityError), transaction.atomic():
        make()
    return True


def clearance(player, level="none", from_day=DAY, **fields):
    fields = {"decided_by": "R. Lomax", "decided_as": "physiotherapist", "decided_on": from_day} | fields
    return Clearance.objects.create(player=player, level=level, from_day=from_day, **fields)


def test_a_short_name_is_unique_in_its_club_only(squad):
    assert refused(lambda: Squad.objects.create(club=squad.club, name="Other", slug=squad.slug))
    assert Squad.objects.create(club=f.ClubFactory(), name="Other", slug=squad.slug)


def test_a_reference_is_unique_in_its_squad_only(squad):
    f.PlayerFactory(squad=squad, key="B7")
    assert refused(lambda: f.PlayerFactory(squad=squad, key="B7"))
    assert f.PlayerFactory(squad=f.SquadFactory(club=squad.club), key="B7")


@pytest.mark.parametrize("number", [0, 16])
def test_a_main_position_is_a_shirt_from_1_to_15(squad, number):
    assert refused(lambda: f.PlayerFactory(squad=squad, main_position=number))
    assert f.PlayerFactory(squad=squad, main_position=1)
    assert f.PlayerFactory(squad=squad, main_position=15)


@pytest.mark.parametrize("field", ["key", "given_name", "family_name"])
def test_a_player_has_a_reference_and_both_names(squad, field):
    assert refused(lambda: f.PlayerFactory(squad=squad, **{field: ""}))
    assert f.PlayerFactory(squad=squad, **{field: "A"})


def test_a_size_band_is_one_of_three(squad):
    assert refused(lambda: f.PlayerFactory(squad=squad, size_band="vast"))
    assert f.PlayerFactory(squad=squad, size_band="heavy")


def test_a_player_leaves_on_or_after_the_day_of_joining(squad):
    assert refused(lambda: f.PlayerFactory(squad=squad, joined=DAY, left=BEFORE))
    assert f.PlayerFactory(squad=squad, joined=DAY, left=DAY)


def test_an_absence_ends_on_or_after_its_first_day(squad):
    player = f.PlayerFactory(squad=squad)
    assert refused(lambda: Absence.objects.create(player=player, first_day=DAY, last_day=BEFORE))
    assert Absence.objects.create(player=player, first_day=DAY, last_day=DAY)


@pytest.mark.parametrize("wrong", [{"level": "rested"}, {"decided_by": ""}, {"decided_as": ""}])
def test_a_clearance_has_a_known_level_and_somebody_who_decided(squad, wrong):
    player = f.PlayerFactory(squad=squad)
    assert refused(lambda: clearance(player, **wrong))
    assert clearance(player)


@pytest.mark.parametrize(
    "wrong",
    [
        {"source": ""},
        {"near_percent": 0},
        {"near_percent": 101},
        {"full_days": 8},
        {"free_days": 8},
        {"age_from": 18, "age_to": 13},
        {"controlled_after_match": 4},
        {"controlled_before_match": 4},
    ],
)
def test_contact_rules_hold_together(club, wrong):
    assert refused(lambda: f.ContactRulesFactory(club=club, **wrong))
    assert f.ContactRulesFactory(club=club, near_percent=100, full_days=7, free_days=7, controlled_after_match=3)
    assert f.ContactRulesFactory(club=club, age_from=13, age_to=13)


@pytest.mark.parametrize(
    ("band", "grade", "fits", "words"),
    [
        ((13, 18), 16, True, "under-13 to under-18"),
        ((13, 18), 12, False, "under-13 to under-18"),
        ((13, 18), None, False, "under-13 to under-18"),
        ((None, 12), 12, True, "up to under-12"),
        ((17, None), None, True, "under-17 and older"),
        ((None, None), None, True, ""),
    ],
)
def test_rules_tell_for_whom_they_are_written_and_whether_a_squad_is_among_them(club, band, grade, fits, words):
    rules = f.ContactRulesFactory(club=club, age_from=band[0], age_to=band[1])
    assert (rules.fits(f.SquadFactory(club=club, age_from=grade)), rules.age_band) == (fits, words)


def test_limits_that_are_empty_do_not_bind(club):
    assert f.ContactRulesFactory(club=club, match_minutes=120, match_hours=0).other_limits == {
        "full_days": 2,
        "match_minutes": 120,
        "match_hours": 0,
    }


def test_a_clearance_is_never_changed(squad):
    decision = clearance(f.PlayerFactory(squad=squad))
    decision.level = "full"
    with pytest.raises(TypeError):
        decision.save()
    with pytest.raises(TypeError):
        Clearance.objects.filter(pk=decision.pk).update(level="full")
    assert Clearance.objects.get().level == "none"


def test_a_clearance_outlives_the_account_that_entered_it(squad, welfare):
    clearance(f.PlayerFactory(squad=squad), entered_by=welfare)
    welfare.delete()
    assert Clearance.objects.get().entered_by is None


def test_a_clearance_has_no_column_for_a_reason():
    """A reason stands in a medical note or nowhere: a new column here needs somebody's thought."""
    assert [field.name for field in Clearance._meta.concrete_fields] == [
        *("id", "player", "level", "from_day", "decided_by", "decided_as", "decided_on"),
        *("review_on", "review_by", "allowed_work", "not_allowed_work", "letter_received", "case"),
        *("entered_by", "entered_at"),
    ]
    assert [field.name for field in Absence._meta.concrete_fields] == [
        *("id", "player", "first_day", "last_day", "said_by", "entered_by", "entered_at"),
    ]


def test_a_ceiling_is_read_from_the_rows_of_a_player(squad):
    player = f.PlayerFactory(squad=squad)
    rules = f.ContactRulesFactory(club=squad.club)
    clearance(player, "controlled")
    assert player.ceiling_on(BEFORE).level is Level.FULL
    assert player.ceiling_on(DAY).level is Level.CONTROLLED
    assert player.ceiling_on(DAY, matches=[DAY + dt.timedelta(1)], rules=rules).level is Level.NONE
    Absence.objects.create(player=player, first_day=DAY, last_day=DAY)
    assert Player.objects.get(pk=player.pk).ceiling_on(DAY).level is Level.ABSENT


def test_the_clearance_in_force_is_the_latest_decision_that_has_begun(squad):
    player = f.PlayerFactory(squad=squad)
    out = clearance(player, "absent")
    planned = clearance(player, "full", from_day=DAY + dt.timedelta(9), decided_on=DAY)
    assert player.clearance_on(BEFORE) is None
    assert player.clearance_on(DAY) == out
    assert player.clearance_on(DAY + dt.timedelta(9)) == planned


def test_availability_of_a_squad_takes_a_fixed_number_of_queries(squad, django_assert_num_queries):
    for _ in range(3):
        clearance(f.PlayerFactory(squad=squad))
    with django_assert_num_queries(4):
        assert {player.ceiling_on(DAY).level for player in squad.players.with_availability()} == {Level.NONE}


@pytest.mark.parametrize(("first", "last", "count"), [(3, 4, 0), (3, 5, 1), (5, 5, 1), (9, 9, 1), (10, 12, 0)])
def test_a_player_is_in_the_squad_from_joining_to_the_last_day(squad, first, last, count):
    f.PlayerFactory(squad=squad, joined=dt.date(2026, 10, 5), left=dt.date(2026, 10, 9))
    found = squad.players.in_squad_on(dt.date(2026, 10, first), dt.date(2026, 10, last))
    assert found.count() == count


def test_rules_in_force_are_the_newest_and_a_squads_own_before_those_for_all(squad):
    rules = ContactRules.objects
    everybody = f.ContactRulesFactory(club=squad.club, valid_from=DAY)
    f.ContactRulesFactory(valid_from=DAY)  # of another club
    assert rules.in_force(squad, BEFORE) is None
    assert rules.in_force(squad, DAY) == everybody
    newer = f.ContactRulesFactory(club=squad.club, valid_from=DAY)
    assert rules.in_force(squad, DAY) == newer
    own = f.ContactRulesFactory(club=squad.club, squad=squad, valid_from=BEFORE)
    assert rules.in_force(squad, DAY) == own
    assert rules.in_force(f.SquadFactory(club=squad.club), DAY) == newer
