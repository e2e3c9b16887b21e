"""The audit chain: complete, in order, and unable to be changed without a trace."""

from __future__ import annotations

import hashlib
import json
import threading

import pytest
from django.db import IntegrityError, connections, transaction

from shared.audit import broken_links, record
from shared.models import AuditEvent, AuditHead
from tests import factories as f


@pytest.fixture
def chain(club, head):
    return [record(club, "accepted a plan", f"October block {n}", by=head, cost=n) for n in range(1, 6)]


def test_an_event_says_who_did_what_to_what(chain):
    event = AuditEvent.objects.get(number=3)
    assert (event.club, event.actor, event.did, event.subject, event.detail) == (
        "brackenford",
        "head",
        "accepted a plan",
        "October block 3",
        {"cost": 3},
    )


def test_numbers_run_from_one_without_a_gap(chain):
    assert [event.number for event in AuditEvent.objects.all()] == [1, 2, 3, 4, 5]


def test_an_untouched_chain_has_no_broken_link(club, chain):
    assert list(broken_links(club)) == []


def test_the_first_digest_is_plain_sha256_that_anyone_can_compute(chain):
    """FIPS 180-4 SHA-256 over the JSON list of the digest before (none) and the event's own words."""
    first = AuditEvent.objects.get(number=1)
    words = ["", "brackenford", 1, first.at.isoformat(), "head", "accepted a plan", "October block 1", {"cost": 1}]
    assert first.digest == hashlib.sha256(json.dumps(words).encode()).hexdigest()


@pytest.mark.parametrize(
    "change",
    [{"actor": "somebody else"}, {"did": "looked"}, {"subject": "x"}, {"detail": {"cost": 99}}, {"digest": "0" * 64}],
)
def test_a_changed_event_is_found(club, chain, change):
    AuditEvent.objects.filter(number=3).update(**change)
    assert next(broken_links(club)) == 3


def test_a_changed_time_is_found(club, chain):
    event = AuditEvent.objects.get(number=3)
    AuditEvent.objects.filter(number=3).update(at=event.at.replace(year=2001))
    assert list(broken_links(club)) == [3]


def test_a_removed_event_is_found_at_the_one_after(club, chain):
    AuditEvent.objects.filter(number=3).delete()
    assert list(broken_links(club)) == [4]


def test_two_events_that_changed_places_are_found(club, chain):
    AuditEvent.objects.filter(number=2).update(number=99)
    AuditEvent.objects.filter(number=3).update(number=2)
    AuditEvent.objects.filter(number=99).update(number=3)
    assert list(broken_links(club)) == [2, 3, 4]


def test_events_removed_from_the_end_are_found(club, chain):
    AuditEvent.objects.filter(number__gte=4).delete()
    assert list(broken_links(club)) == [4]


def test_a_chain_that_is_gone_altogether_is_found(club, chain):
    AuditEvent.objects.all().delete()
    assert list(broken_links(club)) == [1]


def test_a_chain_whose_head_was_removed_is_found(club, chain):
    AuditHead.objects.all().delete()
    assert list(broken_links(club)) == [6]


def test_detail_is_read_back_as_it_was_digested(club, head):
    record(club, "imported", "squad", by=head, weeks={9: 1.5, 10: 2}, days=("Tue", "Thu"))
    assert list(broken_links(club)) == []


def test_each_club_has_a_chain_of_its_own(club, chain, stranger):
    other = stranger.clubs.get()
    assert record(other, "made a squad", "Seconds", by=stranger).number == 1
    assert list(broken_links(other)) == []


def test_the_chain_outlives_the_person_and_the_club(club, head, chain):
    head.delete()
    club.delete()
    assert AuditEvent.objects.filter(club="brackenford").count() == 5
    assert list(broken_links(club)) == []


@pytest.mark.django_db(transaction=True)
def test_recording_outside_a_transaction_is_refused():
    club = f.ClubFactory(slug="brackenford")
    with pytest.raises(RuntimeError, match="inside the transaction"):
        record(club, "did", "something", by="head")
    assert not AuditEvent.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_change_that_fails_leaves_no_event():
    club = f.ClubFactory(slug="brackenford")

    def change():
        with transaction.atomic():
            record(club, "did", "something", by="head")
            raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        change()
    assert not AuditEvent.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_events_written_at_the_same_time_stand_in_one_line():
    club = f.ClubFactory(slug="brackenford")
    gate = threading.Barrier(6)

    def write(name):
        try:
            gate.wait()
            for n in range(5):
                with transaction.atomic():
                    record(club, "moved a player", n, by=name)
        finally:
            connections.close_all()

    writers = [threading.Thread(target=write, args=[f"coach {n}"]) for n in range(6)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert [event.number for event in AuditEvent.objects.all()] == list(range(1, 31))
    assert list(broken_links(club)) == []


def test_the_database_refuses_two_events_of_one_number(club, chain):
    event = AuditEvent.objects.get(number=5)
    event.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        event.save(force_insert=True)
    event.number = 6
    event.save(force_insert=True)
