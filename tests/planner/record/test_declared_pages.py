"""Pages on which contact and matches elsewhere, and the minutes of a whole team sheet, are entered and corrected."""

from __future__ import annotations

import datetime as dt
import re
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planner.declared import told_in_week
from planner.record_models import Declared, MatchMinutes, PlayerDay
from planner.welfare_models import PlaysElsewhere
from tests import factories as f

SUNDAY = dt.date(2026, 10, 11)
SATURDAY = "2026-10-10"
MONDAY = dt.date(2026, 10, 5)


@pytest.fixture(autouse=True)
def on_sunday(monkeypatch):
    now = dt.datetime(2026, 10, 11, 10, tzinfo=f.LONDON)
    monkeypatch.setattr(timezone, "now", lambda: now)
    monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: SUNDAY)


@pytest.fixture
def player(squad):
    return f.PlayerFactory(squad=squad, given_name="Oswin", family_name="Hartlebury")


@pytest.fixture
def fixture(squad):
    return f.FixtureFactory(squad=squad, opponent="Netherby Cross")


def contact_of(player, query: str = "") -> str:
    return f"/c/brackenford/players/{player.pk}/told/contact/{query}"


def match_of(player, query: str = "") -> str:
    return f"/c/brackenford/players/{player.pk}/told/match/{query}"


def page_of(player) -> str:
    return f"/c/brackenford/players/{player.pk}/told/"


def minutes_of(fixture, note: str = "note/") -> str:
    return f"/c/brackenford/fixtures/{fixture.pk}/minutes/{note}"


def words_of(answer) -> str:
    html = re.sub(r"<title>[^<]*</title>|<[^>]+>", " ", answer.content.decode())
    return " ".join(unescape(html).split())


def told(**more) -> dict[str, str]:
    return {"day": SATURDAY, "place": "school", "minutes": "10", "kind": "full", "declared_by": "PE teacher"} | more


def sheet(client, fixture, minutes: dict, **more):
    """The form as the page shows it, with these fields typed over it."""
    html = client.get(minutes_of(fixture, "")).content.decode()
    shown = re.search(r'name="shown" value="([^"]*)"', html)[1]
    typed = dict(re.findall(r'name="(minutes-\d+)" value="([^"]*)"', html))
    told = {f"minutes-{player.pk}": str(much) for player, much in minutes.items()}
    return typed | told | {"shown": shown, "length": "80", "declared_by": "team sheet"} | more


# Contact elsewhere


def test_contact_elsewhere_is_entered_and_stands_on_the_page_with_who_told_and_who_entered(player, welfare, log_in):
    client = log_in(welfare)
    answer = client.post(contact_of(player), told(), follow=True)
    assert answer.redirect_chain == [(page_of(player), 302)]
    assert "Sat 10 Oct 2026 school full contact 10 min PE teacher entered by welfare, " in words_of(answer)
    assert PlayerDay.objects.get().declared_full == 1000


def test_a_correction_shows_old_and_new_with_both_names(player, welfare, head, log_in):
    log_in(welfare).post(contact_of(player), told())
    row = Declared.objects.get()
    client = log_in(head)
    form = client.get(contact_of(player, f"?replaces={row.pk}")).content.decode()
    assert 'value="10"' in form
    assert "PE teacher" in form
    answer = client.post(contact_of(player, f"?replaces={row.pk}"), told(minutes="4"), follow=True)
    assert "full contact 4 min PE teacher entered by head" in words_of(answer)
    said = "; before: 10 Oct, school, 10 min full contact, told by PE teacher"
    assert said in words_of(answer)
    assert PlayerDay.objects.get().declared_full == 400


def test_none_at_all_needs_no_kind_and_answers_the_question(player, welfare, log_in, squad):
    PlaysElsewhere.objects.create(player=player, from_day=MONDAY, where="school", asked="his teacher", by_name="x")
    client = log_in(welfare)
    week = f"/c/brackenford/squads/firsts/told/{MONDAY}/"
    assert "minutes elsewhere not told school, ask his teacher" in words_of(client.get(week))
    answer = client.post(contact_of(player), told(minutes="0", kind=""), follow=True)
    assert "school none PE teacher" in words_of(answer)
    assert "Nobody is missing" in words_of(client.get(week))
    assert Declared.objects.get().kind == "none"


def test_who_tells_the_minutes_is_filled_in_and_then_who_told_them_last(player, welfare, log_in):
    PlaysElsewhere.objects.create(player=player, from_day=MONDAY, where="school", asked="his teacher", by_name="x")
    client = log_in(welfare)
    assert 'value="his teacher"' in client.get(contact_of(player)).content.decode()
    client.post(contact_of(player), told(declared_by="the county coach", place="county"))
    html = client.get(contact_of(player)).content.decode()
    assert 'value="the county coach"' in html
    assert re.search(r'<option value="county" selected', html)


