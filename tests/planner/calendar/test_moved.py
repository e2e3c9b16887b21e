"""A match that moves, and a session that moves: what the page says before it is saved, and what the save does."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from drills.models import Drill
from planner.changes import Refused
from planner.models import Fixture, PlanRun, Session, Station
from planner.moved_told import effects_of
from planner.moving import what_if
from planner.moving_actions import Fate, change_match
from planner.session_actions import move_session
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.block_cast import small_block, stand

TODAY = dt.date(2026, 10, 1)
SATURDAY, FRIDAY = dt.date(2026, 10, 10), dt.date(2026, 10, 9)
MATCH = {"opponent": "Netherby Cross RFC", "clock": "15:00", "home": "yes", "state": "planned"}


@pytest.fixture(autouse=True)
def early(monkeypatch):
    """It is noon on Thursday 1 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=f.LONDON))


@pytest.fixture
def cast(squad):
    """Live work on Tuesday 6, bags on Thursday 8 for all eight, and a match on Saturday 10 October."""
    cast = small_block(squad)
    f.SeasonFactory(squad=squad)
    live = f.DrillFactory(club=squad.club, name="Live", rung="C4", contact_share=50, players_least=2)
    bags = f.DrillFactory(club=squad.club, name="Bags", rung="C2", contact_share=50, players_least=2)
    stand(cast.slot(0), live, cast.players)
    stand(cast.slot(1), bags, cast.players)
    cast.match = f.FixtureFactory(squad=squad)
    return cast


def moved_to(day: dt.date, hour: int = 15) -> dict:
    return {"kick_off": dt.datetime.combine(day, dt.time(hour), f.LONDON)}


def tried(cast, by, today=TODAY, **fields):
    def change():
        change_match(fixture=Fixture.objects.get(pk=cast.match.pk), by=by, today=today, **fields)

    days = {cast.match.day, *([fields["kick_off"].date()] if "kick_off" in fields else [])}
    return effects_of(what_if(cast.squad, days, change, today))


# What a moved match does


def test_a_trial_leaves_nothing_behind(cast, head):
    before = AuditEvent.objects.count()
    tried(cast, head, **moved_to(FRIDAY))
    assert Fixture.objects.get(pk=cast.match.pk).day == SATURDAY
    assert AuditEvent.objects.count() == before


def test_training_that_comes_too_close_to_the_moved_match_is_told_with_its_rule(cast, head):
    effects = tried(cast, head, **moved_to(FRIDAY))
    assert effects.breaks[0] == (
        "Thu 8 Oct: controlled contact stands in it, but 1 day before a match: no contact (Club rules)."
    )


def test_without_contact_rules_closeness_is_told_as_common_practice(cast, head, club):
    club.contact_rules.all().delete()
    effects = tried(cast, head, **moved_to(FRIDAY))
    assert "(common practice: no contact rules are chosen)" in effects.breaks[0]


def test_stations_that_break_a_rule_are_told_once_with_how_many_players(cast, head):
    told = tried(cast, head, **moved_to(FRIDAY)).breaks[1]
    assert told.startswith("Given")
    number = Drill.objects.get(name="Bags").number
    assert f"may do no contact that day, but #{number} Bags on Thu 8 Oct, slot 2 is controlled contact." in told
    assert told.endswith("The same holds for 7 players more.")


def test_what_was_broken_before_is_not_told(cast, head):
    stand(cast.slot(1, 2), f.DrillFactory(club=cast.squad.club, players_least=9), cast.players)
    texts = " ".join(tried(cast, head, **moved_to(FRIDAY)).breaks)
    assert "takes 9" not in texts


def test_players_whose_ceiling_changes_are_counted_by_night(cast, head):
    assert tried(cast, head, **moved_to(FRIDAY)).players == (
        "Thu 8 Oct, 8 players: controlled at most before, no contact after (1 day before a match: no contact).",
    )


def test_few_players_are_named(cast, head):
    for player in cast.players[2:]:
        player.absences.create(first_day=TODAY, last_day=FRIDAY)
    names = " and ".join(str(player) for player in cast.players[:2])
    assert tried(cast, head, **moved_to(FRIDAY)).players[0].startswith(f"Thu 8 Oct, {names}: ")


