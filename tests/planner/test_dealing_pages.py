"""The pages of dealing again, of answering a proposal, and the page that asks before a plan is taken back."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from planner import actions, tasks
from planner.models import PlanChange, PlanRun, Session, Station
from planner.programme import standing_in
from squads.models import Absence
from tests import factories as f
from tests.planner.block_cast import BEFORE, small_block, stand, wish

TUESDAY = dt.date(2026, 10, 6)


@pytest.fixture
def cast(squad, monkeypatch, settings):
    """1 October 2026; one week of two nights, and everybody at the first two slots of the first."""
    settings.JOB_LEASE_SECONDS = 600  # a sign of life from a second thread would wait for this test's transaction
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC))
    cast = small_block(squad, weeks=1)
    wish(squad, minutes=48)
    stand(cast.slot(), cast.drills[0], cast.players, coach="Ash")
    stand(cast.slot(order=2), cast.drills[1], cast.players, coach="Bo")
    return cast


@pytest.fixture
def coach(head, log_in):
    return log_in(head)


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def deal_address(cast, night=None) -> str:
    return url("deal_again", block=cast.block.pk) + (f"?night={night.pk}" if night else "")


def page(answer) -> str:
    return answer.content.decode()


def away(player) -> None:
    Absence.objects.create(player=player, first_day=TUESDAY, last_day=TUESDAY)


def ask(coach, cast, night=None, **given):
    """As the form of the page sends it."""
    address = deal_address(cast, night)
    seen = coach.get(address).context["form"].initial["seen"]
    return coach.post(address, {"seen": seen} | given)


def worked() -> PlanRun:
    run = PlanRun.objects.select_related("job").first()
    (tasks.deal_again if run.is_redeal else tasks.run_plan)(str(run.job_id))
    return PlanRun.objects.get(pk=run.pk)


def seen_on(coach, run):
    return coach.get(url("run", run=run.pk)).context


# Dealing again


def test_the_page_tells_what_no_longer_fits(cast, coach):
    away(cast.players[0])
    text = f"{cast.players[0]} is absent, but stands at {cast.drills[0]} on Tue 6 Oct, slot 2."
    assert text in page(coach.get(deal_address(cast)))


def test_a_night_offers_its_planned_slots_and_stations_and_the_block_does_not(cast, coach):
    fields = coach.get(deal_address(cast, cast.nights[0])).context["form"].fields
    assert [label for _key, label in fields["slots"].choices] == ["Tue 6 Oct, slot 2", "Tue 6 Oct, slot 3"]
    assert list(fields["station"].queryset) == list(Station.objects.all())
    assert set(coach.get(deal_address(cast)).context["form"].fields) == {"seen", "ban"}


def test_one_press_deals_again_and_the_run_tells_why_and_for_whom(cast, coach):
    away(cast.players[0])
    answer = ask(coach, cast, cast.nights[0])
    run = worked()
    assert answer.headers["Location"] == url("run", run=run.pk)
    shown = seen_on(coach, run)
    text = page(coach.get(url("run", run=run.pk)))
    assert "What was released, and why" in text
    assert f"{cast.players[0]} is absent, but stands at {cast.drills[0]}" in text
    assert [change.slot for change in shown["changes"]] == ["Tue 6 Oct, slot 2", "Tue 6 Oct, slot 3"]
    assert {line.split(":")[0] for line in shown["losses"]} == {str(cast.players[0])}
    assert [line.label for line in shown["comparison"]][:5] == [
        "Skill minutes short of the wishes",
        "Weeks of a player without a main skill",
        "Weekly load outside the band",
        "Standing without a station",
        "Contact, most less least in a group",
    ]


def test_where_everything_fits_something_else_has_to_be_chosen(cast, coach):
    answer = ask(coach, cast, cast.nights[0])
    assert answer.status_code == 200
    assert "choose what else should change, or leave it" in page(answer)
    assert not PlanRun.objects.exists()


def test_after_dealing_again_on_a_night_the_answer_leads_back_to_its_week(cast, coach):
    away(cast.players[0])
    ask(coach, cast, cast.nights[0])
    run = worked()
    answer = coach.post(url("accept_run", run=run.pk), {"seen": seen_on(coach, run)["seen"]})
    week = url("week", squad=cast.squad.slug, monday=dt.date(2026, 10, 5))
    assert answer.headers["Location"] == f"{week}#night-{cast.nights[0].pk}"
    assert cast.slot().stations.get().places.count() == 7


def test_a_proposal_is_dropped_and_what_stands_is_kept(cast, coach):
    away(cast.players[0])
    before = standing_in(cast.block)
    ask(coach, cast)
    run = worked()
    answer = coach.post(url("drop_run", run=run.pk), follow=True)
    assert "Nothing was changed: what stands is kept." in page(answer)
    assert "left aside" in page(answer)
    assert standing_in(cast.block) == before


def test_a_drill_is_left_out_from_the_page_and_taken_back_in(cast, coach):
    ask(coach, cast, ban=cast.drills[1].pk)
    worked()
    shown = coach.get(deal_address(cast))
    assert list(shown.context["left_out"]) == [cast.drills[1]]
    coach.post(url("bring_drill_back", block=cast.block.pk, drill=cast.drills[1].pk))
    assert not coach.get(deal_address(cast)).context["left_out"]


def test_a_swap_needs_both_the_station_and_the_drill(cast, coach):
    answer = ask(coach, cast, cast.nights[0], station=cast.slot().stations.get().pk)
    assert answer.context["form"].errors["drill"] == ["Choose the drill that comes in its place."]
    answer = ask(coach, cast, cast.nights[0], drill=cast.drills[2].pk)
    assert answer.context["form"].errors["station"] == ["Choose the station that it takes the place of."]
    assert not PlanRun.objects.exists()


def test_a_swap_from_the_page_comes_to_a_proposal(cast, coach):
    ask(coach, cast, cast.nights[0], station=cast.slot().stations.get().pk, drill=cast.drills[2].pk)
    text = page(coach.get(url("run", run=worked().pk)))
    assert f"As you asked, {cast.drills[2]} comes in" in text


def test_a_page_that_is_too_old_says_so_and_asks_nothing(cast, coach):
    answer = coach.post(deal_address(cast), {"seen": "00000000", "ban": cast.drills[1].pk})
    assert "Somebody has changed a night of this block since you opened the page." in page(answer)
    assert not PlanRun.objects.exists()


def test_a_past_night_cannot_be_dealt_again(cast, coach, monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 7, 12, tzinfo=dt.UTC))
    assert coach.get(deal_address(cast, cast.nights[0])).status_code == 404


def test_shorter_slots_that_are_let_go_lead_to_dealing_again(cast, coach):
    slots = list(cast.nights[0].slots.all())
    rows = {"slots-TOTAL_FORMS": 3, "slots-INITIAL_FORMS": 3, "slots-MIN_NUM_FORMS": 0, "slots-MAX_NUM_FORMS": 1000}
    for n, slot in enumerate(slots):
        rows |= {f"slots-{n}-slot": slot.pk, f"slots-{n}-minutes": slot.minutes, f"slots-{n}-title": slot.title}
        rows |= {f"slots-{n}-rpe": slot.rpe or "", f"slots-{n}-kind": slot.kind, f"slots-{n}-place": n + 1}
    address = url("edit_slots", session=cast.nights[0].pk)
    answer = coach.post(address, rows | {"slots-1-minutes": 4, "version": cast.version(), "let_go": "1"})
    assert answer.headers["Location"] == deal_address(cast, cast.nights[0])
    assert f"{cast.drills[0]} on Tue 6 Oct, slot 2 gets 4 minutes" in page(coach.get(answer.headers["Location"]))


def test_the_week_and_the_session_lead_to_dealing_again(cast, coach):
    week = page(coach.get(url("week", squad=cast.squad.slug, monday=dt.date(2026, 10, 5))))
    session = page(coach.get(url("session", session=cast.nights[0].pk)))
    assert f'href="{deal_address(cast, cast.nights[0])}"' in week
    assert f'href="{deal_address(cast, cast.nights[0])}"' in session


# One verdict against what stands


@pytest.fixture
def planned(cast, coach):
    coach.post(url("plan_block", block=cast.block.pk), {"seconds": 10})
    PlanRun.objects.update(seconds=1)
    return worked()


def test_a_better_plan_says_so_at_the_top_and_acceptance_is_the_main_button(planned, coach):
    shown = seen_on(coach, planned)["recommendation"]
    assert shown.is_better
    assert shown.text.startswith("This plan is better than what stands, all parts weighed together: better in ")
    text = page(coach.get(url("run", run=planned.pk)))
    assert '<button type="submit">Accept this plan</button>' in text
    assert '<button type="submit" class="second">Keep what stands</button>' in text
    assert text.index("Accept this plan") < text.index("Keep what stands")


def test_a_worse_plan_says_so_and_keeping_what_stands_is_the_main_button(planned, cast, coach):
    accepted(coach, planned)
    planned.plan["stations"] = planned.plan["stations"][:1]
    planned.save(update_fields=["plan"])
    text = page(coach.get(url("run", run=planned.pk)))
    assert "This plan is worse than what stands, all parts weighed together: worse in" in text
    assert '<button type="submit">Keep what stands</button>' in text
    assert '<button type="submit" class="second">Accept this plan again</button>' in text
    assert text.index("Keep what stands") < text.index("Accept this plan again")


def test_a_plan_that_fits_where_what_stands_does_not_is_put_first(cast, coach):
    away(cast.players[0])
    ask(coach, cast)
    shown = seen_on(coach, worked())["recommendation"]
    assert shown.is_better
    assert shown.text.startswith("What stands does not fit in 2 places; this plan fits.")


def test_the_plan_that_stands_already_is_called_that(planned, coach):
    accepted(coach, planned)
    assert seen_on(coach, planned)["recommendation"].text == "This plan is what stands already."


def accepted(coach, run):
    return coach.post(url("accept_run", run=run.pk), {"seen": seen_on(coach, run)["seen"]})


def test_an_acceptance_without_having_seen_what_stands_is_refused(planned, coach):
    answer = coach.post(url("accept_run", run=planned.pk), follow=True)
    assert "This page is too old. Open it again." in page(answer)
    assert not PlanRun.objects.get(pk=planned.pk).accepted_at


# Marking what to keep


def first_key(coach, run) -> str:
    return seen_on(coach, run)["proposed"][0].stations[0].key


def test_a_mark_is_kept_and_the_accepted_station_is_locked(planned, coach):
    key = first_key(coach, planned)
    coach.post(url("keep_stations", run=planned.pk), {"keep": [key]})
    assert seen_on(coach, planned)["proposed"][0].stations[0].is_kept
    accepted(coach, planned)
    assert [f"{s.slot_id}-{s.drill_id}" for s in Station.objects.filter(locked=True)] == [key]


def test_a_mark_pressed_with_htmx_is_answered_by_the_count_alone(planned, coach):
    answer = coach.post(
        url("keep_stations", run=planned.pk), {"keep": [first_key(coach, planned)]}, headers={"HX-Request": "true"}
    )
    assert "1 station is kept" in page(answer)
    assert "<html" not in page(answer)


def test_a_run_around_the_marks_is_asked_for_by_the_same_form(planned, coach):
    key = first_key(coach, planned)
    answer = coach.post(url("keep_stations", run=planned.pk), {"keep": [key], "seconds": 10})
    around = PlanRun.objects.exclude(pk=planned.pk).get()
    assert answer.headers["Location"] == url("run", run=around.pk)
    assert around.kept == [[int(part) for part in key.split("-")]]
    held = {(lock["session"], lock["drill"]) for lock in around.problem["locks"]}
    assert held == {(f"s{night_of_spot(key)}", f"d{key.split('-')[1]}")}


def night_of_spot(key: str) -> int:
    return Session.objects.get(slots=int(key.split("-")[0])).pk


def test_a_mark_that_is_not_of_the_plan_is_refused(planned, coach):
    answer = coach.post(url("keep_stations", run=planned.pk), {"keep": ["1-999999"]}, follow=True)
    assert "A station of this page is no longer there. Open it again." in page(answer)
    assert PlanRun.objects.get(pk=planned.pk).kept == []


# Taking a plan back asks first


def test_a_whole_plan_is_not_taken_back_by_one_press(planned, cast, coach):
    accepted(coach, planned)
    change = PlanChange.objects.get()
    answer = coach.post(url("undo_change", block=cast.block.pk), {"change": change.pk})
    assert answer.headers["Location"] == url("before_undo", block=cast.block.pk) + f"?change={change.pk}"
    assert PlanChange.objects.get().undone_at is None


def test_the_page_before_it_says_what_would_be_lost(planned, cast, coach):
    accepted(coach, planned)
    change = PlanChange.objects.get()
    answer = coach.get(url("before_undo", block=cast.block.pk), {"change": change.pk})
    shown = answer.context
    second_night = Station.objects.filter(slot__session=cast.nights[1])  # the run kept the first as it stood
    assert (shown["stations"], shown["nights"], shown["returning"]) == (second_night.count(), 1, 0)
    assert "Take back “plan of the whole block accepted”?" in page(answer)
    idle = {line.label: line for line in shown["comparison"]}["Standing without a station"]
    assert (idle.value, idle.other, idle.standing) == ("0 min", "192 min", "worse")


def test_after_that_page_it_is_taken_back(planned, cast, coach):
    before = standing_in(cast.block)
    accepted(coach, planned)
    change = PlanChange.objects.get()
    coach.post(url("undo_change", block=cast.block.pk), {"change": change.pk, "sure": "1"})
    assert standing_in(cast.block) == before


def test_from_the_week_it_asks_too_and_comes_back_to_the_week(planned, cast, coach):
    accepted(coach, planned)
    week = url("week", squad=cast.squad.slug, monday=dt.date(2026, 10, 5))
    asking = f"{url('before_undo', block=cast.block.pk)}?change={PlanChange.objects.get().pk}&amp;monday=2026-10-05"
    assert f'href="{asking}"' in page(coach.get(week))
    assert f'href="{week}"' in page(coach.get(asking.replace("&amp;", "&")))


def test_an_edit_by_hand_is_still_taken_back_by_one_press(cast, head, coach):
    station = cast.slot().stations.get()
    actions.remove_station(station=station, by=head, version=cast.version(), today=BEFORE)
    coach.post(url("undo_change", block=cast.block.pk), {"change": PlanChange.objects.get().pk})
    assert cast.slot().stations.exists()


def test_when_nothing_is_left_to_undo_the_page_says_so(cast, coach):
    answer = coach.get(url("before_undo", block=cast.block.pk), follow=True)
    assert "There is nothing to undo in this block." in page(answer)


@pytest.mark.parametrize("name", ["deal_again", "before_undo"])
def test_another_clubs_block_does_not_exist(name, cast, stranger, log_in):
    assert log_in(stranger).get(url(name, block=cast.block.pk)).status_code == 404


def test_a_drill_of_another_club_cannot_be_left_out(cast, coach):
    answer = ask(coach, cast, ban=f.DrillFactory().pk)
    assert "ban" in answer.context["form"].errors
