"""Skills and rungs of a player's ledger: what he was trained in, against his group's target, by the record."""

from __future__ import annotations

import datetime as dt

import pytest

from drills.models import DrillSkill
from planner.core.record import Here, Part
from planner.ledger import Weeks, ledger_of, with_terms
from planner.models import GroupTarget, Session
from planner.record_actions import confirm_night, correct_line
from squads.models import Player
from tests import factories as f
from tests.planner.block_cast import wish
from tests.planner.ledger.cast import TODAY, address
from tests.planner.record.conftest import NEXT_DAY

OCTOBER_5 = dt.date(2026, 10, 5)
TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def confirm(evening, head, on):
    def confirmed(session: Session | None = None):
        session = session or evening.session
        return confirm_night(session=session, by=head, version=session.plan_version, now=NEXT_DAY)

    return confirmed


def ledger(player, monday=OCTOBER_5, weeks=4, today=TODAY):
    span = Weeks(monday, weeks)
    return ledger_of(with_terms(Player.objects.all(), span.last_day).get(pk=player.pk), span, today)


def line(found, code):
    return next(each for each in found.skills if each.figure.name == code)


def test_minutes_are_those_of_the_record_times_the_share_of_the_card(evening, confirm):
    wish(evening.cast.squad, "I04", 30)
    confirm()
    found = line(ledger(evening.players[0]), "I04")
    assert (found.figure.minutes, found.figure.target, found.planned) == (24, 30, 0)  # 12 live, then 12 at bags
    assert (found.figure.last, found.weeks) == (TUESDAY, 0)


def test_a_corrected_night_counts_as_it_was_corrected(evening, confirm, head):
    confirm()
    parts = [Part(5, "C4", 25, "C4", {evening.players[0].pk: Here(5)})]
    spot = evening.spot(evening.live)
    seen = evening.record(NEXT_DAY).standing[spot].pk
    correct_line(
        session=evening.session, spot=spot, parts=parts, seen=seen, by=head, may_correct=True, now=NEXT_DAY, why="Late"
    )
    assert line(ledger(evening.players[0]), "I04").figure.minutes == 17
    assert line(ledger(evening.players[1]), "I04").figure.minutes == 12


def test_a_share_for_some_roles_counts_for_them_alone(evening, confirm):
    backs = f.SkillFactory(club=evening.cast.squad.club, code="B02", name="Pendulum")
    DrillSkill.objects.create(drill=evening.bags, skill=backs, share=50, roles=["B3"])
    confirm()
    prop, wing = evening.players[0], f.PlayerFactory(squad=evening.cast.squad, main_position=14)
    assert [each.figure.name for each in ledger(prop).skills] == ["I04"]
    assert ledger(wing).skills == ()


def test_a_night_just_over_stands_beside_and_is_not_counted(evening, on):
    on(dt.date(2026, 10, 7))
    found = line(ledger(evening.players[0]), "I04")
    assert (found.figure.minutes, found.planned, found.weeks) == (0, 24, None)


def test_a_night_that_has_not_begun_is_neither(evening, on):
    on(dt.date(2026, 10, 5))
    assert ledger(evening.players[0], today=dt.date(2026, 10, 5)).skills == ()


def test_what_was_longest_left_alone_stands_first_and_what_nobody_asks_for_last(evening, confirm):
    for code in ("U01", "I04", "K01"):
        wish(evening.cast.squad, code, 12)
    f.SkillFactory(club=evening.cast.squad.club, code="T01")
    confirm()
    other = f.SkillFactory(club=evening.cast.squad.club, code="S01")
    DrillSkill.objects.filter(drill=evening.bags).update(skill=other)
    assert [each.figure.name for each in ledger(evening.players[0]).skills] == ["K01", "U01", "I04"]


def test_a_target_is_in_proportion_to_the_weeks_and_a_retired_skill_asks_for_nothing(evening, on):
    wish(evening.cast.squad, "I04", 20)
    wish(evening.cast.squad, "U01", 20)
    skill = GroupTarget.objects.filter(skill__code="U01").first().skill
    skill.retired_on = dt.date(2026, 9, 1)
    skill.save()
    found = ledger(evening.players[0], weeks=12)
    assert [(each.figure.name, each.figure.target) for each in found.skills] == [("I04", 60)]


def test_minutes_before_the_weeks_shown_say_only_when_it_was_trained_last(evening, confirm):
    confirm()
    later = ledger(evening.players[0], monday=dt.date(2026, 11, 23), today=dt.date(2026, 11, 27))
    found = line(later, "I04")
    assert (found.figure.minutes, found.figure.last, found.weeks) == (0, TUESDAY, 7)


def test_a_rung_is_passed_on_the_day_its_minutes_reach_what_the_rules_ask(evening, confirm):
    ladder = f.LadderFactory(club=evening.cast.squad.club, code="A", name="Front-on")
    for step, drill in enumerate((evening.bags, evening.live), 1):
        drill.ladder, drill.step = ladder, step
        drill.save()
    evening.cast.squad.club.contact_rules.update(ladder_minutes=12)
    confirm()
    found = [(each.ladder, each.rung, each.passed_on, each.minutes) for each in ledger(evening.players[0]).rungs]
    assert found == [("A Front-on", "C2", TUESDAY, 12), ("A Front-on", "C4", TUESDAY, 12)]
    evening.cast.squad.club.contact_rules.update(ladder_minutes=13)
    assert [each.passed_on for each in ledger(evening.players[0]).rungs] == [None, None]


def test_the_page_tells_minutes_target_last_day_and_rungs_in_words(evening, confirm, welfare, log_in):
    wish(evening.cast.squad, "I04", 30)
    confirm()
    text = log_in(welfare).get(address(evening.players[0])).content.decode()
    assert "I04 Front-on tackle" in text
    assert "24 of 30 min" in text
    assert 'this week <span class="soft">6 Oct 2026</span>' in text
    assert "a coach decides that" in text


def test_a_planned_station_of_a_night_just_over_is_shown_beside(evening, on, head, log_in):
    on(dt.date(2026, 10, 7))
    text = log_in(head).get(address(evening.players[0])).content.decode()
    assert "+ 24 planned, night still open" in text
    DrillSkill.objects.filter(drill=evening.bags).update(share=50)
    text = log_in(head).get(address(evening.players[0])).content.decode()
    assert "+ 24 planned, night still open" in text  # kept: rows past the verbs move no audit chain
