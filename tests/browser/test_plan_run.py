"""A run in a real browser: watched, stopped, marked, accepted, dealt again after a drop-out, laid beside another."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

import pytest
from playwright.sync_api import Page, expect

from planner.models import Block, PlanChange, PlanRun, Session, Station
from shared.models import JobState
from squads.models import Absence, Squad
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand, wish
from tests.shared.processes import kill, tree

SLOW = 240_000  # ms: the first run of a worker may have to compile


@dataclass
class Ground:
    """Three weeks of two nights from next Monday on for 20 players: a search of some seconds."""

    squad: Squad
    block: Block
    nights: list[Session]

    @property
    def address(self) -> str:
        return f"/c/brackenford/blocks/{self.block.pk}/"


@pytest.fixture
def ground(squad) -> Ground:
    f.ContactRulesFactory(club=squad.club)
    near_today.players(squad, 20)
    near_today.library(squad)
    for skill in ("I04", "U01"):
        wish(squad, skill, minutes=300)
    monday = near_today.next_monday(squad)
    days = [monday + dt.timedelta(days=7 * week + day) for week in range(3) for day in (1, 3)]
    nights = [near_today.night(squad, day, ["M. Askham", "T. Fenwright"]) for day in days]
    return Ground(squad, f.BlockFactory(squad=squad, first_day=monday, weeks=3), nights)


def test_a_plan_is_watched_stopped_marked_and_accepted_then_dealt_again_and_compared(
    desktop, head, sign_in, usable, ground, worker
):
    page = sign_in(desktop, head)
    watch_the_cost_fall(page, ground)
    stop_and_look(page)
    usable(page)
    spot = keep_the_first_station(page)
    accept_what_is_better(page)
    assert [f"{s.slot_id}-{s.drill_id}" for s in Station.objects.filter(locked=True)] == [spot]
    deal_again_without_one(page, ground, usable)
    compare_with_the_first_plan(page, ground, usable)
    taking_the_plan_back_asks_first(page, ground, usable)


def watch_the_cost_fall(page: Page, ground: Ground) -> None:
    page.goto(ground.address)
    page.get_by_role("button", name="Thorough").click()
    expect(page.get_by_text(re.compile("from .+ down to"))).to_be_visible(timeout=SLOW)
    first = PlanRun.objects.get().trace[0][1]
    page.reload()  # nothing is lost by it
    told = page.get_by_text(re.compile("from .+ down to"))
    expect(told).not_to_contain_text(f"from {first:.0f} down to {first:.0f}", timeout=SLOW)
    costs = [point[1] for point in PlanRun.objects.get().trace]
    assert costs == sorted(costs, reverse=True)
    assert costs[-1] < costs[0]


def stop_and_look(page: Page) -> None:
    page.get_by_role("button", name="Stop and keep the best so far").click()
    expect(page.get_by_text("Stopped early: this is the best plan until then.")).to_be_visible(timeout=SLOW)
    assert PlanRun.objects.get().job.state == JobState.CANCELLED
    assert not Station.objects.exists()


def keep_the_first_station(page: Page) -> str:
    mark = page.get_by_role("checkbox", name="Keep").first
    mark.check()
    expect(page.locator("#kept")).to_have_text("1 station is kept")
    page.reload()
    expect(mark).to_be_checked()
    return mark.get_attribute("value")


def accept_what_is_better(page: Page) -> None:
    expect(page.get_by_text("This plan is better than what stands")).to_be_visible()
    page.get_by_role("button", name="Accept this plan").click()
    expect(page.get_by_text("The plan is now the programme")).to_be_visible()


def deal_again_without_one(page: Page, ground: Ground, usable) -> None:
    """Somebody of the first night cannot come: he is taken off, and the other nights stay as they are."""
    night = ground.nights[0]
    leaver = Station.objects.filter(slot__session=night).first().places.first().player
    others = {s.pk for s in Station.objects.filter(slot__session__in=ground.nights[1:])}
    Absence.objects.create(player=leaver, first_day=night.day, last_day=night.day)
    page.get_by_role("link", name=f"{night.day:%a %-d %b}").click()
    page.get_by_role("link", name="Mend it: deal again").first.click()
    expect(page.get_by_text(f"{leaver} is absent, but stands at").first).to_be_visible()
    usable(page)
    page.get_by_role("button", name="Deal again", exact=True).click()
    expect(page.get_by_text("What was released, and why")).to_be_visible(timeout=SLOW)
    expect(page.get_by_role("heading", name="For whom")).to_be_visible()
    usable(page)
    page.get_by_role("button", name="Accept this plan").click()
    expect(page.get_by_text("The plan is now the programme")).to_be_visible()
    assert not leaver.places.filter(slot__session=night).exists()
    assert {s.pk for s in Station.objects.filter(slot__session__in=ground.nights[1:])} == others


def compare_with_the_first_plan(page: Page, ground: Ground, usable) -> None:
    first = PlanRun.objects.order_by("made_at").first()
    page.goto(f"{ground.address}compare/?left=now&right={first.pk}")
    expect(page.get_by_role("row", name="Skill minutes short of the wishes")).to_be_visible()
    expect(page.get_by_role("heading", name="Player by player")).to_be_visible()
    usable(page)


def taking_the_plan_back_asks_first(page: Page, ground: Ground, usable) -> None:
    page.goto(ground.address)
    page.get_by_role("button", name="Undo: dealt again after a change").click()
    page.get_by_role("link", name="Undo…").click()
    expect(page.get_by_role("heading", name="Take back “plan of the whole block accepted”?")).to_be_visible()
    usable(page)
    page.get_by_role("link", name="Keep it").click()
    assert PlanChange.objects.get(asks_first=True).undone_at is None
    page.get_by_role("link", name="Undo…").click()
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Undone: plan of the whole block accepted")).to_be_visible()
    assert not Station.objects.exists()


def test_a_run_survives_the_death_of_its_worker(desktop, head, sign_in, ground, start_worker):
    page = sign_in(desktop, head)
    page.goto(ground.address)
    page.get_by_role("button", name="Plan this block: quick").click()
    first = start_worker()
    expect(page.get_by_text("Best plan so far leaves open")).to_be_visible(timeout=SLOW)
    for process in [*tree(first.pid), first.pid]:
        kill(process)
    before = PlanRun.objects.get().cost["cost"]
    page.reload()
    expect(page.get_by_text("Best plan so far leaves open")).to_be_visible()
    start_worker()
    expect(page.get_by_text("The run is over. Nothing has changed yet")).to_be_visible(timeout=SLOW)
    run = PlanRun.objects.get()
    assert (run.job.state, run.job.attempts) == (JobState.DONE, 2)
    assert run.cost["cost"] <= before


# Without JavaScript, on a plan that is there already


@pytest.fixture
def proposal(ground: Ground) -> PlanRun:
    """One station for the first slot of the first night, where nothing stands."""
    night = ground.nights[0]
    planned = [slot.minutes for slot in night.slots.all() if slot.is_planned]
    drill = ground.squad.club.drills.get(name="Rope Line")
    players = [f"p{player.pk}" for player in ground.squad.players.all()[:12]]
    session = f"s{night.pk}"
    return PlanRun.objects.create(
        block=ground.block,
        problem={"sessions": [{"id": session, "slots": planned, "date": str(night.day)}]},
        plan={"stations": [{"session": session, "slot": 0, "drill": f"d{drill.pk}", "players": players}]},
        cost={"short": 0, "untouched": 0, "outside": 0, "idle": 0, "uneven": 0, "cost": 0},
        trace=[[0.5, 300, 90]],
        bound=90,
    )


def test_marks_and_the_answer_work_without_javascript(open_page, head, sign_in, ground, proposal):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(f"/c/brackenford/runs/{proposal.pk}/")
    page.get_by_role("checkbox", name="Keep").check()
    page.get_by_role("button", name="Save the marks").click()
    expect(page.get_by_text("Marked: 1 to keep.")).to_be_visible()
    expect(page.get_by_role("checkbox", name="Keep")).to_be_checked()
    page.get_by_role("button", name="Accept this plan").click()
    expect(page.get_by_text("The plan is now the programme")).to_be_visible()
    assert Station.objects.get().locked


def test_a_station_is_left_out_of_the_block_without_javascript(open_page, head, sign_in, ground, worker):
    drill = ground.squad.club.drills.get(name="Rope Line")
    slot = ground.nights[0].slots.get(order=1)
    stand(slot, drill, list(ground.squad.players.all()[:12]))
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    monday = ground.block.first_day
    page.goto(f"/c/brackenford/week/firsts/{monday}/?slot={slot.pk}")
    page.get_by_role("link", name="Leave out of the block…").click()
    expect(page.get_by_label("Leave this drill out of the whole block")).to_have_value(str(drill.pk))
    page.get_by_role("button", name="Deal again with these changes").click()
    expect(page.get_by_text(f"{drill} is no longer to be used.")).to_be_visible(timeout=SLOW)
    page.get_by_role("button", name="Keep what stands").click()
    assert slot.stations.get().drill == drill
