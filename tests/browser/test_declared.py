"""Contact elsewhere and a team sheet on a phone, without a script."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from planner.models import Fixture
from planner.record_models import Declared, MatchMinutes
from planner.welfare_models import PlaysElsewhere
from tests import factories as f
from tests.browser import near_today


@pytest.fixture
def match(squad) -> Fixture:
    """Two hours ago, whatever the clock says; one player trains at school too."""
    near_today.players(squad, 4)
    match = f.FixtureFactory(squad=squad, kick_off=timezone.now() - dt.timedelta(hours=2), opponent="Netherby Cross")
    player, told_by = squad.players.first(), "PE teacher"
    PlaysElsewhere.objects.create(player=player, from_day=match.day, where="school", asked=told_by, by_name="x")
    return match


def test_what_a_teacher_tells_is_entered_from_the_week_on_a_phone_without_javascript(
    open_page, sign_in, usable, welfare, match
):
    phone = open_page("phone", java_script_enabled=False)
    sign_in(phone, welfare)
    monday = match.day - dt.timedelta(days=match.day.weekday())
    phone.goto(f"/c/brackenford/squads/firsts/told/{monday}/")
    phone.get_by_role("link", name="Enter it").click()
    phone.get_by_role("textbox", name="Day:").fill(str(match.day))
    phone.get_by_label("Minutes in contact").fill("12")
    phone.get_by_label("controlled contact").check()
    expect(phone.get_by_label("Told by")).to_have_value("PE teacher")
    phone.get_by_role("button", name="Record it").click()
    expect(phone.get_by_text("It is in the record, with your name.")).to_be_visible()
    row = Declared.objects.get()
    assert (row.minutes, row.kind, row.place, row.declared_by) == (12, "controlled", "school", "PE teacher")


def test_a_team_sheet_is_entered_on_a_phone_without_javascript(open_page, sign_in, head, match):
    phone = open_page("phone", java_script_enabled=False)
    sign_in(phone, head)
    phone.goto(f"/c/brackenford/fixtures/{match.pk}/minutes/")
    rows = phone.get_by_role("row").filter(has=phone.get_by_role("combobox"))
    rows.nth(0).get_by_role("combobox").select_option("whole match")
    rows.nth(1).get_by_role("textbox").fill("23")
    phone.get_by_label("Whoever stays empty did not play").check()
    phone.get_by_role("button", name="Save minutes").click()
    expect(phone.get_by_text("4 players are noted.")).to_be_visible()
    assert sorted(MatchMinutes.objects.values_list("minutes", flat=True)) == [0, 0, 23, 80]


def test_the_pages_have_no_fault(desktop, sign_in, usable, head, match):
    sign_in(desktop, head)
    monday = match.day - dt.timedelta(days=match.day.weekday())
    player = match.squad.players.first()
    told = f"players/{player.pk}/told/"
    sheet = f"fixtures/{match.pk}/minutes/"
    for address in (f"squads/firsts/told/{monday}/", told, f"{told}contact/", f"{told}match/", sheet):
        desktop.goto(f"/c/brackenford/{address}")
        usable(desktop)


def test_match_minutes_come_in_by_file_on_a_phone(open_page, sign_in, usable, head, match):
    phone = sign_in(open_page("phone"), head)
    phone.goto(f"/c/brackenford/fixtures/{match.pk}/minutes/")
    phone.get_by_role("link", name="From a file").click()
    usable(phone)
    first = match.squad.players.first()
    rows = f"Player,Date,Minutes,Told by\n{first},{match.day},80,team sheet\nNobody Known,{match.day},12,\n"
    file = {"name": "minutes.csv", "mimeType": "text/csv", "buffer": rows.encode()}
    phone.get_by_label("File").set_input_files(file)
    phone.get_by_role("button", name="Show what it holds").click()
    expect(phone.get_by_text("nobody in this squad has this name.")).to_be_visible()
    usable(phone)
    phone.get_by_role("button", name="Write all but the refused").click()
    expect(phone.get_by_text("The minutes are noted: 1 new, 0 changed, 0 same, 1 refused.")).to_be_visible()
    assert [(row.player, row.minutes) for row in MatchMinutes.objects.all()] == [(first, 80)]
