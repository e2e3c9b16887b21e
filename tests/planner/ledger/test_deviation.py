"""Which standard deviation monotony divides by: chosen by the club, dated, in the audit, and beside each figure."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction

from planner.changes import Refused
from planner.core.load import Deviation
from planner.load_actions import choose_deviation, deviation_of
from planner.load_models import DeviationChosen
from shared.models import AuditEvent
from tests.planner.ledger.cast import MONDAY, SUNDAY, address, figures_of, table_of, trained_daily

PAGE = "/c/brackenford/figures/load/deviation/"
# Derived: population 1.20495, sample 1.11557 (tests/published/test_foster_2001.py has the same week).
WEEK = [(6, 50), (0, 0), (9, 50), (8, 50), (0, 0), (3, 50), (7, 100)]


def test_that_of_a_population_holds_until_the_club_chooses(club, head):
    assert deviation_of(club) is Deviation.POPULATION
    choose_deviation(club=club, deviation=Deviation.SAMPLE, by=head)
    assert deviation_of(club) is Deviation.SAMPLE
    choose_deviation(club=club, deviation=Deviation.POPULATION, why="As the paper", by=head)
    assert deviation_of(club) is Deviation.POPULATION
    assert [each.deviation for each in DeviationChosen.objects.all()] == ["sample", "population"]


def test_a_choice_is_in_the_audit_with_what_held_before(club, head):
    choose_deviation(club=club, deviation=Deviation.SAMPLE, why="Our sheets", by=head)
    event = AuditEvent.objects.get(did="chose the deviation of monotony")
    assert (event.actor, event.detail) == ("head", {"was": "population", "now": "sample", "why": "Our sheets"})


def test_choosing_what_holds_already_is_refused_and_writes_nothing(club, head):
    with pytest.raises(Refused, match="already"):
        choose_deviation(club=club, deviation=Deviation.POPULATION, by=head)
    assert not DeviationChosen.objects.exists()
    assert not AuditEvent.objects.exists()


def test_the_choice_of_one_club_is_not_that_of_another(club, head, stranger):
    choose_deviation(club=club, deviation=Deviation.SAMPLE, by=head)
    assert deviation_of(stranger.clubs.get()) is Deviation.POPULATION


def test_each_figure_says_which_one_it_is_and_follows_the_choice(player, head, log_in):
    trained_daily(player, MONDAY, WEEK)
    client, week = log_in(head), {"week": str(MONDAY)}
    text = client.get(address(player), week).content.decode()
    assert ">1.20</td>" in text
    assert ">2410</td>" in text
    assert text.count("Monotony (population deviation)") == 2  # in the head of the table, and beside the figure
    assert text.count("Strain (population deviation), AU") == 2
    client.post(PAGE, {"deviation": "sample", "why": ""})
    text = client.get(address(player), week).content.decode()
    assert ">1.12</td>" in text
    assert ">2231</td>" in text
    assert "Monotony (sample deviation)" in text
    assert "population deviation" not in text
    rows = table_of(client, player, MONDAY)
    assert float(figures_of(rows, "monotony")[str(MONDAY)]) == pytest.approx(1.11557, abs=5e-6)
    assert {row["note"] for row in rows if row["figure"] == "strain"} == {"sample deviation"}


def test_the_page_tells_who_chose_what_when_and_takes_no_nonsense(club, head, log_in):
    client = log_in(head)
    assert "Nothing yet" in client.get(PAGE).content.decode()
    assert client.post(PAGE, {"deviation": "sample", "why": "Our sheets"}).status_code == 302
    text = client.get(PAGE).content.decode()
    assert "Our sheets" in text
    assert '<span class="soft">head</span>' in text
    assert "already" in client.post(PAGE, {"deviation": "sample"}).content.decode()
    assert "errorlist" in client.post(PAGE, {"deviation": "median"}).content.decode()
    assert DeviationChosen.objects.count() == 1


def test_only_the_head_coach_chooses(club, welfare, assistant, medic, log_in):
    for user in (welfare, assistant, medic):
        assert log_in(user).post(PAGE, {"deviation": "sample"}).status_code == 403
    assert not DeviationChosen.objects.exists()


def test_the_choice_takes_no_query_more_on_a_ledger(player, head, log_in, django_assert_num_queries):
    trained_daily(player, MONDAY, WEEK)
    choose_deviation(club=player.squad.club, deviation=Deviation.SAMPLE, by=head)
    client = log_in(head)
    with django_assert_num_queries(11):
        client.get(address(player), {"week": str(SUNDAY)})


# What the database itself refuses


@pytest.mark.parametrize(
    "fields", [{"deviation": "median"}, {"by_name": ""}], ids=["a deviation that is none", "nobody"]
)
def test_a_row_that_says_nothing_known_is_refused(club, fields):
    good = {"club": club, "deviation": "sample", "by_name": "Head"}
    DeviationChosen.objects.create(**good)
    with pytest.raises(IntegrityError), transaction.atomic():
        DeviationChosen.objects.create(**good | fields)


def test_a_choice_is_never_changed(club):
    row = DeviationChosen.objects.create(club=club, deviation="sample", by_name="Head")
    with pytest.raises(TypeError, match="never changed"):
        row.save()
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE planner_deviationchosen SET deviation = 'population'")
    assert DeviationChosen.objects.get().deviation == "sample"
