"""What somebody may try with limits, answers and signatures, through the pages: twice, too late, in the wrong role."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client
from django.utils import timezone

from planner.core.record import Here, Part
from planner.models import Station
from planner.record_actions import confirm_night, correct_line
from planner.record_models import Account, Presence
from planner.report import report_of
from planner.season_figures import KEPT
from planner.welfare_models import Excess, ExcessDecision, WeekChecked
from shared.models import Membership
from squads.actions import add_contact_rules
from tests import factories as f
from tests.planner.welfare.cast import FRIDAY, MONDAY
from tests.planner.welfare.test_week import PAGE, read, week

CLUB = "/c/brackenford/"
AFTER = dt.datetime(2026, 10, 9, 9, tzinfo=f.LONDON)


def as_user(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def past(cast, on):
    """One player is past the limit of full contact with Thursday's plan; it is Monday."""
    cast.contact(cast.tuesday, 900, cast.players[:1])
    cast.contact(cast.thursday, 800, cast.players[:1])
    on(MONDAY)
    KEPT.forget()
    return cast


def ask(cast, user, why: str = "Cup week"):
    address = f"{CLUB}sessions/{cast.thursday.pk}/excess/"
    told = {"chosen": f"{cast.players[0].pk}:full", "why": why}
    return as_user(user).post(address, told, follow=True)


def answer(user, excess, approved: str = "yes", why: str = "once", club: str = CLUB):
    return as_user(user).post(f"{club}excess/{excess.pk}/decide/", {"approved": approved, "why": why}, follow=True)


# Asking


def test_a_button_pressed_twice_asks_once(past, head):
    ask(past, head)
    assert "the answer is still to come" in ask(past, head).content.decode()
    assert Excess.objects.count() == 1


def test_without_a_reason_nothing_is_asked(past, head):
    ask(past, head, why="  ")
    assert not Excess.objects.exists()


def test_nobody_can_be_added_by_hand_who_is_past_nothing(past, head):
    told = {"chosen": f"{past.players[1].pk}:full", "why": "x"}
    as_user(head).post(f"{CLUB}sessions/{past.thursday.pk}/excess/", told)
    assert not Excess.objects.exists()


@pytest.mark.parametrize(("minutes", "is_note"), [(-1, False), (0, True), (30, True)])
def test_from_the_first_minute_of_the_night_on_it_is_a_note_on_the_same_day_too(
    past, head, monkeypatch, on, minutes, is_note
):
    moment = past.thursday.starts_at + dt.timedelta(minutes=minutes)
    on(past.thursday.day)
    monkeypatch.setattr(timezone, "now", lambda: moment)
    page = as_user(head).get(f"{CLUB}sessions/{past.thursday.pk}/excess/").content.decode()
    assert ("Note what went beyond a limit" in page) == is_note
    ask(past, head)
    assert Excess.objects.get().is_note == is_note


def test_an_answer_that_comes_after_the_night_had_begun_says_so(past, head, welfare, monkeypatch, on):
    ask(past, head)
    on(FRIDAY)
    monkeypatch.setattr(timezone, "now", lambda: AFTER)
    answer(welfare, Excess.objects.get())
    assert "answered when the night had begun" in read(as_user(welfare), PAGE)


# Answering


def test_the_first_of_two_answers_stays_and_the_second_person_is_told(past, club, head, welfare):
    ask(past, head)
    second = f.MembershipFactory(club=club, role="welfare_officer").user
    answer(welfare, Excess.objects.get(), approved="no", why="He played on Saturday")
    told = answer(second, Excess.objects.get()).content.decode()
    assert "This was answered meanwhile" in told
    decision = ExcessDecision.objects.get()
    assert (decision.approved, decision.why) == (False, "He played on Saturday")


def test_who_asked_as_head_coach_cannot_answer_as_welfare_officer(past, club, head):
    ask(past, head)
    boss = f.MembershipFactory(club=club, role="head_coach").user
    own = Membership.objects.get(user=head)
    as_user(boss).post(f"{CLUB}members/{own.pk}/", {"role": "welfare_officer", "why": "took over"})
    own.refresh_from_db()
    assert own.role == "welfare_officer"
    excess = Excess.objects.get()
    assert 'name="approved"' not in as_user(head).get(f"{CLUB}excess/{excess.pk}/").content.decode()
    assert "You asked for this yourself" in answer(head, excess).content.decode()
    assert not ExcessDecision.objects.exists()


def test_a_welfare_officer_of_one_club_who_coaches_here_answers_nothing_here(past, head, assistant):
    ask(past, head)
    theirs = f.MembershipFactory(club__slug="elsewhere", user=assistant, role="welfare_officer").club
    excess = Excess.objects.get()
    assert answer(assistant, excess).status_code == 403
    assert answer(assistant, excess, club=f"/c/{theirs.slug}/").status_code == 404
    assert not ExcessDecision.objects.exists()


@pytest.mark.parametrize(
    "told", [{"approved": "yes", "why": ""}, {"approved": "", "why": "x"}, {"approved": "perhaps", "why": "x"}]
)
def test_an_answer_without_a_reason_or_without_a_yes_or_no_is_none(past, head, welfare, told):
    ask(past, head)
    assert answer(welfare, Excess.objects.get(), **told).status_code == 200
    assert not ExcessDecision.objects.exists()


# Signing


def test_a_button_pressed_twice_signs_once(past, welfare):
    digest = week(past).looked.digest
    as_user(welfare).post(PAGE + "sign/", {"digest": digest})
    told = as_user(welfare).post(PAGE + "sign/", {"digest": digest}, follow=True)
    assert "welfare has signed these figures already." in told.content.decode()
    assert WeekChecked.objects.count() == 1


