"""Scenario: a head injury on Saturday 4 October 2025, no symptoms at rest from Wednesday 8 October.

Through the pages, as the welfare officer, a coach and a medical role meet it. Days by the table of UK grassroots
guidance (2023, updated 2024; Day 0 is the day of the injury, non-contact from Day 8, contact from Day 15 and 14 clear
days, a match from Day 21); those of the other unions as far as their texts could be read (`squads.core.union_tables`).
"""

from __future__ import annotations

import datetime as dt
import re
from html import unescape

import pytest
from django.test import Client
from django.utils import timezone

from squads.models import Clearance
from squads.return_models import ReturnEntry
from tests import factories as f

AIDER = {"decided_by": "P. Hollin", "decided_as": "first aider"}
ADULT, YOUNG = dt.date(1996, 3, 1), dt.date(2008, 3, 1)  # 29 and 17 on the day of the injury


def october(day: int) -> dt.date:
    return dt.date(2025, 10, day)


@pytest.fixture
def on(monkeypatch):
    def set_day(day: dt.date) -> None:
        monkeypatch.setattr(timezone, "localdate", lambda *args, **kwargs: day)

    set_day(october(4))
    return set_day


@pytest.fixture
def ann(squad):
    return f.PlayerFactory(squad=squad, given_name="Ann", family_name="Keel", born=ADULT)


@pytest.fixture
def medic(club):
    return f.MembershipFactory(club=club, user__username="medic", role="medical").user


def as_user(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


class Case:
    """What people enter of one player, each on the day on which they do it."""

    def __init__(self, player, by, on) -> None:
        self.player, self.client, self.on = player, as_user(by), on

    def post(self, today: dt.date, address: str, told: dict[str, object]) -> str:
        self.on(today)
        answer = self.client.post(f"/c/brackenford/{address}", told, follow=True)
        assert answer.status_code == 200
        return words_of(answer)

    def begins(self, union: str = "uk-grassroots") -> None:
        self.post(october(4), f"players/{self.player.pk}/return/", AIDER | {"union": union, "day": "2025-10-04"})
        self.key = ReturnEntry.objects.get().pk

    def free(self, day: dt.date) -> str:
        return self.post(day, f"returns/{self.key}/free/", {"day": day.isoformat()})

    def symptoms(self, day: dt.date) -> str:
        return self.post(day, f"returns/{self.key}/symptoms/", AIDER | {"day": day.isoformat()})

    def decides(self, day: dt.date, level: str) -> str:
        told = {"level": level, "from_day": day.isoformat(), "decided_on": day.isoformat(), "letter_received": "on"}
        return self.post(day, f"players/{self.player.pk}/clearance/", AIDER | told)


def words_of(answer) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode().partition("<main")[2])).split())


@pytest.fixture
def case(ann, welfare, on):
    return Case(ann, welfare, on)


@pytest.fixture
def as_coach(assistant, on):
    """What an assistant reads on a day of the list of who may do what."""
    client = as_user(assistant)

    def read(day: dt.date) -> str:
        on(day)
        return words_of(client.get("/c/brackenford/squads/firsts/returns/"))

    return read


def test_he_is_off_at_once_and_no_day_is_known_before_the_end_of_the_symptoms(case, as_coach):
    case.begins()
    assert "out: no training since 4 Oct 2025" in as_coach(october(5))
    assert "contact: no day yet match: no day yet" in as_coach(october(5))


def test_non_contact_from_the_12th_contact_from_the_22nd_and_not_the_19th_a_match_from_the_25th(case, as_coach):
    case.begins()
    told = case.free(october(8))
    for words in (
        "Non-contact training Sun 12 Oct 2025",
        "Contact training Wed 22 Oct 2025",
        "Match Sat 25 Oct 2025",
    ):
        assert words in told
    assert "contact: 22 Oct 2025 match: 25 Oct 2025" in as_coach(october(9))


