"""Pages of returns to training, as each role reads them, and the list on paper."""

import datetime as dt
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from shared.clock import today_at
from squads.clearance_actions import record_clearance, start_return, tell_symptom_free
from squads.models import Clearance
from squads.return_models import ReturnEntry
from squads.returning import returning
from tests import factories as f

pytestmark = pytest.mark.django_db
AIDER = {"decided_by": "P. Hollin", "decided_as": "first aider"}


@pytest.fixture
def today(club):
    return today_at(club)


@pytest.fixture
def ann(squad):
    return f.PlayerFactory(squad=squad, given_name="Ann", family_name="Ferris")


def url(name, **words):
    return reverse(name, kwargs={"club": "brackenford"} | words)


def text(answer):
    return " ".join(answer.content.decode().split())


def off(player, by, days, free=0):
    """Off so many days ago by the UK table, without symptoms from `free` days later."""
    today = today_at(player.squad.club)
    case = start_return(player=player, union="uk-grassroots", day=today - dt.timedelta(days=days), by=by, **AIDER)
    tell_symptom_free(case=case, day=case.day + dt.timedelta(days=free), by=by)
    return case


def decide(player, by, level="none", **more):
    today = today_at(player.squad.club)
    told = AIDER | {"from_day": today, "decided_on": today, "level": level} | more
    return record_clearance(player=player, by=by, **told)


def day(date):
    return f"{date.day} {date:%b %Y}"


# The list


def test_a_coach_reads_status_work_review_and_dates(squad, ann, welfare, assistant, log_in, today):
    off(ann, welfare, 10)
    words = {"allowed_work": "run and catch", "not_allowed_work": "no jumping", "review_by": "physio"}
    decide(ann, welfare, review_on=today + dt.timedelta(days=3), letter_received=True, **words)
    page = text(log_in(assistant).get(url("returns", squad="firsts")))
    for words in ("non-contact only", "run and catch", "no jumping", "physio", "letter received", "P. Hollin"):
        assert words in page
    assert f"since {day(today - dt.timedelta(days=10))}" in page
    assert f"contact: {day(today + dt.timedelta(days=5))}" in page
    assert f"match: {day(today + dt.timedelta(days=11))}" in page
    assert "review due" not in page


@pytest.mark.parametrize(("in_days", "due"), [(-1, True), (0, True), (1, False)])
def test_a_review_that_should_have_been_is_shown(in_days, due, ann, welfare, assistant, log_in, today):
    decide(ann, welfare, from_day=today - dt.timedelta(days=9), review_on=today + dt.timedelta(days=in_days))
    page = text(log_in(assistant).get(url("returns", squad="firsts")))
    assert ("review due" in page) == due


def test_who_is_overdue_stands_first(squad, ann, welfare, today):
    zoe = f.PlayerFactory(squad=squad, given_name="Zoe", family_name="Zant")
    decide(ann, welfare, review_on=today + dt.timedelta(days=2))
    decide(zoe, welfare, review_on=today)
    assert [line.player for line in returning([squad], today)] == [zoe, ann]


def test_words_follow_the_dates_where_these_lower_a_decision(squad, ann, welfare, today):
    case = off(ann, welfare, 15)
    decide(ann, welfare, level="full", letter_received=True, allowed_work="all work")
    tell_symptom_free(case=case, day=today - dt.timedelta(days=3), by=welfare)
    (line,) = returning([squad], today)
    assert (line.status, line.mark) == ("non-contact only", "NC")
    assert line.words[0].startswith("run, pass, catch")


def test_of_two_returns_the_later_dates_are_told(squad, ann, welfare, today):
    off(ann, welfare, 20)
    off(ann, welfare, 5)
    (line,) = returning([squad], today)
    assert line.contact == today + dt.timedelta(days=10)
    assert line.since == today - dt.timedelta(days=20)


def test_nobody_limited_is_said(squad, ann, assistant, log_in):
    assert "Nobody: neither a decision nor a return limits anyone" in text(
        log_in(assistant).get(url("returns", squad="firsts"))
    )


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_the_same_queries_for_any_number_of_players(
    count, squad, welfare, assistant, log_in, django_assert_num_queries
):
    for _ in range(count):
        player = f.PlayerFactory(squad=squad)
        off(player, welfare, 10)
        decide(player, welfare)
    client = log_in(assistant)
    with django_assert_num_queries(8):  # session, user, membership, squad; players, absences, clearances, entries
        client.get(url("returns", squad="firsts"))


# On paper