def test_the_same_twice_is_taken_for_a_slip_until_somebody_says_that_it_was_not(player, welfare, log_in):
    client = log_in(welfare)
    client.post(contact_of(player), told())
    answer = client.post(contact_of(player), told(minutes="12"))
    assert answer.status_code == 422
    assert "stands there already: 10 min, told by PE teacher, entered by welfare" in words_of(answer)
    assert client.post(contact_of(player), told(minutes="12", besides="on")).status_code == 302
    assert PlayerDay.objects.get().declared_full == 2200


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"day": ""}, "required"),
        ({"day": "31/31/2026"}, "Enter a valid date"),
        ({"day": "1899-01-01"}, "between 2000 and 2100"),
        ({"day": "2026-10-12"}, "still to come"),
        ({"place": "the moon"}, "Select a valid choice"),
        ({"minutes": "ten"}, "Enter a whole number"),
        ({"minutes": "-1"}, "greater than or equal to 0"),
        ({"minutes": "601"}, "less than or equal to 600"),
        ({"kind": ""}, "Choose which contact it was"),
        ({"kind": "none"}, "Select a valid choice"),
        ({"declared_by": "  "}, "required"),
        ({"declared_by": "x\x00"}, "Null characters are not allowed"),
    ],
)
def test_what_cannot_be_is_told_beside_its_field_and_nothing_is_written(fields, said, player, welfare, log_in):
    answer = log_in(welfare).post(contact_of(player), told(**fields))
    assert answer.status_code == 422
    assert said in words_of(answer)
    assert not Declared.objects.exists()


@pytest.mark.parametrize("key", ["999999", "9" * 18])
def test_a_line_that_is_not_there_is_not_corrected(key, player, welfare, log_in):
    assert log_in(welfare).get(contact_of(player, f"?replaces={key}")).status_code == 404
    assert log_in(welfare).post(match_of(player, f"?replaces={key}"), {}).status_code == 404


def test_a_line_of_another_player_is_not_corrected_here(player, squad, welfare, log_in):
    client = log_in(welfare)
    client.post(contact_of(player), told())
    other = f.PlayerFactory(squad=squad)
    assert client.get(contact_of(other, f"?replaces={Declared.objects.get().pk}")).status_code == 404


def test_a_line_that_somebody_corrected_meanwhile_is_shown_with_both_values(player, welfare, head, log_in):
    log_in(welfare).post(contact_of(player), told())
    row = Declared.objects.get()
    log_in(head).post(contact_of(player, f"?replaces={row.pk}"), told(minutes="4"))
    answer = log_in(welfare).post(contact_of(player, f"?replaces={row.pk}"), told(minutes="7"))
    assert answer.status_code == 422
    assert "head has corrected this meanwhile to 4 min, you to 7 min. Nothing was written." in words_of(answer)


# Matches for other teams


def elsewhere(**more) -> dict[str, str]:
    told = {"opponent": "School cup, away", "day": SATURDAY, "clock": "14:00", "minutes": "35", "declared_by": "PE"}
    return told | more


def test_a_match_for_another_team_is_entered_and_corrected(player, welfare, log_in):
    client = log_in(welfare)
    answer = client.post(match_of(player), elsewhere(), follow=True)
    assert "School cup, away another team 35 PE entered by welfare" in words_of(answer)
    row = MatchMinutes.objects.get()
    assert row.kick_off == dt.datetime(2026, 10, 10, 14, tzinfo=f.LONDON)
    assert 'value="14:00"' in client.get(match_of(player, f"?replaces={row.pk}")).content.decode()
    answer = client.post(match_of(player, f"?replaces={row.pk}"), elsewhere(minutes="20"), follow=True)
    assert "35 → 20 min; before told by PE, entered by welfare" in words_of(answer)
    assert PlayerDay.objects.get().match_minutes == 20


def test_without_a_kick_off_noon_is_taken_and_the_page_says_so(player, welfare, log_in):
    client = log_in(welfare)
    assert "counted from noon" in words_of(client.get(match_of(player)))
    client.post(match_of(player), elsewhere(clock=""))
    assert MatchMinutes.objects.get().kick_off == dt.datetime(2026, 10, 10, 12, tzinfo=f.LONDON)


def test_nobody_plays_in_two_matches_at_once(player, welfare, log_in, fixture):
    client = log_in(welfare)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80}))
    clock = fixture.kicks_off.strftime("%H:%M")
    answer = client.post(match_of(player), elsewhere(day=str(fixture.day), clock=clock))
    assert answer.status_code == 422
    assert "A match with this kick-off stands there already: 80 min, told by team sheet" in words_of(answer)