def test_each_session_has_its_days_to_the_match_before_and_after(cast, head):
    nights = [(night.name, night.before, night.after) for night in tried(cast, head, **moved_to(FRIDAY)).nights]
    assert nights == [("Tue 6 Oct", "MD-4", "MD-3"), ("Thu 8 Oct", "MD-2", "MD-1"), ("Tue 13 Oct", "MD+3", "MD+4"), (
        "Thu 15 Oct", "MD+5", "MD+6",
    )]  # fmt: skip


def test_a_cancelled_match_gives_room_and_breaks_nothing(cast, head):
    effects = tried(cast, head, state="cancelled")
    assert effects.breaks == ()
    assert "Thu 8 Oct, 8 players: controlled at most before, all work after." in effects.players


def test_a_match_put_back_breaks_what_its_postponement_had_eased(cast, head):
    change_match(fixture=cast.match, by=head, today=TODAY, state="postponed", **moved_to(FRIDAY))
    effects = tried(cast, head, state="planned")
    assert "1 day before a match" in effects.breaks[0]


def test_training_on_the_new_match_day_comes_before_all_else_but_two_matches(cast, head):
    other = f.FixtureFactory(
        squad=cast.squad, opponent="Hollin", kick_off=dt.datetime(2026, 10, 6, 15, tzinfo=f.LONDON)
    )
    first, second, *_more = tried(cast, head, **moved_to(dt.date(2026, 10, 8))).breaks
    assert first == f"{other} and Netherby Cross RFC 8 Oct 2026 are 48 h apart (common practice: 72 h)."
    assert second == "Thu 8 Oct: training would be on a match day."


def test_for_an_age_grade_squad_hours_between_matches_name_their_source(cast, head):
    cast.squad.age_from = 15
    cast.squad.save()
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 7, 15, tzinfo=f.LONDON))
    assert "RFU guidance for under-13s to under-18s asks for 72 h" in tried(cast, head, **moved_to(FRIDAY)).breaks[0]


def test_seventy_two_hours_between_matches_are_enough(cast, head):
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 6, 15, tzinfo=f.LONDON))
    assert not any("h apart" in text for text in tried(cast, head, **moved_to(FRIDAY)).breaks)


def test_a_week_whose_last_day_without_contact_goes_is_told(cast, head):
    bags = cast.slot(1).stations.get().drill
    for day in (5, 7, 9, 11):
        night = f.SessionFactory(
            squad=cast.squad, starts_at=dt.datetime(2026, 10, day, 10, tzinfo=f.LONDON), slots=[12]
        )
        stand(night.slots.get(), bags, [])
    change_match(fixture=cast.match, by=head, today=TODAY, state="postponed")
    effects = tried(cast, head, state="planned")
    assert "Week of Mon 5 Oct: no day without contact is left." in effects.breaks
    (figure,) = [each for week in effects.weeks for each in week.figures if each.what == "days without contact"]
    assert (figure.before, figure.after) == ("1", "0")


def test_what_lies_wholly_in_the_past_changes_nothing_ahead(cast, head):
    effects = tried(cast, head, today=dt.date(2026, 11, 30), state="cancelled")
    assert effects.is_nothing


# What a moved session does


def move_tried(cast, by, night: int, day: int, **how):
    session = cast.nights[night]
    starts = dt.datetime(2026, 10, day, 19, tzinfo=f.LONDON)

    def change():
        move_session(session=session, starts_at=starts, by=by, version=0, today=TODAY, **how)

    return effects_of(what_if(cast.squad, {session.day, starts.date()}, change, TODAY))


def test_a_session_that_moves_towards_a_match_says_which_stations_break(cast, head):
    effects = move_tried(cast, head, 0, 8 + 1, keep_plan=True)
    assert effects.breaks[0].startswith("Fri 9 Oct: full contact stands in it, but 1 day before a match: no contact")
    assert [(night.name, night.before, night.after) for night in effects.nights] == [
        ("Tue 6 Oct → Fri 9 Oct", "MD-4", "MD-1")
    ]