def printed(client):
    answer = client.get(url("returns_pdf", squad="firsts"))
    assert answer.headers["Content-Type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.content)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().split())


def test_the_print_holds_names_and_marks_and_nothing_else_of_a_player(squad, ann, welfare, assistant, log_in, today):
    off(ann, welfare, 10)
    decide(ann, welfare, allowed_work="run and catch", review_on=today, review_by="physio")
    words = printed(log_in(assistant))
    assert "Ann Ferris NC" in words
    for other in ("run and catch", "physio", "Hollin", day(today + dt.timedelta(days=5)), "since"):
        assert other not in words


@pytest.mark.parametrize(("years", "name"), [(17, "Ann F. OUT"), (19, "Ann Ferris OUT")])
def test_a_minor_is_printed_by_first_name_and_initial_in_an_adult_squad_too(
    years, name, ann, welfare, assistant, log_in, today
):
    ann.born = dt.date(today.year - years, 1, 1)
    ann.save()
    off(ann, welfare, 1)
    assert name in printed(log_in(assistant))


# The case


def test_the_welfare_officer_sees_days_and_rules_and_not_the_course(ann, welfare, log_in):
    case = off(ann, welfare, 10, free=4)
    page = text(log_in(welfare).get(url("return_case", case=case.pk)))
    assert "UK grassroots guidance" in page
    assert "What was entered" not in page
    assert "14 days without symptoms" not in page
    assert url("return_allow", case=case.pk) not in page


def test_a_medical_role_sees_why_a_day_is_what_it_is(ann, medic, log_in):
    case = off(ann, medic, 10, free=4)
    page = text(log_in(medic).get(url("return_case", case=case.pk)))
    assert f"14 days without symptoms from {case.day + dt.timedelta(days=4):%-d %b}" in page
    assert "No symptoms at rest from" in page


def test_a_return_begins_on_its_page(ann, welfare, log_in, today):
    told = AIDER | {"union": "irfu", "day": today.isoformat()}
    answer = log_in(welfare).post(url("return_start", player=ann.pk), told)
    case = ReturnEntry.objects.get()
    assert answer.headers["Location"] == url("return_case", case=case.pk)
    assert (case.table, Clearance.objects.get().level) == ("irfu-u20", "absent")


@pytest.mark.parametrize(
    ("name", "told", "kind"),
    [
        ("return_free", {}, "free"),
        ("return_symptoms", AIDER, "symptoms"),
        ("return_allow", AIDER | {"step": "contact"}, "allowed"),
        ("return_close", AIDER, "closed"),
    ],
)
def test_each_kind_of_entry_has_its_page(name, told, kind, ann, medic, log_in, today):
    case = off(ann, medic, 10)
    days = {word: today.isoformat() for word in ("day", "from_day", "decided_on")}
    log_in(medic).post(url(name, case=case.pk), told | days)
    assert case.entries.last().kind == kind


def test_a_refusal_stands_on_the_form_and_nothing_is_written(ann, welfare, log_in, today):
    case = off(ann, welfare, 10)
    answer = log_in(welfare).post(url("return_free", case=case.pk), {"day": case.day.isoformat()})
    assert "Only a medical entry can name an earlier one" in text(answer)
    assert case.entries.count() == 1


def test_a_decision_above_the_dates_is_refused_on_its_form(ann, welfare, medic, log_in, today):
    off(ann, welfare, 10)
    told = AIDER | {"level": "full", "from_day": today.isoformat(), "decided_on": today.isoformat()}
    answer = log_in(welfare).post(url("clearance_add", player=ann.pk), told | {"letter_received": "on"})
    assert "Contact training: not before" in text(answer)
    assert Clearance.objects.count() == 1
    log_in(medic).post(url("clearance_add", player=ann.pk), told)
    assert Clearance.objects.last().level == "full"


def test_the_usual_words_are_recorded_where_none_were_typed(ann, welfare, log_in, today):
    told = AIDER | {"level": "none", "from_day": today.isoformat(), "decided_on": today.isoformat()}
    log_in(welfare).post(url("clearance_add", player=ann.pk), told | {"allowed_work": "walk and talk"})
    found = Clearance.objects.get()
    assert found.allowed_work == "walk and talk"
    assert found.not_allowed_work == "no bags, no pads, no partner in contact, no jumping, no falling"


def test_a_case_of_another_club_does_not_exist(ann, welfare, stranger, log_in):
    case = off(ann, welfare, 10)
    slug = stranger.memberships.get().club.slug
    other = f.MembershipFactory(club=stranger.memberships.get().club, role="medical").user
    for name in ("return_case", "return_free", "return_symptoms", "return_allow", "return_close"):
        answer = log_in(other).get(reverse(name, kwargs={"club": slug, "case": case.pk}))
        assert answer.status_code == 404


def test_an_entry_that_begins_no_return_has_no_page(ann, medic, log_in):
    case = off(ann, medic, 10)
    assert log_in(medic).get(url("return_case", case=case.entries.get().pk)).status_code == 404