def test_one_of_our_own_matches_is_corrected_on_its_sheet(player, welfare, log_in, fixture):
    client = log_in(welfare)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80}))
    row = MatchMinutes.objects.get()
    answer = client.post(match_of(player, f"?replaces={row.pk}"), elsewhere())
    assert "correct it on its team sheet" in words_of(answer)
    assert MatchMinutes.objects.count() == 1


# The team sheet


def test_a_team_sheet_is_entered_in_one_form_by_quick_choices_and_minutes(player, squad, fixture, head, log_in):
    whole, half, bench, out, unknown = (f.PlayerFactory(squad=squad) for _ in range(5))
    client = log_in(head)
    choices = {whole: "whole", half: "half", out: "not"}
    quick = {f"quick-{who.pk}": choice for who, choice in choices.items()}
    answer = client.post(minutes_of(fixture), sheet(client, fixture, {player: 62, bench: 0}, **quick), follow=True)
    assert "5 players are noted." in words_of(answer)
    found = dict(MatchMinutes.objects.values_list("player", "minutes"))
    assert found == {player.pk: 62, whole.pk: 80, half.pk: 40, bench.pk: 0, out.pk: 0}
    assert unknown.pk not in found
    assert "5 of 6 told" in words_of(answer)


def test_one_tick_says_that_the_rest_did_not_play(player, squad, fixture, head, log_in):
    others = [f.PlayerFactory(squad=squad) for _ in range(3)]
    client = log_in(head)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80}, rest_not="on"))
    found = dict(MatchMinutes.objects.values_list("player", "minutes"))
    assert found == {player.pk: 80} | {other.pk: 0 for other in others}


def test_an_untouched_form_writes_nothing_and_a_changed_line_alone_is_a_new_row(player, squad, fixture, head, log_in):
    other = f.PlayerFactory(squad=squad)
    client = log_in(head)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80, other: 20}))
    answer = client.post(minutes_of(fixture), sheet(client, fixture, {}), follow=True)
    assert "0 players are noted." in words_of(answer)
    answer = client.post(minutes_of(fixture), sheet(client, fixture, {other: 24}), follow=True)
    assert MatchMinutes.objects.count() == 3
    assert ": 20 → 24 min; before told by team sheet, entered by head" in words_of(answer)


def test_what_somebody_else_noted_meanwhile_is_shown_and_a_second_save_keeps_mine_alone(
    player, squad, fixture, head, welfare, log_in, client
):
    other = f.PlayerFactory(squad=squad)
    log_in(head)
    mine = sheet(client, fixture, {player: 60})
    log_in(welfare)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80, other: 20}))
    log_in(head)
    answer = client.post(minutes_of(fixture), mine)
    assert answer.status_code == 422
    assert "welfare has noted 80 min meanwhile, you 60. Nothing was written" in words_of(answer)
    assert MatchMinutes.objects.count() == 2
    html = answer.content.decode()
    again = dict(re.findall(r'name="((?:minutes|quick)-\d+)" value="([^"]*)"', html))
    again |= {"shown": re.search(r'name="shown" value="([^"]*)"', html)[1], "length": "80", "declared_by": "me"}
    assert client.post(minutes_of(fixture), again).status_code == 302
    counting = dict(MatchMinutes.objects.all().counting().values_list("player", "minutes"))
    assert counting == {player.pk: 60, other.pk: 20}


@pytest.mark.parametrize(
    ("typed", "more", "said"),
    [
        ("eighty", {}, "“eighty”: a whole number from 0 to 600"),
        ("-5", {}, "a whole number from 0 to 600"),
        ("601", {}, "a whole number from 0 to 600"),
        ("²", {}, "a whole number from 0 to 600"),
        ("9" * 40, {}, "a whole number from 0 to 600"),
        ("30", {"quick": "whole"}, "A choice and minutes at once"),
        ("", {"quick": "twice"}, "There is no such choice"),
        ("", {"quick": "whole", "length": ""}, "Write above how long the match lasted"),
        ("80", {"length": "long"}, "“long”: a whole number from 1 to 600"),
        ("80", {"declared_by": " "}, "Say who told it"),
    ],
)
def test_a_sheet_that_cannot_be_read_is_shown_as_typed_and_nothing_written(
    typed, more, said, player, squad, fixture, head, log_in
):
    f.PlayerFactory(squad=squad)
    client = log_in(head)
    given = sheet(client, fixture, {player: typed}, **{k: v for k, v in more.items() if k != "quick"})
    if "quick" in more:
        given[f"quick-{player.pk}"] = more["quick"]
    answer = client.post(minutes_of(fixture), given)
    assert answer.status_code == 422
    assert said in words_of(answer)
    assert f'name="minutes-{player.pk}" value="{typed}"' in answer.content.decode()
    assert not MatchMinutes.objects.exists()