@pytest.mark.parametrize("role", ["head_coach", "assistant", "medical"])
def test_only_a_welfare_officer_signs(past, club, role):
    member = f.MembershipFactory(club=club, role=role).user
    assert as_user(member).post(PAGE + "sign/", {"digest": week(past).looked.digest}).status_code == 403
    assert not WeekChecked.objects.exists()


def test_rules_that_are_recorded_later_for_an_earlier_day_turn_a_signed_week_to_check_again(past, club, welfare):
    """The week before they hold keeps what it had, and what it was signed for."""
    client = as_user(welfare)
    before = PAGE.replace("2026-10-05", "2026-09-28")
    for page, monday in ((PAGE, MONDAY), (before, MONDAY - dt.timedelta(days=7))):
        digest = client.get(page).content.decode().partition('name="digest" value="')[2].partition('"')[0]
        client.post(page + "sign/", {"digest": digest})
        assert WeekChecked.objects.filter(monday=monday).exists()
    add_contact_rules(
        club=club, by=welfare, name="Stricter", source="Paper of October", valid_from=MONDAY, full_minutes=10
    )
    assert "check again" in read(client, PAGE)
    assert "Limits: Stricter, from 5 Oct 2026" in read(client, PAGE)
    assert "check again" not in read(client, before)
    assert "Limits: Club rules, from 1 Jul 2026" in read(client, before)


# Breaches first


def test_contact_in_spite_of_a_status_stands_above_the_largest_excess(past, welfare):
    """A hundredth of a minute is enough, and it is above what waits for an answer too."""
    past.contact(past.thursday, 3000, past.players[2:3])
    past.restrict(past.players[3])
    past.contact(past.tuesday, 1, past.players[3:4], "C2")
    text = read(as_user(welfare), PAGE)
    spite, excess = text.index(past.players[3].sheet_name), text.index(past.players[2].sheet_name)
    assert text.index("In contact in spite of a status") < spite < text.index("Past a limit") < excess


def test_contact_that_took_place_in_spite_of_a_status_is_counted_and_the_pages_say_so(cast, head):
    """Planned contact of the same player is not: there he stands aside."""
    station = cast.contact(cast.tuesday, 500, cast.players[:1])
    planned = cast.contact(cast.thursday, 400, cast.players[:1])
    confirm_night(session=cast.tuesday, by=head, version=cast.tuesday.plan_version, now=AFTER)
    cast.restrict(cast.players[0])
    KEPT.forget()
    page = read(as_user(head), PAGE)
    assert f"Tue 6 Oct , {station.drill}, 1 min" in page  # the last of its five minutes
    assert f"Thu 8 Oct , {planned.drill}, planned, not counted" in page
    totals = read(as_user(head), f"{CLUB}totals/?week=2026-10-05")
    assert f"took part in {station.drill}, Tue 6 Oct; counted" in totals
    assert f"placed at {planned.drill}, Thu 8 Oct; not counted" in totals
    assert "5 of 15 min" in totals
    now = read(as_user(head))
    assert f"Tue {station.drill} 1 (not allowed that day)" in now
    assert f"Thu {planned.drill} (not allowed that day, not counted)" in now


# What ran, not what was planned


@pytest.fixture
def ladder(cast, head):
    """Tuesday's live rung was planned for two players: one was dropped to bags, the other was not there."""
    ladder = f.LadderFactory(club=cast.squad.club, code="A", name="Front-on")
    station = cast.contact(cast.tuesday, 100, cast.players[:2])
    Station.objects.filter(pk=station.pk).update(coach="Ash")
    station.drill.ladder, station.drill.step = ladder, 1
    station.drill.save()
    night = cast.tuesday
    confirm_night(session=night, by=head, version=night.plan_version, coaches=["Bo"], first_aider="Cy", now=AFTER)
    account = Account.objects.get(session=night, drill=station.drill)
    parts = [Part(1, "C2", 100, "C4", {cast.players[0].pk: Here(1)})]
    correct_line(
        session=night, spot=account.spot, parts=parts, seen=account.pk, by=head, may_correct=True, why="wet", now=AFTER
    )
    return cast


def steps(cast, player):
    found = report_of(cast.players[player], MONDAY, 4, FRIDAY).steps
    return [(step.ladder, step.rung, step.coach, step.nights) for step in found]


def test_a_rung_counts_as_passed_where_he_worked_at_it_and_not_where_the_plan_put_him(ladder):
    assert steps(ladder, 0) == [("Front-on", "C2", "Ash", 1)]
    assert steps(ladder, 1) == []


def test_whoever_stood_aside_from_the_contact_has_not_passed_the_rung(ladder, head):
    night = ladder.tuesday
    account = Account.objects.get(session=night, replaced_by=None, drill__ladder__code="A")
    parts = [Part(1, "C4", 100, "C4", {ladder.players[0].pk: Here(1, aside=True), ladder.players[2].pk: Here(1)})]
    correct_line(
        session=night, spot=account.spot, parts=parts, seen=account.pk, by=head, may_correct=True, why="x", now=AFTER
    )
    assert steps(ladder, 0) == []
    assert steps(ladder, 2) == [("Front-on", "C4", "Ash", 1)]


def test_the_report_names_who_was_in_charge_as_run_and_how_many_were_there(ladder, welfare, head):
    night = report_of(ladder.players[0], MONDAY, 4, FRIDAY).nights[0]
    there = Presence.objects.filter(line__account__session=ladder.tuesday, line__account__replaced_by=None)
    assert (night.coaches, night.first_aider) == (("Bo",), "Cy")
    assert night.players == there.values("player").distinct().count()
    page = read(as_user(welfare), f"{CLUB}players/{ladder.players[0].pk}/report/?week=2026-10-05")
    assert "Bo ; first aider Cy" in page or "Bo; first aider Cy" in page
