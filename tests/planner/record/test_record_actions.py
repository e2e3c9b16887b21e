"""Recording a night: confirming, correcting, dropping a rung, adding what ran beside the plan."""

from __future__ import annotations

import datetime as dt

import pytest

from planner.changes import Refused
from planner.core.record import Here, Part, Source
from planner.record_actions import add_block, bring_back, confirm_night, correct_charge, correct_line, drop_rung
from planner.record_models import Account, Confirmation, PlayerDay, Presence
from shared.models import AuditEvent
from squads.models import Absence, Clearance
from tests import factories as f
from tests.planner.record.conftest import DURING, NEXT_DAY, THREE_DAYS_ON

BEFORE = dt.datetime(2026, 10, 6, 18, 59, tzinfo=f.LONDON)


def confirm(evening, by, now=DURING):
    return confirm_night(session=evening.session, by=by, version=evening.session.plan_version, now=now)


def correct(evening, by, *, minutes=12, rung="C4", players=4, seen=None, may_correct=False, now=DURING):
    parts = evening.parts(minutes, rung, players)
    spot = evening.spot(evening.live)
    how = {"seen": seen, "may_correct": may_correct, "now": now}
    return correct_line(session=evening.session, spot=spot, parts=parts, by=by, **how)


def full_of(evening, player: int, now=DURING) -> float:
    """Minutes of full contact that count for a player of the evening."""
    key = evening.players[player].pk
    here = [part.here[key] for block in evening.record(now).blocks for part in block.parts
            if part.kind == "full" and key in part.here]  # fmt: skip
    return sum(each.minutes for each in here if not each.aside) * 25 / 100


def test_an_untouched_night_is_confirmed_as_planned(evening, assistant):
    row = confirm(evening, assistant)
    night = evening.record()
    assert (row.number, row.by_name, night.source) == (1, "assistant", Source.CONFIRMED)
    assert [(b.card.title, b.minutes, len(b.players)) for b in night.blocks] == [
        ("Warm-up", 10, 8), (str(evening.live), 12, 4), (str(evening.walk), 12, 4), (str(evening.bags), 12, 8),
    ]  # fmt: skip


def test_a_confirmation_keeps_the_plan_that_was_seen(evening, head):
    row = confirm(evening, head)
    assert row.plan_version == evening.session.plan_version
    assert [(each["title"], each["minutes"], each["rung"]) for each in row.plan] == [
        ("Warm-up", 10, "C0"),
        (str(evening.live), 12, "C4"),
        (str(evening.walk), 12, "C0"),
        (str(evening.bags), 12, "C2"),
    ]


def test_a_night_is_confirmed_once(evening, head, assistant):
    confirm(evening, assistant)
    with pytest.raises(Refused, match="assistant has confirmed"):
        confirm(evening, head)
    assert Confirmation.objects.count() == 1


def test_a_night_that_has_not_begun_has_nothing_to_confirm(evening, head):
    with pytest.raises(Refused, match="has not begun"):
        confirm(evening, head, now=BEFORE)


def test_a_cancelled_night_has_nothing_to_confirm(evening, head):
    type(evening.session).objects.filter(pk=evening.session.pk).update(cancelled=True)
    with pytest.raises(Refused, match="is cancelled"):
        confirm(evening, head)


def test_a_night_that_was_dealt_again_meanwhile_is_looked_at_first(evening, head):
    with pytest.raises(Refused, match="changed this night"):
        confirm_night(session=evening.session, by=head, version=99, now=DURING)
    assert not Account.objects.exists()


def test_whoever_stands_above_his_clearance_is_recorded_aside(evening, head):
    Clearance.objects.create(
        player=evening.players[0], level="none", from_day=f.TUESDAY, decided_by="Robin Ash", decided_as="physio",
        decided_on=f.TUESDAY,
    )  # fmt: skip
    confirm(evening, head)
    assert [full_of(evening, 0), full_of(evening, 1)] == [0, 3.0]
    day = PlayerDay.objects.get(player=evening.players[0])
    assert (day.minutes, day.full, day.controlled) == (34, 0, 0)


def test_whoever_is_away_is_in_no_line(evening, head):
    Absence.objects.create(player=evening.players[0], first_day=f.TUESDAY, last_day=f.TUESDAY)
    confirm(evening, head)
    assert not Presence.objects.filter(player=evening.players[0]).exists()


def test_a_correction_is_a_new_account_that_names_the_old_one(evening, head, assistant):
    first = correct(evening, assistant, minutes=10)
    second = correct(evening, head, minutes=8, seen=first.pk)
    assert second.replaces == first
    assert [line.minutes for account in (first, second) for line in account.lines.all()] == [10, 8]
    assert full_of(evening, 0) == 2.0


