"""The whole night on a phone: who is here, what is found, dealt again, groups that swap, printed, confirmed."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from planner.attendance_models import Mark
from planner.core.calendar import monday_of
from planner.models import Place, Session
from shared.clock import today_at
from squads.models import Squad
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand, wish

SLOW = 240_000  # ms: the first run of a worker may have to compile
SOON, LATER = dt.timedelta(minutes=20), dt.timedelta(minutes=90)


@pytest.fixture
def night(squad: Squad) -> Session:
    """In twenty minutes: 26 players, two stations side by side and one for all, three coaches."""
    f.ContactRulesFactory(club=squad.club)
    today = today_at(squad.club)
    players, drills = near_today.players(squad, 26), near_today.library(squad)
    wish(squad, minutes=48)
    f.BlockFactory(squad=squad, first_day=monday_of(today), weeks=1)
    night = near_today.night(squad, today, ["M. Askham", "T. Fenwright", "R. Ash"])
    first, second, third, last = night.slots.filter(title="")
    stand(first, drills[1], players[:13], coach="M. Askham")
    stand(first, drills[2], players[13:], order=1, coach="T. Fenwright")
    stand(second, drills[3], players[:13], coach="M. Askham")
    stand(second, drills[4], players[13:], order=1, coach="T. Fenwright")
    stand(third, drills[5], players, coach="R. Ash")
    stand(last, drills[6], players, coach="R. Ash")
    moved(night, SOON)
    return night


def moved(night: Session, by: dt.timedelta) -> None:
    """Its beginning, so long from now; the day stays."""
    Session.objects.filter(pk=night.pk).update(starts_at=timezone.now() + by)


def test_a_night_from_the_first_tap_to_the_welfare_page(
    phone, head, welfare, open_page, sign_in, usable, night, worker
):
    page, evening = sign_in(phone, head), f"/c/brackenford/evenings/{night.pk}/"
    mark_seventeen(page, night, evening)
    page.goto(evening)
    say_that_a_coach_is_missing(page)
    usable(page)
    deal_again(page, night)
    swap(page, night, evening, usable)
    for paper in ("sheet", "cards"):
        assert page.request.get(f"/c/brackenford/sessions/{night.pk}/{paper}.pdf").body().startswith(b"%PDF")
    moved(night, -LATER)
    officer = sign_in(open_page("phone"), welfare)
    week = f"/c/brackenford/squads/{night.squad.slug}/welfare/{monday_of(night.day)}/"
    officer.goto(week)
    still_open = officer.get_by_role("region", name="Still open").get_by_role("listitem")
    expect(still_open.filter(has_text="not confirmed yet")).to_have_count(1)
    confirm(page, night)
    officer.goto(week)
    expect(still_open).to_have_text("Nothing.")
    usable(officer)


def mark_seventeen(page: Page, night: Session, evening: str) -> None:
    """Eight of them without a connection; nothing is lost."""
    players = list(night.squad.players.all())[:17]
    page.goto(f"{evening}here/")
    for n, player in enumerate(players):
        if n == 9:
            expect(page.locator("#waiting")).to_have_text("All taps are sent.")
            page.context.set_offline(True)
        page.locator(f"#p{player.pk} .taps button", has_text="here").first.click()
    expect(page.locator("#waiting")).to_contain_text("wait for a connection: 8.")
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_have_text("All taps are sent.")
    assert Mark.objects.filter(state="here").count() == 17


def say_that_a_coach_is_missing(page: Page) -> None:
    page.get_by_text("Tonight as it is: coaches, grass, light, kit").click()
    page.get_by_label("T. Fenwright").uncheck()
    page.get_by_role("button", name="Note it, and see what still works").click()
    expect(page.get_by_text("Planned: coaches 3.")).to_be_visible()


def deal_again(page: Page, night: Session) -> None:
    page.get_by_role("button", name="Deal tonight again with the 17 who are here").click()
    page.get_by_role("button", name="Deal again with these changes").click()
    expect(page.get_by_text("What was released, and why")).to_be_visible(timeout=SLOW)
    page.get_by_role("button", name=re.compile("Accept this plan")).click()
    expect(page.get_by_text("The plan is now the programme")).to_be_visible()
    here = set(Mark.objects.filter(state="here").values_list("player", flat=True))
    assert set(Place.objects.filter(slot__session=night).values_list("player", flat=True)) <= here


def swap(page: Page, night: Session, evening: str, usable) -> None:
    """Whatever stands now: groups by name come to four cards in turn, with a little more time for the changes."""
    page.goto(evening)
    page.get_by_role("link", name="Deal groups that swap stations").click()
    usable(page)
    if not page.get_by_label("Minutes of the whole night").is_visible():
        page.get_by_text("Cards, slots and minutes").click()
    for box in page.locator("input[name=drills]").all()[4:]:
        box.uncheck()
    page.get_by_label("Minutes of the whole night").fill("75")
    page.get_by_role("button", name="Deal anew with these").click()
    page.get_by_role("button", name="Settle these groups").click()
    expect(page.get_by_text("The groups are settled")).to_be_visible()
    expect(page.get_by_role("heading", name="Groups that swap")).to_be_visible()
    usable(page)


def confirm(page: Page, night: Session) -> None:
    page.goto(f"/c/brackenford/evenings/{night.pk}/record/")
    page.get_by_role("button", name="Confirm: it ran like this").click()
    expect(page.get_by_text(re.compile("confirmed", re.IGNORECASE)).first).to_be_visible()
    assert night.confirmations.exists()
