"""The audit chain: every change over several rows says here who did it, in the same transaction."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import Any

from django.db import transaction
from django.utils import timezone

from shared.models import AuditEvent, AuditHead, Club, User


def record(club: Club, did: str, subject: object, *, by: User | str, **detail: Any) -> AuditEvent:
    """Append one event to the club's chain. Call it inside the transaction of the change itself."""
    return append(club.slug, did, subject, by=by, **detail)


def record_in_confidence(club: Club, did: str, subject: object, *, by: User | str, **detail: Any) -> AuditEvent:
    """The same in a chain that no page of the club's audit reads: nobody learns that something stands there."""
    return append(confidential(club), did, subject, by=by, **detail)


def confidential(club: Club) -> str:
    """The name of that chain; no club's short name holds a colon."""
    return f"medical:{club.pk}"


def append(chain: str, did: str, subject: object, *, by: User | str, **detail: Any) -> AuditEvent:
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("audit.record belongs inside the transaction of the change that it tells of")
    AuditHead.objects.get_or_create(club=chain)
    head = AuditHead.objects.select_for_update().get(club=chain)
    event = AuditEvent(
        club=chain,
        number=head.number + 1,
        at=timezone.now(),
        actor=str(by)[:150],
        did=did,
        subject=str(subject)[:200],
        detail=json.loads(json.dumps(detail)),  # as it will be read back: lists for tuples, words for number keys
    )
    event.digest = digest(event, head.digest)
    event.save(force_insert=True)
    AuditHead.objects.filter(club=chain).update(number=event.number, digest=event.digest)
    return event


def digest(event: AuditEvent, before: str) -> str:
    """SHA-256 over the event and the digest before it, in a fixed order."""
    parts = [
        before,
        event.club,
        event.number,
        event.at.isoformat(),
        event.actor,
        event.did,
        event.subject,
        event.detail,
    ]
    return hashlib.sha256(json.dumps(parts, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def broken_links(club: Club) -> Iterator[int]:
    """Numbers of the events whose digest does not follow from the one before, or that are missing at the end."""
    return broken_in(club.slug)


def broken_in(chain: str) -> Iterator[int]:
    before, expected = "", 1
    for event in AuditEvent.objects.filter(club=chain).order_by("number").iterator():
        if event.number != expected or event.digest != digest(event, before):
            yield event.number
        before, expected = event.digest, event.number + 1
    head = AuditHead.objects.filter(club=chain).first()
    if (head.number, head.digest) != (expected - 1, before) if head else expected > 1:
        yield expected