def test_a_corrected_line_needs_no_confirmation_to_count(evening, head):
    correct(evening, head, minutes=8)
    assert full_of(evening, 0) == 2.0
    assert evening.record().source is Source.PLANNED


def test_a_correction_after_confirming_raises_the_version_of_the_record(evening, head):
    confirm(evening, head)
    seen = evening.record().standing[evening.spot(evening.live)].pk
    correct(evening, head, minutes=8, seen=seen, may_correct=True, now=NEXT_DAY)
    night = evening.record(NEXT_DAY)
    assert night.version == 2
    assert night.confirmations[1].what == f"{evening.live}: 12 min C4, 4 players → 8 min C4, 4 players"
    assert PlayerDay.objects.get(player=evening.players[0]).full == 200


def test_two_who_record_different_stations_lose_nothing(evening, head, assistant):
    correct(evening, head, minutes=8)
    parts = [Part(14, "C2", 50, "C2", {player.pk: Here(14) for player in evening.players})]
    correct_line(
        session=evening.session, spot=evening.spot(evening.bags, 2), parts=parts, seen=None, by=assistant, now=DURING
    )
    assert [block.minutes for block in evening.record().blocks] == [10, 8, 12, 14]


def test_the_second_of_two_who_record_one_station_is_shown_both_values(evening, head, assistant):
    correct(evening, assistant, minutes=10)
    with pytest.raises(Refused) as refused:
        correct(evening, head, minutes=8)
    assert str(refused.value) == (
        f"{evening.live}: assistant has noted 10 min C4, 4 players meanwhile, you 8 min C4, 4 players. "
        "Nothing was written: save again to keep yours."
    )
    assert Account.objects.count() == 1


def test_two_who_differ_only_in_names_are_shown_the_names(evening, head, assistant):
    correct(evening, assistant)
    parts = evening.parts()
    parts[0].here.pop(evening.players[0].pk)
    parts[0].here[evening.players[5].pk] = Here(12)
    with pytest.raises(Refused) as refused:
        correct_line(
            session=evening.session, spot=evening.spot(evening.live), parts=parts, seen=None, by=head, now=DURING
        )
    assert f"{evening.players[5].sheet_name} 12 min" in str(refused.value)


def test_a_rung_is_dropped_from_a_minute_on(evening, assistant):
    drop_rung(
        session=evening.session, spot=evening.spot(evening.live), rung="C2", minute=8, seen=None, by=assistant,
        now=DURING,
    )  # fmt: skip
    block = evening.record().block(evening.spot(evening.live))
    assert [(part.minutes, part.rung, part.share, len(part.here)) for part in block.parts] == [
        (8, "C4", 25, 4),
        (4, "C2", 25, 4),
    ]
    assert full_of(evening, 0) == 2.0


def test_a_rung_dropped_to_a_walk_through_is_without_contact(evening, assistant):
    drop_rung(
        session=evening.session, spot=evening.spot(evening.live), rung="C0", minute=4, seen=None, by=assistant,
        now=DURING,
    )  # fmt: skip
    assert [part.share for part in evening.record().block(evening.spot(evening.live)).parts] == [25, 0]


def test_dropping_never_raises(evening, head):
    with pytest.raises(Refused, match="C4 is not below what ran"):
        drop_rung(
            session=evening.session, spot=evening.spot(evening.bags, 2), rung="C4", minute=3, seen=None, by=head,
            now=DURING,
        )  # fmt: skip


def test_a_rung_above_the_card_needs_initials_and_a_reason(evening, head):
    parts = [Part(12, "C4", 50, "C2", {evening.players[0].pk: Here(12)})]
    ask = {"session": evening.session, "spot": evening.spot(evening.bags, 2), "seen": None, "by": head, "now": DURING}
    with pytest.raises(Refused, match=r"the card says C2\. Raising a rung needs the initials"):
        correct_line(parts=parts, **ask)
    with pytest.raises(Refused):
        correct_line(parts=[Part(12, "C4", 50, "C2", parts[0].here, initials="MA")], **ask)
    account = correct_line(
        parts=[Part(12, "C4", 50, "C2", parts[0].here, initials="MA", reason="All eight were clean")], **ask
    )
    assert (account.lines.get().rung, account.lines.get().initials) == ("C4", "MA")


def test_what_ran_beside_the_plan_is_added_at_the_end(evening, head):
    parts = [Part(6, "C0", 0, "C0", {player.pk: Here(6) for player in evening.players})]
    add_block(session=evening.session, order=3, parts=parts, drill=evening.cast.drills[1], by=head, now=DURING)
    assert evening.record().blocks[-1].card.title == str(evening.cast.drills[1])


