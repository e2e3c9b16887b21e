"""The page of a week is drawn once: the next looks count nothing anew, and every change is on the page at once."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.actions import retire_drill
from planner import actions
from planner.attendance_actions import Said, note_replies
from planner.pattern_actions import put_pattern
from planner.pattern_models import Pattern
from planner.season_figures import KEPT
from planner.session_actions import cancel_session, change_session
from squads.actions import add_contact_rules, edit_player, leave_squad, mark_away
from squads.clearance_actions import record_clearance
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block, stand

MONDAY, TUESDAY = dt.date(2026, 10, 5), dt.date(2026, 10, 6)
MOST = 10  # queries of a look at what is kept


@pytest.fixture
def cast(squad, monkeypatch):
    """Seen before the first night of the block."""
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: BEFORE)
    cast = small_block(squad)
    cast.station = stand(cast.slot(), cast.drills[0], cast.players, coach="Ash")
    return cast


def page(client, cast, query: str = "") -> str:
    """Without the tokens of its forms."""
    address = reverse("week", kwargs={"club": "brackenford", "squad": cast.squad.slug, "monday": MONDAY})
    return re.sub(r"\b\w{64}\b", "", client.get(address + query).content.decode())


def test_the_next_look_asks_for_little_and_shows_the_same(cast, head, log_in, django_assert_max_num_queries):
    client = log_in(head)
    first = page(client, cast)
    with django_assert_max_num_queries(MOST):
        assert page(client, cast) == first
    assert "Rope" in first


def clear(cast, head) -> None:
    words = {"from_day": MONDAY, "decided_by": "Robin Ash", "decided_as": "physio", "decided_on": BEFORE}
    record_clearance(player=cast.players[0], by=head, medical=True, level="none", **words)


def put_on(cast, head) -> None:
    pattern = Pattern.objects.create(club=cast.squad.club, name="Short week", full_minutes=5)
    put_pattern(pattern=pattern, squad=cast.squad, monday=MONDAY, by=head, today=BEFORE)


def say_no(cast, head) -> None:
    note_replies(said=[Said(cast.players[0], cast.nights[0], coming=False)], by=head, today=BEFORE)


def coach(cast, head) -> None:
    actions.set_coach(station=cast.station, coach="Bo", by=head, version=cast.version(), today=BEFORE)


def later_lights(cast, head) -> None:
    told = {"lights_until": dt.time(19, 20)}
    change_session(session=cast.nights[0], by=head, version=cast.version(), today=BEFORE, **told)


def stricter(cast, head) -> None:
    add_contact_rules(club=cast.squad.club, by=head, name="Ours", source="Club", valid_from=MONDAY, full_minutes=3)


CHANGES = {
    "clearance": clear,
    "pattern": put_on,
    "reply": say_no,
    "coach": coach,
    "lights": later_lights,
    "rules": stricter,
    "absence": lambda c, head: mark_away(players=c.players[:1], first=TUESDAY, last=TUESDAY, by=head),
    "name": lambda c, head: edit_player(player=c.players[0], by=head, family_name="Quillon"),
    "leaving": lambda c, head: leave_squad(player=c.players[0], left=MONDAY, by=head),
    "night off": lambda c, head: cancel_session(session=c.nights[1], by=head, today=BEFORE),
    "drill": lambda c, head: retire_drill(c.drills[0], by=head, today=BEFORE),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_is_on_the_page_at_the_next_look(cast, head, log_in, change):
    """What is kept then equals what is counted anew."""
    client = log_in(head)
    before = page(client, cast)
    CHANGES[change](cast, head)
    after = page(client, cast)
    KEPT.forget()
    assert after == page(client, cast)
    assert (after != before) or change == "drill"  # a retired drill goes on standing where it stands


def test_who_sees_no_totals_never_gets_the_page_of_who_does(cast, head, log_in):
    coach = f.MembershipFactory(club=cast.squad.club, user__username="wing", role="assistant").user
    whole = page(log_in(head), cast)
    theirs = page(log_in(coach), cast)
    assert "Change slot 2" in whole
    assert "Change slot 2" not in theirs


def test_on_a_day_of_training_a_slot_begins_on_the_page_when_it_begins(cast, head, log_in, monkeypatch):
    client, at = log_in(head), dt.datetime(2026, 10, 6, 18, 59, tzinfo=f.LONDON)
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: TUESDAY)
    monkeypatch.setattr(timezone, "now", lambda: at)
    empty = "Tue 6 Oct, slot 3: nothing is planned."
    assert empty in page(client, cast)
    at = dt.datetime(2026, 10, 6, 19, 30, tzinfo=f.LONDON)
    assert empty not in page(client, cast)


def test_a_slot_that_is_open_for_changes_is_never_kept(cast, head, log_in):
    client = log_in(head)
    kept = page(client, cast)
    opened = page(client, cast, f"?slot={cast.slot().pk}")
    assert "Move player" in opened
    assert page(client, cast) == kept
