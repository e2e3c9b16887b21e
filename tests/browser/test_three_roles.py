"""The main job as the three roles do it, from logging in to paper."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import dataclass

import pytest
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

from planner.models import Block, Place, PlanRun, Session, Slot, Station
from shared.clock import today_at
from shared.models import JobState
from squads.models import Clearance, Player, Squad
from tests import factories as f
from tests.browser import near_today
from tests.planner.block_cast import stand, wish

SLOW = 180_000  # ms: the first run of a worker may have to compile


@dataclass
class Ground:
    """Four weeks with two nights each, from next Monday on: more than is proven the best within seconds."""

    squad: Squad
    monday: dt.date
    nights: list[Session]

    @property
    def first_slot(self) -> Slot:
        return self.nights[0].slots.get(order=1)


@pytest.fixture
def ground(squad) -> Ground:
    f.ContactRulesFactory(club=squad.club)
    near_today.players(squad, 30)
    near_today.library(squad)
    for skill in ("I04", "U01"):
        wish(squad, skill, minutes=300)
    monday = near_today.next_monday(squad)
    days = [monday + dt.timedelta(days=7 * week + day) for week in range(4) for day in (1, 3)]
    return Ground(squad, monday, [near_today.night(squad, day, ["M. Askham", "T. Fenwright"]) for day in days])


# The head coach


def test_a_head_coach_plans_accepts_edits_and_prints(desktop, head, sign_in, usable, ground, start_worker):
    page = sign_in(desktop, head)
    make_block(page, ground, usable)
    ask_for_a_plan(page)
    expect(page.get_by_text("Waiting for a free worker")).to_be_visible()
    start_worker()
    expect(page.get_by_label("Searching")).to_be_visible(timeout=SLOW)
    usable(page)
    wait_for_the_end(page)
    usable(page)
    accept(page, ground)
    open_first_night(page, ground)
    usable(page)
    edit_and_undo(page, ground)
    read_sheet(page, ground)


def test_the_same_path_without_javascript(open_page, head, sign_in, ground, worker):
    page = sign_in(open_page("phone", java_script_enabled=False), head)
    make_block(page, ground)
    ask_for_a_plan(page)
    wait_for_the_end(page)  # the page loads itself anew
    accept(page, ground)
    open_first_night(page, ground)
    edit_and_undo(page, ground)


def make_block(page: Page, ground: Ground, usable=lambda page: None) -> None:
    usable(page)
    page.get_by_role("link", name="Blocks").click()
    page.get_by_role("link", name="New block").click()
    usable(page)
    page.get_by_label("Name").fill("Opening block")
    page.get_by_label("First day").fill(ground.monday.isoformat())
    page.get_by_label("Weeks:").fill("4")
    page.get_by_label("I04 Front-on tackle").check()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Opening block")).to_be_visible()
    assert Block.objects.get().first_day == ground.monday
    usable(page)


def ask_for_a_plan(page: Page) -> None:
    page.get_by_role("button", name="Plan this block: quick").click()
    expect(page.get_by_role("heading", name="Plan of the block")).to_be_visible()


def wait_for_the_end(page: Page) -> None:
    expect(page.get_by_text("The run is over. Nothing has changed yet")).to_be_visible(timeout=SLOW)
    assert PlanRun.objects.get().job.state == JobState.DONE
    assert not Station.objects.exists()


def accept(page: Page, ground: Ground) -> None:
    page.get_by_role("button", name="Accept this plan").click()
    expect(page.get_by_text("The plan is now the programme")).to_be_visible()
    planned = Slot.objects.filter(session__in=ground.nights, title="", stations__isnull=False).distinct()
    assert planned.count() == 32


def open_first_night(page: Page, ground: Ground) -> None:
    page.get_by_role("link", name=f"{ground.nights[0].day:%a %-d %b}").click()
    expect(page.get_by_role("heading", name=f"{ground.nights[0].day:%A %-d %B}")).to_be_in_viewport()


def edit_and_undo(page: Page, ground: Ground) -> None:
    """Each edit is answered at once; each undo takes back the one before."""
    slot = ground.first_slot
    player, station = placed(slot)
    night = page.locator(f"#night-{slot.session_id}")
    night.get_by_role("link", name="Change slot 2").click()
    move(night, player, "no station")
    expect(night.locator(".idle", has_text=player.sheet_name)).to_be_visible()
    assert not Place.objects.filter(slot=slot, player=player).exists()
    night.get_by_role("group", name=str(station.drill)).get_by_role("button", name="Lock").click()
    expect(night.get_by_role("button", name="Unlock")).to_be_visible()
    assert slot.stations.get(locked=True) == station
    undo(page, f"{station.drill} locked")
    assert not slot.stations.filter(locked=True).exists()
    undo(page, f"{player} moved to no station")
    assert Place.objects.get(slot=slot, player=player).station == station


def placed(slot: Slot) -> tuple[Player, Station]:
    """Somebody at the fullest station, where one fewer can still work."""
    station = max(slot.stations.all(), key=lambda station: station.places.count())
    return station.places.first().player, station


def move(night: Locator, player: Player, to: str) -> None:
    night.get_by_label("Move", exact=True).select_option(str(player.pk))
    night.get_by_label("to", exact=True).select_option(to)
    night.get_by_role("button", name="Move player").click()


def undo(page: Page, what: str) -> None:
    page.get_by_role("button", name="Undo").click()
    told = page.get_by_role("listitem").filter(has_text="Undone: ")
    expect(told).to_contain_text(what)


def read_sheet(page: Page, ground: Ground) -> None:
    text = printed(page, page.get_by_role("link", name="Session sheet (PDF)").first, sides=1)
    for station in Station.objects.filter(slot__session=ground.nights[0]):
        assert station.drill.name in text
    for player in ground.squad.players.all():
        assert player.short_name in text


def printed(page: Page, link: Locator, sides: int) -> str:
    """The words of the PDF that a link leads to, fetched with the cookies of the page."""
    answer = page.request.get(link.get_attribute("href"))
    assert answer.headers["content-type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.body())).pages
    assert len(pages) == sides
    return " ".join(" ".join(each.extract_text() for each in pages).split())


# The welfare officer


@pytest.fixture
def heavy_week(squad) -> Slot:
    """Limits of 15 minutes of full contact a week: the first player is past it, the second near it, the third fine."""
    f.ContactRulesFactory(club=squad.club, full_minutes=15)
    first, second, third = near_today.players(squad, 3)
    live = f.DrillFactory(club=squad.club, rung="C4", contact_share=100, contacts_most=9, safety=["Stop."], name="Live")
    walk = f.DrillFactory(club=squad.club, name="Walk")
    night = near_today.night(squad, today_at(squad.club), [])
    slots = [night.slots.get(order=1), night.slots.get(order=2)]
    stand(slots[0], live, [first, second])
    stand(slots[0], walk, [third], order=1)
    stand(slots[1], live, [first])
    return slots[0]


def test_a_welfare_officer_sees_who_is_past_and_near_a_limit(phone, welfare, sign_in, usable, heavy_week):
    page = sign_in(phone, welfare)
    expect(page.locator(".counts")).to_have_text("1 past a limit · 1 near a limit · 1 fine")
    usable(page)
    page.get_by_role("link", name="Contact", exact=True).click()
    table = page.get_by_role("table", name="Players, the most urgent first")
    standing = [row.inner_text().split() for row in table.locator("tbody tr").all()]
    assert ["past" in words for words in standing] == [True, False, False]
    assert ["near" in words for words in standing] == [False, True, False]
    usable(page)
    page.get_by_role("link", name="Given0 Name0").click()
    expect(page.locator("dd span", has_text="24 of 15 min")).to_be_visible()
    usable(page)


def test_a_welfare_officer_finds_no_way_to_edit_and_is_refused_at_the_address(desktop, welfare, sign_in, heavy_week):
    page = sign_in(desktop, welfare)
    page.get_by_role("link", name="Programme").click()
    expect(page.get_by_role("link", name="Live")).to_have_count(2)
    expect(page.get_by_role("link", name="Change slot")).to_have_count(0)
    expect(page.get_by_role("button")).to_have_text(["Log out"])
    player, _station = placed(heavy_week)
    answer = page.request.post(
        f"/c/brackenford/slots/{heavy_week.pk}/move/",
        form={"player": str(player.pk), "to": "", "version": str(heavy_week.session.plan_version)},
        headers={"X-CSRFToken": page.locator("[name=csrfmiddlewaretoken]").first.input_value(), "Referer": page.url},
    )
    assert answer.status == 403
    assert "Not for your role" in answer.text()  # and not the refusal of a forged form, which is a 403 as well
    assert Place.objects.filter(slot=heavy_week, player=player).exists()


def test_a_welfare_officer_records_a_clearance(page, welfare, sign_in, usable, heavy_week):
    sign_in(page, welfare)
    page.get_by_role("link", name="Squad", exact=True).click()
    page.get_by_role("link", name="Given2 Name2").click()
    usable(page)
    page.get_by_role("link", name="Record a decision").click()
    page.get_by_label("non-contact only").check()
    today = today_at(heavy_week.session.squad.club).isoformat()
    page.get_by_label("From").fill(today)
    page.get_by_label("Decided by").fill("R. Lomax")
    page.get_by_label("As:").fill("club physiotherapist")
    page.get_by_label("Decided on").fill(today)
    page.get_by_label("Allowed work").fill("run, pass and catch alone")
    usable(page)
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_text("no contact by clearance")).to_be_visible()
    decision = Clearance.objects.get()
    assert (decision.player.family_name, decision.level, decision.decided_by) == ("Name2", "none", "R. Lomax")


# An assistant


@pytest.fixture
def tonight(squad) -> Station:
    """One station with a coach, one player who is kept from contact and one who is away."""
    f.ContactRulesFactory(club=squad.club)
    pads, rope, *_others = near_today.library(squad)
    night = near_today.night(squad, today_at(squad.club), ["T. Fenwright"])
    squadmates = near_today.players(squad, 8)
    stand(night.slots.get(order=2), rope, squadmates)
    return stand(night.slots.get(order=1), pads, squadmates, coach="T. Fenwright")


def test_an_assistant_sees_tonight_on_a_phone_and_prints_it(phone, assistant, sign_in, usable, tonight):
    assistant.first_name, assistant.last_name = "Tobias", "Fenwright"
    assistant.save()
    page = sign_in(phone, assistant)
    expect(page.get_by_role("heading", name="Tonight, 19:00–19:54")).to_be_visible()
    expect(page.locator(".mine").get_by_role("article")).to_have_count(1)
    expect(page.locator(".mine")).to_contain_text("Pad Walk")
    usable(page)
    sheet = printed(page, page.get_by_role("link", name="Session sheet (PDF)").first, sides=1)
    assert "Pad Walk" in sheet
    assert "T. Fenwright" in sheet
    cards = printed(page, page.get_by_role("link", name="Drill cards (PDF)").first, sides=1)
    assert "Pads high." in cards
    page.get_by_role("link", name="Pad Walk").first.click()
    expect(page.get_by_text("Pads high.")).to_be_visible()
    usable(page)
