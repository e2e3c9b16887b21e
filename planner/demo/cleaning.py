"""Takes the invented club away again."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from drills.models import Drill, Skill
from planner.models import Session
from shared.audit import confidential
from shared.models import AuditEvent, AuditHead, Club, User
from squads.models import Squad


@transaction.atomic
def forget(slug: str, usernames: Iterable[str]) -> None:
    """In the order in which the rows lean on each other; the demo's audit chain goes too."""
    club = Club.objects.filter(slug=slug)
    chains = [slug, *map(confidential, club)]
    Session.objects.filter(squad__club__in=club).delete()
    Squad.objects.filter(club__in=club).delete()
    Drill.objects.filter(club__in=club).delete()
    Skill.objects.filter(club__in=club).delete()
    club.delete()
    AuditEvent.objects.filter(club__in=chains).delete()
    AuditHead.objects.filter(club__in=chains).delete()
    User.objects.filter(username__in=list(usernames), memberships__isnull=True).delete()
