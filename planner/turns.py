"""In which order rows are locked, so that no two changes wait for each other in a circle.

The squad, the block, the nights by their keys, the end of the audit chain. A change leaves out what it does not need,
and never goes back.
"""

from __future__ import annotations

from collections.abc import Iterable

from planner.models import Session
from squads.models import Squad


def take_turn(squad: Squad) -> Squad:
    """Changes of one squad's calendar and record come one after the other, until the transaction ends."""
    return Squad.objects.select_for_update(of=("self",)).select_related("club").get(pk=squad.pk)


def hold_nights(sessions: Iterable[Session]) -> None:
    """All of them at once, for whoever changes several one after the other."""
    keys = {session.pk for session in sessions}
    list(Session.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))