def test_contact_beside_the_plan_needs_initials_and_a_reason(evening, head):
    parts = [Part(6, "C4", 25, "C0", {evening.players[0].pk: Here(6)})]
    with pytest.raises(Refused, match="initials of the lead coach"):
        add_block(session=evening.session, order=3, parts=parts, drill=evening.live, by=head, now=DURING)


def test_a_player_is_not_at_two_stations_at_once(evening, head):
    with pytest.raises(Refused, match=r"would have 24 minutes in this slot"):
        correct(evening, head, players=5)


def test_an_earlier_line_is_brought_back_as_a_new_one(evening, head):
    first = correct(evening, head, minutes=10)
    second = correct(evening, head, minutes=8, seen=first.pk)
    bring_back(
        session=evening.session, spot=evening.spot(evening.live), account=first.pk, seen=second.pk, by=head, now=DURING
    )
    assert full_of(evening, 0) == 2.5
    assert Account.objects.count() == 3


def test_the_plan_is_brought_back_as_a_new_line(evening, head):
    first = correct(evening, head, minutes=10)
    bring_back(
        session=evening.session, spot=evening.spot(evening.live), account=None, seen=first.pk, by=head, now=DURING
    )
    assert full_of(evening, 0) == 3.0


def test_every_step_is_in_the_audit(evening, head, assistant):
    confirm(evening, assistant)
    seen = evening.record().standing[evening.spot(evening.live)].pk
    correct(evening, head, minutes=8, seen=seen, may_correct=True)
    events = list(AuditEvent.objects.values_list("actor", "did").order_by("number"))
    assert events == [("assistant", "confirmed night"), ("head", "recorded station")]
    assert AuditEvent.objects.get(did="recorded station").detail["line"] == (
        f"{evening.live}: 12 min C4, 4 players → 8 min C4, 4 players"
    )


def test_what_is_kept_of_a_day_waits_for_the_confirmation(evening, head):
    correct(evening, head, minutes=8)
    assert not PlayerDay.objects.exists()


def test_after_48_hours_the_plan_counts_as_not_confirmed(evening):
    assert [evening.record(now).source for now in (DURING, NEXT_DAY, THREE_DAYS_ON)] == [
        Source.PLANNED,
        Source.PLANNED,
        Source.NOT_CONFIRMED,
    ]


# Who was in charge


def in_charge(evening, by, seen=1, **given):
    return correct_charge(session=evening.session, seen=seen, by=by, may_correct=True, now=NEXT_DAY, **given)


def test_who_was_in_charge_is_corrected_by_a_new_record_with_old_and_new(evening, head):
    first = confirm(evening, head)
    row = in_charge(evening, head, coaches=["Ash", "Dee"], first_aider="Fay Orr")
    assert (row.number, row.coaches, row.first_aider, row.plan) == (2, ["Ash", "Dee"], "Fay Orr", first.plan)
    assert row.what == "coaches: Ash, Bo, Cy → Ash, Dee; first aider: – → Fay Orr"
    assert Confirmation.objects.get(number=1).coaches == ["Ash", "Bo", "Cy"]
    assert AuditEvent.objects.latest("number").detail["line"] == row.what


def test_a_station_that_is_corrected_later_keeps_who_was_in_charge(evening, head):
    confirm(evening, head)
    in_charge(evening, head, first_aider="Fay Orr")
    seen = evening.record().standing[evening.spot(evening.live)].pk
    correct(evening, head, minutes=8, seen=seen, may_correct=True, now=NEXT_DAY)
    night = evening.record(NEXT_DAY)
    assert (night.version, night.in_charge.first_aider) == (3, "Fay Orr")


def test_of_two_who_correct_it_at_once_the_second_is_told_and_writes_nothing(evening, head):
    confirm(evening, head)
    in_charge(evening, head, first_aider="Fay Orr")
    with pytest.raises(Refused, match=r"head has corrected this night meanwhile.*first aider: Fay Orr → Gil"):
        in_charge(evening, head, first_aider="Gil")
    assert Confirmation.objects.count() == 2


def test_what_is_not_new_not_confirmed_or_an_assistants_is_refused(evening, head, assistant):
    with pytest.raises(Refused, match="Nobody has confirmed this night yet"):
        in_charge(evening, head, first_aider="Fay Orr")
    confirm(evening, assistant)
    with pytest.raises(Refused, match="Nothing of this is new"):
        in_charge(evening, head, coaches=["Ash", "Bo", "Cy"])
    with pytest.raises(Refused, match="the head coach corrects it"):
        correct_charge(session=evening.session, seen=1, first_aider="Fay", by=assistant, now=NEXT_DAY)
    assert Confirmation.objects.count() == 1
