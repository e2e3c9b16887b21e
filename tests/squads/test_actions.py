"""What people do to squads, players, absences, clearances and rules, with its entry in the audit chain."""

import datetime as dt

import pytest

from shared.audit import broken_links
from shared.clock import today_at
from shared.models import AuditEvent
from squads.actions import (
    Refused,
    add_contact_rules,
    add_player,
    choose_rules,
    edit_player,
    leave_squad,
    mark_away,
    remove_absence,
    save_squad,
)
from squads.clearance_actions import record_clearance
from squads.models import Absence, Clearance, ContactRules, Player, Squad
from squads.published import PUBLISHED
from tests import factories as f

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 10, 6)
WEEK = dt.timedelta(7)
DECISION = {"level": "none", "decided_by": "R. Lomax", "decided_as": "physiotherapist"}


@pytest.fixture
def ann(squad):
    return f.PlayerFactory(squad=squad, given_name="Ann", family_name="Ferris", key="B7", main_position=12)


def told(club):
    assert list(broken_links(club)) == []
    return [(event.actor, event.did, event.subject) for event in AuditEvent.objects.order_by("number")]


def test_a_squad_is_made_and_changed(club, head):
    made = save_squad(squad=Squad(club=club), by=head, name="Colts", slug="colts", age_from=17)
    save_squad(squad=made, by=head, name="Under-17s")
    assert Squad.objects.get(slug="colts").name == "Under-17s"
    assert told(club) == [("head", "made squad", "Colts"), ("head", "changed squad", "Under-17s")]


def test_a_short_name_in_use_is_refused(squad, head):
    with pytest.raises(Refused, match="short name already"):
        save_squad(squad=Squad(club=squad.club), by=head, name="Others", slug=squad.slug)


def test_a_player_without_a_reference_gets_the_next_of_ours(squad, head):
    f.PlayerFactory(squad=squad, key="made-7")
    f.PlayerFactory(squad=squad, key="made-up")
    fields = {"given_name": "Bo", "family_name": "Marr", "main_position": 9}
    assert add_player(squad=squad, by=head, **fields).key == "made-8"
    assert told(squad.club) == [("head", "added player", "Bo Marr")]


def test_a_reference_in_use_is_refused(squad, head, ann):
    with pytest.raises(Refused, match="The reference B7 belongs to Ann Ferris already"):
        add_player(squad=squad, by=head, key="B7", given_name="Bo", family_name="Marr", main_position=9)
    other = f.PlayerFactory(squad=squad)
    with pytest.raises(Refused, match="belongs to Ann Ferris"):
        edit_player(player=other, by=head, key="B7")
    assert not AuditEvent.objects.exists()


def test_an_edit_names_the_fields_that_changed(squad, head, ann):
    edit_player(player=ann, by=head, main_position=13, given_name="Ann")
    ann.refresh_from_db()
    assert ann.main_position == 13
    assert AuditEvent.objects.get().detail == {"squad": "firsts", "fields": ["main_position"]}


def test_an_edit_over_somebody_elses_is_refused(head, ann):
    seen = ann.fingerprint
    edit_player(player=ann, by=head, seen=seen, given_name="Anne")
    with pytest.raises(Refused, match="Somebody else changed this player meanwhile"):
        edit_player(player=ann, by=head, seen=seen, given_name="Anna")
    assert Player.objects.get().given_name == "Anne"


def test_a_player_leaves_and_comes_back(club, head, ann):
    leave_squad(player=ann, left=DAY, by=head)
    leave_squad(player=ann, left=None, by=head)
    assert Player.objects.get().left is None
    assert told(club) == [("head", "noted leaving", "Ann Ferris"), ("head", "took back player", "Ann Ferris")]


def test_nobody_leaves_before_joining(head, squad):
    player = f.PlayerFactory(squad=squad, joined=DAY)
    with pytest.raises(Refused, match="cannot leave before joining"):
        leave_squad(player=player, left=DAY - WEEK, by=head)