def test_a_session_that_moves_without_its_stations_breaks_nothing(cast, head):
    effects = move_tried(cast, head, 0, 9, drop_plan=True)
    assert effects.breaks == ()
    figures = {each.what: (each.before, each.after, each.limit) for each in effects.weeks[0].figures}
    assert figures["full contact, the most of any player, min"] == ("6", "0", "15")


def test_a_session_moved_into_a_full_week_passes_its_limit(cast, head):
    cast.squad.club.contact_rules.update(full_minutes=10)
    live = cast.slot(0).stations.get().drill
    stand(cast.slot(2), live, cast.players)
    effects = move_tried(cast, head, 2, 7, keep_plan=True)
    assert any(text.startswith("Week of Mon 5 Oct: 8 players past 10 min full contact") for text in effects.breaks)


# The page


def address(name: str, **words) -> str:
    return reverse(name, kwargs={"club": "brackenford"} | words)


def post(client, cast, day: str, **more):
    return client.post(address("edit_fixture", fixture=cast.match.pk), MATCH | {"day": day} | more)


def seen(answer) -> str:
    return re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]


def test_saturdays_match_moved_to_friday_goes_from_page_to_preview_to_save_to_the_week(cast, head, log_in):
    client = log_in(head)
    form = client.get(address("edit_fixture", fixture=cast.match.pk) + "?day=2026-10-09").content.decode()
    assert 'value="2026-10-09"' in form
    preview = post(client, cast, "2026-10-09")
    assert "Thu 8 Oct: controlled contact stands in it" in preview.content.decode()
    assert Fixture.objects.get().day == SATURDAY
    saved = post(client, cast, "2026-10-09", seen=seen(preview))
    assert saved["Location"] == address("week", squad="firsts", monday="2026-10-05")
    assert Fixture.objects.get().day == FRIDAY
    week = client.get(saved["Location"]).content.decode()
    assert "Bags on Thu 8 Oct, slot 2 is controlled contact." in week
    assert "Mend it: deal again" in week


def test_saving_can_lead_straight_to_dealing_again(cast, head, log_in):
    client = log_in(head)
    preview = post(client, cast, "2026-10-09")
    assert "Save, then deal again" in preview.content.decode()
    answer = post(client, cast, "2026-10-09", seen=seen(preview), deal="1")
    assert answer["Location"] == address("deal_again", block=cast.block.pk)
    assert "Bags" in client.get(answer["Location"]).content.decode()
    assert PlanRun.objects.count() == 0


def test_who_has_seen_something_else_is_shown_the_page_again(cast, head, log_in):
    client = log_in(head)
    preview = post(client, cast, "2026-10-09")
    Station.objects.all().delete()
    assert post(client, cast, "2026-10-09", seen=seen(preview)).status_code == 200
    assert Fixture.objects.get().day == SATURDAY


def test_a_change_that_touches_no_day_is_saved_at_once(cast, head, log_in):
    answer = post(log_in(head), cast, "2026-10-10", opponent="Hollin")
    assert answer["Location"] == f"{address('calendar')}?squad=firsts"
    assert Fixture.objects.get().opponent == "Hollin"


def test_the_form_can_be_opened_again_with_what_was_entered(cast, head, log_in):
    text = post(log_in(head), cast, "2026-10-09", again="1").content.decode()
    assert 'type="date"' in text
    assert 'value="2026-10-09"' in text


def test_training_on_the_new_match_day_is_offered_the_free_days_of_its_week(cast, head, log_in):
    text = post(log_in(head), cast, "2026-10-08").content.decode()
    assert "Training Thu 8 Oct, 19:00 on the match day" in text
    offers = re.findall(r"move it to (\w+ \d+ \w+ \([^)]+\): [\w ]+)", text)
    assert offers == [
        "Mon 5 Oct (MD-3): all work",
        "Sun 11 Oct (MD+3): all work",
        "Sat 10 Oct (MD+2): controlled at most",
    ]
    assert "call it off" in text