def test_minutes_that_were_told_are_not_emptied(player, fixture, head, log_in):
    client = log_in(head)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80}))
    answer = client.post(minutes_of(fixture), sheet(client, fixture, {player: ""}, rest_not="on"))
    assert "write 0 if he did not play" in words_of(answer)
    assert MatchMinutes.objects.count() == 1


def test_an_age_grade_assumes_no_length_of_a_match(head, log_in, club):
    young = f.SquadFactory(club=club, slug="colts", age_from=17)
    fixture = f.FixtureFactory(squad=young)
    f.PlayerFactory(squad=young)
    html = log_in(head).get(minutes_of(fixture, "")).content.decode()
    assert re.search(r'name="length" value=""', html)


def test_a_match_to_come_and_one_called_off_take_no_minutes(player, squad, head, log_in):
    client = log_in(head)
    to_come = f.FixtureFactory(squad=squad, kick_off=dt.datetime(2026, 10, 17, 15, tzinfo=f.LONDON))
    off = f.FixtureFactory(squad=squad, state="postponed")
    for fixture, said in ((to_come, "still to come"), (off, "is postponed: nobody has played in it")):
        answer = client.get(minutes_of(fixture, ""))
        assert said in words_of(answer)
        assert "<form method" not in answer.content.decode().partition("<main")[2]
        given = {"shown": "", "declared_by": "x", f"minutes-{player.pk}": "80"}
        assert said in words_of(client.post(minutes_of(fixture), given))
    assert not MatchMinutes.objects.exists()


def test_whoever_only_reads_totals_sees_the_minutes_and_no_form(player, fixture, head, medic, log_in):
    client = log_in(head)
    client.post(minutes_of(fixture), sheet(client, fixture, {player: 80}))
    page = log_in(medic).get(minutes_of(fixture, ""))
    assert f"{player.sheet_name} 80 team sheet head" in words_of(page)
    assert "note/" not in page.content.decode()
    assert "/told/" not in client.get(page_of(player)).content.decode().partition("<main")[2]


def test_the_match_leads_to_its_minutes_and_to_how_hard_it_was_and_back(player, fixture, head, log_in):
    client = log_in(head)
    page = client.get(f"/c/brackenford/fixtures/{fixture.pk}/").content.decode()
    assert f'href="{minutes_of(fixture, "")}"' in page
    assert f'href="/c/brackenford/fixtures/{fixture.pk}/rpe/"' in page
    sheet_page = client.get(minutes_of(fixture, "")).content.decode()
    assert f'href="/c/brackenford/fixtures/{fixture.pk}/rpe/"' in sheet_page
    assert (
        f'href="{minutes_of(fixture, "")}"' in client.get(f"/c/brackenford/fixtures/{fixture.pk}/rpe/").content.decode()
    )


@pytest.mark.parametrize("place", ["", "squads/firsts/welfare/2026-10-05/", "squads/firsts/told/2026-10-05/"])
def test_a_missing_word_leads_straight_to_its_form(place, player, welfare, log_in):
    PlaysElsewhere.objects.create(player=player, from_day=MONDAY, where="school", asked="his teacher", by_name="x")
    assert contact_of(player) in log_in(welfare).get(f"/c/brackenford/{place or 'now/'}").content.decode()


# Queries


def queries_of(client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


def test_pages_take_as_many_queries_for_many_rows_as_for_one(player, squad, fixture, head, log_in):
    client = log_in(head)
    pages = (page_of(player), f"/c/brackenford/squads/firsts/told/{MONDAY}/", minutes_of(fixture, ""))

    def enter(who, count: int) -> None:
        for n in range(count):
            client.post(contact_of(who), told(day=f"2026-10-{5 + n:02}"))
            old = Declared.objects.filter(player=who).last()
            client.post(contact_of(who, f"?replaces={old.pk}"), told(day=f"2026-10-{5 + n:02}", minutes="4"))
            client.post(match_of(who), elsewhere(clock=f"{10 + n}:00"))
            PlaysElsewhere.objects.create(player=who, from_day=MONDAY, where="school", by_name="x")
        client.post(minutes_of(fixture), sheet(client, fixture, {who: 80}))

    enter(player, 1)
    few = [queries_of(client, page) for page in pages]
    for _ in range(4):
        enter(f.PlayerFactory(squad=squad), 3)
    enter(player, 4)
    assert [queries_of(client, page) for page in pages] == few
    assert max(few) <= 13


def test_what_was_told_of_a_week_holds_the_earlier_rows_whatever_day_they_named(player, squad, welfare, log_in):
    client = log_in(welfare)
    client.post(contact_of(player), told(day="2026-10-01"))
    client.post(contact_of(player, f"?replaces={Declared.objects.get().pk}"), told())
    (chain,) = told_in_week(squad, MONDAY).contact
    assert [(old.day, new.day) for old, new in chain.changes] == [(dt.date(2026, 10, 1), dt.date(2026, 10, 10))]
