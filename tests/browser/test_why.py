"""Why a plan is as it is and two plans side by side, in a real browser."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from planner.models import PlanRun
from tests import factories as f
from tests.planner.block_cast import Cast, stand, wish


@pytest.fixture
def cast(squad) -> Cast:
    """A block from the coming Monday with one night; seven of eight players stand at one of three drills."""
    monday = timezone.localdate() + dt.timedelta(days=7 - timezone.localdate().weekday())
    f.ContactRulesFactory(club=squad.club)
    starts = dt.datetime.combine(monday + dt.timedelta(days=1), dt.time(19), f.LONDON)
    night = f.SessionFactory(squad=squad, starts_at=starts, slots=[(10, "Warm-up"), 12])
    drills = [f.DrillFactory(club=squad.club, name=name, players_least=2) for name in ("Rope", "Fence", "Gate")]
    players = [f.PlayerFactory(squad=squad, main_position=n + 1) for n in range(8)]
    cast = Cast(squad, f.BlockFactory(squad=squad, first_day=monday, weeks=1), players, drills, [night])
    wish(squad, minutes=48)
    stand(cast.slot(), drills[0], players[:7])
    return cast


@pytest.fixture
def run(cast: Cast) -> PlanRun:
    """A finished run that plans nothing: the worst there is."""
    session = {"id": f"s{cast.nights[0].pk}", "slots": [12], "date": str(cast.nights[0].day)}
    return PlanRun.objects.create(
        block=cast.block, problem={"sessions": [session]}, plan={"stations": []}, trace=[[0.5, 300, 90]], bound=90
    )


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark"), ("desktop", "light")])
def test_the_reasons_are_usable_by_everyone(open_page, size, scheme, cast, run, head, sign_in, axe):
    page = sign_in(open_page(size, color_scheme=scheme), head)
    block = f"/c/brackenford/blocks/{cast.block.pk}"
    station = f"{block}/why/{cast.slot().pk}/{cast.drills[0].pk}/"
    for address in (f"{block}/why/", station, f"{block}/compare/", f"/c/brackenford/runs/{run.pk}/"):
        page.goto(address)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), address


def test_the_reasons_open_in_the_page_of_the_block(page, cast, head, sign_in, axe):
    sign_in(page, head).goto(f"/c/brackenford/blocks/{cast.block.pk}/")
    page.get_by_role("link", name="Why: what stays short").click()
    expect(page.get_by_role("heading", name="Why wishes stay short")).to_be_visible()
    page.get_by_text("Player by player").click()
    expect(page.get_by_text(f"{cast.players[7]}: 12 min short in 1 skill")).to_be_visible()
    axe(page)


def test_the_reasons_are_there_without_javascript(open_page, cast, head, sign_in):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    page.goto(f"/c/brackenford/blocks/{cast.block.pk}/")
    page.get_by_role("link", name="Why: what stays short").click()
    expect(page.get_by_role("heading", level=1, name="Why this plan")).to_be_visible()
    page.get_by_text("Why this drill here").click()
    page.get_by_role("link", name=str(cast.drills[0])).click()
    expect(page.get_by_role("heading", level=1, name=f"Why {cast.drills[0]}")).to_be_visible()


def test_two_plans_are_chosen_and_compared(page, cast, run, head, sign_in):
    sign_in(page, head).goto(f"/c/brackenford/blocks/{cast.block.pk}/compare/")
    page.get_by_label("This plan").select_option(str(run.pk))
    page.get_by_label("beside this one").select_option("now")
    page.get_by_role("button", name="Compare").click()
    row = page.get_by_role("row", name="Skill minutes short of the wishes")
    expect(row.get_by_role("cell")).to_have_text(["96 min", "12 min", "better"])
