"""The pages of patterns: list, change, copy, retire; putting one on a week; what the calendar proposes."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from planner.models import Fixture
from planner.pattern_actions import add_usual_patterns, mark_final
from planner.pattern_models import FinalMatch, Fits, Pattern, WeekPattern
from planner.usual_patterns import USUAL
from shared.models import AuditEvent
from tests import factories as f
from tests.planner.patterns.cast import MONDAY, pattern, planned_block, put

MATCH = {"opponent": "Netherby Cross RFC", "clock": "15:00", "home": "yes", "state": "planned"}


@pytest.fixture(autouse=True)
def early(monkeypatch):
    """It is noon on Thursday 1 October 2026."""
    monkeypatch.setattr(timezone, "now", lambda: dt.datetime(2026, 10, 1, 12, tzinfo=f.LONDON))


@pytest.fixture
def cast(squad):
    return planned_block(squad)


def at(name: str, **words) -> str:
    return reverse(name, kwargs={"club": "brackenford"} | words)


def text_of(answer) -> str:
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def refused(make) -> bool:
    try:
        with transaction.atomic():
            make()
    except IntegrityError:
        return True
    return False


# The rows


def test_a_pattern_has_a_name_of_its_own_in_the_club(squad):
    pattern(squad)
    assert refused(lambda: pattern(squad))
    assert refused(lambda: pattern(squad, ""))
    assert not refused(lambda: pattern(f.SquadFactory()))


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ({"full_days": 8}, {"full_days": 7}),
        ({"mean_rpe": Decimal("10.1")}, {"mean_rpe": Decimal("10")}),
        ({"full_first": 2, "full_before": 3}, {"full_first": 3, "full_before": 3}),
    ],
)
def test_figures_without_sense_are_kept_out_of_patterns_and_of_weeks(squad, wrong, right):
    on_week = {"squad": squad, "monday": MONDAY, "holds_from": MONDAY, "name": "Short week"}
    assert refused(lambda: pattern(squad, **wrong))
    assert refused(lambda: WeekPattern.objects.create(**on_week, **wrong))
    assert not refused(lambda: pattern(squad, **right))
    assert not refused(lambda: WeekPattern.objects.create(**on_week, **right))


def test_a_pattern_fits_a_known_kind_of_week(squad):
    assert refused(lambda: pattern(squad, fits="sunny"))
    assert not refused(lambda: pattern(squad, fits=Fits.BYE))


def test_a_week_has_one_pattern_that_holds_in_it(squad):
    on_week = {"squad": squad, "monday": MONDAY, "name": "Short week"}
    assert refused(lambda: WeekPattern.objects.create(**on_week, holds_from=dt.date(2026, 10, 4)))
    assert not refused(lambda: WeekPattern.objects.create(**on_week, holds_from=MONDAY))
    assert refused(lambda: WeekPattern.objects.create(**on_week, holds_from=MONDAY))


# The club's patterns


def test_the_usual_patterns_are_added_once_and_leave_the_clubs_own_alone(squad, head, log_in):
    own = pattern(squad, "Short week", controlled_minutes=1)
    client = log_in(head)
    for _times in range(2):
        client.post(at("usual_patterns"))
    own.refresh_from_db()
    assert (Pattern.objects.count(), own.controlled_minutes) == (len(USUAL), 1)
    assert AuditEvent.objects.filter(did="added usual patterns").count() == 1


def test_no_usual_pattern_allows_more_than_the_published_weekly_figures(squad, head):
    """World Rugby and International Rugby Players, contact load guidelines, 23 September 2021: 15, 40 and 30 minutes
    a week, full contact on 2 days at most."""
    for row in add_usual_patterns(club=squad.club, by=head):
        assert row.full_minutes <= 15
        assert row.controlled_minutes <= 40
        assert row.set_piece_minutes <= 30
        assert row.full_days <= 2


def test_the_volume_of_the_taper_falls_each_week_by_at_most_60_per_cent(squad, head):
    """Bosquet and others 2007, Med Sci Sports Exerc 39(8): volume falls by 41 to 60 % over the whole taper."""
    rows = {row.fits: row for row in add_usual_patterns(club=squad.club, by=head)}
    third, second, last = (rows[fit].defence_minutes for fit in (Fits.THIRD_LAST, Fits.SECOND_LAST, Fits.LAST))
    assert third > second > last
    assert 0.41 <= 1 - last / third <= 0.60


def test_without_a_pattern_the_page_says_what_to_do_next(squad, head, log_in):
    assert "Begin with the usual ones" in text_of(log_in(head).get(at("patterns")))


def test_a_pattern_is_made_copied_and_changed_on_its_page(squad, head, log_in):
    client, skill = log_in(head), f.SkillFactory(club=squad.club)
    sent = {"name": " Wet  week ", "controlled_minutes": 10, "full_minutes": 0, "mean_rpe": "4.5", "skills": skill.pk}
    assert client.post(at("new_pattern"), sent)["Location"] == at("patterns")
    made = Pattern.objects.get()
    assert (made.name, made.controlled_minutes, made.full_minutes, made.full_days) == ("Wet week", 10, 0, None)
    assert [each.code for each in made.skills.all()] == [skill.code]
    form = text_of(client.get(at("new_pattern") + f"?copy={made.pk}"))
    assert 'value="Wet week, copy"' in form
    assert 'value="4.5"' in form
    client.post(at("edit_pattern", pattern=made.pk), sent | {"controlled_minutes": 8})
    made.refresh_from_db()
    assert made.controlled_minutes == 8


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"name": "Short week"}, "The club has a pattern of that name already."),
        ({"name": ""}, "This field is required."),
        ({"full_days": 8}, "A week has seven days."),
        ({"mean_rpe": 11}, "RPE goes from 1 to 10 here."),
        ({"mean_rpe": "NaN"}, "Enter a number."),
        ({"full_first": 2, "full_before": 3}, "Full contact would end before it begins"),
        ({"controlled_minutes": 601}, "less than or equal to 600"),
        ({"controlled_minutes": -1}, "greater than or equal to 0"),
        ({"fits": "sunny"}, "Select a valid choice"),
    ],
)
def test_a_wrong_pattern_comes_back_with_words_and_nothing_is_written(squad, head, log_in, more, words):
    pattern(squad)
    assert words in text_of(log_in(head).post(at("new_pattern"), {"name": "New"} | more))
    assert Pattern.objects.count() == 1


def test_a_retired_pattern_leaves_the_offer_and_comes_back(squad, head, log_in):
    client, row = log_in(head), pattern(squad)
    client.post(at("retire_pattern", pattern=row.pk))
    assert [each.name for each in Pattern.objects.on_offer()] == []
    client.post(at("retire_pattern", pattern=row.pk), {"back": "1"})
    assert [each.name for each in Pattern.objects.on_offer()] == ["Short week"]


def test_an_assistant_reads_the_patterns_and_is_offered_no_change(squad, assistant, log_in):
    pattern(squad)
    text = text_of(log_in(assistant).get(at("patterns")))
    assert "Short week" in text
    assert [words for words in ("New pattern", "Retire", "Copy", "Add the usual") if words in text] == []


@pytest.mark.parametrize("rows", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_patterns(
    rows, squad, head, log_in, django_assert_num_queries
):
    for number in range(rows):
        pattern(squad, f"Pattern {number}").skills.add(f.SkillFactory(club=squad.club, code=f"U{number:02}"))
    client = log_in(head)
    with django_assert_num_queries(5):
        client.get(at("patterns"))


# On a week


def place() -> str:
    return at("put_pattern", squad="firsts", monday="2026-10-05")


def seen(text: str) -> str:
    return re.search(r'name="seen" value="(\w+)"', text)[1]


def test_a_pattern_goes_on_a_week_after_the_page_has_shown_what_it_does(cast, head, log_in):
    client, row = log_in(head), pattern(cast.squad, controlled_minutes=5, full_minutes=40)
    text = text_of(client.post(place(), {"pattern": row.pk}))
    assert WeekPattern.objects.count() == 0
    lines = re.findall(r'<th scope="row">([^<]+)</th>(.*?)</tr>', text)
    held = {what: re.findall(r">([\d–]+)<", cells) for what, cells in lines}
    assert held["full contact, min"] == ["15", "40", "15"]
    assert held["controlled contact, min"] == ["40", "5", "5"]
    assert "the limit is 5 (pattern Short week). The same holds for 7 players more." in text
    assert "Week of Mon 5 Oct: 8 players past 5 min controlled contact (pattern: Short week)." in text
    answer = client.post(place(), {"pattern": row.pk, "seen": seen(text), "deal": "1"})
    assert answer["Location"] == at("deal_again", block=cast.block.pk)
    assert WeekPattern.objects.get().controlled_minutes == 5


def test_another_pattern_can_be_chosen_before_anything_is_saved(cast, head, log_in):
    row = pattern(cast.squad, controlled_minutes=5)
    assert "Show what it does" in text_of(log_in(head).post(place(), {"pattern": row.pk, "again": "1"}))


def test_a_pattern_is_taken_off_on_its_page(cast, head, log_in):
    put(cast.squad, head, controlled_minutes=5)
    client = log_in(head)
    assert "Take “Short week” off the week" in text_of(client.get(place()))
    client.post(at("take_pattern_off", squad="firsts", monday="2026-10-05"))
    assert WeekPattern.objects.count() == 0


def test_a_past_week_is_offered_no_pattern(cast, head, log_in):
    row = pattern(cast.squad)
    past = at("put_pattern", squad="firsts", monday="2026-09-21")
    client = log_in(head)
    assert "This week is past" in text_of(client.get(past))
    assert "is past and stays as it was" in text_of(client.post(past, {"pattern": row.pk}))
    assert WeekPattern.objects.count() == 0


# What is proposed


def test_a_short_week_is_proposed_with_its_reason_and_never_put_on_by_itself(cast, head, log_in):
    pattern(cast.squad, fits=Fits.SHORT)
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 4, 15, tzinfo=f.LONDON))
    client, why = log_in(head), "6 days from the match on Sun 4 Oct to the next on Sat 10 Oct"
    assert f"“Short week” would fit: {why}." in text_of(client.get(at("calendar")))
    week = text_of(client.get(at("week", squad="firsts", monday="2026-10-05")))
    assert f"The pattern “Short week” would fit this week: {why}." in week
    assert why in text_of(client.get(place()))
    assert WeekPattern.objects.count() == 0


def test_a_moved_match_proposes_the_pattern_that_its_week_then_fits(cast, head, log_in):
    pattern(cast.squad, fits=Fits.SHORT)
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 3, 15, tzinfo=f.LONDON))
    sent = MATCH | {"day": "2026-10-09"}
    text = text_of(log_in(head).post(at("edit_fixture", fixture=cast.match.pk), sent))
    assert (
        "Week of Mon 5 Oct: the pattern “Short week” would fit "
        "(6 days from the match on Sat 3 Oct to the next on Fri 9 Oct)."
    ) in text


def test_a_club_without_patterns_is_told_that_the_week_of_a_moved_match_needs_one(cast, head, log_in):
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 3, 15, tzinfo=f.LONDON))
    address, sent = at("edit_fixture", fixture=cast.match.pk), MATCH | {"day": "2026-10-09"}
    words = (
        "Week of Mon 5 Oct: 6 days from the match on Sat 3 Oct to the next on Fri 9 Oct. "
        "The club has no pattern for such a week."
    )
    client = log_in(head)
    assert words in text_of(client.post(address, sent))
    add_usual_patterns(club=cast.squad.club, by=head)
    offered = text_of(client.post(address, sent))
    assert "has no pattern" not in offered
    assert "the pattern “Short week” would fit" in offered


def test_a_retired_pattern_is_not_proposed_nor_one_for_a_week_that_has_one(cast, head, log_in):
    f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 4, 15, tzinfo=f.LONDON))
    row, client = pattern(cast.squad, fits=Fits.SHORT), log_in(head)
    put(cast.squad, head)
    text = text_of(client.get(at("calendar")))
    assert "Pattern: Short week" in text
    assert "would fit" not in text
    WeekPattern.objects.all().delete()
    row.retired_on = dt.date(2026, 9, 30)
    row.save()
    assert "would fit" not in text_of(client.get(at("calendar")))


def test_a_match_is_marked_as_a_final_and_the_weeks_before_it_taper(cast, head, log_in):
    for name, fits in (("Week of a final", Fits.LAST), ("Third week before", Fits.THIRD_LAST)):
        pattern(cast.squad, name, fits=fits)
    client, final = (
        log_in(head),
        f.FixtureFactory(squad=cast.squad, kick_off=dt.datetime(2026, 10, 24, 15, tzinfo=f.LONDON)),
    )
    sent = MATCH | {"day": "2026-10-24", "is_final": "on"}
    shown = text_of(client.post(at("edit_fixture", fixture=final.pk), sent))
    client.post(at("edit_fixture", fixture=final.pk), sent | {"seen": seen(shown)})
    assert FinalMatch.objects.get().marked_by == head
    text = text_of(client.get(at("calendar")))
    assert "“Third week before” would fit: final on Sat 24 Oct." in text
    assert "“Week of a final” would fit: final on Sat 24 Oct." in text
    assert "checked" in client.get(at("edit_fixture", fixture=final.pk)).content.decode()


def test_a_final_that_is_none_after_all_is_unmarked(cast, head):
    with transaction.atomic():
        mark_final(cast.match, True, head)
        mark_final(cast.match, True, head)
    assert hasattr(Fixture.objects.get(), "final")
    mark_final(cast.match, False, head)
    assert not hasattr(Fixture.objects.get(), "final")