def test_several_players_are_marked_away_at_once(club, squad, assistant):
    players = f.PlayerFactory.create_batch(3, squad=squad)
    mark_away(players=players, first=DAY, last=DAY + WEEK, by=assistant, said_by="text message")
    rows = Absence.objects.values_list("first_day", "last_day", "said_by", "entered_by")
    assert set(rows) == {(DAY, DAY + WEEK, "text message", assistant.pk)}
    assert Absence.objects.count() == AuditEvent.objects.count() == 3


def test_who_is_away_already_is_not_marked_twice(assistant, ann):
    mark_away(players=[ann], first=DAY, last=DAY + WEEK, by=assistant)
    assert mark_away(players=[ann], first=DAY, last=DAY, by=assistant) == []
    assert len(mark_away(players=[ann], first=DAY, last=DAY + WEEK + WEEK, by=assistant)) == 1


def test_an_absence_that_ends_before_it_begins_is_refused(assistant, ann):
    with pytest.raises(Refused):
        mark_away(players=[ann], first=DAY, last=DAY - WEEK, by=assistant)
    assert not Absence.objects.exists()


def test_an_absence_is_taken_back(club, assistant, ann):
    (absence,) = mark_away(players=[ann], first=DAY, last=DAY, by=assistant)
    remove_absence(absence=absence, by=assistant)
    assert not Absence.objects.exists()
    assert told(club)[-1] == ("assistant", "took back absence", "Ann Ferris")


def test_a_clearance_is_recorded_with_who_decided_and_who_entered_it(club, welfare, ann):
    today = today_at(club)
    record_clearance(player=ann, by=welfare, from_day=today, decided_on=today, **DECISION)
    decision = Clearance.objects.get()
    assert (decision.level, decision.decided_by, decision.entered_by) == ("none", "R. Lomax", welfare)
    assert AuditEvent.objects.get().detail == {
        "level": "none",
        "from_day": today.isoformat(),
        "decided_by": "R. Lomax",
        "decided_as": "physiotherapist",
        "decided_on": today.isoformat(),
    }


def test_a_decision_of_tomorrow_is_refused(club, welfare, ann):
    tomorrow = today_at(club) + dt.timedelta(1)
    with pytest.raises(Refused, match="cannot be dated after today"):
        record_clearance(player=ann, by=welfare, from_day=tomorrow, decided_on=tomorrow, **DECISION)
    assert not Clearance.objects.exists()


def test_a_published_set_is_taken_over_with_its_source(club, welfare):
    choose_rules(club=club, preset="world-rugby-2021", valid_from=DAY, by=welfare)
    rules = ContactRules.objects.get()
    # World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021, as reported in the press:
    # at most 15 min full contact on at most 2 days, 40 min controlled contact and 30 min live set piece a week.
    assert rules.weekly == {"full": 15, "controlled": 40, "set_piece": 30}
    assert rules.full_days == 2
    assert rules.source == "World Rugby and International Rugby Players, Contact Load Guidelines, 23 September 2021"
    assert told(club)[0][:2] == ("welfare", "chose contact rules")


def test_the_age_grade_set_keeps_what_the_english_union_published(club, welfare):
    rules = choose_rules(club=club, preset="rfu-age-grade", valid_from=DAY, by=welfare)
    # RFU, age-grade contact training guidance for under-13 to under-18 (web page): at most 15 min a week at maximum
    # or high intensity and 30 min at medium intensity.
    assert rules.weekly == {"full": 15, "controlled": 30}


@pytest.mark.parametrize("published", PUBLISHED.values(), ids=lambda each: each.key)
def test_every_published_set_says_what_is_unsure(published):
    assert len(published.unsure) >= 1
    assert published.source != ""


def test_rules_for_a_squad_of_another_club_are_refused(club, welfare):
    with pytest.raises(Refused):
        add_contact_rules(club=club, squad=f.SquadFactory(), by=welfare, name="x", source="y", valid_from=DAY)
    assert not ContactRules.objects.exists()