def test_no_decision_comes_before_its_day_and_none_comes_by_itself(case, as_coach):
    case.begins()
    case.free(october(8))
    assert "Non-contact training: not before" in case.decides(october(11), "none")
    assert "out: no training since 4 Oct 2025" in as_coach(october(12))
    case.decides(october(12), "none")
    assert "non-contact only since" in as_coach(october(12))
    for day in (19, 21):
        assert "Contact training: not before" in case.decides(october(day), "full")
    assert "non-contact only since" in as_coach(october(22))
    case.decides(october(22), "full")
    assert [row.level for row in Clearance.objects.order_by("pk")] == ["absent", "none", "full"]


def test_new_symptoms_on_the_15th_push_contact_to_14_days_after_they_end(case, as_coach):
    case.begins()
    case.free(october(8))
    case.decides(october(12), "none")
    case.symptoms(october(15))
    assert "out: no training since 4 Oct 2025" in as_coach(october(15))
    assert "contact: no day yet match: no day yet" in as_coach(october(15))
    case.free(october(17))
    assert "contact: 31 Oct 2025 match: 1 Nov 2025" in as_coach(october(17))
    assert "Contact training: not before" in case.decides(october(22), "full")


@pytest.mark.parametrize("role", ["assistant", "head_coach"])
def test_coaches_see_status_and_dates_and_no_word_of_a_reason(case, club, role):
    case.begins()
    case.free(october(8))
    client = as_user(f.MembershipFactory(club=club, role=role, user__username="coach").user)
    for page in ("squads/firsts/returns/", f"players/{case.player.pk}/", "squads/firsts/"):
        read = words_of(client.get(f"/c/brackenford/{page}"))
        assert "Ann Keel" in read
        for word in ("injury", "concuss", "symptom", "grassroots"):
            assert word not in read.lower().partition("limits and return after injury")[0]


# The other unions' tables, on the same Saturday and with the same first day without symptoms


@pytest.mark.parametrize(
    ("union", "born", "match"),
    [
        ("irfu", ADULT, "25 Oct 2025"),  # 21 days
        ("irfu", YOUNG, "27 Oct 2025"),  # 23 days
        ("nzr", ADULT, "25 Oct 2025"),
        ("nzr", YOUNG, "27 Oct 2025"),
        ("ffr", YOUNG, "27 Oct 2025"),
        ("ffr", ADULT, None),  # changed since the text of 2020: what holds now was not readable
        ("world-rugby", ADULT, None),  # the least number of days was cut off
    ],
)
def test_under_another_union_only_what_its_text_states_has_a_day_and_the_rest_waits_for_a_medical_entry(
    case, ann, medic, as_coach, union, born, match
):
    ann.born = born
    ann.save()
    case.begins(union)
    case.free(october(8))
    told = f"contact: no day yet match: {match or 'no day yet'}"
    assert told in as_coach(october(9))
    assert "not stated: ask the union" in words_of(case.client.get(f"/c/brackenford/returns/{case.key}/"))
    case.decides(october(28), "full")
    assert [row.level for row in Clearance.objects.all()] == ["absent"]
    entry = {"step": "contact", "from_day": "2025-10-29", "decided_on": "2025-10-28"}
    as_user(medic).post(
        f"/c/brackenford/returns/{case.key}/allow/", entry | {"decided_by": "Dr Fern", "decided_as": "x"}
    )
    assert "contact: 29 Oct 2025" in as_coach(october(28))


def test_who_decided_what_tells_the_same_as_the_list_of_returns(case, welfare, as_coach, on):
    """An older decision for all work stands, and the days of the return limit him all the same."""
    case.begins()
    case.free(october(8))
    Clearance.objects.create(
        player=case.player, level="full", from_day=october(9), decided_on=october(9), decided_by="Moss", decided_as="x"
    )
    on(october(10))
    told = words_of(as_user(welfare).get("/c/brackenford/now/decisions/"))
    assert "Keel out: no training" in told
    assert "contact: not before 22 Oct 2025" in told
    assert "out: no training" in as_coach(october(10))