def test_what_becomes_of_the_training_is_shown_and_then_saved_with_the_match(cast, head, log_in):
    client, thursday = log_in(head), cast.nights[1]
    chosen = {f"fate_{thursday.pk}": "2026-10-05"}
    preview = post(client, cast, "2026-10-08")
    again = post(client, cast, "2026-10-08", seen=seen(preview), **chosen)
    assert "training would be on a match day" not in again.content.decode()
    post(client, cast, "2026-10-08", seen=seen(again), **chosen)
    thursday.refresh_from_db()
    assert (thursday.day, Fixture.objects.get().day) == (dt.date(2026, 10, 5), dt.date(2026, 10, 8))
    assert thursday.starts_at.astimezone(f.LONDON).hour == 19
    assert Station.objects.count() == 2


def test_a_day_that_is_not_offered_is_refused(cast, head, log_in):
    answer = post(log_in(head), cast, "2026-10-08", **{f"fate_{cast.nights[1].pk}": "2026-12-24"})
    assert "Select a valid choice" in answer.content.decode()
    assert Fixture.objects.get().day == SATURDAY


def test_match_and_training_change_together_or_not_at_all(cast, head):
    taken = cast.nights[0]
    with pytest.raises(Refused):
        change_match(
            fixture=cast.match, by=head, today=TODAY, fates=[Fate(cast.nights[1], taken.day)], **moved_to(FRIDAY)
        )
    assert Fixture.objects.get().day == SATURDAY


def test_training_is_called_off_with_the_move_of_the_match(cast, head):
    change_match(fixture=cast.match, by=head, today=TODAY, fates=[Fate(cast.nights[1])], **moved_to(cast.nights[1].day))
    assert Session.objects.get(pk=cast.nights[1].pk).cancelled
    assert list(AuditEvent.objects.order_by("-number").values_list("did", flat=True)[:2]) == [
        "cancelled session", "changed fixture",
    ]  # fmt: skip


def test_moving_a_session_on_its_page_shows_first_and_then_leads_to_dealing_again(cast, head, log_in):
    client, tuesday = log_in(head), cast.nights[0]
    place = address("move_session", session=tuesday.pk)
    assert 'value="2026-10-09"' in client.get(place + "?day=2026-10-09").content.decode()
    sent = {"version": 0, "day": "2026-10-09", "starts": "19:00"}
    preview = client.post(place, sent)
    assert "Fri 9 Oct: full contact stands in it" in preview.content.decode()
    answer = client.post(place, sent | {"seen": seen(preview), "deal": "1"})
    assert answer["Location"] == address("deal_again", block=cast.block.pk)
    assert Session.objects.get(pk=tuesday.pk).day == FRIDAY


@pytest.mark.parametrize("day", ["nonsense", "2026-13-01", "0001-01-01x"])
def test_a_senseless_day_in_the_address_is_passed_over(cast, head, log_in, day):
    text = log_in(head).get(address("edit_fixture", fixture=cast.match.pk) + f"?day={day}").content.decode()
    assert 'value="2026-10-10"' in text


def test_a_file_that_moves_a_match_shows_what_it_does_before_it_is_written(cast, head, log_in):
    client = log_in(head)
    rows = b"date,time,opponent,home,uid\n2026-10-09,15:00,Netherby Cross RFC,yes,%s\n" % cast.match.uid.encode()
    sent = {"squad": cast.squad.pk, "file": SimpleUploadedFile("league.csv", rows)}
    place = client.post(address("import_fixtures"), sent)["Location"]
    text = client.get(place).content.decode()
    assert "Thu 8 Oct: controlled contact stands in it" in text
    assert Fixture.objects.filter(day=SATURDAY).exists()


@pytest.mark.parametrize("rows", [1, 3])
def test_a_trial_takes_the_same_queries_for_any_number_of_players_and_stations(
    rows, squad, head, django_assert_num_queries
):
    cast = small_block(squad, players=4 * rows)
    for order in range(1, 3)[:rows]:
        for drill in cast.drills[:rows]:
            stand(cast.slot(1, order), drill, [])
    cast.match = f.FixtureFactory(squad=squad)
    with django_assert_num_queries(88):
        tried(cast, head, **moved_to(FRIDAY))
